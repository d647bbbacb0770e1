"""When the heater runs for a start: which heater run a start on each day is judged in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from curewindow.order.slots import IntArray, Slots
from curewindow.series import BoolArray, FloatArray

LIT_H: Final = 4.0
"""A heater is lit so long before the midnight a day begins with: at 20:00 the evening before."""
EVENING_RUNS: Final = 7
"""Every seventh day a space is lit in one and the same run; in between it grows damp again."""
HELD_H: Final = 76.0
"""Held so long, through the third day after it was lit."""
LONG_H: Final = 96.0
"""What lies in wood and on plating comes out of it for days: so long warm is long."""
LONG_RUN_EVERY_DAYS: Final = 14
"""So far apart are the days on which a long run of heat may begin."""
LONG_RUNS: Final = 3
"""Long runs overlap: every third may stand in one and the same run, cold in between."""
LONG_RUN_H: Final = 24.0 * 26
"""A long run: four days to dry out, the fourteen its coats begin on, eight to harden."""


@dataclass(frozen=True, slots=True, eq=False)
class HeaterRuns:
    """Which heater run each start is judged in.

    Attributes
    ----------
    runs : int
        Runs there are, each of all members.
    run : ndarray of int, shape (N,)
        The one a start in each slot is judged in.
    lit : ndarray of int, shape (N,)
        Slot in which the heater is lit for it; below 0: not possible any more.
    """

    runs: int
    run: IntArray
    lit: IntArray


def from_now_on(slots: Slots) -> HeaterRuns:
    """One run, lit at once."""
    none = np.zeros(slots.count, np.int64)
    return HeaterRuns(1, none, none)


def evening_before(slots: Slots) -> HeaterRuns:
    """Lit anew the evening before each day, in :data:`EVENING_RUNS` runs."""
    # The first day begins where the slots do: its evening before is past.
    lit = _begins(slots)[slots.day] - round(LIT_H / slots.hours)
    return HeaterRuns(
        EVENING_RUNS, slots.day % EVENING_RUNS, np.where(slots.day > 0, lit, -1).astype(np.int64)
    )


def days_before(slots: Slots) -> HeaterRuns:
    """Lit at least :data:`LONG_H` before: now, or the evening before every fourteenth day."""
    number = np.maximum((slots.day - round(LONG_H / 24.0)) // LONG_RUN_EVERY_DAYS, 0)
    begins = _begins(slots)
    lit = begins[np.minimum(number * LONG_RUN_EVERY_DAYS, begins.size - 1)] - round(
        LIT_H / slots.hours
    )
    return HeaterRuns(LONG_RUNS, number % LONG_RUNS, np.where(number > 0, lit, 0).astype(np.int64))


def held_evenings(hours: FloatArray) -> BoolArray:
    """Instants at which heat is held in each run of :func:`evening_before`.

    Parameters
    ----------
    hours : ndarray, shape (T,)
        Since the midnight today began with, by the boat's clock.

    Returns
    -------
    ndarray of bool, shape (EVENING_RUNS, T)
    """
    found = np.zeros((EVENING_RUNS, hours.size), np.bool_)
    for number in range(1, int(np.ceil(hours[-1] / 24.0)) + 1):
        since = hours - (24.0 * number - LIT_H)
        found[number % EVENING_RUNS] |= (since >= 0.0) & (since <= HELD_H)
    return found


def held_long_runs(hours: FloatArray, now_h: float) -> BoolArray:
    """The same of :func:`days_before`, the first of which begins now; shape (LONG_RUNS, T)."""
    found = np.zeros((LONG_RUNS, hours.size), np.bool_)
    for number in range(int(np.ceil(hours[-1] / 24.0 / LONG_RUN_EVERY_DAYS)) + 1):
        begins = 24.0 * LONG_RUN_EVERY_DAYS * number - LIT_H if number else now_h
        since = hours - begins
        found[number % LONG_RUNS] |= (since >= 0.0) & (since <= LONG_RUN_H)
    return found


def _begins(slots: Slots) -> IntArray:
    """Slot each day begins with."""
    return np.flatnonzero(np.concatenate(([True], np.diff(slots.day) > 0))).astype(np.int64)
