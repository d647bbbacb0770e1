"""The correction of stated chances, fitted to what came of them.

Of the line in :class:`curewindow.trust.Trust` the four coefficients are found by
penalised logistic regression: Gaussian priors around 'as stated' (0, 1, 1, 0) hold them
where cases are few. Cases of one day share its weather; together they weigh as one.
The correction is used only where it fits clearly better than what was stated, and
raises only where many days show it.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from curewindow.series import BoolArray, FloatArray
from curewindow.trust import BEND, FARTHEST_DAYS, LEAST, MOST, Trust

LEAST_DAYS: Final = 20
"""Different days with windows before anything is corrected (estimate)."""
RAISES_FROM_DAYS: Final = 100
"""Days before a confidence is ever raised (estimate)."""
_PRIOR_SD: Final = np.array([0.8, 0.6, 0.6, 0.12])  # base, slopes, a day ahead (estimates)
_AS_STATED: Final = np.array([0.0, 1.0, 1.0, 0.0])
_LEAST_SLOPE: Final = 0.1
_CLEARLY, _CLEARLY_TOO_HIGH = 2.0, 1.0
"""Gain in log posterior, over what was stated, that counts as clear (estimates): e² to 1 and,
where what was stated was too high on the whole, e to 1."""
_STEPS: Final = 50


def fit_trust(
    stated: FloatArray, held: BoolArray, lead_h: FloatArray, days: FloatArray
) -> Trust | None:
    """Fit the correction of one feed's confidence.

    Parameters
    ----------
    stated : ndarray, shape (N,)
        Chances as they were before any correction.
    held : ndarray of bool, shape (N,)
    lead_h : ndarray, shape (N,)
    days : ndarray, shape (N,)
        The day each case is of, any number for it.

    Returns
    -------
    Trust or None
        None where there are too few days, or what was stated does as well.
    """
    stated = np.asarray(stated, np.float64)
    _, index, count = np.unique(days, return_inverse=True, return_counts=True)
    if count.size < LEAST_DAYS:
        return None
    weight = 1.0 / count[index]
    x = _columns(stated, np.asarray(lead_h, np.float64) / 24.0)
    y = np.asarray(held, np.float64)
    found = _fitted(x, y, weight)
    gain = _worth(found, x, y, weight) - _worth(_AS_STATED, x, y, weight)
    lowers = float(np.sum(weight * (x @ (found - _AS_STATED)))) < 0.0
    if gain < (_CLEARLY_TOO_HIGH if lowers else _CLEARLY):
        return None
    covariance = np.asarray(np.linalg.inv(_curvature(found, x, weight)), np.float64)
    known_at = float(np.average(x[:, 3], weights=weight))
    low = _two_errors_below(found, covariance, known_at)
    return Trust(
        base=round(float(found[0]), 4),
        slope=round(float(found[1]), 4),
        steep=round(float(found[2]), 4),
        per_day=round(float(found[3]), 4),
        low_base=round(low[0], 4),
        low_slope=round(low[1], 4),
        low_steep=round(low[2], 4),
        doubt_a_day=round(2.0 * float(np.sqrt(covariance[3, 3])), 4),
        known_at_days=round(known_at, 3),
        cases=int(stated.size),
        days=int(count.size),
        may_raise=bool(count.size >= RAISES_FROM_DAYS),
    )


def _columns(stated: FloatArray, days: FloatArray) -> FloatArray:
    """What the line is made of, (N, 4)."""
    inside = np.clip(stated, LEAST, MOST)
    odds = np.log(inside / (1.0 - inside))
    return np.stack(
        [
            np.ones(stated.size),
            np.minimum(odds, BEND),
            np.maximum(odds - BEND, 0.0),
            np.clip(days, 0.0, FARTHEST_DAYS),
        ],
        axis=1,
    )


def _fitted(x: FloatArray, y: FloatArray, weight: FloatArray) -> FloatArray:
    """Newton's method; the worth is concave, so it has one top."""
    found = _AS_STATED.copy()
    for _ in range(_STEPS):
        q = 1.0 / (1.0 + np.exp(-(x @ found)))
        slope = x.T @ (weight * (y - q)) - (found - _AS_STATED) / _PRIOR_SD**2
        step = np.linalg.solve(_curvature(found, x, weight), slope)
        while _worth(found + step, x, y, weight) < _worth(found, x, y, weight) - 1e-12:
            step = 0.5 * step
        found = found + step
        if float(np.abs(step).max()) < 1e-9:
            break
    # A surer window stays the surer one.
    found[1:3] = np.maximum(found[1:3], _LEAST_SLOPE)
    return np.asarray(found)


def _worth(at: FloatArray, x: FloatArray, y: FloatArray, weight: FloatArray) -> float:
    """Log posterior, but for a constant."""
    odds = x @ at
    likely = float(np.sum(weight * (y * odds - np.logaddexp(0.0, odds))))
    return likely - 0.5 * float(np.sum(((at - _AS_STATED) / _PRIOR_SD) ** 2))


def _curvature(at: FloatArray, x: FloatArray, weight: FloatArray) -> FloatArray:
    q = 1.0 / (1.0 + np.exp(-(x @ at)))
    bend = x.T @ ((weight * q * (1.0 - q))[:, None] * x)
    return np.asarray(bend + np.diag(1.0 / _PRIOR_SD**2))


def _two_errors_below(
    found: FloatArray, covariance: FloatArray, days: float
) -> tuple[float, float, float]:
    """A line below by two standard errors at 50, 80 and 95 %, so many days ahead."""
    told = np.array([0.5, 0.8, 0.95])
    rows = _columns(told, np.full(3, days))
    doubt = 2.0 * np.sqrt(np.einsum("ij,jk,ik->i", rows, covariance, rows))
    at = (rows @ found - found[3] * days - doubt).tolist()
    odds = np.log(told / (1.0 - told)).tolist()
    slopes = [(at[i + 1] - at[i]) / (odds[i + 1] - odds[i]) for i in (0, 1)]
    return at[0], max(slopes[0], _LEAST_SLOPE), max(slopes[1], _LEAST_SLOPE)
