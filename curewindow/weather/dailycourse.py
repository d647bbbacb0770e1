"""The course of a day between a typed low and a typed high."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import sun_altitude
from curewindow.boat.schema import Place
from curewindow.weather.grid import STEP_S, FloatArray, TimeArray

HIGH_AFTER_NOON_H = 2.5
"""The day's high after the sun's noon; textbooks have it between 1.5 and 3 h after."""
LOW_BEFORE_NOON_H = (8.0, 3.0)
"""The day's low is at sunrise, but no earlier or later before noon than this (estimate).

North of the polar circle the sun may not rise, or not set; the low comes all the same.
"""
_HORIZON_DEG = -50.0 / 60.0  # as for sunrise in boat/hours.py
_FALLING, _RISING = 0.65, 0.8
_MINUTE = np.timedelta64(60, "s")


def day_bounds(day: date, zone_name: str) -> tuple[np.datetime64, np.datetime64]:
    """UTC begin and end of a local day: 23, 24 or 25 hours apart."""
    zone = ZoneInfo(zone_name)
    begin, end = (
        datetime.combine(d, time(0), zone).astimezone(UTC) for d in (day, day + timedelta(days=1))
    )
    return tuple(np.datetime64(moment.replace(tzinfo=None), "s") for moment in (begin, end))  # type: ignore[return-value]


def turning_points(place: Place, day: date) -> tuple[np.datetime64, np.datetime64]:
    """When a local day has its low and its high, UTC.

    Parameters
    ----------
    place : Place
        Its coordinates and time zone.
    day : date
        Local.

    Returns
    -------
    low, high : datetime64[s]
        Near sunrise, and in the middle of the afternoon.
    """
    begin, end = day_bounds(day, place.time_zone)
    minutes = np.arange(begin, end, _MINUTE)
    altitude = sun_altitude(place.latitude, place.longitude, minutes)
    noon = minutes[int(np.argmax(altitude))]
    morning = minutes[minutes <= noon]
    # The sun is below the horizon until it rises for good before noon.
    below = np.flatnonzero(altitude[: morning.size] < _HORIZON_DEG)
    rise = morning[min(int(below[-1]) + 1, morning.size - 1)] if below.size else begin
    earliest, latest = (noon - np.timedelta64(round(h * 3600), "s") for h in LOW_BEFORE_NOON_H)
    low = min(max(rise, earliest), latest)
    return low, noon + np.timedelta64(round(HIGH_AFTER_NOON_H * 3600), "s")


def daily_course(
    place: Place, days: list[date], low_c: FloatArray, high_c: FloatArray
) -> tuple[TimeArray, FloatArray, FloatArray]:
    """Temperature between each day's low and high.

    Parameters
    ----------
    place : Place
        Coordinates and time zone.
    days : list of date
        Local days, rising.
    low_c, high_c : ndarray, shape (D,)
        Of each day.

    Returns
    -------
    times : ndarray of datetime64[s], shape (T,)
        Regular grid over whole local days.
    temp_c : ndarray, shape (T,)
        Bent half cosines from each extreme to the next; NaN on days left out.
    gap_h : ndarray, shape (T,)
        Hours between the extremes around each instant; inf on days left out.

    Notes
    -----
    Before the first low the evening before is taken to have been as warm as the
    first day, and after the last high the next low is that of the last day. Air warms
    and cools fastest soon after it has turned, so the share of the time between two
    extremes is taken to a power; the powers are fitted to the mean course of Campbell
    and Norman, An Introduction to Environmental Biophysics (1998), equation 2.2, whose
    fixed hours do not suit a northern winter.
    """
    start, stop = day_bounds(days[0], place.time_zone)[0], day_bounds(days[-1], place.time_zone)[1]
    step = np.timedelta64(STEP_S, "s")
    first = np.datetime64(-(-int(start.astype(np.int64)) // STEP_S) * STEP_S, "s")
    times = np.arange(first, stop + np.timedelta64(1, "s"), step)
    temp = np.full(times.size, np.nan)
    gap_h = np.full(times.size, np.inf)
    for run in _runs(days):
        at: list[np.datetime64] = []
        value: list[float] = []
        one_day = timedelta(days=1)
        around = [days[run[0]] - one_day, *(days[i] for i in run), days[run[-1]] + one_day]
        for k, day in enumerate(around):
            i = run[min(max(k - 1, 0), len(run) - 1)]
            at += turning_points(place, day)
            value += [float(low_c[i]), float(high_c[i])]
        begin = day_bounds(days[run[0]], place.time_zone)[0]
        end = day_bounds(days[run[-1]], place.time_zone)[1]
        inside = (times >= begin) & (times <= end)
        temp[inside], gap_h[inside] = _half_cosines(
            times[inside], np.array(at, "datetime64[s]"), np.array(value)
        )
    return times, temp, gap_h


def _runs(days: list[date]) -> list[list[int]]:
    """Days that follow one another."""
    runs: list[list[int]] = []
    for i, day in enumerate(days):
        if runs and (day - days[i - 1]).days == 1:
            runs[-1].append(i)
        else:
            runs.append([i])
    return runs


def _half_cosines(
    times: TimeArray, at: TimeArray, value: FloatArray
) -> tuple[FloatArray, FloatArray]:
    x, knots = times.astype(np.int64), at.astype(np.int64)
    left = np.clip(np.searchsorted(knots, x, side="right") - 1, 0, knots.size - 2)
    width: NDArray[np.float64] = (knots[left + 1] - knots[left]).astype(np.float64)
    power = np.where(value[left + 1] < value[left], _FALLING, _RISING)
    spent = np.clip((x - knots[left]) / width, 0.0, 1.0) ** power
    share = 0.5 - 0.5 * np.cos(np.pi * spent)
    return value[left] + (value[left + 1] - value[left]) * share, width / 3600.0
