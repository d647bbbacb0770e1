"""Drawing a modelled course to the readings, with every time constant in one place.

Between readings close to each other the course runs through both. Elsewhere what
the model was off by fades: quickly where it makes things look better than the model
has them (warmer, drier), slowly where it makes them look worse. All estimates, no
source, on the safe side.

What was off when one thing was heated says little once another is: a cabin that was
read cold because nobody had lit the heater does not on that account cool below the
weather around it when the heater is due to go out. So a course stays within what
surrounds it (``least``), and above both the model and the reading it never goes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from curewindow.physics.air import dew_point
from curewindow.record.entries import Reading
from curewindow.series import BoolArray, FloatArray

CLOSE_H = 3.0
"""Readings no further apart than this carry the hours between them."""
FADES_GOOD_H = 3.0
"""Time constant with which a deviation to the good side fades, h."""
FADES_BAD_H = 12.0
"""Time constant with which a deviation to the bad side fades, h."""
_DAY_H = 24.0
# Rounded or drifting sensors report 0 %; nothing can be made of it.
_DRIEST_PCT = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class LoggedValues:
    """Values of one kind that were read, in order of time, each instant once.

    at : ndarray of datetime64[s], shape (K,); value : ndarray, shape (K,).
    """

    at: NDArray[np.datetime64]
    value: FloatArray


def readings_of(readings: Iterable[Reading], space: str, now: datetime) -> list[Reading]:
    """The space's readings up to now, in order of time; later ones are not known yet."""
    return sorted((r for r in readings if r.space == space and r.at <= now), key=lambda r: r.at)


def logged_air(readings: list[Reading]) -> LoggedValues:
    """Air temperatures read, °C."""
    return _logged([(r.at, r.air_c) for r in readings])


def logged_dew_point(readings: list[Reading]) -> LoggedValues:
    """Dew points, °C, of readings with both temperature and humidity."""
    whole = [
        r
        for r in readings
        if r.air_c is not None and r.rh_pct is not None and r.rh_pct >= _DRIEST_PCT
    ]
    air = np.array([r.air_c for r in whole], np.float64)
    humidity = np.minimum(np.array([r.rh_pct for r in whole], np.float64), 100.0)
    dew = np.asarray(dew_point(air, humidity), np.float64).tolist()
    return _logged([(r.at, value) for r, value in zip(whole, dew, strict=True)])


def logged_surface(readings: list[Reading], panel: str) -> LoggedValues:
    """Surface temperatures read on a panel, °C."""
    return _logged([(r.at, r.surface_c) for r in readings if r.panel == panel])


def logged_wood(readings: list[Reading], *pieces: str | None) -> LoggedValues:
    """Wood moisture read, % of dry mass, on one of these pieces or without saying where."""
    names = {piece.casefold() for piece in pieces if piece}
    fitting = [r for r in readings if not r.panel or r.panel.casefold() in names]
    return _logged([(r.at, r.wood_moisture_pct) for r in fitting])


def _logged(pairs: list[tuple[datetime, float | None]]) -> LoggedValues:
    # A later entry for the same instant is the correction of an earlier one.
    by_second = {
        int(at.timestamp()): value
        for at, value in pairs
        if value is not None and math.isfinite(value)
    }
    seconds = sorted(by_second)
    return LoggedValues(
        np.array(seconds, np.int64).astype("datetime64[s]"),
        np.array([by_second[second] for second in seconds], np.float64),
    )


def drawn(
    times: NDArray[np.datetime64],
    modelled: FloatArray,
    logged: LoggedValues,
    good_side: int,
    least: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """A modelled course drawn to what was read.

    Parameters
    ----------
    times : ndarray of datetime64[s], shape (T,)
        Grid.
    modelled : ndarray, shape (M, T)
        The model's course.
    logged : LoggedValues
        What was read; instants off the grid's ends are left out.
    good_side : {1, -1}
        1 where more is better (temperature), -1 where less is (dew point).
    least : ndarray, broadcast to (M, T), optional
        The worst that what surrounds it can bring about. A reading beyond it shows that
        it is not so where it was taken, and moves it for as long as the reading counts.

    Returns
    -------
    course : ndarray, shape (M, T)
        Through every reading, for every member.
    shift : ndarray, shape (M, T)
        What was added to the model.
    """
    inside = (logged.at >= times[0]) & (logged.at <= times[-1])
    if not inside.any():
        return modelled, np.zeros_like(modelled)
    grid_h = _hours(times, times[0])
    read_h = _hours(logged.at[inside], times[0])
    value = logged.value[inside]
    shift = np.empty_like(modelled)
    after = np.searchsorted(read_h, grid_h, side="right")
    last = np.clip(after - 1, 0, read_h.size - 1)
    following = np.clip(after, 0, read_h.size - 1)
    since = np.where(after > 0, grid_h - read_h[last], np.inf)
    until = np.where(after < read_h.size, read_h[following] - grid_h, np.inf)
    for member, row in enumerate(modelled):
        off = value - np.interp(read_h, grid_h, row)
        # Where the model itself is unknown the readings alone cannot be carried on.
        between = np.interp(grid_h, read_h, np.nan_to_num(off))
        fades = np.where(good_side * between > 0.0, FADES_GOOD_H, FADES_BAD_H)
        kept = np.where(since + until <= CLOSE_H, 1.0, np.exp(-np.minimum(since, until) / fades))
        course = row + between * kept
        best = np.maximum(good_side * row, good_side * np.interp(grid_h, read_h, value))
        course = good_side * np.minimum(good_side * course, best)
        if least is not None:
            bound = np.broadcast_to(least, modelled.shape)[member]
            beyond = np.minimum(good_side * (value - np.interp(read_h, grid_h, bound)), 0.0)
            bound = good_side * bound + np.interp(grid_h, read_h, beyond) * kept
            worst = np.minimum(good_side * row, bound)
            course = good_side * np.maximum(good_side * course, worst)
        shift[member] = course - row
    return modelled + shift, shift


def least_of_day(values: FloatArray, step_h: float) -> FloatArray:
    """Least of the day before each point: what surrounds a space takes its time to reach it."""
    span = max(round(_DAY_H / step_h), 1)
    padded = np.concatenate([np.repeat(values[:, :1], span, axis=1), values], axis=1)
    least: FloatArray = np.lib.stride_tricks.sliding_window_view(padded, span + 1, axis=1).min(-1)
    return least


def carried_by(
    times: NDArray[np.datetime64], logged: LoggedValues, now: np.datetime64
) -> BoolArray:
    """True where readings carry the value: between close ones, and from the last to now."""
    grid_h = _hours(times, times[0])
    until_now = grid_h <= _hours(now, times[0])
    if not logged.at.size:
        return np.zeros(times.shape, np.bool_)
    read_h = _hours(logged.at, times[0])
    after = np.searchsorted(read_h, grid_h, side="right")
    last = read_h[np.clip(after - 1, 0, None)]
    following = read_h[np.clip(after, None, read_h.size - 1)]
    close = (after > 0) & (after < read_h.size) & (following - last <= CLOSE_H)
    held = (after == read_h.size) & (grid_h - read_h[-1] <= CLOSE_H)
    on_one = np.isin(grid_h, read_h)
    return np.asarray((close | held | on_one) & until_now, dtype=np.bool_)


def _hours(at: NDArray[np.datetime64] | np.datetime64, since: np.datetime64) -> FloatArray:
    return np.asarray((at - since) / np.timedelta64(1, "s") / 3600.0, dtype=np.float64)
