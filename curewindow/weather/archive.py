"""Past weather from Open-Meteo's archive: past years, and the weeks before a first forecast.

Checked against the service's own documentation
(open-meteo.com/en/docs/historical-weather-api): its own host, ``/v1/archive``,
``start_date`` and ``end_date``, reanalysis (ERA5 and ERA5-Land by default) in the
same hourly variables as the forecast. That it is some days behind (about two to
five) is from memory; hours it does not have yet are null.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from curewindow.boat.schema import Place, WeatherChoice
from curewindow.weather.ask import ask
from curewindow.weather.cache import Cache
from curewindow.weather.forecast import Forecast
from curewindow.weather.history import keep_past
from curewindow.weather.openmeteo import ATTRIBUTION, read, service_address
from curewindow.weather.places import past_path
from curewindow.weather.rows import to_forecast

SERVICE = "Open-Meteo archive"
SETTLED = timedelta(days=30)
"""Days this old do not change any more."""
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
    settled = now.astimezone(UTC).date() - last > SETTLED
    life = timedelta(days=3650) if settled else timedelta(days=1)
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
    note = f"past weather from {SERVICE} (reanalysis): what was, not what comes"
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
