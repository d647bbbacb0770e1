"""Columns of one run, each from a grid point and in a member of its own on.

Runs that begin at different moments are no longer than each has to be, and one batch of
them costs little more than a single one.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from curewindow.curing import IntArray
from curewindow.heating.coat import HeatedCoat, surface_of
from curewindow.heating.room import Room
from curewindow.physics.balance import Outside, SpaceResult, SpaceState
from curewindow.physics.tin import lagged
from curewindow.rules.tins import tin_asked
from curewindow.series import FloatArray, SurfaceSeries


def columns(room: Room, begin: IntArray, rows: IntArray, points: int, start: SpaceState) -> Room:
    """The room with one column a start and member, each from its own grid point on."""
    outside = room.outside

    def part(values: npt.ArrayLike) -> FloatArray:
        array = np.asarray(values, dtype=np.float64)
        return stretch(array, begin, rows, points) if array.ndim == 2 else array

    return replace(
        room,
        times=room.times[0] + np.arange(points) * (room.times[1] - room.times[0]),
        outside=Outside(
            temp_c=part(outside.temp_c),
            vapour_pa=part(outside.vapour_pa),
            wind_ms=part(outside.wind_ms),
            sun_w_m2=part(outside.sun_w_m2),
            sky_loss_w_m2=part(outside.sky_loss_w_m2),
            water_c=None if outside.water_c is None else part(outside.water_c),
            neighbour_c={name: part(values) for name, values in outside.neighbour_c.items()},
        ),
        unknown=stretch(room.unknown.astype(np.float64), begin, rows, points) != 0.0,
        routine_c=np.full(points, np.nan),
        out_of_order=np.zeros(points, np.bool_),  # in the setpoints of each column
        moisture_kg_h=_wet(room, begin, rows, points),
        start=start,
    )


def _wet(room: Room, begin: IntArray, rows: IntArray, points: int) -> FloatArray | float:
    wet = room.moisture_kg_h
    return (
        stretch(wet[None], begin, rows, points, held=True) if isinstance(wet, np.ndarray) else wet
    )


def stretch(
    values: FloatArray, begin: IntArray, rows: IntArray, points: int, *, held: bool = False
) -> FloatArray:
    """Values (M or 1, T) from each column's own point on, (C, points); NaN behind the end."""
    index = begin[:, None] + np.arange(points)
    row = rows if values.shape[0] > 1 else np.zeros_like(rows)
    found = values[row[:, None], np.minimum(index, values.shape[1] - 1)]
    return found if held else np.where(index < values.shape[1], found, np.nan)


def film_series(
    task: HeatedCoat,
    room: Room,
    here: Room,
    result: SpaceResult,
    begin: IntArray,
    rows: IntArray,
    tin_c: FloatArray | None = None,
) -> SurfaceSeries:
    """Conditions at the job's surface in columns of a run, each from its own first stroke on.

    ``tin_c`` is the tin at the first stroke, shape (C,); from then on it is in the run's air.
    """

    def known(values: FloatArray) -> FloatArray:
        return np.where(here.unknown, np.nan, values)

    wood = task.base.wood_moisture_pct
    if wood is not None:
        # Wood is far slower than a film dries: as it is with the space shut.
        wood = stretch(wood, begin + room.first, rows, here.points)
    return SurfaceSeries(
        space=task.base.space,
        surface=task.base.surface,
        times=here.times,
        air_c=known(result.air_c),
        rh_pct=known(result.rh_pct),
        dew_point_c=known(result.dew_point_c),
        surface_c=known(surface_of(task, room, result)),
        wood_moisture_pct=wood,
        wind_ms=None,
        rain_mm_h=None,
        sun_w_m2=None,
        measured=np.zeros(here.points, np.bool_),
        lead_h=np.zeros(here.points),
        tin_c=None if tin_c is None else tin_in(task, known(result.air_c), tin_c, here.step_h),
    )


def tin_in(task: HeatedCoat, air_c: FloatArray, begun_c: FloatArray, step_h: float) -> FloatArray:
    """The tin worked with in columns of air, from its temperature at the first stroke on."""
    assert task.base.tins is not None  # else nobody knows what it began with
    lags_h = task.base.tins.lags_h(tin_asked(task.sheet, task.hands_on_h))
    points = min(int(np.ceil(task.hands_on_h / step_h)) + 1, air_c.shape[1])
    found = np.full(air_c.shape, np.nan)
    found[:, :points] = lagged(air_c[:, :points], begun_c, step_h, lags_h)
    return found
