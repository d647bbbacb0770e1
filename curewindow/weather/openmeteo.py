"""Open-Meteo's forecast service.

Checked against the service's own documentation (open-meteo.com/en/docs):
``/v1/forecast``; ``past_days`` 0-92 and ``forecast_days`` 0-16; ``unixtime`` is in
GMT whatever the zone; most variables are instants, but ``precipitation`` is the
sum and ``shortwave_radiation`` the mean of the hour before; an error is status
400 with ``reason``. Its answers carry no date of issue.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any
from urllib.parse import urlencode

import numpy as np

from curewindow.boat.schema import Place, WeatherChoice
from curewindow.errors import WeatherError
from curewindow.weather.ask import ask
from curewindow.weather.cache import Cache
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray, Point, Span
from curewindow.weather.history import with_past
from curewindow.weather.places import coordinate, past_path
from curewindow.weather.rows import (
    HOUR_S,
    Rows,
    checked_times,
    plausible,
    to_forecast,
    vapour_of,
)

SERVICE = "Open-Meteo"
BASE_ADDRESS = "https://api.open-meteo.com"
ATTRIBUTION = "Weather data by Open-Meteo.com (https://open-meteo.com/), CC BY 4.0, interpolated"
PAST_DAYS = 7
FORECAST_DAYS = 14
_VARIABLES = (
    "temperature_2m",
    "dew_point_2m",
    "relative_humidity_2m",
    "precipitation",
    "cloud_cover",
    "wind_speed_10m",
    "shortwave_radiation",
)


def address(place: Place, choice: WeatherChoice) -> str:
    """The whole address asked for a place."""
    query: dict[str, str | int] = {
        "latitude": coordinate(place.latitude),
        "longitude": coordinate(place.longitude),
        "hourly": ",".join(_VARIABLES),
        "timeformat": "unixtime",
        "timezone": "UTC",
        "wind_speed_unit": "ms",
        "past_days": PAST_DAYS,
        "forecast_days": FORECAST_DAYS,
    }
    if place.elevation_m is not None:
        query["elevation"] = f"{place.elevation_m:.0f}"
    base = (choice.base_address or BASE_ADDRESS).rstrip("/")
    return f"{base}/v1/forecast?{urlencode(query, safe=',')}"


def fetch(place: Place, choice: WeatherChoice, cache: Cache, now: datetime) -> Forecast:
    """Get the forecast for a place.

    Parameters
    ----------
    place : Place
        Coordinates, asked to four decimals (some 10 m).
    choice : WeatherChoice
        Its base address and time-out.
    cache : Cache
        Where answers are kept.
    now : datetime
        Aware.

    Returns
    -------
    Forecast
        One member, from a week ago (or the earliest kept hour) to two weeks ahead.

    Raises
    ------
    WeatherError
        No answer and none kept that may stand in.
    """
    answer = ask(
        SERVICE,
        address(place, choice),
        read,
        name="open-meteo",
        cache=cache,
        now=now,
        timeout_s=choice.timeout * 3600.0,
    )
    forecast = to_forecast(
        Rows(answer.rows.times, answer.rows.columns, None, answer.notes),
        source=SERVICE,
        attribution=ATTRIBUTION,
        fetched_at=answer.fetched_at,
        place=place,
    )
    return with_past(forecast, past_path(cache, place, choice), now, keep_new=answer.is_new)


def read(body: dict[str, Any]) -> Rows:
    """Turn an answer into rows.

    Raises
    ------
    WeatherError
        It does not have the shape of an answer.
    """
    hourly = body.get("hourly")
    if not isinstance(hourly, dict) or not isinstance(hourly.get("time"), list):
        raise WeatherError("the answer has no 'hourly' table with 'time'")
    units = body.get("hourly_units")
    if isinstance(units, dict):
        _check_units(units)
    try:
        seconds = np.array(hourly["time"], dtype=np.int64)
    except (TypeError, ValueError, OverflowError):
        raise WeatherError("the answer's 'time' is not in seconds of UNIX time") from None
    times = checked_times(seconds.astype("datetime64[s]"))
    count = times.size
    got = {name: _numbers(hourly, name, count) for name in _VARIABLES}
    temp_c = plausible("temp_c", got["temperature_2m"])
    if not np.isfinite(temp_c).any():
        raise WeatherError("the answer has no temperatures")
    hour = np.full(count, HOUR_S, dtype=np.int64)
    columns: dict[str, Point | Span] = {
        "temp_c": Point(temp_c),
        "vapour_pa": Point(vapour_of(temp_c, got["dew_point_2m"], got["relative_humidity_2m"])),
        "wind_ms": Point(plausible("wind_ms", got["wind_speed_10m"])),
        "rain_mm_h": Span(plausible("rain_mm_h", got["precipitation"]), -hour, hour),
        "cloud_frac": Point(plausible("cloud_frac", got["cloud_cover"] / 100.0)),
        "sun_w_m2": Point(plausible("sun_w_m2", got["shortwave_radiation"]), -HOUR_S // 2),
    }
    return Rows(times, columns)


def _numbers(hourly: dict[str, Any], name: str, count: int) -> FloatArray:
    values = hourly.get(name)
    if values is None:
        return np.full(count, np.nan)
    if not isinstance(values, list) or len(values) != count:
        raise WeatherError(f"the answer's '{name}' does not fit its {count} times")
    try:
        return np.array(values, dtype=np.float64)  # null becomes NaN
    except (TypeError, ValueError):
        raise WeatherError(f"the answer's '{name}' holds something that is no number") from None


def _check_units(units: dict[str, Any]) -> None:
    wanted = {"temperature_2m": "°C", "precipitation": "mm", "wind_speed_10m": "m/s"}
    for name, unit in wanted.items():
        if units.get(name, unit) != unit:
            raise WeatherError(f"the answer gives '{name}' in {units[name]}, not {unit}")
