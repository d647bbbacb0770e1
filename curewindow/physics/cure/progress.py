"""How far a coat has got, and when it gets there, for every possible start at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curewindow.physics.cure.rates import Side
from curewindow.physics.elementwise import FloatArray

# Sums of a thousand steps agree to about 1e-13. Without this allowance a target met
# exactly at the end of a day could slip past a whole night in which the clock stands.
_TOLERANCE = 1e-9


def cumulative(rate_per_h: npt.ArrayLike, step_h: float, side: Side = "typical") -> FloatArray:
    """Progress since the first grid point.

    Parameters
    ----------
    rate_per_h : array_like, shape (..., T)
        Rate at the grid points [1/h].
    step_h : float
        Grid step [h].
    side : {'slow', 'typical', 'quick'}
        Which rate holds through a step: the smaller, the mean or the larger of its two
        ends. For any truth that is monotone between grid points 'slow' never runs
        ahead of it and 'quick' never lags; a step that touches a standstill counts
        nothing on the slow side.

    Returns
    -------
    ndarray, shape (..., T)
        Progress, 0 at the first point. NaN exactly where the rate is NaN; behind such a
        gap the count goes on from its last value, and the milestone functions refuse
        every span that holds a NaN.

    Raises
    ------
    ValueError
        If a rate is negative or infinite, the step not above zero, or there are no points.
    """
    rate = np.asarray(rate_per_h, dtype=np.float64)
    if rate.ndim == 0 or rate.shape[-1] == 0:
        raise ValueError("rate_per_h needs a time axis with at least one point")
    if np.any(rate < 0) or np.any(np.isinf(rate)):
        raise ValueError("rate_per_h must be finite and not negative")
    if not step_h > 0:
        raise ValueError(f"step_h must be above 0 h, got {step_h}")
    start, end = rate[..., :-1], rate[..., 1:]
    if side == "slow":
        held = np.minimum(start, end)
    elif side == "quick":
        held = np.maximum(start, end)
    else:
        held = (start + end) / 2.0
    progress = np.zeros_like(rate)
    np.cumsum(np.nan_to_num(held, nan=0.0) * step_h, axis=-1, out=progress[..., 1:])
    progress[np.isnan(rate)] = np.nan
    return progress


def milestone_index(progress: npt.ArrayLike, target: float = 1.0) -> FloatArray:
    """When each start reaches a milestone: every grid point as a start, all at once.

    Parameters
    ----------
    progress : array_like, shape (T,) or (M, T)
        From `cumulative`: never decreasing, NaN at gaps.
    target : float
        Progress to be made from the start on; 1 for a milestone whose rate is 1/time.

    Returns
    -------
    ndarray, same shape
        Fractional grid index, linear within the step, at which ``progress[start] +
        target`` is reached. NaN beyond the horizon, and wherever the span holds a gap.

    Raises
    ------
    ValueError
        If the target is not above zero or the progress has more than two axes.
    """
    rows, shape = _rows(progress)
    starts = np.broadcast_to(np.arange(rows.shape[1], dtype=np.float64), rows.shape)
    return _reach(rows, starts, target).reshape(shape)


def milestone_index_from(
    progress: npt.ArrayLike, starts: npt.ArrayLike, target: float = 1.0
) -> FloatArray:
    """When given starts, which may lie between grid points, reach a milestone.

    The result can be handed in again as `starts` of the next coat.

    Parameters
    ----------
    progress : array_like, shape (T,) or (M, T)
        From `cumulative`: never decreasing, NaN at gaps.
    starts : array_like, shape (K,) or (M, K)
        Fractional grid indices; NaN (unknown) stays NaN, and so does any outside the grid.
    target : float
        Progress to be made from the start on.

    Returns
    -------
    ndarray, shape (K,) or (M, K)
        Fractional grid index, as `milestone_index`.

    Raises
    ------
    ValueError
        If the target is not above zero or shapes do not fit.
    """
    rows, shape = _rows(progress)
    given = np.asarray(starts, dtype=np.float64)
    if given.ndim == 0 or given.ndim > 2:
        raise ValueError("starts need the shape (K,) or (M, K)")
    if given.ndim == 2 and len(shape) == 2 and given.shape[0] != rows.shape[0]:
        raise ValueError(f"{given.shape[0]} rows of starts for {rows.shape[0]} of progress")
    if given.ndim == 2 and len(shape) == 1:
        rows = np.broadcast_to(rows, (given.shape[0], rows.shape[1]))
    spread = np.broadcast_to(given, (rows.shape[0], given.shape[-1]))
    found = _reach(rows, spread, target)
    return found[0] if given.ndim == 1 and len(shape) == 1 else found


def _rows(progress: npt.ArrayLike) -> tuple[FloatArray, tuple[int, ...]]:
    values = np.asarray(progress, dtype=np.float64)
    if values.ndim not in (1, 2) or values.shape[-1] == 0:
        raise ValueError("progress needs the shape (T,) or (M, T) with at least one point")
    return np.atleast_2d(values), values.shape


def _reach(rows: FloatArray, starts: FloatArray, target: float) -> FloatArray:
    """Fractional index, shape of `starts` (M, K), at which each start has come to its target."""
    if not target > 0:
        raise ValueError(f"target must be above 0, got {target}")
    members, points = rows.shape
    gap = np.isnan(rows)
    broken = bool(gap.any())
    filled = np.maximum.accumulate(np.where(gap, -np.inf, rows), axis=1) if broken else rows
    usable = (starts >= 0) & (starts <= points - 1)
    begin = np.where(usable, starts, 0.0)
    left = np.floor(begin).astype(np.intp)
    share = begin - left
    row = np.arange(members)[:, np.newaxis] * points
    given, flat = rows.reshape(-1), filled.reshape(-1)
    goal = given.take(row + left) + target
    if share.any():
        # A start on a grid point does not look at its right neighbour, gap or not.
        right = np.minimum(left + 1, points - 1)
        rise = given.take(row + right) - given.take(row + left)
        goal += share * np.where(share > 0, rise, 0.0)
    known = usable & np.isfinite(goal)
    sought = np.where(known, goal - _TOLERANCE * target, 0.0)
    if starts.shape[1] == 1:  # one count for all of them is quicker than a search in each
        hit = np.count_nonzero(filled < sought, axis=1)[:, np.newaxis]
    else:
        hit = np.empty(starts.shape, dtype=np.intp)
        for m in range(members):
            hit[m] = np.searchsorted(filled[m], sought[m], side="left")
    end = np.clip(hit, 1, points - 1)
    before = flat.take(row + end - 1)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        within = (goal - before) / (flat.take(row + end) - before)
        found = end - 1 + np.minimum(np.maximum(within, 0.0), 1.0)
    good = known & (hit < points)
    if broken:
        gaps_before = np.cumsum(gap, axis=1).reshape(-1)
        good &= gaps_before.take(row + end) == gaps_before.take(row + left)
    return np.where(good, found, np.nan)
