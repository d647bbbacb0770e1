"""From finish dates of many seasons to the chance, the dates and what each cause costs."""

from __future__ import annotations

import math

import numpy as np

from curewindow.series import FloatArray

Z_90 = 1.645


def chance_by(finish_d: FloatArray, by_d: float) -> float:
    """Share of the seasons (Y, D) done by so many days from now."""
    return float(np.mean(finish_d <= by_d))


def chance_range(chance: float, years: int, z: float = Z_90) -> tuple[float, float]:
    """What so few years leave open, 9 in 10 (by ``z``): the score interval of a share.

    Wilson, E. B. (1927), Probable inference, the law of succession, and statistical
    inference, J. Am. Stat. Assoc. 22, 209-212. Monte Carlo runs of one year share its weather, so
    that a year counts once.
    """
    z2 = z**2
    middle = (chance + z2 / (2 * years)) / (1 + z2 / years)
    half = (z / (1 + z2 / years)) * math.sqrt(chance * (1 - chance) / years + z2 / (4 * years**2))
    return max(0.0, middle - half), min(1.0, middle + half)


def day_for(finish_d: FloatArray, chance: float) -> float:
    """Days by which at least this share of the seasons is done; infinite: not in the time."""
    rank = max(0, math.ceil(chance * finish_d.size - 1e-9) - 1)
    return float(np.sort(finish_d, axis=None)[rank])


def days_saved(finish_d: FloatArray, without_d: FloatArray, horizon_d: float) -> tuple[float, bool]:
    """Mean days sooner; True where some season was not done in the time looked at.

    Such a season counts as done at its end, so that the days are at least so many.
    """
    capped = np.minimum(finish_d, horizon_d)
    saved = float(np.mean(capped - np.minimum(without_d, horizon_d)))
    return saved, bool(np.isinf(finish_d).any())


def chance_by_week(begun_d: FloatArray, ends_d: FloatArray) -> FloatArray:
    """Share of the seasons (S,) in which it is begun by the end of each week (W,)."""
    found: FloatArray = (begun_d[:, None] < ends_d[None, :]).mean(axis=0)
    return found
