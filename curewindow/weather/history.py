"""Past weather outside, kept from earlier forecasts.

A feed that begins at the present hour says nothing of yesterday, and the clocks
of the coats need yesterday. So the last word any answer had on each full hour is
kept for :data:`KEEP`, one file a place, whichever feed it came from, and put in
front of the forecast. Hours that were only ever forecast a day or more before
are less certain; a note says how long before, and past three days they are not
kept at all.
"""

from __future__ import annotations

import logging
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.findings import finding
from curewindow.weather.cache import read_json, write_json
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray, Point, RateSpans, TimeArray, to_grid

log = logging.getLogger(__name__)

KEEP = timedelta(days=60)
LONGEST_LEAD_H = 72.0
"""An hour forecast longer before than this and never again is unknown, not past weather."""
_HOUR_S = 3600
_FIELDS = ("temp_c", "vapour_pa", "wind_ms", "rain_mm_h", "cloud_frac", "sun_w_m2")
_SAY_ABOVE_H = 24.0
_FORMAT = 1


def with_past(forecast: Forecast, path: Path, now: datetime, *, keep_new: bool) -> Forecast:
    """Put the kept hours in front of a forecast, and keep this forecast's own.

    Parameters
    ----------
    forecast : Forecast
        Fresh from a feed; of several members the first is kept, and what was kept
        stands before all of them.
    path : Path
        The file of kept hours; a broken one is left aside with a warning.
    now : datetime
        Aware; nothing older than :data:`KEEP` before it is used.
    keep_new : bool
        Is this an answer not yet kept?

    Returns
    -------
    Forecast
        Beginning with the earliest kept hour; between the last of them and the
        forecast's beginning it is bridged or left unknown as any hole is.
    """
    hours, values, lead_h = _load(path)
    oldest = np.datetime64((now.astimezone(UTC) - KEEP).replace(tzinfo=None), "s")
    before = (hours < forecast.times[0]) & (hours >= oldest)
    hours, values, lead_h = hours[before], values[:, before], lead_h[before]
    if keep_new:
        _keep(path, forecast, hours, values, lead_h)
    return _joined(forecast, hours, values, lead_h) if hours.size else forecast


def keep_past(path: Path, past: Forecast, now: datetime) -> None:
    """Keep hours of past weather that are not kept yet.

    Parameters
    ----------
    path : Path
        The file of kept hours.
    past : Forecast
        Of one member, all of it measured or analysed.
    now : datetime
        Aware; later hours and those older than :data:`KEEP` are left out.
    """
    hours, values, lead_h = _load(path)
    moment = np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s")
    oldest = moment - np.timedelta64(int(KEEP.total_seconds()), "s")
    times = past.times
    new = (times.astype(np.int64) % _HOUR_S == 0) & (times < moment) & (times >= oldest)
    new &= np.isfinite(past.temp_c[0]) & ~np.isin(times, hours)
    added = np.array([getattr(past, name)[0, new] for name in _FIELDS])
    order = np.argsort(np.concatenate([hours, times[new]]), kind="stable")
    _write(
        path,
        np.concatenate([hours, times[new]])[order],
        np.concatenate([values, added], axis=1)[:, order],
        np.concatenate([lead_h, np.zeros(int(new.sum()))])[order],
    )


def kept_hours(path: Path) -> tuple[TimeArray, dict[str, FloatArray], FloatArray]:
    """The hours kept in a file.

    Returns
    -------
    hours : ndarray of datetime64[s], shape (N,)
    values : dict of str to ndarray, shape (N,)
        By the names a forecast has them under.
    lead_h : ndarray, shape (N,)
        How long before each hour its values were forecast; 0 for the past.
    """
    hours, values, lead_h = _load(path)
    return hours, dict(zip(_FIELDS, values, strict=True)), lead_h


