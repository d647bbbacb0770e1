"""A space from now on, as it stands, ready to be heated in many ways at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime
from typing import Any

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from curewindow.boat.schema import Boat, Space
from curewindow.conditions.course import SpaceConditions, utc64
from curewindow.conditions.model import Described, describe, neighbours
from curewindow.conditions.routine import setpoints_c
from curewindow.conditions.weather_around import WeatherAround, weather_around
from curewindow.curing import IntArray
from curewindow.physics.balance import (
    Dehumidifier,
    Outside,
    SpaceModel,
    SpaceResult,
    SpaceState,
    corrected,
    simulate,
    start_from_reading,
    start_in_balance,
)
from curewindow.series import BoolArray, FloatArray
from curewindow.weather.forecast import Forecast


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """A space from a moment on.

    Attributes
    ----------
    space : Space
    model : SpaceModel
    times : ndarray of datetime64[s], shape (T,)
        From the grid point at or before the moment to the end of the weather.
    first : int
        Index of its first point on the forecast's grid.
    step_h : float
    outside : Outside
        Arrays (M, T) or scalars.
    unknown : ndarray of bool, shape (M, T)
        Where the weather has no figures of its own.
    start : SpaceState
        Of M members, on what is known of the space at that moment.
    routine_c : ndarray, shape (T,)
        Setpoint of the heater's routine; NaN: off.
    power_w : float
        Of the heater; 0 where there is none.
    moisture_kg_h, flame_water_kg_kwh : float
        Water given off inside, and by a flame without a flue for its heat.
    notes : tuple of str
    dehumidifier : Dehumidifier or None
        Held at its target throughout.
    """

    space: Space
    model: SpaceModel
    times: NDArray[np.datetime64]
    first: int
    step_h: float
    outside: Outside
    unknown: BoolArray
    start: SpaceState
    routine_c: FloatArray
    power_w: float
    moisture_kg_h: float
    flame_water_kg_kwh: float
    notes: tuple[str, ...]
    dehumidifier: Dehumidifier | None = None

    @property
    def members(self) -> int:
        """Number of members of the weather."""
        return int(self.outside.temp_c.shape[0])

    @property
    def points(self) -> int:
        """Number of grid points T."""
        return len(self.times)

    def panel_index(self, name: str) -> int:
        """Place of a panel in the model."""
        return [panel.name for panel in self.model.panels].index(name)


def room_from(
    boat: Boat,
    space: Space,
    forecast: Forecast,
    conditions: Mapping[str, SpaceConditions],
    now: datetime,
    described: Described | None = None,
) -> Room:
    """Make a space ready to be heated from a moment on.

    Parameters
    ----------
    boat : Boat
    space : Space
        Described, not known by its readings alone.
    forecast : Forecast
    conditions : dict of str to SpaceConditions
        As things stand, on the forecast's grid: of the space and of those behind its panels.
    now : datetime
        Aware, within the forecast.
    described : Described, optional
        The space as a model, if it is not just what boat.toml says.

    Returns
    -------
    Room
        The space run by its routine through the weather so far, then moved onto the air
        and humidity its conditions have at that moment: what was read counts.

    Raises
    ------
    ValueError
        A space without description, or ``now`` outside the forecast.
    """
    described = describe(space) if described is None else described
    around = weather_around(boat.place, forecast, now)
    first = int(np.searchsorted(forecast.times, utc64(now), side="right")) - 1
    if first < 0 or first > len(forecast.times) - 2:
        raise ValueError("the weather does not reach from now on")
    outside = around.seen_from(_beside(boat, space, conditions, around))
    routine = setpoints_c(space.heating, boat, around.times)
    power = 0.0 if space.heating is None else space.heating.power
    here = around.run_up + first
    state = _state_at(described, around, outside, routine, power, here)
    own = conditions[space.name]
    air, humidity = own.air_c[:, first], own.rh_pct[:, first]
    if np.isfinite(air).all() and np.isfinite(humidity).all():
        state = corrected(described.model, state, air, humidity)
    cut = slice(here, None)
    return Room(
        space=space,
        model=described.model,
        times=around.times[cut],
        first=first,
        step_h=around.step_h,
        outside=_sliced(outside, cut),
        unknown=around.unknown[:, first:],
        start=state,
        routine_c=routine[cut],
        power_w=power,
        moisture_kg_h=described.moisture_kg_h,
        flame_water_kg_kwh=described.flame_water_kg_kwh,
        notes=tuple(note for note in described.notes if "heater" not in note),
    )


def _beside(
    boat: Boat, space: Space, conditions: Mapping[str, SpaceConditions], around: WeatherAround
) -> dict[str, FloatArray]:
    """Air behind panels to other spaces; outside air where nothing is known of it."""
    beside = {}
    for other in neighbours(boat, space):
        course = around.outside.temp_c.copy()
        air = conditions[other.name].air_c if other.name in conditions else None
        if air is not None:
            tail = course[:, around.run_up :]
            course[:, around.run_up :] = np.where(np.isfinite(air), air, tail)
        beside[other.name] = course
    return beside


def _state_at(
    described: Described,
    around: WeatherAround,
    outside: Outside,
    routine: FloatArray,
    power_w: float,
    here: int,
) -> SpaceState:
    past = _sliced(outside, slice(0, here + 2))
    start = start_in_balance(
        described.model,
        past,
        members=int(outside.temp_c.shape[0]),
        hours=24.0,
        step_h=around.step_h,
        moisture_kg_h=described.moisture_kg_h if described.model.air_changes_h else 0.0,
    )
    result = simulate(
        described.model,
        around.step_h,
        past,
        start,
        setpoint_c=routine[: here + 2],
        power_limit_w=power_w,
        moisture_kg_h=described.moisture_kg_h,
    )
    return result.state_at(here)


def _sliced(outside: Outside, cut: slice, rows: slice = slice(None)) -> Outside:
    def part(values: FloatArray) -> FloatArray:
        array = np.asarray(values, dtype=np.float64)
        return array[rows, cut] if array.ndim == 2 else array

    return Outside(
        temp_c=part(outside.temp_c),
        vapour_pa=part(outside.vapour_pa),
        wind_ms=part(outside.wind_ms),
        sun_w_m2=part(outside.sun_w_m2),
        sky_loss_w_m2=part(outside.sky_loss_w_m2),
        water_c=None if outside.water_c is None else part(outside.water_c),
        neighbour_c={name: part(values) for name, values in outside.neighbour_c.items()},
    )


def of_member(room: Room, member: int) -> Room:
    """The room in one member of the weather."""
    row = slice(member, member + 1)
    return replace(
        room,
        outside=_sliced(room.outside, slice(None), row),
        unknown=room.unknown[row],
        start=rows_of(room.start, row),
    )


def rows_of(state: SpaceState, rows: slice | IntArray) -> SpaceState:
    """Some members of a state."""
    picked: dict[str, Any] = {}
    for part in fields(state):
        value = getattr(state, part.name)
        by_panel = part.name.endswith("_kg_m2")  # (P, M)
        picked[part.name] = value if value is None else value[:, rows] if by_panel else value[rows]
    return replace(state, **picked)


def going_on(room: Room, result: SpaceResult, index: int, rows: IntArray, points: int) -> Room:
    """The room from a grid point on, as some rows of a run have it, for so many points."""
    cut = slice(index, min(index + points, room.points))
    return replace(
        room,
        first=room.first + index,
        times=room.times[cut],
        outside=_sliced(room.outside, cut),
        unknown=room.unknown[:, cut],
        routine_c=room.routine_c[cut],
        start=rows_of(result.state_at(index), rows),
    )


def up_to(room: Room, points: int) -> Room:
    """The room for only so many grid points."""
    cut = slice(0, min(points, room.points))
    return replace(
        room,
        times=room.times[cut],
        outside=_sliced(room.outside, cut),
        unknown=room.unknown[:, cut],
        routine_c=room.routine_c[cut],
    )


def rebuilt(
    room: Room,
    model: SpaceModel,
    air_c: npt.ArrayLike,
    rh_pct: npt.ArrayLike,
    beside: dict[str, FloatArray] | None = None,
) -> Room:
    """The room with another model, its air as it is now and all else settled around it."""
    outside = room.outside
    if beside:
        outside = replace(outside, neighbour_c={**outside.neighbour_c, **beside})
    start = start_from_reading(
        model, outside, air_c, rh_pct, members=room.members, hours=12.0, step_h=room.step_h
    )
    return replace(room, model=model, outside=outside, start=start)


def heated(
    room: Room,
    setpoint_c: npt.ArrayLike,
    *,
    power_w: npt.ArrayLike | None = None,
    air_changes_h: npt.ArrayLike | None = None,
    moisture_kg_h: npt.ArrayLike = 0.0,
) -> SpaceResult:
    """Run a room, one row a candidate or a member of the weather.

    Parameters
    ----------
    room : Room
    setpoint_c : array_like, broadcast to (K, T)
    power_w : array_like, broadcast to (K, T), optional
        The heater's own if not given.
    air_changes_h : array_like, broadcast to (K, T), optional
        The space's own if not given.
    moisture_kg_h : array_like, broadcast to (K, T)
        Besides the space's own.

    Notes
    -----
    The flame's water does not change the heat, so a second run is exact.
    """
    power = room.power_w if power_w is None else power_w
    moisture = room.moisture_kg_h + np.asarray(moisture_kg_h, dtype=np.float64)

    def run(water: FloatArray) -> SpaceResult:
        return simulate(
            room.model,
            room.step_h,
            room.outside,
            room.start,
            setpoint_c=setpoint_c,
            power_limit_w=power,
            moisture_kg_h=water,
            air_changes_h=air_changes_h,
            dehumidifier=room.dehumidifier,
        )

    result = run(moisture)
    if room.flame_water_kg_kwh and np.nansum(result.heat_w) > 0.0:
        flame = np.nan_to_num(result.heat_w) / 1000.0 * room.flame_water_kg_kwh
        result = run(moisture + flame)
    return result


def coldest_member(forecast_temp_c: FloatArray) -> int:
    """The member of the weather that is coldest on the mean."""
    means = np.nanmean(forecast_temp_c, axis=1)
    return int(np.argmin(means))
