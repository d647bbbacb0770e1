"""Regularised least squares: values that fit the readings and are still believable."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curewindow.fitting.cabin import Cabin, Courses
from curewindow.fitting.data import Data, predicted
from curewindow.series import FloatArray

FURTHEST = 3.5
"""Values are sought so many spreads to either side of their guess."""
_STEP = 0.04  # of the logarithm, for slopes: small against any spread, large against kinks
_MOST_RUNS = 25


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
    """

    place: FloatArray
    covariance: FloatArray
    courses: Courses
    steps: FloatArray
    misfit: float


def solve(
    cabin: Cabin, data: Data, start: FloatArray | None = None, misfit: float = 1.0
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
        xtol=1e-2,
        ftol=1e-3,
        max_nfev=_MOST_RUNS,
    )
    place = np.asarray(found.x, dtype=np.float64)
    courses = cabin.courses(_around(place, steps))
    off, raw = _slopes(courses, data, scale, steps)
    trust = 1.0 / np.sqrt(1.0 + off**2)  # d rho / d s of the soft L1 loss
    told = raw.T @ (raw * trust[:, None])
    covariance = np.asarray(np.linalg.inv(told + np.eye(count)), dtype=np.float64)
    worth = float(np.sum(data.weight**2)) - float(np.trace(told @ covariance))
    excess = float(np.sum(trust * off**2)) / max(worth, 1.0)
    return Solution(place, covariance, courses, steps, misfit * max(1.0, float(np.sqrt(excess))))


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
