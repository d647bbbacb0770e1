"""The US National Weather Service: a forecast office's grid, 2.5 km wide squares.

Checked against the service's own documentation (weather.gov/documentation/
services-web-api, weather-gov.github.io/api): no more than four decimals; the point
names its square under ``forecastGridData`` and hardly ever changes, so that it may be
kept; a User-Agent that says who asks, or 403; errors as ``application/problem+json``;
``updateTime`` is when the office made the grid. A value holds for the hours of its
``validTime``: equal values of hours in a row are merged, but amounts of precipitation
are sums over their own span. ``windSpeed`` is the strongest prevailing wind of the
hour. There is no sunshine. Status 500 and 503 come and go, and 503 'grid expired'
when an office has not renewed its grid for about a day (both from the service's
public list of problems). That the grid is in SI units with a ``uom`` a layer is from the
same list (no. 12); the codes in :data:`_UNITS` are those met there and in other programs'
test data, not a list of the service: any other is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from curewindow.boat.schema import Place, WeatherChoice
from curewindow.errors import WeatherError
from curewindow.findings import finding
from curewindow.weather.ask import FeedAnswer, Manner, NoForecastError, ask
from curewindow.weather.cache import Cache, entry_path
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

SERVICE = "the US National Weather Service"
BASE_ADDRESS = "https://api.weather.gov"
ATTRIBUTION = "Forecast by the US National Weather Service (weather.gov), interpolated"
ACCEPT = "application/geo+json"
POINT_LIFE = timedelta(days=30)
OLD_GRID = timedelta(hours=12)
"""Offices renew their grids several times a day; an older one is said."""
TOO_OLD_GRID = timedelta(hours=24)
_GRID = re.compile(r"/gridpoints/[A-Z]{3}/\d{1,4},\d{1,4}$")
_VALID = re.compile(r"(\S+?)/P(?:(\d{1,2})D)?(?:T(?:(\d{1,3})H)?(?:(\d{1,3})M)?)?")
_LONGEST_SPAN_H = 240
_LAYERS = {
    "temperature": "temp_c",
    "dewpoint": "dew_point_c",
    "relativeHumidity": "rh_pct",
    "windSpeed": "wind_ms",
    "skyCover": "cloud_frac",
    "quantitativePrecipitation": "rain_mm_h",
}
# Factor and offset into our own unit, by quantity and the unit's code.
_UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "temp_c": {"degC": (1.0, 0.0), "K": (1.0, -273.15), "degF": (5.0 / 9.0, -160.0 / 9.0)},
    "rh_pct": {"percent": (1.0, 0.0)},
    "wind_ms": {"km_h-1": (1.0 / 3.6, 0.0), "m_s-1": (1.0, 0.0)},
    "cloud_frac": {"percent": (0.01, 0.0)},
    "rain_mm_h": {"mm": (1.0, 0.0)},
}
_UNITS["dew_point_c"] = _UNITS["temp_c"]


def fetch(place: Place, choice: WeatherChoice, cache: Cache, now: datetime) -> Forecast:
    """Get the forecast for a place in the United States.

    Parameters
    ----------
    place : Place
        Coordinates, cut to four decimals.
    choice : WeatherChoice
        Its base address and time-out.
    cache : Cache
        Where answers are kept. Where the last good answer may not stand in, a grid
        older than :data:`TOO_OLD_GRID` may not either.
    now : datetime
        Aware.

    Returns
    -------
    Forecast
        One member, about a week; sunshine estimated from the cloud cover.

    Raises
    ------
    WeatherError
        No answer and none kept that may stand in, or a place it does not cover.
    """
    try:
        answer = _ask_grid(place, choice, cache, now)
        gone = answer.failed_status == 404
    except NoForecastError as bad:
        if bad.status != 404:
            raise
        gone = True
    if gone:  # the squares have been laid out anew
        answer = _ask_grid(place, choice, cache, now, look_again=True)
    notes = [*answer.rows.notes, *answer.notes]
    issued = answer.rows.issued_at
    age = now.astimezone(UTC) - issued if issued is not None else timedelta(0)
    if issued is None:
        notes.append(finding("forecast undated", service=SERVICE))
    elif age > OLD_GRID:
        hours = age.total_seconds() / 3600.0
        if age > TOO_OLD_GRID and not cache.stale_ok:
            raise WeatherError(f"no forecast from {SERVICE}: its grid is {hours:.0f} h old")
        notes.append(finding("forecast not renewed", service=SERVICE, hours=hours))
    forecast = to_forecast(
        replace(answer.rows, notes=tuple(notes)),
        source=SERVICE,
        attribution=ATTRIBUTION,
        fetched_at=answer.fetched_at,
        place=place,
    )
    return with_past(forecast, past_path(cache, place, choice), now, keep_new=answer.is_new)


def _ask_grid(
    place: Place, choice: WeatherChoice, cache: Cache, now: datetime, *, look_again: bool = False
) -> FeedAnswer[Rows]:
    base = (choice.base_address or BASE_ADDRESS).rstrip("/")
    timeout_s = choice.timeout * 3600.0
    url = f"{base}/points/{coordinate(place.latitude)},{coordinate(place.longitude)}"
    if look_again:
        entry_path(cache.folder, "nws-point", url).unlink(missing_ok=True)
    point = ask(
        SERVICE,
        url,
        _path_of,
        name="nws-point",
        cache=replace(cache, stale_ok=True),  # squares stay where they are
        now=now,
        timeout_s=timeout_s,
        manner=Manner(accept=ACCEPT, life=POINT_LIFE),
    )
    return ask(
        SERVICE,
        base + point.rows,
        read,
        name="nws",
        cache=cache,
        now=now,
        timeout_s=timeout_s,
        manner=Manner(accept=ACCEPT),
    )


def _path_of(body: dict[str, Any]) -> str:
    """The path of the place's square; of the address in the answer only that is believed."""
    properties = body.get("properties")
    named = properties.get("forecastGridData") if isinstance(properties, dict) else None
    found = _GRID.search(named) if isinstance(named, str) else None
    if found is None:
        raise WeatherError("its answer names no forecast grid for this place")
    return found[0]


