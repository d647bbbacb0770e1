"""Source values, however spaced, onto one regular UTC grid.

Temperature, vapour pressure, wind, cloud and sunshine run in a straight line
between source values; relative humidity is never interpolated, because it
swings with the temperature while the vapour in the air hardly changes. Rain is
an amount over a span of time, so its rate is held over that span.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
TimeArray = NDArray[np.datetime64]

STEP_S = 600
LONGEST_HOLE_H = 6.0
"""Longest stretch bridged by a straight line: the step of the feeds' far end.

A longer hole hides a whole night or a shower; it stays unknown.
"""


def utc_of(moment: np.datetime64) -> datetime:
    """An instant of a grid, aware."""
    return datetime.fromtimestamp(int(moment.astype("datetime64[s]").astype(np.int64)), UTC)


@dataclass(frozen=True, slots=True)
class Point:
    """A quantity given at instants.

    Attributes
    ----------
    values : ndarray, shape (N,) or (M, N)
        NaN where the source has nothing.
    shift_s : int
        Seconds from the row's time to the instant the value belongs to: -1800 for
        a mean over the hour before.
    """

    values: FloatArray
    shift_s: int = 0


@dataclass(frozen=True, slots=True)
class RateSpans:
    """A rate held over spans of time.

    Attributes
    ----------
    values : ndarray, shape (N,) or (M, N)
        Rate, NaN where the source has nothing.
    begin_s, length_s : ndarray, shape (N,)
        Seconds from the row's time to the beginning of the span, and its length.
    """

    values: FloatArray
    begin_s: NDArray[np.int64]
    length_s: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Gridded:
    """Columns on a regular grid: times (T,), each column (M, T), gaps of each column (T,) in h."""

    times: TimeArray
    columns: dict[str, FloatArray]
    gap_h: dict[str, FloatArray]


def to_grid(
    times_utc: TimeArray,
    columns: Mapping[str, Point | RateSpans],
    *,
    step_s: int = STEP_S,
    longest_hole_h: float = LONGEST_HOLE_H,
) -> Gridded:
    """Bring source rows onto a regular grid.

    Rows may be unsorted and unevenly spaced. Where a time stands twice the later
    row wins, but not with a missing value.

    Parameters
    ----------
    times_utc : ndarray of datetime64, shape (N,)
        Time of each row, UTC.
    columns : mapping of str to Point or Span
        What the rows hold.
    step_s : int
        Grid step in seconds; grid points are whole multiples of it in UTC.
    longest_hole_h : float
        Between values further apart than this the grid stays NaN.

    Returns
    -------
    Gridded
        From the first grid point at or after the first row to the last at or
        before the last row. The gap at an instant is the time between the source
        values around it, of the member where it is longest.

    Raises
    ------
    ValueError
        No rows, shapes that do not fit, or a step below one second.
    """
    source = np.asarray(times_utc).astype("datetime64[s]").astype(np.int64)
    if source.ndim != 1 or source.size == 0:
        raise ValueError("times_utc must hold at least one row")
    if step_s < 1:
        raise ValueError(f"step_s must be at least 1, got {step_s}")
    first = -(-int(source.min()) // step_s) * step_s
    last = int(source.max()) // step_s * step_s
    grid = np.arange(first, last + 1, step_s, dtype=np.int64)
    order = np.argsort(source, kind="stable")
    ordered = source[order]
    filled: dict[str, FloatArray] = {}
    gaps: dict[str, FloatArray] = {}
    for name, column in columns.items():
        values = np.atleast_2d(np.asarray(column.values, dtype=np.float64))
        if values.shape[-1] != source.size:
            raise ValueError(f"{name} has {values.shape[-1]} values for {source.size} rows")
        values = values[:, order]
        if isinstance(column, RateSpans):
            begin = ordered + column.begin_s[order]
            filled[name] = _held(grid, begin, begin + column.length_s[order], values)
            gaps[name] = np.zeros(grid.size)
        else:
            filled[name], gaps[name] = _straight(
                grid, ordered + column.shift_s, values, longest_hole_h, abs(column.shift_s)
            )
    return Gridded(grid.astype("datetime64[s]"), filled, gaps)


def _rows_by_mask(values: FloatArray) -> list[tuple[NDArray[np.bool_], NDArray[np.intp]]]:
    """Members grouped by where they have values: nearly always one group."""
    known = np.isfinite(values)
    if known.shape[0] == 1 or (known == known[0]).all():
        return [(known[0], np.arange(values.shape[0]))]
    masks, which = np.unique(known, axis=0, return_inverse=True)
    return [(mask, np.flatnonzero(which.ravel() == i)) for i, mask in enumerate(masks)]


def _last_of_each(at: NDArray[np.int64]) -> NDArray[np.bool_]:
    keep = np.ones(at.size, dtype=bool)
    keep[:-1] = at[1:] != at[:-1]
    return keep


def _straight(
    grid: NDArray[np.int64],
    at: NDArray[np.int64],
    values: FloatArray,
    longest_hole_h: float,
    reach_s: int,
) -> tuple[FloatArray, FloatArray]:
    """Straight lines between known values, and the hours between those values.

    A mean over a span is placed in the middle of it and reaches to its ends
    (``reach_s``), so the first and the last one are held that far.
    """
    out = np.full((values.shape[0], grid.size), np.nan)
    gap_h = np.zeros(grid.size)
    for known, members in _rows_by_mask(values):
        columns = np.flatnonzero(known)
        columns = columns[_last_of_each(at[columns])]
        if columns.size == 0:
            gap_h[:] = np.inf
            continue
        x = at[columns]
        y = values[np.ix_(members, columns)]
        if x.size == 1:
            near = np.abs(grid - x[0]) <= reach_s
            out[np.ix_(members, np.flatnonzero(near))] = y
            gap_h[~near] = np.inf
            continue
        left = np.clip(np.searchsorted(x, grid, side="right") - 1, 0, x.size - 2)
        width_s = (x[left + 1] - x[left]).astype(np.float64)
        weight = np.clip((grid - x[left]) / width_s, 0.0, 1.0)
        line = y[:, left] * (1.0 - weight) + y[:, left + 1] * weight
        on_value = (weight == 0.0) | (weight == 1.0)
        outside = (grid < x[0] - reach_s) | (grid > x[-1] + reach_s)
        hole = (width_s > longest_hole_h * 3600.0) & ~on_value
        line[:, outside | hole] = np.nan
        out[members] = line
        gap_h = np.maximum(gap_h, np.where(outside, np.inf, width_s / 3600.0))
    return out, gap_h


def _held(
    grid: NDArray[np.int64],
    begin: NDArray[np.int64],
    end: NDArray[np.int64],
    values: FloatArray,
) -> FloatArray:
    """Rates held from begin up to (not including) end; the last end of a run included.

    Where spans overlap, the one that begins later says more and wins: a six-hour
    sum gives way to the hourly one inside it.
    """
    out = np.full((values.shape[0], grid.size), np.nan)
    for known, members in _rows_by_mask(values):
        columns = np.flatnonzero(known)
        columns = columns[np.argsort(begin[columns], kind="stable")]
        columns = columns[_last_of_each(begin[columns])]
        if columns.size == 0:
            continue
        starts, ends = begin[columns], end[columns]
        at = _span_at(grid, starts, ends)
        picked = values[np.ix_(members, columns)][:, np.maximum(at, 0)]
        picked[:, at < 0] = np.nan
        out[members] = picked
    return out


def _span_at(
    grid: NDArray[np.int64], starts: NDArray[np.int64], ends: NDArray[np.int64]
) -> NDArray[np.intp]:
    """The latest-beginning span that covers each instant, -1 for none."""
    if (ends[:-1] <= starts[1:]).all():  # nothing overlaps, as nearly always
        at = np.searchsorted(starts, grid, side="right") - 1
        return np.where((at >= 0) & (grid <= ends[np.maximum(at, 0)]), at, -1)
    at = np.full(grid.size, -1, dtype=np.intp)
    first = np.searchsorted(grid, starts, side="left")
    stop = np.searchsorted(grid, ends, side="left")
    for i in range(starts.size):  # painted over one another in the order they begin
        at[first[i] : stop[i]] = i
    by_end = np.argsort(ends, kind="stable")
    ending = np.minimum(np.searchsorted(ends[by_end], grid), ends.size - 1)
    on_end = (at < 0) & (ends[by_end][ending] == grid)
    return np.where(on_end, by_end[ending], at)
