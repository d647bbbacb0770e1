"""The heater's usual routine, as a setpoint for every instant."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import WEEKDAYS, days_aboard, local_clock, weekday_of
from curewindow.boat.schema import Boat, Heating
from curewindow.series import FloatArray


def setpoints_c(
    heating: Heating | None, boat: Boat, times_utc: NDArray[np.datetime64]
) -> FloatArray:
    """Setpoint of a heater's routine.

    Parameters
    ----------
    heating : Heating or None
        Heater and routine; None: no heater.
    boat : Boat
        Time zone, and the days aboard on which a heater without days of its own runs.
    times_utc : ndarray of datetime64, shape (T,)
        UTC instants.

    Returns
    -------
    ndarray, shape (T,)
        °C; NaN: heater off.

    Notes
    -----
    Each entry holds from its time of day to the next. Before the first entry of a day
    the last one of the evening before goes on, if that day was one it runs on. A day on
    which it does not run is off from midnight to midnight.
    """
    setpoints = np.full(times_utc.shape, np.nan)
    if heating is None or not heating.routine:
        return setpoints
    running = days_aboard(boat)
    if heating.days is not None:
        running = frozenset(WEEKDAYS.index(name) for name in heating.days)
    day, second = local_clock(times_utc, boat.place.time_zone)
    weekday = weekday_of(day)
    on = np.isin(weekday, list(running))
    routine = sorted(heating.routine, key=lambda entry: entry.from_)
    values = [np.nan if entry.setpoint is None else entry.setpoint for entry in routine]
    starts = [e.from_.hour * 3600 + e.from_.minute * 60 + e.from_.second for e in routine]
    entry = np.searchsorted(starts, second, side="right") - 1
    setpoints[on] = np.array(values)[entry[on]]  # -1 is the last one, of the evening before
    evening_before = np.isin((weekday - 1) % 7, list(running))
    setpoints[on & (entry < 0) & ~evening_before] = np.nan
    return setpoints
