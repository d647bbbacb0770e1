"""Grid points and spans of them: instants to indices, next bad point, least value of a span."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.weather.grid import utc_of

IntArray = NDArray[np.int64]


def at_index(series: SurfaceSeries, index: int) -> datetime:
    """The instant of a grid point, aware UTC."""
    return utc_of(series.times[index])


def position(series: SurfaceSeries, when: datetime) -> float:
    """Fractional grid index of an instant; may lie outside the grid."""
    return (when - at_index(series, 0)) / timedelta(hours=series.step_h)


def first_at_or_after(series: SurfaceSeries, when: datetime) -> int:
    """Index of the first grid point not before an instant (T where there is none)."""
    return int(np.clip(np.ceil(position(series, when) - 1e-9), 0, len(series.times)))


def last_at_or_before(series: SurfaceSeries, when: datetime) -> int:
    """Index of the last grid point not after an instant (-1 where there is none)."""
    return int(np.clip(np.floor(position(series, when) + 1e-9), -1, len(series.times) - 1))


def last_known(series: SurfaceSeries) -> IntArray:
    """Last grid point at which each member knows the surface's temperature; -1: never."""
    known = np.isfinite(series.surface_c)
    last = known.shape[1] - 1 - known[:, ::-1].argmax(axis=1)
    return np.where(known.any(axis=1), last, -1).astype(np.int64)


def next_bad(bad: BoolArray) -> IntArray:
    """Index of the first bad point at or after each point, T where there is none.

    Parameters
    ----------
    bad : ndarray of bool, shape (..., T)

    Returns
    -------
    ndarray of int, shape (..., T)
    """
    points = bad.shape[-1]
    index = np.where(bad, np.arange(points, dtype=np.int64), points)
    return np.minimum.accumulate(index[..., ::-1], axis=-1)[..., ::-1]


def span_min(values: FloatArray, first: IntArray, last: IntArray) -> FloatArray:
    """Least value of many spans of grid points.

    Minima over spans of 1, 2, 4 ... points are made one from the other; every span
    is two of these laid over each other.

    Parameters
    ----------
    values : ndarray, shape (M, T)
    first, last : ndarray of int, shape (M, K) or (K,)
        Both ends included, ``0 <= first <= last < T``.

    Returns
    -------
    ndarray, shape (M, K)
        NaN where a span holds a NaN.
    """
    members, points = values.shape
    shape = (members, np.broadcast_shapes(first.shape, last.shape)[-1])
    begin, end = np.broadcast_to(first, shape), np.broadcast_to(last, shape)
    if begin.size == 0:
        return np.empty(shape)
    length = end - begin + 1
    # The exponent of a float is exact: length = mantissa * 2**exponent, mantissa in [0.5, 1).
    level = np.frexp(length.astype(np.float64))[1] - 1
    found = np.empty(shape)
    table = values
    for exponent in range(int(level.max()) + 1):
        if exponent:
            half = 1 << (exponent - 1)
            table = np.minimum(
                table[:, : points - 2 * half + 1], table[:, half : points - half + 1]
            )
        row, column = np.nonzero(level == exponent)
        if row.size:
            left = begin[row, column]
            right = end[row, column] - (1 << exponent) + 1
            found[row, column] = np.minimum(table[row, left], table[row, right])
    return found
