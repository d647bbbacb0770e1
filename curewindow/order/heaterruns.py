"""When the heater runs for a start: which heater run a start on each day is judged in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from curewindow.order.slots import IntArray, Slots
from curewindow.series import BoolArray, FloatArray

LIT_H: Final = 4.0
"""A heater is lit so long before the midnight a day begins with, or earlier: by 20:00."""
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
    lit = _lit_slots(slots)[slots.day]
    return HeaterRuns(EVENING_RUNS, slots.day % EVENING_RUNS, np.where(slots.day > 0, lit, -1))


def days_before(slots: Slots) -> HeaterRuns:
    """Lit at least :data:`LONG_H` before: now, or the evening before every fourteenth day."""
    number = np.maximum((slots.day - round(LONG_H / 24.0)) // LONG_RUN_EVERY_DAYS, 0)
    by_day = _lit_slots(slots)
    lit = by_day[np.minimum(number * LONG_RUN_EVERY_DAYS, by_day.size - 1)]
    here = np.flatnonzero(slots.aboard)
    at_once = int(here[0]) if here.size else -1
    return HeaterRuns(LONG_RUNS, number % LONG_RUNS, np.where(number > 0, lit, at_once))


def _lit_slots(slots: Slots) -> IntArray:
    """Slot the heater is lit in for each day; -1 where nobody can."""
    begins = _begins(slots)
    since = np.arange(slots.count) - begins[slots.day]
    # The first day begins where the slots do, and so less before the next midnight.
    hours = 24.0 * slots.day + since * slots.hours
    hours[slots.day == 0] += 24.0 - np.count_nonzero(slots.day == 0) * slots.hours
    by_day = np.full(int(slots.day[-1]) + 1, -1, np.int64)
    for number in range(1, by_day.size):
        index = lit_index(hours, slots.aboard, number)
        by_day[number] = -1 if index is None else index
    return by_day


def lit_index(hours: FloatArray, aboard: BoolArray, day: int) -> int | None:
    """When the heater is lit for a day: the last moment before 20:00 of the evening before.

    Where nobody was aboard on the day before it is as soon as someone comes; None: nobody does.

    Parameters
    ----------
    hours : ndarray, shape (T,)
        Since the midnight today began with, by the boat's clock, rising.
    aboard : ndarray of bool, shape (T,)
        Where someone is there to light it.
    day : int
        Counted from today, 0.
    """
    midnight = 24.0 * day
    for first, last, pick in (
        (midnight - 24.0, midnight - LIT_H, -1),
        (midnight, midnight + 24.0, 0),
    ):
        begin, end = np.searchsorted(hours, [first, last], side="left")
        here = np.flatnonzero(aboard[begin : end + (pick == -1)])
        if here.size:
            return int(begin + here[pick])
    return None


def held_evenings(hours: FloatArray, aboard: BoolArray) -> BoolArray:
    """Instants at which heat is held in each run of :func:`evening_before`.

    Parameters
    ----------
    hours : ndarray, shape (T,)
        Since the midnight today began with, by the boat's clock.
    aboard : ndarray of bool, shape (T,)
        Where someone is there to light it.

    Returns
    -------
    ndarray of bool, shape (EVENING_RUNS, T)
    """
    found = np.zeros((EVENING_RUNS, hours.size), np.bool_)
    for number in range(1, int(np.ceil(hours[-1] / 24.0)) + 1):
        lit = lit_index(hours, aboard, number)
        if lit is not None:
            until = 24.0 * number - LIT_H + HELD_H
            found[number % EVENING_RUNS] |= (hours >= hours[lit]) & (hours <= until)
    return found


def held_long_runs(hours: FloatArray, aboard: BoolArray, now_h: float) -> BoolArray:
    """The same of :func:`days_before`, the first of which begins now; shape (LONG_RUNS, T)."""
    found = np.zeros((LONG_RUNS, hours.size), np.bool_)
    for number in range(int(np.ceil(hours[-1] / 24.0 / LONG_RUN_EVERY_DAYS)) + 1):
        if number:
            lit = lit_index(hours, aboard, LONG_RUN_EVERY_DAYS * number)
        else:
            here = np.flatnonzero(aboard & (hours >= now_h))
            lit = int(here[0]) if here.size else None
        if lit is not None:
            since = hours - hours[lit]
            found[number % LONG_RUNS] |= (since >= 0.0) & (since <= LONG_RUN_H)
    return found


def _begins(slots: Slots) -> IntArray:
    """Slot each day begins with."""
    return np.flatnonzero(np.concatenate(([True], np.diff(slots.day) > 0))).astype(np.int64)
