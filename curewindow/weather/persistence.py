"""'The same weather goes on': a few days from a few readings outdoors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curewindow.findings import finding
from curewindow.physics.air import saturation_pressure
from curewindow.weather.errormodel import ErrorModel
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import STEP_S, FloatArray
from curewindow.weather.spread import with_members

IntArray = NDArray[np.int64]

AHEAD = timedelta(days=3)
OLDEST = timedelta(hours=24)
DECAY_H = 24.0
"""e-folding time in which the latest reading's departure from the usual dies away (estimate)."""
UNKNOWN_SWING_K = 2.0
"""Half a winter day's swing, an error where the readings do not show it (estimate)."""
SAME_AGAIN = ErrorModel(now_k=1.0, per_h_k=0.12, most_k=6.0, memory_h=24.0)
"""3.9 K after a day: between a coast's weather and the 5.1 K that taking yesterday's high
over costs in mid-continent (Brooks and Doswell, Weather and Forecasting 11 (1996) 288-303,
table 1). The dew point's share is an estimate."""
_HOUR_S = 3600
_DAY_S = 86400
_SWING_NEEDS = 5
_SWING_SPAN_H = 18.0


@dataclass(frozen=True, slots=True)
class OutdoorAir:
    """Air outdoors: when (aware), °C, vapour pressure in Pa."""

    at: datetime
    temp_c: float
    vapour_pa: float


def same_weather(readings: Sequence[OutdoorAir], now: datetime) -> Forecast:
    """Carry readings on for :data:`AHEAD`.

    Parameters
    ----------
    readings : sequence of OutdoorAir
        In any order, the latest no older than :data:`OLDEST`.
    now : datetime
        Aware.

    Returns
    -------
    Forecast
        With members; wind, rain, cloud and sun are unknown.

    Raises
    ------
    ValueError
        No readings, or the latest too old.

    Notes
    -----
    Between readings a straight line. After the latest its departure from the
    readings' usual value dies away with :data:`DECAY_H`; the usual value is their
    mean or, with at least five readings over 18 hours, a mean and one daily swing by
    least squares.
    """
    found = sorted(readings, key=lambda reading: reading.at)
    if not found:
        raise ValueError("there are no readings")
    age = now - found[-1].at
    if age > OLDEST:
        raise ValueError(
            f"the latest is {age.total_seconds() / 3600.0:.0f} h old; "
            f"give one of the last {OLDEST.total_seconds() / 3600.0:.0f} h"
        )
    at = np.array([round(reading.at.timestamp()) for reading in found], dtype=np.int64)
    temp = np.array([reading.temp_c for reading in found])
    vapour = np.array([reading.vapour_pa for reading in found])
    first = -(-int(at[0]) // STEP_S) * STEP_S
    last = (int(at[-1]) + int(AHEAD.total_seconds())) // STEP_S * STEP_S
    grid = np.arange(first, last + 1, STEP_S, dtype=np.int64)
    after = np.maximum(grid - at[-1], 0) / _HOUR_S
    fading = np.exp(-after / DECAY_H)
    usual, shown = _usual(at, temp)
    carried = usual(grid) + (temp[-1] - usual(at[-1:])[0]) * fading
    temp_c = np.where(after > 0.0, carried, np.interp(grid, at, temp))
    carried_pa = vapour.mean() + (vapour[-1] - vapour.mean()) * fading
    vapour_pa = np.where(after > 0.0, carried_pa, np.interp(grid, at, vapour))
    vapour_pa = np.minimum(vapour_pa, saturation_pressure(temp_c))
    nothing = np.full((1, grid.size), np.nan)
    latest_h = max(age.total_seconds(), 0.0) / 3600.0
    note = finding("weather goes on", count=len(found), hours=latest_h)
    forecast = Forecast(
        times=grid.astype("datetime64[s]"),
        temp_c=temp_c[None],
        vapour_pa=vapour_pa[None],
        wind_ms=nothing,
        rain_mm_h=nothing,
        cloud_frac=nothing,
        sun_w_m2=nothing,
        gap_h=np.ones(grid.size),
        source="readings outdoors",
        attribution="",
        issued_at=None,
        fetched_at=min(found[-1].at, now).astimezone(UTC),
        notes=(note,),
    )
    model = SAME_AGAIN if shown else replace(SAME_AGAIN, now_k=SAME_AGAIN.now_k + UNKNOWN_SWING_K)
    spread = with_members(forecast, found[-1].at, model=model)
    return replace(spread, gap_h=_gaps(grid, at))


class _Usual:
    """A mean and, where it is known, a daily swing."""

    def __init__(self, parts: FloatArray):
        self._parts = parts

    def __call__(self, at: IntArray) -> FloatArray:
        turn = 2.0 * np.pi * (at % _DAY_S) / _DAY_S
        base, cosine, sine = self._parts
        return np.asarray(base + cosine * np.cos(turn) + sine * np.sin(turn))


def _usual(at: IntArray, temp: FloatArray) -> tuple[_Usual, bool]:
    span_h = (at[-1] - at[0]) / _HOUR_S
    if np.unique(at).size < _SWING_NEEDS or span_h < _SWING_SPAN_H:
        return _Usual(np.array([temp.mean(), 0.0, 0.0])), False
    turn = 2.0 * np.pi * (at % _DAY_S) / _DAY_S
    rows = np.stack([np.ones(at.size), np.cos(turn), np.sin(turn)], axis=1)
    parts, _, rank, _ = np.linalg.lstsq(rows, temp, rcond=None)
    # A swing beyond what was read is the fit's own invention.
    if rank < 3 or np.hypot(parts[1], parts[2]) > 0.75 * np.ptp(temp) + 0.1:
        return _Usual(np.array([temp.mean(), 0.0, 0.0])), False
    return _Usual(np.asarray(parts)), True


def _gaps(grid: IntArray, at: IntArray) -> FloatArray:
    """Hours between the readings around an instant; after the latest the members say it."""
    if at.size == 1:
        return np.ones(grid.size)
    left = np.clip(np.searchsorted(at, grid, side="right") - 1, 0, at.size - 2)
    between = np.maximum((at[left + 1] - at[left]) / _HOUR_S, 1.0)
    return np.asarray(np.where(grid > at[-1], 1.0, between))
