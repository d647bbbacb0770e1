"""How every space, and the open air, stands at this moment."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from curewindow.answers import SpaceNow
from curewindow.boat.checks import OUTDOORS
from curewindow.conditions import SpaceConditions
from curewindow.conditions.course import utc64
from curewindow.conditions.draw import (
    LoggedValues,
    logged_air,
    logged_dew_point,
    logged_surface,
    readings_of,
)
from curewindow.conditions.routine import broken_ahead
from curewindow.physics.air import dew_point_from_pressure, relative_humidity
from curewindow.series import FloatArray
from curewindow.situation import Situation

_AHEAD = timedelta(days=7)


def spaces_now(facts: Situation) -> list[SpaceNow]:
    """Conditions in each space of the boat, in its own order."""
    return [_space_now(facts, facts.conditions[space.name]) for space in facts.boat.space]


def _space_now(facts: Situation, conditions: SpaceConditions) -> SpaceNow:
    space = facts.boat.find_space(conditions.space)
    held = None if space is None or space.heating is None else space.heating.held_at(facts.now)
    found = _stands(facts, conditions)
    broken = [] if space is None else broken_ahead(space.heating, facts.boat, facts.now)
    if broken and broken[0][0] <= facts.now + _AHEAD:
        first, last = broken[0]
        found = found.model_copy(update={"heater_broken_from": first, "heater_broken_until": last})
    if held is None:
        return found
    if held.read_c is not None:
        return found.model_copy(update={"heater_out_c": held.read_c})
    return found.model_copy(update={"heater_until": held.end, "heater_c": held.setpoint_c})


def _stands(facts: Situation, conditions: SpaceConditions) -> SpaceNow:
    at = _index(conditions.times, facts.now)
    if at is None:
        return SpaceNow(where=conditions.space, reading_age_h=_age_h(facts, conditions.space))
    now = _Now(facts, conditions, at)
    air, dew = now.air_c(), now.dew_point_c()
    coldest: str | None = None
    coldest_c: float | None = None
    for name, course in conditions.surface_c.items():
        value = _rounded(now.surface_c(name, course))
        if value is not None and (coldest_c is None or value < coldest_c):
            coldest, coldest_c = name or None, value
    damp = _rounded(dew)
    above = None if damp is None or coldest_c is None else round(coldest_c - damp, 1)
    return SpaceNow(
        where=conditions.space,
        air_c=_rounded(air),
        rh_pct=_rounded(min(float(relative_humidity(air, dew)), 100.0)),
        dew_point_c=damp,
        coldest=coldest,
        coldest_c=coldest_c,
        coldest_above_dew_k=above,
        measured=bool(conditions.measured[at]) or now.read_since,
        reading_age_h=_age_h(facts, conditions.space),
    )


class _Now:
    """A space's courses at this moment, between two points of the grid; NaN: unknown.

    The grid does not have what was read since its last point: the course goes through that
    reading and on from it as far off as it was.
    """

    def __init__(self, facts: Situation, conditions: SpaceConditions, at: int) -> None:
        self._conditions, self._at = conditions, at
        self._now = utc64(facts.now)
        own = readings_of(facts.readings, conditions.space, facts.now)
        self._since = [each for each in own if utc64(each.at) > conditions.times[at]]

    @property
    def read_since(self) -> bool:
        """Was the air read since the last point of the grid?"""
        return any(each.air_c is not None for each in self._since)

    def air_c(self) -> float:
        return self._through(self._conditions.air_c, logged_air(self._since))

    def dew_point_c(self) -> float:
        return self._through(self._conditions.dew_point_c, logged_dew_point(self._since))

    def surface_c(self, panel: str, course: FloatArray) -> float:
        return self._through(course, logged_surface(self._since, panel))

    def _through(self, values: FloatArray, read: LoggedValues) -> float:
        value = self._value(values, self._now)
        if not read.at.size:
            return value
        then, was = self._value(values, read.at[-1]), float(read.value[-1])
        return was if np.isnan(value) or np.isnan(then) else value + was - then

    def _value(self, values: FloatArray, when: np.datetime64) -> float:
        """The middle member at an instant behind the last point of the grid."""
        times = self._conditions.times
        following = min(self._at + 1, times.size - 1)
        ends = np.median(values[:, [self._at, following]], axis=0)
        if when <= times[self._at] or following == self._at:
            return float(ends[0])
        part = float((when - times[self._at]) / (times[following] - times[self._at]))
        return float(ends[0] + part * (ends[1] - ends[0]))


def _rounded(value: float) -> float | None:
    return None if np.isnan(value) else round(value, 1)


def outdoors_now(facts: Situation) -> SpaceNow:
    """The weather outside by the forecast at hand."""
    forecast = facts.forecast
    at = _index(forecast.times, facts.now)
    if at is None:
        return SpaceNow(where=OUTDOORS, reading_age_h=_age_h(facts, OUTDOORS))
    air, vapour = _middle(forecast.temp_c, at, 3), _middle(forecast.vapour_pa, at, 6)
    dew = None if vapour is None or vapour <= 0.0 else float(dew_point_from_pressure(vapour))
    humidity = (
        None
        if dew is None or air is None
        else round(min(float(relative_humidity(air, dew)), 100.0), 1)
    )
    return SpaceNow(
        where=OUTDOORS,
        air_c=None if air is None else round(air, 1),
        rh_pct=humidity,
        dew_point_c=None if dew is None else round(dew, 1),
        wind_ms=_middle(forecast.wind_ms, at),
        rain_mm_h=_middle(forecast.rain_mm_h, at),
        reading_age_h=_age_h(facts, OUTDOORS),
    )


def _index(
    times: np.ndarray[tuple[int, ...], np.dtype[np.datetime64]], now: datetime
) -> int | None:
    """The grid point last passed; the first where it is less than a step ahead, else None."""
    at = np.datetime64(int(now.timestamp()), "s")
    step = times[1] - times[0]
    if not times[0] - step < at < times[-1] + step:
        return None
    return int(np.clip(np.searchsorted(times, at, side="right") - 1, 0, times.size - 1))


def _middle(values: FloatArray, at: int, digits: int = 1) -> float | None:
    """The middle member at a grid point; None where any is unknown."""
    value = float(np.median(values[:, at]))
    return None if np.isnan(value) else round(value, digits)


def _age_h(facts: Situation, space: str) -> float | None:
    """Hours since the last reading in a space; None where there is none."""
    ages = [facts.now - reading.at for reading in facts.readings if reading.space == space]
    return round(min(ages).total_seconds() / 3600.0, 2) if ages else None
