"""Open-Meteo's forecast service, and what its ensemble and archive share with it.

Checked against the service's own documentation (open-meteo.com/en/docs):
``/v1/forecast``; ``past_days`` 0-92 and ``forecast_days`` 0-16; ``unixtime`` is in
GMT whatever the zone; most variables are instants, but ``precipitation`` is the
sum and ``shortwave_radiation`` the mean of the hour before; an error is status
400 with ``reason``. Its answers carry no date of issue. Not confirmed: whether they carry
``Expires`` and ``Last-Modified`` (honoured where they do), and what a refusal for too
many requests (429) says. That with a paid key (parameter ``apikey``) each service has a
host of its own that begins with ``customer-`` is from a wiki of others.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.schema import Place, WeatherChoice
from curewindow.errors import WeatherError
from curewindow.weather.ask import Manner, ask
from curewindow.weather.cache import Cache
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray, Point, RateSpans
from curewindow.weather.history import with_past
from curewindow.weather.places import coordinate, past_path
from curewindow.weather.rows import (
    HOUR_S,
    Rows,
    checked_times,
    number_of,
    odd_values,
    plausible,
    to_forecast,
    vapour_of,
)

SERVICE = "Open-Meteo"
KEY_VARIABLE = "CUREWINDOW_OPEN_METEO_KEY"
ATTRIBUTION = "Weather data by Open-Meteo.com (https://open-meteo.com/), CC BY 4.0, interpolated"
PAST_DAYS = 7
FORECAST_DAYS = 14
_UNITS = {
    "temperature_2m": "°C",
    "dew_point_2m": "°C",
    "relative_humidity_2m": "%",
    "precipitation": "mm",
    "cloud_cover": "%",
    "wind_speed_10m": "m/s",
    "shortwave_radiation": "W/m²",
}
_MEMBER = re.compile(r"temperature_2m(_member\d{2,3})")


def own_key() -> str:
    """The owner's key, from ``CUREWINDOW_OPEN_METEO_KEY``; '' where there is none."""
    return os.environ.get(KEY_VARIABLE, "").strip()


def service_address(
    choice: WeatherChoice, host: str, path: str, place: Place, more: Mapping[str, str | int]
) -> tuple[str, Manner]:
    """The whole address of one of the services, and how to ask it.

    Parameters
    ----------
    choice : WeatherChoice
        Its base address, for a self-hosted service. It is not sent the key, which
        belongs to Open-Meteo.
    host : str
        Of the service where no key is used, such as 'api.open-meteo.com'.
    path : str
        Such as '/v1/forecast'.
    place : Place
        Coordinates, to four decimals; elevation where known.
    more : mapping
        The rest of the query.

    Returns
    -------
    address : str
        Without the key.
    manner : Manner
        With it.
    """
    query: dict[str, str | int] = {
        "latitude": coordinate(place.latitude),
        "longitude": coordinate(place.longitude),
        "hourly": ",".join(_UNITS),
        "timeformat": "unixtime",
        "timezone": "UTC",
        "wind_speed_unit": "ms",
        **more,
    }
    if place.elevation_m is not None:
        query["elevation"] = f"{place.elevation_m:.0f}"
    key = "" if choice.base_address else own_key()
    base = choice.base_address or f"https://{'customer-' if key else ''}{host}"
    manner = Manner(key=urlencode({"apikey": key}) if key else "")
    return f"{base.rstrip('/')}{path}?{urlencode(query, safe=',')}", manner


def address(place: Place, choice: WeatherChoice) -> tuple[str, Manner]:
    """The whole address asked for a place, and how."""
    span = {"past_days": PAST_DAYS, "forecast_days": FORECAST_DAYS}
    return service_address(choice, "api.open-meteo.com", "/v1/forecast", place, span)


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
    url, manner = address(place, choice)
    answer = ask(
        SERVICE,
        url,
        read,
        name="open-meteo",
        cache=cache,
        now=now,
        timeout_s=choice.timeout * 3600.0,
        manner=manner,
    )
    forecast = to_forecast(
        replace(answer.rows, notes=(*answer.rows.notes, *answer.notes)),
        source=SERVICE,
        attribution=ATTRIBUTION,
        fetched_at=answer.fetched_at,
        place=place,
    )
    return with_past(forecast, past_path(cache, place, choice), now, keep_new=answer.is_new)


