"""A space from now on, as it stands, ready to be heated in many ways at once."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from curewindow.boat.schema import Space
from curewindow.curing import IntArray
from curewindow.physics.balance import (
    Dehumidifier,
    Outside,
    SpaceModel,
    SpaceResult,
    SpaceState,
    simulate,
    start_from_reading,
)
from curewindow.series import BoolArray, FloatArray


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


def sliced(outside: Outside, cut: slice, rows: slice = slice(None)) -> Outside:
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
        outside=sliced(room.outside, slice(None), row),
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
        outside=sliced(room.outside, cut),
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
        outside=sliced(room.outside, cut),
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