def read(body: dict[str, Any]) -> Rows:
    """Turn a grid into rows.

    Raises
    ------
    WeatherError
        It does not have the shape of a grid, or a unit that is not known here.
    """
    properties = body.get("properties")
    if not isinstance(properties, dict) or not isinstance(properties.get("temperature"), dict):
        raise WeatherError("the answer has no 'properties.temperature'")
    spans = {ours: list(_spans(properties, layer, ours)) for layer, ours in _LAYERS.items()}
    held = {
        ours: {start + i * HOUR_S: value for start, hours, value in found for i in range(hours)}
        for ours, found in spans.items()
        if ours != "rain_mm_h"
    }
    sums = {start: (value, hours) for start, hours, value in spans["rain_mm_h"]}
    seconds = np.array(sorted(set(sums).union(*held.values())), dtype=np.int64)
    times = checked_times(seconds.astype("datetime64[s]"))

    def column(name: str) -> FloatArray:
        return np.array([held[name].get(int(second), np.nan) for second in seconds])

    temp_raw, wind_raw, cloud_raw = column("temp_c"), column("wind_ms"), column("cloud_frac")
    temp_c = plausible("temp_c", temp_raw)
    if not np.isfinite(temp_c).any():
        raise WeatherError("the answer has no temperatures")
    rain = [sums.get(int(second), (np.nan, 1)) for second in seconds]
    rate = np.array([amount / hours for amount, hours in rain])
    length = np.array([hours * HOUR_S for _, hours in rain], dtype=np.int64)
    columns: dict[str, Point | RateSpans] = {
        "temp_c": Point(temp_c),
        "vapour_pa": Point(vapour_of(temp_c, column("dew_point_c"), column("rh_pct"))),
        "wind_ms": Point(plausible("wind_ms", wind_raw)),
        "rain_mm_h": RateSpans(plausible("rain_mm_h", rate), np.zeros_like(length), length),
        "cloud_frac": Point(plausible("cloud_frac", cloud_raw)),
    }
    raw = {"temp_c": temp_raw, "wind_ms": wind_raw, "rain_mm_h": rate, "cloud_frac": cloud_raw}
    return Rows(times, columns, _issued(properties), odd_values(raw, columns))


def _issued(properties: dict[str, Any]) -> datetime | None:
    try:
        moment = datetime.fromisoformat(properties["updateTime"])
        return moment.astimezone(UTC) if moment.tzinfo is not None else None
    except (KeyError, TypeError, ValueError, OverflowError):
        return None


def _spans(properties: dict[str, Any], layer: str, ours: str) -> Iterator[tuple[int, int, float]]:
    """Start in s, whole hours and value in our unit of each value of a layer."""
    table = properties.get(layer)
    values = table.get("values") if isinstance(table, dict) else None
    if not isinstance(table, dict) or not isinstance(values, list) or not values:
        return
    code = str(table.get("uom")).rpartition(":")[2]
    if code not in _UNITS[ours]:
        raise WeatherError(
            f"the answer gives '{layer}' in '{table.get('uom')}', not {', '.join(_UNITS[ours])}"
        )
    factor, offset = _UNITS[ours][code]
    for item in values:
        if not isinstance(item, dict):
            raise WeatherError(f"a value of '{layer}' is no object with 'validTime'")
        start, hours = _interval(item.get("validTime"), layer)
        yield start, hours, number_of(item.get("value")) * factor + offset


def _interval(text: Any, layer: str) -> tuple[int, int]:
    """ISO 8601 'start/duration' as seconds and whole hours, such as '…T06:00:00+00:00/P1DT6H'."""
    found = _VALID.fullmatch(text) if isinstance(text, str) else None
    if found is not None:
        days, hours, minutes = (int(part or 0) for part in found.groups()[1:])
        length = 24 * days + hours + -(-minutes // 60)
        try:
            start = datetime.fromisoformat(found[1])
        except ValueError:
            start = None
        if start is not None and start.tzinfo is not None and 1 <= length <= _LONGEST_SPAN_H:
            return int(start.timestamp()), length
    raise WeatherError(f"'{str(text)[:40]}' in '{layer}' is no start and duration of weather")