def read(body: dict[str, Any]) -> Rows:
    """Turn an answer of the forecast, the ensemble or the archive into rows.

    Returns
    -------
    Rows
        Columns of shape (N,) or, where the answer has members, (M, N): the series
        without a number is the control run and a member like the others.

    Raises
    ------
    WeatherError
        It does not have the shape of an answer.
    """
    hourly = body.get("hourly")
    if not isinstance(hourly, dict) or not isinstance(hourly.get("time"), list):
        raise WeatherError("the answer has no 'hourly' table with 'time'")
    units = body.get("hourly_units")
    members = ["", *sorted(m[1] for name in hourly if (m := _MEMBER.fullmatch(name)))]
    if not isinstance(units, dict) or "temperature_2m" not in units:
        raise WeatherError("the answer does not say in which units it is")
    _check_units(units, members)
    times = checked_times(_seconds(hourly["time"]).astype("datetime64[s]"))
    count = times.size
    got = {name: _numbers(hourly, name, members, count) for name in _UNITS}
    temp_c = plausible("temp_c", got["temperature_2m"])
    if not np.isfinite(temp_c).any():
        raise WeatherError("the answer has no temperatures")
    hour = np.full(count, HOUR_S, dtype=np.int64)
    columns: dict[str, Point | RateSpans] = {
        "temp_c": Point(temp_c),
        "vapour_pa": Point(vapour_of(temp_c, got["dew_point_2m"], got["relative_humidity_2m"])),
        "wind_ms": Point(plausible("wind_ms", got["wind_speed_10m"])),
        "rain_mm_h": RateSpans(plausible("rain_mm_h", got["precipitation"]), -hour, hour),
        "cloud_frac": Point(plausible("cloud_frac", got["cloud_cover"] / 100.0)),
        "sun_w_m2": Point(plausible("sun_w_m2", got["shortwave_radiation"]), -HOUR_S // 2),
    }
    raw = {
        "temp_c": got["temperature_2m"],
        "wind_ms": got["wind_speed_10m"],
        "rain_mm_h": got["precipitation"],
        "cloud_frac": got["cloud_cover"],
        "sun_w_m2": got["shortwave_radiation"],
    }
    return Rows(times, columns, notes=odd_values(raw, columns))


def _seconds(values: list[Any]) -> NDArray[np.int64]:
    whole = all(isinstance(value, int) and not isinstance(value, bool) for value in values)
    try:
        if whole:
            return np.array(values, dtype=np.int64)
    except OverflowError:
        pass
    raise WeatherError("the answer's 'time' is not in seconds of UNIX time")


def _numbers(hourly: dict[str, Any], name: str, members: list[str], count: int) -> FloatArray:
    rows = np.full((len(members), count), np.nan)
    for row, member in zip(rows, members, strict=True):
        values = hourly.get(name + member)
        if values is None:
            continue
        if not isinstance(values, list) or len(values) != count:
            raise WeatherError(f"the answer's '{name + member}' does not fit its {count} times")
        try:
            row[:] = [number_of(value) for value in values]
        except WeatherError as bad:
            raise WeatherError(f"in the answer's '{name + member}' {bad}") from None
    return rows if len(members) > 1 else np.asarray(rows[0])


def _check_units(units: dict[str, Any], members: list[str]) -> None:
    for name, unit in _UNITS.items():
        for member in members:
            said = units.get(name + member, unit)
            # Where a model lacks a variable its unit is 'undefined' and its values null.
            if said not in (unit, "undefined"):
                raise WeatherError(f"the answer gives '{name + member}' in {said}, not {unit}")
