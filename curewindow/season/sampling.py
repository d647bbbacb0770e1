"""What chance decides besides the weather: when things arrive, and the owner's pace."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from curewindow.series import FloatArray

SPREAD = 0.3
"""Spread of hands-on times about what was written, in logarithms (estimate): two in three
pieces of work take 0.74 to 1.35 times as long."""
SHARED = 0.5
"""Of its variance so much is the owner's (all jobs alike), the rest each job's (estimate)."""
LEAST_LOGGED = 5
"""Coats logged before the pace is learned from them."""
AT_HAND = -1.0
"""Of a delivery: it is there already."""
_LIKELY = (0.1, 10.0)
"""A coat logged as a tenth or ten times of what was written is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Pace:
    """How long work takes, against what was written: log-normal.

    Attributes
    ----------
    median : float
        1: as written.
    spread : float
        Standard deviation of the logarithm.
    logged : int
        Coats it was learned from; 0: an estimate.
    """

    median: float = 1.0
    spread: float = SPREAD
    logged: int = 0


def pace_of(ratios: list[float]) -> Pace:
    """The pace learned from durations that were logged.

    Parameters
    ----------
    ratios : list of float
        Hours logged over hours written, a coat each; those that cannot be are left out.

    Returns
    -------
    Pace
        The estimate while fewer than :data:`LEAST_LOGGED` coats are there. Few coats are
        drawn toward it: the estimate counts as so many coats.
    """
    logs = [math.log(each) for each in ratios if each > 0 and _LIKELY[0] <= each <= _LIKELY[1]]
    count = len(logs)
    if count < LEAST_LOGGED:
        return Pace()
    weight = count / (count + LEAST_LOGGED)
    centre = weight * math.fsum(logs) / count
    own = math.fsum((each - math.fsum(logs) / count) ** 2 for each in logs) / (count - 1)
    spread = math.sqrt(weight * own + (1.0 - weight) * SPREAD**2)
    return Pace(math.exp(centre), spread, count)


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """What chance decides in one Monte Carlo run.

    Attributes
    ----------
    pace : dict of str to float
        By job: hours it takes over hours written.
    arrives : dict of (str, str) to float
        By job and what is to arrive: 0 at the earliest, 1 at the latest, below 0 at once.
    """

    pace: dict[str, float]
    arrives: dict[tuple[str, str], float]


def samples_of(
    jobs: list[str],
    deliveries: list[tuple[str, str]],
    pace: Pace,
    count: int,
    seed: int,
) -> list[Sample]:
    """Samples that are the same for the same seed, whatever else changes.

    Parameters
    ----------
    jobs : list of str
    deliveries : list of (job, what)
    pace : Pace
    count : int
    seed : int
    """
    found = []
    for number in range(count):
        chance = np.random.default_rng([seed, number])
        common = chance.standard_normal()
        own: FloatArray = chance.standard_normal(len(jobs))
        # A delivery is as likely early as late within its range.
        late = chance.random(len(deliveries))
        z = math.sqrt(SHARED) * common + math.sqrt(1.0 - SHARED) * own
        factor = pace.median * np.exp(pace.spread * z)
        found.append(
            Sample(
                dict(zip(jobs, factor.tolist(), strict=True)),
                dict(zip(deliveries, late.tolist(), strict=True)),
            )
        )
    return found
