"""MET Norway's locationforecast 2.0, complete.

Checked against the service's own documentation (api.met.no/doc): a User-Agent that
says who asks, or 403; at most four decimals of latitude and longitude; no request
again before ``Expires``, then with ``If-Modified-Since`` exactly as it came in
``Last-Modified``; 203 for a version about to end; 429 for too many requests (that
this carries ``Retry-After`` is from memory). Times are UTC; values under
``instant`` belong to that instant, those under ``next_1_hours`` and
``next_6_hours`` to the hours that begin there; the last row has none. Steps are one
hour for about 60 hours, then six. ``altitude`` is the ground's height above the sea
in metres and corrects the temperature alone (its FAQ). ``complete`` adds the dew
point (developer.yr.no/doc/ForecastJSON) and, from the ensembles behind the
forecast, the 10th and 90th percentiles of temperature and wind; the names of these
are taken from other programs, and where they are given is not documented: they are
used where they come and done without where not. There is no sunshine.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlencode

import numpy as np

from curewindow.boat.schema import Place, WeatherChoice
from curewindow.errors import WeatherError
from curewindow.findings import finding
from curewindow.weather.ask import FeedAnswer, ask
from curewindow.weather.cache import Cache
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import Point, RateSpans, to_grid
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
from curewindow.weather.spread import members_from_percentiles

SERVICE = "MET Norway"
BASE_ADDRESS = "https://api.met.no"
ATTRIBUTION = "Based on data from MET Norway (https://api.met.no/), CC BY 4.0, interpolated"
OLD_FORECAST = timedelta(hours=24)
"""It is renewed every hour in the north and every six hours elsewhere."""
_UNITS = {
    "air_temperature": "celsius",
    "dew_point_temperature": "celsius",
    "relative_humidity": "%",
    "wind_speed": "m/s",
    "cloud_area_fraction": "%",
    "precipitation_amount": "mm",
}
_DETAILS = tuple(name for name in _UNITS if name != "precipitation_amount")
_LOW, _HIGH = "air_temperature_percentile_10", "air_temperature_percentile_90"


def address(place: Place, choice: WeatherChoice) -> str:
    """The whole address asked for a place."""
    query = {"lat": coordinate(place.latitude), "lon": coordinate(place.longitude)}
    if place.elevation_m is not None:
        query["altitude"] = f"{place.elevation_m:.0f}"
    base = (choice.base_address or BASE_ADDRESS).rstrip("/")
    return f"{base}/weatherapi/locationforecast/2.0/complete?{urlencode(query)}"


def fetch_members(place: Place, choice: WeatherChoice, cache: Cache, now: datetime) -> Forecast:
    """Get the forecast with members drawn from its 10th and 90th percentiles.

    Parameters
    ----------
    place, choice, cache, now
        As for :func:`fetch`.

    Returns
    -------
    Forecast
        Members by :func:`curewindow.weather.spread.members_from_percentiles`.

    Raises
    ------
    WeatherError
        No answer, or one without percentiles.
    """
    answer, forecast = _get(place, choice, cache, now)
    low, high = answer.rows.between
    if not (np.isfinite(low) & np.isfinite(high)).any():
        raise WeatherError(
            f"{SERVICE} gives no percentiles here; choose feed = 'met-norway' or "
            "'open-meteo-ensemble'"
        )
    columns: dict[str, Point | RateSpans] = {"low": Point(low), "high": Point(high)}
    grid = to_grid(answer.rows.times, columns)
    at = np.clip(np.searchsorted(grid.times, forecast.times), 0, grid.times.size - 1)
    there = grid.times[at] == forecast.times
    bounds = [np.where(there, grid.columns[name][0, at], np.nan) for name in ("low", "high")]
    return members_from_percentiles(forecast, now, bounds[0], bounds[1])


def fetch(place: Place, choice: WeatherChoice, cache: Cache, now: datetime) -> Forecast:
    """Get the forecast for a place.

    Parameters
    ----------
    place : Place
        Coordinates, cut to four decimals; elevation where known (it corrects the
        temperature).
    choice : WeatherChoice
        Its base address and time-out.
    cache : Cache
        Where answers are kept.
    now : datetime
        Aware.

    Returns
    -------
    Forecast
        One member, from the present hour (or the earliest kept one) to nine or
        ten days ahead; sunshine estimated from the cloud cover.

    Raises
    ------
    WeatherError
        No answer and none kept that may stand in.
    """
    return _get(place, choice, cache, now)[1]


def _get(
    place: Place, choice: WeatherChoice, cache: Cache, now: datetime
) -> tuple[FeedAnswer[Rows], Forecast]:
    answer = ask(
        SERVICE,
        address(place, choice),
        read,
        name="met-norway",
        cache=cache,
        now=now,
        timeout_s=choice.timeout * 3600.0,
    )
    forecast = to_forecast(
        replace(answer.rows, notes=(*answer.rows.notes, *answer.notes)),
        source=SERVICE,
        attribution=ATTRIBUTION,
        fetched_at=answer.fetched_at,
        place=place,
    )
    issued = answer.rows.issued_at
    if issued is not None and answer.is_new and now.astimezone(UTC) - issued > OLD_FORECAST:
        hours = (now.astimezone(UTC) - issued).total_seconds() / 3600.0
        note = finding("forecast not renewed", service=SERVICE, hours=hours)
        forecast = replace(forecast, notes=(*forecast.notes, note))
    path = past_path(cache, place, choice)
    return answer, with_past(forecast, path, now, keep_new=answer.is_new)


def read(body: dict[str, Any]) -> Rows:
    """Turn an answer into rows.

    Raises
    ------
    WeatherError
        It does not have the shape of an answer.
    """
    properties = body.get("properties")
    series = properties.get("timeseries") if isinstance(properties, dict) else None
    if not isinstance(properties, dict) or not isinstance(series, list) or len(series) < 2:
        raise WeatherError("the answer has no 'properties.timeseries'")
    meta = properties.get("meta")
    _check_units(meta.get("units") if isinstance(meta, dict) else None)
    stamps = np.array([_time(row).replace(tzinfo=None) for row in series], "datetime64[s]")
    times = checked_times(stamps)
    got = {name: np.array([_number(row, "instant", name) for row in series]) for name in _DETAILS}
    low, high = (np.array([_number(row, "instant", n) for row in series]) for n in (_LOW, _HIGH))
    rates, hours = zip(*[_rain(row) for row in series], strict=True)
    zero = np.zeros(len(series), dtype=np.int64)
    temp_c = plausible("temp_c", got["air_temperature"])
    if not np.isfinite(temp_c).any():
        raise WeatherError("the answer has no temperatures")
    length_s = np.array(hours, dtype=np.int64) * HOUR_S
    columns: dict[str, Point | RateSpans] = {
        "temp_c": Point(temp_c),
        "vapour_pa": Point(
            vapour_of(temp_c, got["dew_point_temperature"], got["relative_humidity"])
        ),
        "wind_ms": Point(plausible("wind_ms", got["wind_speed"])),
        "rain_mm_h": RateSpans(plausible("rain_mm_h", np.array(rates)), zero, length_s),
        "cloud_frac": Point(plausible("cloud_frac", got["cloud_area_fraction"] / 100.0)),
    }
    raw = {"temp_c": got["air_temperature"], "wind_ms": got["wind_speed"]}
    stamp = meta.get("updated_at") if isinstance(meta, dict) else None
    try:
        issued_at = _utc(stamp) if isinstance(stamp, str) else None
    except (ValueError, OverflowError):
        issued_at = None
    notes = odd_values(raw | {"rain_mm_h": np.array(rates)}, columns)
    between = plausible("temp_c", low), plausible("temp_c", high)
    return Rows(times, columns, issued_at, notes, between)


def _check_units(units: Any) -> None:
    if not isinstance(units, dict) or "air_temperature" not in units:
        raise WeatherError("the answer does not say in which units it is")
    for name, unit in _UNITS.items():
        if units.get(name, unit) != unit:
            raise WeatherError(f"the answer gives '{name}' in {units[name]}, not {unit}")


def _utc(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def _time(row: Any) -> datetime:
    try:
        moment = datetime.fromisoformat(row["time"])
        if moment.tzinfo is not None:
            return moment.astimezone(UTC)
    except (KeyError, TypeError, ValueError, OverflowError):
        raise WeatherError("a row of the answer has no readable 'time'") from None
    raise WeatherError(f"the answer's time '{row['time']}' does not say its zone")


def _number(row: dict[str, Any], period: str, name: str) -> float:
    """A value of a row; NaN where any level of it is missing, or it is null."""
    try:
        value = row["data"][period]["details"][name]
    except (KeyError, TypeError):
        return np.nan
    return number_of(value)


def _rain(row: dict[str, Any]) -> tuple[float, int]:
    """Mean rate in mm/h and the hours it is held: the next hour where given, else the next six."""
    for hours in (1, 6):
        amount = _number(row, f"next_{hours}_hours", "precipitation_amount")
        if not np.isnan(amount):
            return amount / hours, hours
    return np.nan, 1
