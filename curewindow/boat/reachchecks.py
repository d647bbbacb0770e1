"""What boat.toml says of sealed spaces and of what can light vapour, held against its spaces."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from curewindow.boat.schema import Boat
from curewindow.errors import BoatError
from curewindow.nearest import nearest_or_all


def check_sealed(boat: Boat, names: Sequence[str], path: Path | None) -> None:
    """Check the sealed pairs against spaces, doors and connections.

    Raises
    ------
    BoatError
    """
    doors = {frozenset(door.between) for door in boat.door}
    connected = {
        frozenset((space.name, other)) for space in boat.space for other in space.connected_to
    }
    seen: set[frozenset[str]] = set()
    for number, each in enumerate(boat.sealed, 1):
        key = f"sealed[{number}].between"
        for position, name in enumerate(each.between, 1):
            _check_space(name, names, f"{key}[{position}]", path)
        pair = frozenset(each.between)
        first, second = each.between
        if len(pair) < 2:
            raise BoatError("two different spaces are sealed from each other", file=path, key=key)
        if pair in seen:
            raise BoatError(
                f"'{first}' and '{second}' are sealed already; take one out", file=path, key=key
            )
        if pair in doors:
            raise BoatError(
                f"'{first}' and '{second}' have a door, which vapour gets past, open or shut: take "
                "one of the two out",
                file=path,
                key=key,
            )
        if pair in connected:
            raise BoatError(
                f"'{first}' and '{second}' are connected by connected_to: take one of the two out",
                file=path,
                key=key,
            )
        seen.add(pair)


def check_ignition(boat: Boat, names: Sequence[str], path: Path | None) -> None:
    """Check what can light vapour against the spaces.

    Raises
    ------
    BoatError
    """
    for number, each in enumerate(boat.ignition, 1):
        key = f"ignition[{number}]"
        _check_space(each.space, names, f"{key}.space", path)
        if each.kind == "other" and not each.name.strip():
            raise BoatError(
                "is missing: say what it is, such as name = 'soldering iron'",
                file=path,
                key=f"{key}.name",
            )


def _check_space(name: str, names: Sequence[str], key: str, path: Path | None) -> None:
    if name in names:
        return
    raise BoatError(f"'{name}' is not a space; {nearest_or_all(name, names)}", file=path, key=key)