def _load(path: Path) -> tuple[TimeArray, FloatArray, FloatArray]:
    nothing = np.array([], "datetime64[s]"), np.empty((len(_FIELDS), 0)), np.array([])
    data = read_json(path)
    if data is None:
        return nothing
    try:
        if data["format"] != _FORMAT:
            raise ValueError("another format")
        hours = np.array(data["time"], dtype=np.int64).astype("datetime64[s]")
        # A missing value is written as null, which numpy reads as NaN.
        values = np.array([np.array(data[name], dtype=np.float64) for name in _FIELDS])
        lead_h = np.array(data["lead_h"], dtype=np.float64)
        if values.shape != (len(_FIELDS), hours.size) or lead_h.shape != hours.shape:
            raise ValueError("columns of different length")
    except (KeyError, TypeError, ValueError, OverflowError) as bad:
        log.warning("the kept past weather %s is not usable (%s); beginning anew", path, bad)
        return nothing
    return hours, values, lead_h


def _keep(
    path: Path, forecast: Forecast, hours: TimeArray, values: FloatArray, lead_h: FloatArray
) -> None:
    full = forecast.times.astype(np.int64) % _HOUR_S == 0
    times = forecast.times[full]
    new = np.array([getattr(forecast, name)[0, full] for name in _FIELDS])
    fetched = np.datetime64(forecast.fetched_at.astimezone(UTC).replace(tzinfo=None), "s")
    lead = np.maximum(0.0, (times - fetched) / np.timedelta64(_HOUR_S, "s"))
    near = lead <= LONGEST_LEAD_H
    times, new, lead = times[near], new[:, near], lead[near]
    _write(
        path,
        np.concatenate([hours, times]),
        np.concatenate([values, new], axis=1),
        np.concatenate([lead_h, lead]),
    )


def _write(path: Path, hours: TimeArray, values: FloatArray, lead_h: FloatArray) -> None:
    data: dict[str, object] = {
        "format": _FORMAT,
        "time": hours.astype(np.int64).tolist(),
        "lead_h": np.round(lead_h, 1).tolist(),
    }
    for name, column in zip(_FIELDS, np.round(values, 4), strict=True):
        data[name] = [None if np.isnan(value) else value for value in column.tolist()]
    write_json(path, data)


def _joined(
    forecast: Forecast, hours: TimeArray, values: FloatArray, lead_h: FloatArray
) -> Forecast:
    step_s = int((forecast.times[1] - forecast.times[0]) / np.timedelta64(1, "s"))
    first = np.array([getattr(forecast, name)[0, 0] for name in _FIELDS])
    times = np.append(hours, forecast.times[0])
    rows = np.concatenate([values, first[:, None]], axis=1)
    zero = np.zeros(times.size, dtype=np.int64)
    hour = np.full(times.size, _HOUR_S, dtype=np.int64)
    columns: dict[str, Point | RateSpans] = {
        name: RateSpans(column, zero, hour) if name == "rain_mm_h" else Point(column)
        for name, column in zip(_FIELDS, rows, strict=True)
    }
    grid = to_grid(times, columns, step_s=step_s)
    past = grid.times < forecast.times[0]
    count = int(past.sum())
    merged = {
        name: np.concatenate(
            [
                np.broadcast_to(grid.columns[name][:, past], (forecast.members, count)),
                getattr(forecast, name),
            ],
            axis=1,
        )
        for name in _FIELDS
    }
    gap_h = np.maximum(grid.gap_h["temp_c"], grid.gap_h["vapour_pa"])[past]
    notes = forecast.notes
    oldest_lead = float(lead_h.max())
    if oldest_lead > _SAY_ABOVE_H:
        notes = (*notes, finding("past hours forecast", hours=oldest_lead))
    return replace(
        forecast,
        times=np.concatenate([grid.times[past], forecast.times]),
        temp_c=merged["temp_c"],
        vapour_pa=merged["vapour_pa"],
        wind_ms=merged["wind_ms"],
        rain_mm_h=merged["rain_mm_h"],
        cloud_frac=merged["cloud_frac"],
        sun_w_m2=merged["sun_w_m2"],
        gap_h=np.concatenate([gap_h, forecast.gap_h]),
        notes=notes,
    )
