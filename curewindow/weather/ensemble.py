"""Open-Meteo's ensemble service: many runs of one model, each a member.

The service's own documentation (open-meteo.com/en/docs/ensemble-api) was seen in part:
that there are such models, with how many members and days. That the control run
stands under the variable's plain name and the others under ``…_member01`` and up, and
the names of models, are taken from other programs that read it; ``past_days`` and
``forecast_days`` as in the forecast, and that the last days of a model that ends
earlier are null, are from memory. So an answer without members is refused, not guessed at.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from curewindow.boat.schema import Place, WeatherChoice
from curewindow.errors import WeatherError
from curewindow.weather.ask import ask
from curewindow.weather.cache import Cache
from curewindow.weather.forecast import Forecast
from curewindow.weather.history import with_past
from curewindow.weather.openmeteo import (
    ATTRIBUTION,
    FORECAST_DAYS,
    PAST_DAYS,
    read,
    service_address,
)
from curewindow.weather.places import past_path
from curewindow.weather.rows import to_forecast

SERVICE = "Open-Meteo ensemble"
MODEL = "ecmwf_ifs025"
"""51 members all over the world, two weeks ahead."""


def fetch(place: Place, choice: WeatherChoice, cache: Cache, now: datetime) -> Forecast:
    """Get the ensemble forecast for a place.

    Parameters
    ----------
    place : Place
        Coordinates, asked to four decimals (some 10 m).
    choice : WeatherChoice
        Its ensemble model, base address and time-out.
    cache : Cache
        Where answers are kept.
    now : datetime
        Aware.

    Returns
    -------
    Forecast
        The control run first, then the others in order.

    Raises
    ------
    WeatherError
        No answer and none kept that may stand in, or one without members.
    """
    model = choice.ensemble_model or MODEL
    more: dict[str, str | int] = {
        "models": model,
        "past_days": PAST_DAYS,
        "forecast_days": FORECAST_DAYS,
    }
    url, manner = service_address(
        choice, "ensemble-api.open-meteo.com", "/v1/ensemble", place, more
    )
    answer = ask(
        SERVICE,
        url,
        read,
        name="open-meteo-ensemble",
        cache=cache,
        now=now,
        timeout_s=choice.timeout * 3600.0,
        manner=manner,
    )
    forecast = to_forecast(
        replace(answer.rows, notes=(*answer.rows.notes, *answer.notes)),
        source=f"{SERVICE} ({model})",
        attribution=ATTRIBUTION,
        fetched_at=answer.fetched_at,
        place=place,
    )
    if forecast.members < 2:
        raise WeatherError(f"no forecast from {SERVICE}: the answer for '{model}' has no members")
    return with_past(forecast, past_path(cache, place, choice), now, keep_new=answer.is_new)
