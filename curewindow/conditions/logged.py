"""Conditions in spaces that nobody described: from readings alone, held on with care."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

import numpy as np

from curewindow.boat.schema import Space
from curewindow.conditions.course import (
    SpaceConditions,
    hours_since,
    joined_notes,
    lead_hours,
    utc64,
)
from curewindow.conditions.draw import (
    CLOSE_H,
    LoggedValues,
    carried_by,
    logged_air,
    logged_dew_point,
    logged_surface,
    readings_of,
)
from curewindow.conditions.model import follow_share
from curewindow.conditions.weather_around import WeatherAround, bridged
from curewindow.findings import Finding, finding
from curewindow.physics.air import relative_humidity
from curewindow.record.entries import Reading
from curewindow.series import FloatArray
from curewindow.weather.forecast import Forecast

FADES_H = 12.0
"""Time constant with which a reading gives way to the guess, h (estimate)."""
COUNTS_DAYS = 14.0
"""Readings older than this say nothing about a space any more (estimate)."""
_DAY_H = 24.0
# Share of the way from outside to inside at which a bare skin's inner surface lies:
# metal or thin laminate, ISO 6946 resistances 0.13 inside and 0.04 outside give 0.24.
BARE_SKIN_SHARE = 0.24
# With less between the air inside and outside a skin's reading tells nothing of it (estimate).
_CONTRAST_K = 3.0


def logged_conditions(
    space: Space,
    forecast: Forecast,
    around: WeatherAround,
    readings: Iterable[Reading],
    now: datetime,
) -> SpaceConditions:
    """Conditions in a space from its readings.

    Parameters
    ----------
    space : Space
        With ``logged_only``.
    forecast : Forecast
        For the grid, and for the guess.
    around : WeatherAround
        The same weather without holes.
    readings : iterable of Reading
        All readings; later ones than ``now`` are not known yet.
    now : datetime
        Aware.

    Returns
    -------
    SpaceConditions
        Between readings close to each other a straight line. Away from them it gives way
        to the more cautious of two guesses: air to the lower of the day's mean outside and
        the mean of the readings, dew point to the higher. Unknown before the first
        reading, and 14 days from any. A surface never read is the colder of
        the air and a bare skin between air and outside.
    """
    own = readings_of(readings, space.name, now)
    times = forecast.times
    cut = slice(around.run_up, None)
    outside_c = around.outside.temp_c
    air_logged, dew_logged = logged_air(own), logged_dew_point(own)
    air = _held(around, air_logged, _day_mean(outside_c, around.step_h), np.minimum)[:, cut]
    dew_outside = _day_mean(around.dew_point_c, around.step_h)
    dew = _held(around, dew_logged, dew_outside, np.maximum)[:, cut]
    dew = np.minimum(dew, air)
    unknown = around.unknown & (times > utc64(now))
    air, dew = np.where(unknown, np.nan, air), np.where(unknown, np.nan, dew)
    surfaces: dict[str, FloatArray] = {}
    notes: list[Finding] = []
    read = {reading.panel for reading in own if reading.panel and reading.surface_c is not None}
    shares = {panel.name: follow_share(panel) for panel in space.panel}
    for name in sorted(read | set(shares)):
        share = shares.get(name, BARE_SKIN_SHARE)
        guess = outside_c[:, cut] + share * (air - outside_c[:, cut])
        surfaces[name], note = _surface(
            space, name, forecast, air, guess, logged_surface(own, name), air_logged, now
        )
        notes.append(note)
    surfaces[""] = np.minimum(air, outside_c[:, cut] + BARE_SKIN_SHARE * (air - outside_c[:, cut]))
    return SpaceConditions(
        space=space.name,
        times=times,
        air_c=air,
        rh_pct=np.minimum(np.asarray(relative_humidity(air, dew), dtype=np.float64), 100.0),
        dew_point_c=dew,
        mass_c=air,
        surface_c=surfaces,
        heat_w=np.full(air.shape, np.nan),
        measured=carried_by(times, dew_logged, utc64(now)),
        lead_h=_lead(forecast, air_logged, now),
        notes=joined_notes(
            (_basis_note(space, air_logged, dew_logged, now),), notes, forecast.notes
        ),
    )


def _held(
    around: WeatherAround, logged: LoggedValues, outside: FloatArray, cautious: np.ufunc
) -> FloatArray:
    """Readings on the grid, straight between close ones and giving way to the guess elsewhere."""
    if not logged.at.size:
        return np.full(outside.shape, np.nan)
    grid_h = hours_since(around.times, logged.at[-1])
    read_h = hours_since(logged.at, logged.at[-1])
    between = np.interp(grid_h, read_h, logged.value)
    recent = logged.value[read_h >= -24.0 * COUNTS_DAYS]
    guess = cautious(outside, recent.mean())
    after = np.searchsorted(read_h, grid_h, side="right")
    since = grid_h - read_h[np.maximum(after - 1, 0)]
    until = read_h[np.minimum(after, read_h.size - 1)] - grid_h
    far = since + until > CLOSE_H
    nearest = np.where(grid_h > 0.0, grid_h, np.where(far, np.minimum(since, until), 0.0))
    course = guess + (between - guess) * np.exp(-nearest / FADES_H)
    # What lies between two readings is not taken to be better than their line.
    course = np.where(grid_h > 0.0, course, cautious(course, between))
    outside_of = (grid_h < read_h[0]) | (nearest > 24.0 * COUNTS_DAYS)
    return np.where(outside_of, np.nan, course)


def _day_mean(values: FloatArray, step_h: float) -> FloatArray:
    """Mean over the day before each point."""
    span = max(round(_DAY_H / step_h), 1)
    padded = np.concatenate([np.repeat(values[:, :1], span, axis=1), values], axis=1)
    sums = np.cumsum(padded, axis=1)
    mean: FloatArray = (sums[:, span:] - sums[:, :-span]) / span
    return mean


def _surface(
    space: Space,
    panel: str,
    forecast: Forecast,
    air: FloatArray,
    guess: FloatArray,
    logged: LoggedValues,
    air_logged: LoggedValues,
    now: datetime,
) -> tuple[FloatArray, Finding]:
    """Surface by what it was read to lie below the air, else by the guess; and what to say."""
    recent = logged.at >= utc64(now) - np.timedelta64(int(COUNTS_DAYS * 86400), "s")
    if not recent.any() or not air_logged.at.size:
        return (
            np.minimum(air, guess),
            finding("surface never read", space=space.name, surface=panel),
        )
    start = air_logged.at[0]
    read_h = hours_since(logged.at[recent], start)
    air_then = np.interp(read_h, hours_since(air_logged.at, start), air_logged.value)
    drop = air_then - logged.value[recent]
    # The coldest it was found against the air of its time.
    below = max(float(np.max(drop)), 0.0)
    surface = np.minimum(air, air - below)
    outside = bridged(forecast.times, forecast.temp_c)
    outside_then = np.interp(
        read_h,
        hours_since(forecast.times, start),
        outside.mean(axis=0),
        left=np.nan,
        right=np.nan,
    )
    told = air_then - outside_then >= _CONTRAST_K
    if told.any():
        # The colder it is outside the further a skin lies below the air (ISO 13788, f_Rsi).
        share = min(float(np.max(drop[told] / (air_then - outside_then)[told])), 1.0)
        surface = np.minimum(surface, air - share * np.maximum(air - outside, 0.0))
        state = "follows outside"
    else:
        surface = np.minimum(surface, guess)
        state = "no contrast"
    return surface, finding(
        "surface by its readings", space=space.name, surface=panel, difference_k=below, state=state
    )


def _lead(forecast: Forecast, logged: LoggedValues, now: datetime) -> FloatArray:
    """Hours since the latest reading before each instant; never less than the weather's lead."""
    ahead = lead_hours(forecast, now, logged)
    if not logged.at.size:
        return ahead
    last = logged.at[-1]
    return np.maximum(ahead, np.maximum(hours_since(forecast.times, last), 0.0))


def _basis_note(space: Space, air: LoggedValues, dew: LoggedValues, now: datetime) -> Finding:
    if not air.at.size or not dew.at.size:
        return finding("space unknown unread", space=space.name)
    age_h = float(hours_since(np.atleast_1d(utc64(now)), min(air.at[-1], dew.at[-1]))[0])
    return finding("space by readings alone", space=space.name, hours=age_h, other_hours=FADES_H)
