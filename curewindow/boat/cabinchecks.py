"""What doors, dehumidifiers and heaters of boat.toml must agree on beyond their shape."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from curewindow.boat.schema import Door, Drier, Heating
from curewindow.errors import BoatError
from curewindow.nearest import nearest_or_all

# A cabin warmer than this is a slip of the pen (°F written as °C).
_HIGHEST_SETPOINT_C = 40.0
# Wider or higher than this is no door aboard.
_WIDEST_DOOR_M = 5.0
_RATED_C = (10.0, 40.0)


def check_doors(doors: Sequence[Door], names: Sequence[str], path: Path | None) -> None:
    """Check the doors against the spaces there are.

    Raises
    ------
    BoatError
    """
    seen: set[frozenset[str]] = set()
    for number, door in enumerate(doors, 1):
        key = f"door[{number}]"
        for position, name in enumerate(door.between, 1):
            if name not in names:
                raise BoatError(
                    f"'{name}' is not a space; {nearest_or_all(name, names)}",
                    file=path,
                    key=f"{key}.between[{position}]",
                )
        pair = frozenset(door.between)
        if len(pair) < 2:
            raise BoatError(
                "a door lies between two different spaces", file=path, key=f"{key}.between"
            )
        if pair in seen:
            raise BoatError(
                f"'{door.between[0]}' and '{door.between[1]}' have a door already; one stands for "
                "all there are",
                file=path,
                key=f"{key}.between",
            )
        seen.add(pair)
        for side in ("width", "height"):
            if not 0.0 < getattr(door, side) <= _WIDEST_DOOR_M:
                raise BoatError(
                    f"must be more than 0 and at most {_WIDEST_DOOR_M:g} m",
                    file=path,
                    key=f"{key}.{side}",
                )


def check_drier(drier: Drier, key: str, path: Path | None) -> None:
    """Check a dehumidifier.

    Raises
    ------
    BoatError
    """
    if not drier.rated > 0.0:
        raise BoatError(
            "must be more than 0 L/d; leave the dehumidifier out where there is none",
            file=path,
            key=f"{key}.rated",
        )
    if drier.power is not None and drier.power < 0.0:
        raise BoatError("must not be less than 0 W", file=path, key=f"{key}.power")
    temp = drier.rated_temp
    if temp is not None and not _RATED_C[0] <= temp <= _RATED_C[1]:
        raise BoatError(
            f"{temp:g} °C is no air a dehumidifier is rated in: {_RATED_C[0]:g} to "
            f"{_RATED_C[1]:g} °C (was it meant in °F?)",
            file=path,
            key=f"{key}.rated_temp",
        )


def check_heating(heating: Heating, key: str, path: Path | None) -> None:
    """Check a heater and its routine.

    Raises
    ------
    BoatError
    """
    if not heating.power > 0.0:
        raise BoatError(
            "must be more than 0 W; leave the heating out where there is none",
            file=path,
            key=f"{key}.power",
        )
    burns_inside = heating.kind != "electric" and not heating.vented
    if burns_inside and heating.unattended not in (None, "never"):
        raise BoatError(
            "a heater that burns without a flue is never left alone, nor slept by (carbon "
            "monoxide); write 'never', or leave it out",
            file=path,
            key=f"{key}.unattended",
        )
    if heating.kind == "solid fuel" and heating.unattended == "yes":
        raise BoatError(
            "a stove burns what is put on, by no thermostat: it is tended; write 'never' or "
            "'asleep aboard'",
            file=path,
            key=f"{key}.unattended",
        )
    if heating.air_from == "outside" and (heating.kind == "electric" or not heating.vented):
        raise BoatError(
            "only what burns with a flue draws its air from outside; leave it out",
            file=path,
            key=f"{key}.air_from",
        )
    least = heating.min_power
    if least is not None and not 0.0 <= least <= heating.power:
        raise BoatError(
            f"must lie between 0 W and its power, {heating.power:g} W",
            file=path,
            key=f"{key}.min_power",
        )
    for number, out in enumerate(heating.out_of_order, 1):
        if (out.from_.tzinfo is None) != (out.until.tzinfo is None) or out.until <= out.from_:
            raise BoatError(
                "ends before it begins; write both by the boat's clock, as 2026-11-27T08:00:00",
                file=path,
                key=f"{key}.out_of_order[{number}].until",
            )
    clocks = [f"{step.from_:%H:%M}" for step in heating.routine]
    doubled = next((clock for clock in clocks if clocks.count(clock) > 1), None)
    if doubled is not None:
        raise BoatError(
            f"'{doubled}' is there twice; each needs its own name", file=path, key=f"{key}.routine"
        )
    for number, step in enumerate(heating.routine, 1):
        if step.charge is not None and heating.kind != "solid fuel":
            raise BoatError(
                f"a charge is of a solid fuel stove; for kind = '{heating.kind}' write a setpoint",
                file=path,
                key=f"{key}.routine[{number}].charge",
            )
        if step.charge is not None and step.setpoint is not None:
            raise BoatError(
                "give either a setpoint (the fire is tended) or a charge (it burns down), not both",
                file=path,
                key=f"{key}.routine[{number}].charge",
            )
        if step.setpoint is not None and step.setpoint > _HIGHEST_SETPOINT_C:
            raise BoatError(
                f"{step.setpoint:g} °C is hotter than a cabin; up to "
                f"{_HIGHEST_SETPOINT_C:g} °C (was it meant in °F?)",
                file=path,
                key=f"{key}.routine[{number}].setpoint",
            )
