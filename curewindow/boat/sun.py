"""Sunrise and sunset of a day at the boat's place."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.hours import daylight_mask
from curewindow.boat.schema import Place

_MINUTE = np.timedelta64(60, "s")


def sun_times(place: Place, day: date) -> tuple[datetime | None, datetime | None]:
    """First sunrise and last sunset within a day by the clock of the place.

    Parameters
    ----------
    place : Place
    day : date
        A local day: on those the clocks change it has 23 or 25 hours.

    Returns
    -------
    sunrise, sunset : datetime or None
        Aware UTC, to the minute; None where there is none on that day (polar day and
        night, or a zone far from the sun's own).
    """
    zone = ZoneInfo(place.time_zone)
    begin, end = (
        datetime.combine(at, time(0), zone).astimezone(UTC).replace(tzinfo=None)
        for at in (day, day + timedelta(days=1))
    )
    minutes = np.arange(np.datetime64(begin, "s"), np.datetime64(end, "s") + _MINUTE, _MINUTE)
    light = daylight_mask(place, minutes).astype(np.int8)
    turns = np.diff(light)
    rises, sets = np.flatnonzero(turns > 0), np.flatnonzero(turns < 0)

    def moment(minute: int) -> datetime:
        return begin.replace(tzinfo=UTC) + timedelta(minutes=minute)

    return (
        moment(int(rises[0]) + 1) if rises.size else None,
        moment(int(sets[-1])) if sets.size else None,
    )
