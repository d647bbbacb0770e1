"""Regularised least squares: values that fit the readings and are still believable."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from curewindow.fitting.cabin import Cabin, Courses
from curewindow.fitting.data import Data, predicted
from curewindow.series import FloatArray

FURTHEST = 3.5
"""Values are sought so many spreads to either side of their guess."""
_STEP = 0.04  # of the logarithm, for slopes: small against any spread, large against kinks
_LOOKS = (-1.5, -0.75, 0.75, 1.5)
_MOST_RUNS, _FEW_RUNS = 25, 4
_OVERSURE = 1.5
"""What the readings say is taken as so much less sure than the slopes at one place have it:
where dew forms and dries and the heater is at its limit, slopes change from place to
place. From cabins whose true values are known (tests/benchmarks/bench_fitting.py)."""


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The best candidate.

    Attributes
    ----------
    place : ndarray, shape (P,)
        In spreads from the medians.
    covariance : ndarray, shape (P, P)
        Of the place; the guesses alone would give 1 on the diagonal.
    courses : Courses
        Of the place first, then of each unknown raised a little.
    steps : ndarray, shape (P,)
        By how much, in spreads.
    misfit : float
        Spread of the residuals over the expected one, 1 at least; the covariance and
        the weight of the readings have been made to match.
    cost : float
        What was made least; lower by 2 is better by a standard deviation and more.
    """

    place: FloatArray
    covariance: FloatArray
    courses: Courses
    steps: FloatArray
    misfit: float
    cost: float


def solve(
    cabin: Cabin,
    data: Data,
    start: FloatArray | None = None,
    misfit: float = 1.0,
    *,
    roughly: bool = False,
) -> Solution:
    """Fit the unknowns of a cabin to what was read.

    Parameters
    ----------
    cabin : Cabin
    data : Data
    start : ndarray, shape (P,), optional
        Where to begin; else at the medians.
    misfit : float
        From an earlier round: expected deviations are taken so much larger.
    roughly : bool
        Stop early.

    Returns
    -------
    Solution

    Notes
    -----
    The cost is ``sum rho(r_i²) + sum z_j²`` with r the weighted residual in standard
    deviations, z the place, and the soft L1 loss ``rho(s) = 2 (sqrt(1 + s) - 1)``, which
    grows with the residual, not its square, so that no single reading can pull far. It is
    the loss of that name of scipy.optimize.least_squares, applied to the readings alone.
    The covariance is the inverse of the Gauss-Newton matrix, weighed by that loss.
    """
    # Here and not above: half a second that no other command should pay.
    from scipy.optimize import least_squares

    count = len(cabin.unknowns)
    steps = _STEP / np.array([unknown.log_spread for unknown in cabin.unknowns])
    scale = data.weight / (data.sigma * misfit)

    def residuals(place: FloatArray) -> FloatArray:
        off = (predicted(cabin.courses(place[None]), data)[0] - data.value) * scale
        return np.concatenate([_softened(off), place])

    def slopes(place: FloatArray) -> FloatArray:
        off, raw = _slopes(cabin.courses(_around(place, steps)), data, scale, steps)
        return np.vstack([raw * _softened_slope(off)[:, None], np.eye(count)])

    found = least_squares(
        residuals,
        np.zeros(count) if start is None else start,
        jac=slopes,
        bounds=(-FURTHEST, FURTHEST),
        method="trf",
        xtol=3e-2 if roughly else 1e-2,
        ftol=3e-3 if roughly else 1e-3,
        max_nfev=_FEW_RUNS if roughly else _MOST_RUNS,
    )
    place = np.asarray(found.x, dtype=np.float64)
    courses = cabin.courses(_around(place, steps))
    off, raw = _slopes(courses, data, scale, steps)
    trust = 1.0 / np.sqrt(1.0 + off**2)  # d rho / d s of the soft L1 loss
    told = raw.T @ (raw * trust[:, None])
    sure = told / _OVERSURE**2 + np.eye(count)
    covariance = np.asarray(np.linalg.inv(sure), dtype=np.float64)
    worth = float(np.sum(data.weight**2)) - float(
        np.trace(told @ np.linalg.inv(told + np.eye(count)))
    )
    excess = float(np.sum(trust * off**2)) / max(worth, 1.0)
    spread = misfit * max(1.0, float(np.sqrt(excess)))
    return Solution(place, covariance, courses, steps, spread, 2.0 * float(found.cost))


def look_around(cabin: Cabin, data: Data, solution: Solution) -> Solution:
    """Fit again from places to either side, and take in what fits about as well.

    Parameters
    ----------
    cabin : Cabin
    data : Data
        What the solution was fitted to.
    solution : Solution

    Returns
    -------
    Solution
        The best of all; its covariance holds the others' places too, each by its
        likelihood.

    Notes
    -----
    A leaky damp cabin and a tight dry one can read much the same, with a dent in the cost
    at either. The starts lie along the air change, the least certain of such pairs, the
    rest going along as the covariance has them.
    """
    along = solution.covariance[:, 0] / solution.covariance[0, 0]
    found = [solution]
    for away in _LOOKS:
        start = solution.place + np.clip(along * away, -2.0, 2.0)
        start = np.clip(start, 0.9 * -FURTHEST, 0.9 * FURTHEST)
        found.append(solve(cabin, data, start, solution.misfit, roughly=True))
    best = min(found, key=lambda one: one.cost)
    weights = np.array([np.exp((best.cost - one.cost) / 2.0) for one in found])
    covariance = np.zeros_like(best.covariance)
    for weight, one in zip(weights / weights.sum(), found, strict=True):
        gap = one.place - best.place
        covariance += weight * (one.covariance + np.outer(gap, gap))
    return replace(best, covariance=covariance)


def sensitivity(steps: FloatArray, values: FloatArray) -> FloatArray:
    """Change of values (K, N) a spread of each unknown, shape (N, P)."""
    return np.asarray(((values[1:] - values[:1]) / steps[:, None]).T, dtype=np.float64)


def _around(place: FloatArray, steps: FloatArray) -> FloatArray:
    return np.vstack([place, place + np.diag(steps)])


def _slopes(
    courses: Courses, data: Data, scale: FloatArray, steps: FloatArray
) -> tuple[FloatArray, FloatArray]:
    values = predicted(courses, data)
    return (values[0] - data.value) * scale, sensitivity(steps, values) * scale[:, None]


def _softened(off: FloatArray) -> FloatArray:
    """Signed root of the soft L1 loss, so that its square is the loss."""
    root = np.sqrt(1.0 + off**2)
    # 2 (root - 1), written so that nothing is lost near 0.
    return np.asarray(off * np.sqrt(2.0 / (root + 1.0)), dtype=np.float64)


def _softened_slope(off: FloatArray) -> FloatArray:
    root = np.sqrt(1.0 + off**2)
    return np.asarray(np.sqrt((root + 1.0) / 2.0) / root, dtype=np.float64)
