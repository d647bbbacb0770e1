"""The weather that was seen: analyses and the shortest forecasts there are of each hour.

Of each hour the values forecast the shortest time before it are kept, from the feed's
own past hours, from forecasts used within six hours, and from the archive of analyses
where the feed has one. An hour that was only ever forecast long before is not seen.
"""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.boat.schema import Boat
from curewindow.errors import WeatherError
from curewindow.record.trouble import damaged
from curewindow.series import FloatArray
from curewindow.weather import kept_file
from curewindow.weather.archive import BEHIND, past_weather
from curewindow.weather.cache import Cache
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import Point, RateSpans, TimeArray, to_grid, utc_of
from curewindow.weather.history import kept_hours
from curewindow.weather.kept_forecasts import KeptForecast, place_key
from curewindow.weather.packed import vapour_of
from curewindow.weather.places import past_path

SEEN_WITHIN_H = 6.0
"""Forecast no longer than this before, an hour counts as seen (estimate)."""
FIELDS = ("temp_c", "vapour_pa", "wind_ms", "rain_mm_h", "cloud_frac", "sun_w_m2")
_HOUR_S = 3600
_ARCHIVE_FEEDS = ("auto", "open-meteo", "open-meteo-ensemble")
_ANALYSED_H = -1.0  # better than a forecast of no hours


def add_history(connection: sqlite3.Connection, boat: Boat, cache: Cache, now: datetime) -> None:
    """Take over the past hours that the feeds' answers left."""
    hours, values, lead_h = kept_hours(past_path(cache, boat.place, boat.weather))
    good = (lead_h <= SEEN_WITHIN_H) & (hours <= _utc64(now))
    columns = {name: column[good] for name, column in values.items()}
    _add(connection, boat, hours[good], lead_h[good], columns)


def add_short_forecast(
    connection: sqlite3.Connection, boat: Boat, kept: KeptForecast, now: datetime
) -> None:
    """Take over a kept forecast's first hours, as its first member has them."""
    made = _utc64(kept.made_at)
    lead_h = (kept.hours.times - made) / np.timedelta64(1, "s") / _HOUR_S
    good = (lead_h >= -1.0) & (lead_h <= SEEN_WITHIN_H) & (kept.hours.times <= _utc64(now))
    columns = {
        name: kept.hours.columns[name][0, good] for name in FIELDS if name != "vapour_pa"
    } | {"vapour_pa": vapour_of(kept.hours.columns["dew_point_c"][0, good])}
    _add(connection, boat, kept.hours.times[good], np.maximum(lead_h[good], 0.0), columns)


def add_analyses(folder: Path, boat: Boat, cache: Cache, now: datetime, since: datetime) -> str:
    """Ask the archive for hours nobody has seen, where the feed has an archive.

    Returns
    -------
    str
        Why the archive gave none; '' where nothing was asked or all came.
    """
    last = now.astimezone(UTC) - BEHIND - timedelta(days=3)
    if boat.weather.feed not in _ARCHIVE_FEEDS or since >= last:
        return ""
    with kept_file.to_read(folder) as connection:
        if connection is None:
            return ""
        known = _load(connection, boat, since, last)[0]
    wanted = np.arange(_utc64(since), _utc64(last), np.timedelta64(_HOUR_S, "s"))
    wanted = (wanted.astype(np.int64) // _HOUR_S * _HOUR_S).astype("datetime64[s]")
    missing = wanted[~np.isin(wanted, known)]
    if missing.size < 3:
        return ""
    first = utc_of(missing[0])
    try:
        past = past_weather(boat.place, boat.weather, cache, now, first.date(), last.date())
    except WeatherError as bad:
        return str(bad)
    full = past.times.astype(np.int64) % _HOUR_S == 0
    full &= np.isfinite(past.temp_c[0]) & np.isin(past.times, missing)
    columns = {name: np.asarray(getattr(past, name))[0, full] for name in FIELDS}
    lead = np.full(int(full.sum()), _ANALYSED_H)
    with kept_file.to_write(folder) as connection:
        _add(connection, boat, past.times[full], lead, columns)
    return ""


def _add(
    connection: sqlite3.Connection,
    boat: Boat,
    hours: TimeArray,
    lead_h: FloatArray,
    columns: dict[str, FloatArray],
) -> None:
    known = np.isfinite(columns["temp_c"]) & np.isfinite(columns["vapour_pa"])
    seconds = hours.astype("datetime64[s]").astype(np.int64)
    place = place_key(boat.place)
    rows = [
        (
            place,
            int(seconds[i]),
            float(lead_h[i]),
            *(float(v) if np.isfinite(v := columns[name][i]) else None for name in FIELDS),
        )
        for i in np.flatnonzero(known & (seconds % _HOUR_S == 0))
    ]
    names = ", ".join(FIELDS)
    updates = ", ".join(f"{name} = excluded.{name}" for name in ("lead_h", *FIELDS))
    connection.executemany(
        f"INSERT INTO seen (place, hour, lead_h, {names}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) "
        f"ON CONFLICT (place, hour) DO UPDATE SET {updates} WHERE excluded.lead_h < seen.lead_h",
        rows,
    )


def _load(
    connection: sqlite3.Connection, boat: Boat, since: datetime, until: datetime
) -> tuple[TimeArray, FloatArray]:
    rows = connection.execute(
        f"SELECT hour, {', '.join(FIELDS)} FROM seen "
        "WHERE place = ? AND hour BETWEEN ? AND ? ORDER BY hour",
        (place_key(boat.place), int(since.timestamp()), int(until.timestamp())),
    ).fetchall()
    try:
        table = np.array(rows, dtype=np.float64).reshape(len(rows), 1 + len(FIELDS))
    except (TypeError, ValueError):
        raise damaged("seen") from None
    return table[:, 0].astype(np.int64).astype("datetime64[s]"), table[:, 1:]


def seen_hours(
    connection: sqlite3.Connection, boat: Boat, since: datetime, until: datetime
) -> tuple[TimeArray, dict[str, FloatArray]]:
    """Hours seen between two moments, and what was seen, (N,) each."""
    hours, values = _load(connection, boat, since, until)
    return hours, {name: values[:, i] for i, name in enumerate(FIELDS)}


def seen_weather(
    connection: sqlite3.Connection, boat: Boat, since: datetime, until: datetime
) -> Forecast | None:
    """The weather seen between two moments as one 'forecast' of one member; None: nothing."""
    hours, values = seen_hours(connection, boat, since, until)
    if hours.size < 2:
        return None
    zero, hour = np.zeros(hours.size, np.int64), np.full(hours.size, _HOUR_S)
    grid = to_grid(
        hours,
        {
            name: RateSpans(column, zero, hour) if name == "rain_mm_h" else Point(column)
            for name, column in values.items()
        },
    )
    if grid.times.size < 2:
        return None
    return Forecast(
        times=grid.times,
        temp_c=grid.columns["temp_c"],
        vapour_pa=grid.columns["vapour_pa"],
        wind_ms=grid.columns["wind_ms"],
        rain_mm_h=grid.columns["rain_mm_h"],
        cloud_frac=grid.columns["cloud_frac"],
        sun_w_m2=grid.columns["sun_w_m2"],
        gap_h=np.maximum(grid.gap_h["temp_c"], grid.gap_h["vapour_pa"]),
        source="weather seen",
        attribution="",
        issued_at=None,
        fetched_at=until.astimezone(UTC),
    )


def _utc64(moment: datetime) -> np.datetime64:
    return np.datetime64(moment.astimezone(UTC).replace(tzinfo=None), "s")
