"""Past weather from Open-Meteo's archive: past years, and the weeks before a first forecast.

Its own host and ``/v1/archive`` with ``start_date`` and ``end_date`` (ISO 8601), both in,
and reanalysis (ERA5) in the same hourly variables as the forecast are taken from other
programs' documentation of it (the R packages openmeteo and ropenmeteo), not from the
service's own. That it is some days behind (about two to five), and that hours it does
not have yet are null, is from memory.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np

from curewindow.boat.schema import Place, WeatherChoice
from curewindow.findings import finding
from curewindow.weather.ask import ask
from curewindow.weather.cache import Cache
from curewindow.weather.forecast import Forecast
from curewindow.weather.history import keep_past, kept_hours
from curewindow.weather.openmeteo import ATTRIBUTION, read, service_address
from curewindow.weather.places import past_path
from curewindow.weather.rows import to_forecast

SERVICE = "Open-Meteo archive"
_LIFE = (
    (timedelta(days=30), timedelta(days=3650)),
    (timedelta(days=5), timedelta(days=7)),
    (timedelta.min, timedelta(days=1)),
)
"""Older than so much: kept for so long. Of the last five days the reanalysis is not there yet
and other models stand in; after a month nothing changes any more (both from memory)."""
BEHIND = timedelta(days=2)


def past_weather(
    place: Place,
    choice: WeatherChoice,
    cache: Cache,
    now: datetime,
    first: date,
    last: date,
) -> Forecast:
    """Weather that was, hour by hour.

    Parameters
    ----------
    place : Place
        Coordinates, asked to four decimals.
    choice : WeatherChoice
        Its base address and time-out.
    cache : Cache
        Days long past are asked for once and kept.
    now : datetime
        Aware.
    first, last : date
        UTC days, both in; at most 400.

    Returns
    -------
    Forecast
        One member. 'Forecast' by form only: a note says that it is the past.

    Raises
    ------
    WeatherError
        No answer and none kept.
    ValueError
        `last` before `first`, or more than 400 days.
    """
    if not 0 <= (last - first).days < 400:
        raise ValueError(f"{first} to {last} are not 1 to 400 days")
    more = {"start_date": first.isoformat(), "end_date": last.isoformat()}
    url, manner = service_address(choice, "archive-api.open-meteo.com", "/v1/archive", place, more)
    age = now.astimezone(UTC).date() - last
    life = next(life for older, life in _LIFE if age > older)
    answer = ask(
        SERVICE,
        url,
        read,
        name="open-meteo-archive",
        cache=cache,
        now=now,
        timeout_s=choice.timeout * 3600.0,
        manner=replace(manner, life=life),
    )
    note = finding("past weather", service=SERVICE)
    return to_forecast(
        replace(answer.rows, notes=(*answer.rows.notes, *answer.notes, note)),
        source=SERVICE,
        attribution=ATTRIBUTION,
        fetched_at=answer.fetched_at,
        place=place,
    )


def fill_past(
    place: Place, choice: WeatherChoice, cache: Cache, now: datetime, *, days: int = 30
) -> Forecast:
    """Get the last weeks once and keep their hours, so that later forecasts begin with them.

    Parameters
    ----------
    place, choice, cache, now
        As for :func:`past_weather`.
    days : int
        How far back.

    Returns
    -------
    Forecast
        The past weeks. Hours already kept are left as they are.

    Raises
    ------
    WeatherError
        No answer and none kept.
    """
    today = now.astimezone(UTC)
    first, last = (today - timedelta(days=days)).date(), (today - BEHIND).date()
    past = past_weather(place, choice, cache, now, first, last)
    keep_past(past_path(cache, place, choice), past, now)
    return past


def fill_holes(
    place: Place, choice: WeatherChoice, cache: Cache, now: datetime, *, days: int = 30
) -> int:
    """Fill hours of the last weeks that no forecast was fetched for: nobody was there to see them.

    Parameters
    ----------
    place, choice, cache, now, days
        As for :func:`fill_past`.

    Returns
    -------
    int
        How many hours were unknown, up to where the archive is behind. Where there were none
        nothing is asked.

    Raises
    ------
    WeatherError
        No answer and none kept.
    """
    last = (now.astimezone(UTC) - BEHIND).replace(minute=0, second=0, microsecond=0, tzinfo=None)
    stop = np.datetime64(last.replace(hour=0), "s")
    wanted = stop - np.arange(1, 24 * (days - BEHIND.days)) * np.timedelta64(3600, "s")
    hours, values, _ = kept_hours(past_path(cache, place, choice))
    known = hours[np.isfinite(values["temp_c"])]
    missing = int((~np.isin(wanted, known)).sum())
    if missing:
        fill_past(place, choice, cache, now, days=days)
    return missing
