"""Regularised least squares: values that fit the readings and are still believable."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from curewindow.fitting.cabin import Cabin, Courses
from curewindow.fitting.data import Data, predicted
from curewindow.fitting.unknowns import NETWORK_KEYS
from curewindow.series import FloatArray

FURTHEST = 3.5
"""Values are sought so many spreads to either side of their guess."""
_STEP = 0.04  # of the logarithm, for slopes: small against any spread, large against kinks
_MOST_RUNS = 25
# Draws around the solution: rounds; networks in each and candidates on each network; how
# much wider than believed, degrees of freedom of the tails, draws that must count, and
# least spread drawn with.
_ROUNDS, _NETWORKS, _EACH = 3, 14, 6
_WIDER, _TAIL, _ENOUGH, _LEAST_SPREAD = 1.4, 5.0, 15.0, 0.1
_SEED = 20260105
_OVERSURE = 1.55
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
    sure = told / _OVERSURE**2 + np.eye(count)
    covariance = np.asarray(np.linalg.inv(sure), dtype=np.float64)
    worth = float(np.sum(data.weight**2)) - float(
        np.trace(told @ np.linalg.inv(told + np.eye(count)))
    )
    excess = float(np.sum(trust * off**2)) / max(worth, 1.0)
    spread = misfit * max(1.0, float(np.sqrt(excess)))
    return Solution(place, covariance, courses, steps, spread, 2.0 * float(found.cost))


def look_around(cabin: Cabin, data: Data, solution: Solution) -> Solution:
    """What fits about as well, near and far: mean and spread of all believable values.

    Parameters
    ----------
    cabin : Cabin
    data : Data
        What the solution was fitted to.
    solution : Solution

    Returns
    -------
    Solution
        At the mean place, with the covariance of what was found around it.

    Notes
    -----
    A leaky damp cabin and a tight dry one can read much the same, and where dew forms and
    dries slopes at one place tell little of the next. So candidates are drawn around the
    solution, each counts by its likelihood over the density it was drawn with, and the next
    are drawn around what they tell: adaptive importance sampling, all draws kept and
    weighed by the mixture they came from (Cornuet et al. 2012).
    """
    rng = np.random.default_rng(_SEED)
    network = [k for k, unknown in enumerate(cabin.unknowns) if unknown.key in NETWORK_KEYS]
    centre, shape = solution.place, solution.covariance * _WIDER**2
    shape += _LEAST_SPREAD**2 * np.eye(len(centre))
    scale = data.weight / (data.sigma * solution.misfit)
    places, costs = np.empty((0, len(centre))), np.empty(0)
    drawn: list[tuple[FloatArray, FloatArray]] = []
    weights = np.empty(0)
    for _ in range(_ROUNDS):
        drawn.append((centre, shape))
        some = _samples(rng, centre, shape, network)
        off = (predicted(cabin.courses(some), data) - data.value) * scale
        told = 2.0 * (np.sqrt(1.0 + off**2) - 1.0)
        costs = np.concatenate([costs, told.sum(axis=1) / _OVERSURE**2 + (some**2).sum(axis=1)])
        places = np.concatenate([places, some])
        density = np.mean([np.exp(_log_density(places, *each)) for each in drawn], axis=0)
        logs = -costs / 2.0 - np.log(density)
        weights = np.exp(logs - logs.max())
        weights /= weights.sum()
        centre = weights @ places
        gap = places - centre
        # Few draws that count tell too little of the spread: then the last one helps.
        count = 1.0 / float(np.sum(weights**2))
        lean = max(0.0, 1.0 - count / _ENOUGH)
        found = (gap * weights[:, None]).T @ gap
        shape = (found + lean * solution.covariance) * _WIDER**2
        shape += _LEAST_SPREAD**2 * np.eye(len(centre))
    covariance = found + lean * solution.covariance
    courses = cabin.courses(_around(centre, solution.steps))
    return replace(solution, place=centre, covariance=covariance, courses=courses)


def _samples(
    rng: np.random.Generator, centre: FloatArray, shape: FloatArray, network: list[int]
) -> FloatArray:
    """Places of a wide-tailed law (Student's t), within the bounds of the search.

    Some share what makes the network, which takes most of the time to run: each of them is
    of that law still.
    """
    order = [*network, *(index for index in range(len(centre)) if index not in network)]
    root = np.linalg.cholesky(shape[np.ix_(order, order)])
    plain = rng.standard_normal((_NETWORKS, _EACH, len(centre)))
    plain[:, :, : len(network)] = plain[:, :1, : len(network)]
    tails = np.sqrt(_TAIL / rng.chisquare(_TAIL, (_NETWORKS, 1, 1)))
    away = ((plain * tails) @ root.T).reshape(-1, len(centre))
    drawn = np.empty_like(away)
    drawn[:, order] = away
    return np.asarray(np.clip(centre + drawn, -FURTHEST, FURTHEST), dtype=np.float64)


def _log_density(places: FloatArray, centre: FloatArray, shape: FloatArray) -> FloatArray:
    """Logarithm of the density drawn with, but for a constant."""
    root = np.linalg.cholesky(shape)
    away = np.linalg.solve(root, (places - centre).T)
    count = len(centre)
    density: FloatArray = -0.5 * (_TAIL + count) * np.log1p(
        np.sum(away**2, axis=0) / _TAIL
    ) - np.sum(np.log(np.diag(root)))
    return density


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
