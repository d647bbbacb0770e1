"""Which spaces air reaches from which."""

from __future__ import annotations

from curewindow.boat.schema import Boat, Space


def joined_spaces(boat: Boat, space: Space) -> list[Space]:
    """The space and all that air reaches from it, near ones first.

    A connection counts both ways and through spaces between: vapour creeps along
    the sole through a whole accommodation. A door is a connection, open or shut.
    """
    doors = {frozenset(door.between) for door in boat.door}
    reached = [space]
    for here in reached:
        for other in boat.space:
            joined = (
                other.name in here.connected_to
                or here.name in other.connected_to
                or frozenset((here.name, other.name)) in doors
            )
            if joined and all(other.name != known.name for known in reached):
                reached.append(other)
    return reached
