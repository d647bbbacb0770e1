"""How far a stated confidence is to be trusted, by what came of the windows told before.

The correction is a line between log odds with one bend, at 80 %, shifted by the days d
ahead; with x = logit p and k = logit 0.8:

    logit q = base + slope min(x, k) + steep max(x - k, 0) + per_day d

with both slopes above 0, so that a surer window stays the surer one. The bend is for
members that lie too close together: there those that all agree are still often right,
while a majority says little. It is fitted in
:mod:`curewindow.calibration.fit`; here it is only carried and applied.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

LEAST, MOST = 0.01, 0.99
"""Nothing that is forecast is more certain than this, either way (estimate)."""
BEND = log(0.8 / 0.2)
FARTHEST_DAYS = 10.0
"""Days ahead beyond which the correction stays as it is: few cases come from there."""


@dataclass(frozen=True, slots=True)
class Trust:
    """The correction of the confidence of one feed's windows.

    Attributes
    ----------
    base, slope, steep, per_day : float
        Of the line above.
    low_base, low_slope, low_steep : float
        The same of a line below it by two standard errors.
    doubt_a_day, known_at_days : float
        By how much more it may be off a day away from the days ahead most cases are of.
    cases, days : int
        Windows it rests on, and the different days on which they began.
    may_raise : bool
        Are there so many cases that a confidence may be raised?
    """

    base: float
    slope: float
    steep: float
    per_day: float
    low_base: float
    low_slope: float
    low_steep: float
    doubt_a_day: float
    known_at_days: float
    cases: int
    days: int
    may_raise: bool = False

    def corrected(self, stated: float, lead_h: float) -> float:
        """A stated confidence as it has turned out so far.

        Parameters
        ----------
        stated : float
            0 to 1.
        lead_h : float
            Hours ahead.

        Returns
        -------
        float
            Never above the stated one but where many cases show that it was too low,
            and then only by what is beyond doubt.
        """
        odds = logit(stated)
        days = min(max(lead_h, 0.0) / 24.0, FARTHEST_DAYS)
        low, high = min(odds, BEND), max(odds - BEND, 0.0)
        ahead = self.per_day * days
        line = self.base + self.slope * low + self.steep * high + ahead
        if line <= odds:
            return share(line)
        sure = self.low_base + self.low_slope * low + self.low_steep * high + ahead
        sure -= self.doubt_a_day * abs(days - self.known_at_days)
        if self.may_raise and sure > odds:
            return share(sure)
        return stated


def logit(chance: float) -> float:
    """Log odds of a chance, which is kept off 0 and 1."""
    inside = min(max(chance, LEAST), MOST)
    return log(inside / (1.0 - inside))


def share(odds: float) -> float:
    """The chance with these log odds."""
    return min(max(1.0 / (1.0 + exp(-odds)), LEAST), MOST)
