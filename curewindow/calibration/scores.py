"""How good stated chances were: Brier score, its three parts, and the reliability diagram.

The Brier score is the mean of (p - o)², o being 1 for what held and 0 for what did not
(Brier, Monthly Weather Review 78 (1950) 1-3, in the form for one event). Over groups k
of n_k equal chances p_k, of which the share o_k held, and o of all (Murphy, Journal of
Applied Meteorology 12 (1973) 595-600):

    score = sum n_k (p_k - o_k)² / N  -  sum n_k (o_k - o)² / N  +  o (1 - o)
            reliability                  resolution                 uncertainty

With different chances in a group, told by their mean, what is left between score and
sum are the terms within groups (Stephenson, Coelho and Jolliffe, Weather and Forecasting
23 (2008) 752-757).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curewindow.series import BoolArray, FloatArray

GROUPS = 10


@dataclass(frozen=True, slots=True)
class Score:
    """A Brier score and its parts: of reliability less is better, of resolution more.

    ``within`` is what the grouping leaves over:
    score = reliability - resolution + uncertainty + within.
    """

    cases: int
    score: float
    reliability: float
    resolution: float
    uncertainty: float
    within: float

    @property
    def skill(self) -> float:
        """1 less the score over that of always saying the usual share; NaN where all agree."""
        return 1.0 - self.score / self.uncertainty if self.uncertainty > 0.0 else float("nan")


@dataclass(frozen=True, slots=True)
class ReliabilityBin:
    """Cases of nearly the same stated chance.

    Attributes
    ----------
    low, high : float
        Bounds; the upper belongs to the next group, but for the last.
    cases, days : int
        How many, and on how many different days.
    stated, held : float
        Mean chance stated, and share that held.
    least, most : float
        What share could have held by chance if `stated` were right: the middle 90 % of
        as many draws as there were days.
    """

    low: float
    high: float
    cases: int
    days: int
    stated: float
    held: float
    least: float
    most: float


def group_of(stated: FloatArray, groups: int = GROUPS) -> FloatArray:
    """Number of each chance's group, as a float array of whole numbers."""
    # 0.3 * 10 is a little more than 3 in binary, 0.7 * 10 a little less than 7.
    return np.minimum(np.floor(stated * groups + 1e-9), groups - 1.0)


def brier(stated: FloatArray, held: BoolArray, *, groups: int | None = GROUPS) -> Score:
    """Brier score and its decomposition.

    Parameters
    ----------
    stated : ndarray, shape (N,)
        Chances, 0 to 1.
    held : ndarray of bool, shape (N,)
    groups : int or None
        Groups of equal width; None: one for each chance that occurs.

    Raises
    ------
    ValueError
        No cases, shapes that do not fit, or a chance outside 0 to 1.
    """
    p, o = np.asarray(stated, np.float64), np.asarray(held, np.float64)
    if p.ndim != 1 or p.shape != o.shape or p.size == 0:
        raise ValueError("as many chances as outcomes are needed, and at least one")
    if not ((p >= 0.0) & (p <= 1.0)).all():
        raise ValueError("a chance lies between 0 and 1")
    which = p if groups is None else group_of(p, groups)
    _, index, count = np.unique(which, return_inverse=True, return_counts=True)
    mean_p = np.bincount(index, p) / count
    mean_o = np.bincount(index, o) / count
    usual = float(o.mean())
    score = float(np.mean((p - o) ** 2))
    reliability = float(np.sum(count * (mean_p - mean_o) ** 2) / p.size)
    resolution = float(np.sum(count * (mean_o - usual) ** 2) / p.size)
    uncertainty = usual * (1.0 - usual)
    within = score - (reliability - resolution + uncertainty)
    return Score(p.size, score, reliability, resolution, uncertainty, within)


def reliability_groups(
    stated: FloatArray, held: BoolArray, days: FloatArray, *, groups: int = GROUPS
) -> list[ReliabilityBin]:
    """Points of the reliability diagram, empty groups left out.

    Parameters
    ----------
    stated, held, days : ndarray, shape (N,)
        Chance, outcome, and the day that a case is of: cases of one day share its
        weather and count as one when chance is reckoned with.
    groups : int
    """
    which = group_of(np.asarray(stated, np.float64), groups)
    found = []
    for number in range(groups):
        inside = which == number
        if not inside.any():
            continue
        p = float(stated[inside].mean())
        different = int(np.unique(days[inside]).size)
        # Normal approximation of the binomial, with half a case for its steps.
        reach = 1.645 * np.sqrt(p * (1.0 - p) / different) + 0.5 / different
        found.append(
            ReliabilityBin(
                low=number / groups,
                high=(number + 1) / groups,
                cases=int(inside.sum()),
                days=different,
                stated=p,
                held=float(held[inside].mean()),
                least=float(max(p - reach, 0.0)),
                most=float(min(p + reach, 1.0)),
            )
        )
    return found
