"""Which spaces air reaches from which."""

from __future__ import annotations

from collections.abc import Callable

from curewindow.boat.schema import Boat, Space


def joined_spaces(boat: Boat, space: Space) -> list[Space]:
    """The space and all that vapour and fumes reach from it, near ones first.

    Spaces of one hull count as joined: what is heavier than air finds the limber holes, the
    cable runs and the gap under the sole. Not joined are two that boat.toml says are sealed
    from each other, unless a third leads around.
    """
    sealed = {frozenset(each.between) for each in boat.sealed}
    near = connected_spaces(boat, space)
    known = {each.name for each in near}
    there = [*near, *(each for each in boat.space if each.name not in known)]
    return _reached(there, space, lambda a, b: frozenset((a.name, b.name)) not in sealed)


def connected_spaces(boat: Boat, space: Space) -> list[Space]:
    """The space and all that are said to be connected to it, near ones first.

    A connection counts both ways and through spaces between. A door is a connection, open or
    shut.
    """
    doors = {frozenset(door.between) for door in boat.door}
    return _reached(
        boat.space,
        space,
        lambda a, b: (
            b.name in a.connected_to
            or a.name in b.connected_to
            or frozenset((a.name, b.name)) in doors
        ),
    )


def _reached(
    there: list[Space], space: Space, leads: Callable[[Space, Space], bool]
) -> list[Space]:
    reached = [space]
    for here in reached:
        for other in there:
            if leads(here, other) and all(other.name != known.name for known in reached):
                reached.append(other)
    return reached
