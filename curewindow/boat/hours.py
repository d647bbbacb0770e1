"""When someone is aboard, and when there is daylight, on a grid of UTC times.

Days are local days: on the days the clocks change they have 23 or 25 hours, and
'until 18:00' is 18:00 by the clock on the wall.
"""

from __future__ import annotations

from datetime import UTC, datetime, time
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.schema import Boat, Hours, Place

BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
TimeArray = NDArray[np.datetime64]

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_DAY_S = 86400
# Altitude of the sun's centre at sunrise and sunset: 34' of refraction and 16' of
# its own half width (US Naval Observatory and NOAA use the same 50').
_HORIZON_DEG = -50.0 / 60.0


def local_clock(times_utc: TimeArray, zone_name: str) -> tuple[IntArray, IntArray]:
    """Local days and seconds of the clock on the wall.

    Parameters
    ----------
    times_utc : ndarray of datetime64, shape (T,)
        UTC instants, in any order.
    zone_name : str
        IANA name.

    Returns
    -------
    day : ndarray of int, shape (T,)
        Local calendar day, counted from 1970-01-01.
    second : ndarray of int, shape (T,)
        Seconds the wall clock shows since 00:00 of that day.
    """
    seconds = times_utc.astype("datetime64[s]").astype(np.int64)
    local = seconds + _utc_offset_s(seconds, zone_name)
    day = local // _DAY_S
    return day, local - day * _DAY_S


def _utc_offset_s(seconds: IntArray, zone_name: str) -> IntArray:
    """Offset from UTC at each instant: one look at a UTC day, all instants where it changes."""
    zone = ZoneInfo(zone_name)
    days, which = np.unique(seconds // _DAY_S, return_inverse=True)
    edges = np.array([_offsets_of(day, zone_name) for day in days.tolist()], np.int64)
    offsets: IntArray = edges.reshape(-1, 2)[which, 0]
    for day in np.flatnonzero(np.diff(edges.reshape(-1, 2), axis=1)).tolist():
        inside = which == day
        offsets[inside] = [_offset_at(second, zone) for second in seconds[inside]]
    return offsets


@lru_cache(maxsize=20_000)
def _offsets_of(day: int, zone_name: str) -> tuple[int, int]:
    """Offset from UTC at the beginning and the end of a UTC day."""
    zone = ZoneInfo(zone_name)
    return _offset_at(day * _DAY_S, zone), _offset_at((day + 1) * _DAY_S - 1, zone)


def _offset_at(second: int, zone: ZoneInfo) -> int:
    offset = datetime.fromtimestamp(int(second), UTC).astimezone(zone).utcoffset()
    assert offset is not None  # an aware datetime has one
    return int(offset.total_seconds())


def hours_mask(boat: Boat, times_utc: TimeArray) -> BoolArray:
    """True where someone is aboard and can work.

    Parameters
    ----------
    boat : Boat
        Its hours (none given: always) and time zone.
    times_utc : ndarray of datetime64, shape (T,)
        UTC instants.

    Returns
    -------
    ndarray of bool, shape (T,)
        ``from`` belongs to the hours, and so does ``until``: a coat may be
        finished on the stroke of it.
    """
    if not boat.hours:
        return np.ones(times_utc.shape, np.bool_)
    day, second = local_clock(times_utc, boat.place.time_zone)
    weekday = weekday_of(day)
    mask = np.zeros(times_utc.shape, np.bool_)
    for hours in boat.hours:
        on_day = np.isin(weekday, [WEEKDAYS.index(name) for name in hours.days])
        mask |= on_day & (second >= _second_of(hours.from_)) & (second <= _until_s(hours))
    return mask


def minutes_between(begin: datetime, end: datetime) -> TimeArray:
    """Each minute from one moment to another, both ends in it; aware in, UTC out."""
    first, last = (np.datetime64(int(each.timestamp()), "s") for each in (begin, end))
    return np.append(np.arange(first, last, np.timedelta64(60, "s")), max(first, last))


def first_and_last_s(boat: Boat) -> tuple[FloatArray, FloatArray]:
    """When someone comes and goes, by weekday (Monday 0), shape (7,); seconds of the day.

    Infinite where nobody is aboard that day, or no hours are given.
    """
    first, last = np.full(7, np.inf), np.full(7, -np.inf)
    for hours in boat.hours:
        for number in (WEEKDAYS.index(name) for name in hours.days):
            first[number] = min(first[number], _second_of(hours.from_))
            last[number] = max(last[number], _until_s(hours))
    return first, last


def days_aboard(boat: Boat) -> frozenset[int]:
    """Weekdays (Monday 0) on which someone is aboard at all; every day where no hours are given."""
    if not boat.hours:
        return frozenset(range(7))
    return frozenset(WEEKDAYS.index(name) for hours in boat.hours for name in hours.days)


def weekday_of(day: IntArray) -> IntArray:
    """Weekday (Monday 0) of days counted from 1970-01-01, a Thursday."""
    return (day + 3) % 7


def _second_of(clock: time) -> int:
    return clock.hour * 3600 + clock.minute * 60 + clock.second


def _until_s(hours: Hours) -> int:
    """Midnight as the end is that of the same day."""
    return _DAY_S if hours.until == time(0) else _second_of(hours.until)


def daylight_mask(place: Place, times_utc: TimeArray) -> BoolArray:
    """True between sunrise and sunset.

    Parameters
    ----------
    place : Place
        Latitude and longitude.
    times_utc : ndarray of datetime64, shape (T,)
        UTC instants.

    Returns
    -------
    ndarray of bool, shape (T,)
    """
    return sun_altitude(place.latitude, place.longitude, times_utc) >= _HORIZON_DEG


def sun_altitude(latitude: float, longitude: float, times_utc: TimeArray) -> FloatArray:
    """Altitude of the sun's centre, without refraction.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    times_utc : ndarray of datetime64, shape (T,)
        UTC instants.

    Returns
    -------
    ndarray, shape (T,)
        Degrees.

    Notes
    -----
    Meeus, Astronomical Algorithms, 2nd ed., chapter 25 (solar coordinates, low
    accuracy, 0.01°), equation 12.4 (sidereal time) and 13.6 (altitude), the same
    chain as NOAA's solar calculator. Good for the years 1900-2100.
    """
    seconds = times_utc.astype("datetime64[s]").astype(np.int64)
    days = seconds / _DAY_S - 10957.5  # since 2000-01-01 12:00
    century = days / 36525.0
    mean_longitude = 280.46646 + century * (36000.76983 + century * 0.0003032)
    anomaly = np.radians(357.52911 + century * (35999.05029 - century * 0.0001537))
    centre = (
        (1.914602 - century * (0.004817 + century * 0.000014)) * np.sin(anomaly)
        + (0.019993 - century * 0.000101) * np.sin(2.0 * anomaly)
        + 0.000289 * np.sin(3.0 * anomaly)
    )
    node = np.radians(125.04 - 1934.136 * century)
    apparent = np.radians(mean_longitude + centre - 0.00569 - 0.00478 * np.sin(node))
    obliquity = np.radians(23.4392911 - 0.0130042 * century + 0.00256 * np.cos(node))
    right_ascension = np.arctan2(np.cos(obliquity) * np.sin(apparent), np.cos(apparent))
    declination = np.arcsin(np.sin(obliquity) * np.sin(apparent))
    sidereal = np.radians(280.46061837 + 360.98564736629 * days + longitude)
    hour_angle = sidereal - right_ascension
    lat = np.radians(latitude)
    sine = np.sin(lat) * np.sin(declination) + np.cos(lat) * np.cos(declination) * np.cos(
        hour_angle
    )
    altitude: FloatArray = np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0)))
    return altitude


