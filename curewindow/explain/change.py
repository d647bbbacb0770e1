"""A change that is only thought of: what a person would do, as inputs for the balance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, time

import numpy as np

from curewindow.boat.folder import space_by_name
from curewindow.boat.schema import (
    VENTS_WORD,
    Boat,
    Door,
    Heating,
    Setpoint,
    Space,
    Ventilation,
)
from curewindow.conditions.changed import Changed
from curewindow.conditions.course import utc64
from curewindow.conditions.model import AIR_CHANGE_H
from curewindow.conditions.routine import VENTILATION, setpoints_c
from curewindow.errors import CurewindowError, NotFoundError
from curewindow.explain.drier import drier_from
from curewindow.findings import Finding, finding
from curewindow.physics.balance import Dehumidifier
from curewindow.rules.sleep import night
from curewindow.series import BoolArray, FloatArray
from curewindow.weather.forecast import Forecast


@dataclass(frozen=True, slots=True)
class Intervention:
    """What would be done.

    Attributes
    ----------
    start, until : datetime, datetime or None
        Aware; None: on and on.
    setpoint_c : float or None
        Thermostat, °C; NaN: heater off; None: the routine.
    power_w : float or None
        The most the heater gives; None: what boat.toml says.
    vent : str or None
        Vents and hatches; None: as described.
    air_changes_h : float or None
        Instead of what ``vent`` stands for.
    dehumidifier : str or None
        As it is said (:func:`curewindow.explain.drier.drier_from`).
    drier, drier_on : Dehumidifier or None, bool or None
        What that means, once :func:`meant` knows the space: one that is brought, None being
        the one in boat.toml; whether it runs, None being as a rule.
    doors : mapping of str to bool
        Whether the door to a space stands open, by that space.
    """

    start: datetime
    until: datetime | None = None
    setpoint_c: float | None = None
    power_w: float | None = None
    vent: Ventilation | None = None
    air_changes_h: float | None = None
    dehumidifier: str | None = None
    drier: Dehumidifier | None = None
    drier_on: bool | None = None
    doors: Mapping[str, bool] = field(default_factory=dict)


def meant(change: Intervention, boat: Boat, space: Space) -> Intervention:
    """The change with its words understood: which dehumidifier, which door.

    Raises
    ------
    QuantityError, NotFoundError
        They mean nothing here.
    """
    drier, on = change.drier, change.drier_on
    if change.dehumidifier is not None:
        drier, on = drier_from(change.dehumidifier, space)
    written = {each.name.casefold(): each.name for each in boat.space}
    doors = {
        space_by_name(boat, written.get(name.casefold(), name)).name: state
        for name, state in change.doors.items()
    }
    return replace(change, drier=drier, drier_on=on, doors=doors)


def span_of(change: Intervention, forecast: Forecast) -> BoolArray:
    """Grid points from which the change holds to the next."""
    mask = forecast.times >= utc64(change.start)
    if change.until is not None:
        mask &= forecast.times < utc64(change.until)
    return np.asarray(mask, dtype=np.bool_)


def changed_inputs(
    change: Intervention, boat: Boat, space: Space, forecast: Forecast
) -> tuple[Changed, list[Finding]]:
    """The change as inputs for the balance, and what was assumed.

    Raises
    ------
    CurewindowError
        Warmth is wanted of a space without a heater and no power is given.
    """
    mask = span_of(change, forecast)
    notes: list[Finding] = []
    setpoint: FloatArray | None = None
    power: FloatArray | None = None
    air: FloatArray | None = None
    if change.setpoint_c is not None:
        setpoint = setpoints_c(space.heating, boat, forecast.times)
        setpoint[mask] = change.setpoint_c
        if space.heating is None and change.power_w is None and not np.isnan(change.setpoint_c):
            raise CurewindowError(
                f"the {space.name} has no heater in boat.toml: how strong one would you bring?",
                by_command="write --power '1.5 kW'",
            )
    if change.power_w is not None:
        power = np.where(mask, change.power_w, np.nan)
        if space.heating is None:
            notes.append(finding("heater brought"))
            if change.setpoint_c is None:
                raise CurewindowError(
                    f"the {space.name} has no heater in boat.toml, so no thermostat either: "
                    "how warm is it to be?",
                    by_command="write --setpoint '18 °C'",
                )
    changes = _air_changes(change, space, notes)
    if changes is not None:
        air = np.where(mask, changes, np.nan)
    drying: FloatArray | None = None
    if change.drier_on is not None:
        if change.drier is None and space.dehumidifier is None:
            raise CurewindowError(f"the {space.name} has no dehumidifier in boat.toml to switch")
        drying = np.where(mask, float(change.drier_on), np.nan)
    doors = {name: np.where(mask, float(is_open), np.nan) for name, is_open in change.doors.items()}
    for name in change.doors:
        notes += _door_notes(boat, space, name)
    return Changed(setpoint, power, air, None, change.drier, drying, doors), notes


def _door_notes(boat: Boat, space: Space, other: str) -> list[Finding]:
    """What had to be assumed of a door.

    Raises
    ------
    NotFoundError
        There is no such space, or no way to it.
    """
    found = space_by_name(boat, other)
    pair = {space.name, found.name}
    if any(set(door.between) == pair for door in boat.door):
        return []
    if found.name not in space.connected_to and space.name not in found.connected_to:
        raise NotFoundError(
            f"boat.toml has no door between the {space.name} and the {other}: name them in a "
            "[[door]], or in connected_to"
        )
    usual = Door.model_validate({"between": sorted(pair), "open": True})
    return [
        finding("door size taken", other_space=other, width_m=usual.width, height_m=usual.height)
    ]


def _air_changes(change: Intervention, space: Space, notes: list[Finding]) -> float | None:
    if change.air_changes_h is not None:
        return change.air_changes_h
    if change.vent is None or change.vent == "normal":
        return None
    own = AIR_CHANGE_H if space.air_change is None else space.air_change
    found = own * VENTILATION[change.vent]
    vents = VENTS_WORD[change.vent]
    notes.append(finding("air change taken", vents=vents, air_changes_h=found))
    return found


def with_heater(change: Intervention, boat: Boat, space: Space, forecast: Forecast) -> Boat:
    """The boat with the heater as it would be used, for the cautions alone."""
    if change.setpoint_c is None and change.power_w is None:
        return boat
    heating = space.heating
    if heating is None:
        power = f"{change.power_w or 0.0} W"
        brought = {"kind": "electric", "power": power, "vented": True, "open_flame": False}
        heating = Heating.model_validate(brought)
    routine = list(heating.routine)
    if change.setpoint_c is not None and not np.isnan(change.setpoint_c):
        mask = span_of(change, forecast)
        if bool(night(forecast.times[mask], boat.place.time_zone).any()):
            routine = [Setpoint.model_validate({"from": time(0), "setpoint": _text(change)})]
    used = space.model_copy(update={"heating": heating.model_copy(update={"routine": routine})})
    spaces = [used if other.name == space.name else other for other in boat.space]
    return boat.model_copy(update={"space": spaces})


def as_finding(change: Intervention, space: Space) -> Finding:
    """What would be otherwise in a space."""
    held = change.setpoint_c
    off = held is not None and bool(np.isnan(held))
    drier = change.drier
    kind: str | None = None
    if change.drier_on is not None or drier is not None:
        kind = "off" if change.drier_on is False else "on" if drier is None else drier.kind
    brought = drier is not None and change.drier_on is not False
    return finding(
        "change",
        space=space.name,
        temp_c=None if off else held,
        state="heater off" if off else None,
        power_w=change.power_w,
        air_changes_h=change.air_changes_h,
        vents=None if change.vent is None else VENTS_WORD[change.vent],
        kind_of=kind,
        litres=drier.rated_kg_day if drier is not None and brought else None,
        because=[
            finding("door then", other_space=name, state="open" if is_open else "shut")
            for name, is_open in change.doors.items()
        ],
    )


def _text(change: Intervention) -> str:
    return f"{change.setpoint_c} °C"
