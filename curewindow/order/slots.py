"""The slots a plan is laid on: half hours from now on, with the owner's hours and half-days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import local_clock

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

SLOT_MIN: Final = 30
"""Starts are looked at every half hour; hands-on times are rounded up to it."""
# Morning, afternoon and evening part at these hours of the clock on the wall.
_PARTS: Final = (12 * 3600, 17 * 3600 + 1800)


@dataclass(frozen=True, slots=True, eq=False)
class Slots:
    """A regular row of slots.

    Attributes
    ----------
    first : datetime
        Aware UTC; slot 0 begins here, at or after the moment planned for.
    minutes : int
        Length of a slot.
    aboard : ndarray of bool, shape (N,)
        True where someone is aboard from the beginning of a slot to its end.
    day : ndarray of int, shape (N,)
        Local days, 0 for that of slot 0.
    half_day : ndarray of int, shape (N,)
        Local half-days (morning, afternoon, evening), three a day.
    """

    first: datetime
    minutes: int
    aboard: BoolArray
    day: IntArray
    half_day: IntArray

    @property
    def count(self) -> int:
        """Number of slots N."""
        return int(self.aboard.size)

    @property
    def hours(self) -> float:
        """Length of a slot in hours."""
        return self.minutes / 60.0

    @property
    def before(self) -> IntArray:
        """Slots aboard before each slot, shape (N + 1,)."""
        found: IntArray = np.concatenate(([0], np.cumsum(self.aboard))).astype(np.int64)
        return found

    def at(self, slot: int) -> datetime:
        """The instant at which a slot begins, aware UTC."""
        return self.first + timedelta(minutes=self.minutes * int(slot))

    def at_or_after(self, when: datetime) -> int:
        """First slot that begins at or after an instant; may lie outside."""
        return -int((self.first - when) // timedelta(minutes=self.minutes))

    def at_or_before(self, when: datetime) -> int:
        """Last slot that begins at or before an instant; may lie outside."""
        return int((when - self.first) // timedelta(minutes=self.minutes))

    def needed(self, hours: float) -> int:
        """Slots that so many hours take, at least one."""
        return max(1, int(np.ceil(hours * 60.0 / self.minutes - 1e-9)))

    def day_of(self, slot: int) -> int:
        """Local day of an instant at which a slot begins; the last day beyond the end."""
        return int(self.day[min(max(int(slot), 0), self.count - 1)])


def lay_slots(
    now: datetime,
    until: datetime,
    times: NDArray[np.datetime64],
    hours_ok: BoolArray,
    zone_name: str,
    minutes: int = SLOT_MIN,
) -> Slots:
    """Lay slots over a grid of weather.

    Parameters
    ----------
    now, until : datetime
        Aware; the slots begin at or after the one and end at or before the other. Where the
        grid begins later than ``now``, they begin with it.
    times : ndarray of datetime64[s], shape (T,)
        The grid, whose step divides a slot.
    hours_ok : ndarray of bool, shape (T,)
        True at instants at which someone is aboard, both ends of the hours included.
    zone_name : str
        IANA name.
    minutes : int
        Length of a slot.

    Raises
    ------
    ValueError
        The grid does not reach over a single slot, or its step does not divide one.
    """
    step_s = int((times[1] - times[0]) / np.timedelta64(1, "s"))
    if minutes * 60 % step_s:
        raise ValueError(f"slots of {minutes} min on a grid of {step_s} s")
    per = minutes * 60 // step_s
    grid = times.astype("datetime64[s]").astype(np.int64)
    slot_s = minutes * 60
    begins_s = max(int(now.timestamp()), int(grid[0]))
    first_s = -(-begins_s // slot_s) * slot_s
    last_s = min(int(until.timestamp()), int(grid[-1]))
    count = (last_s - first_s) // slot_s
    if count < 1:
        raise ValueError("the weather does not reach over the time to be planned")
    begin = (first_s - int(grid[0])) // step_s
    if (first_s - int(grid[0])) % step_s:
        raise ValueError("the weather's grid does not fall on the slots")
    inside = np.lib.stride_tricks.sliding_window_view(
        hours_ok[begin : begin + count * per + 1], per + 1
    )[::per]
    starts = (first_s + slot_s * np.arange(count, dtype=np.int64)).astype("datetime64[s]")
    day, second = local_clock(starts, zone_name)
    day = day - day[0]
    part = np.searchsorted(_PARTS, second, side="right")
    return Slots(
        first=datetime.fromtimestamp(first_s, UTC),
        minutes=minutes,
        aboard=np.asarray(inside.all(axis=1), np.bool_),
        day=day,
        half_day=3 * day + part,
    )


def grid_index(slots: Slots, times: NDArray[np.datetime64]) -> tuple[int, int]:
    """Index of slot 0 on the weather's grid, and grid points a slot."""
    step_s = int((times[1] - times[0]) / np.timedelta64(1, "s"))
    begin_s = int(slots.first.timestamp()) - int(times[0].astype("datetime64[s]").astype(np.int64))
    return begin_s // step_s, slots.minutes * 60 // step_s