def next_hours_text(boat: Boat, now: datetime, days: int = 7) -> str:
    """The next hours aboard, in words.

    Parameters
    ----------
    boat : Boat
        Hours and time zone.
    now : datetime
        Aware.
    days : int
        How far to look.

    Returns
    -------
    str
        Such as 'aboard now until 18:00', 'next aboard Sat 09:00-17:00'.
    """
    if not boat.hours:
        return "no hours aboard given: any time counts"
    zone = ZoneInfo(boat.place.time_zone)
    start = int(now.timestamp()) // 60 * 60
    minutes = start + 60 * np.arange(days * 1440, dtype=np.int64)
    mask = hours_mask(boat, minutes.astype("datetime64[s]"))
    if not mask.any():
        return f"not aboard in the next {days} days"
    first = int(np.argmax(mask))
    after = np.flatnonzero(~mask[first:])
    last = first + int(after[0]) - 1 if after.size else len(mask) - 1
    until = datetime.fromtimestamp(int(minutes[last]), UTC).astimezone(zone)
    # The last minute of a day is in, the first of the next is not.
    until_text = "24:00" if (until.hour, until.minute) == (23, 59) else f"{until:%H:%M}"
    if first == 0:
        return f"aboard now until {until_text}" if after.size else "aboard now"
    opens = datetime.fromtimestamp(int(minutes[first]), UTC).astimezone(zone)
    day = WEEKDAYS[opens.weekday()]
    today = opens.date() == now.astimezone(zone).date()
    return f"next aboard {'today' if today else day} {opens:%H:%M}-{until_text}"
