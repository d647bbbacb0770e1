"""The weather around the hull: run-up before it, holes bridged, sky and water added."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.schema import Place
from curewindow.findings import Finding, finding
from curewindow.physics.air import dew_point_from_pressure
from curewindow.physics.balance import Outside
from curewindow.physics.elementwise import STEFAN_BOLTZMANN, ZERO_C_IN_K
from curewindow.physics.panel import sky_emissivity
from curewindow.series import BoolArray, FloatArray
from curewindow.weather.forecast import Forecast
from curewindow.weather.water import water_estimate

RUN_UP_H = 72.0
"""Joinery and lining need about this long to forget what they started from (estimate)."""
_EMISSIVITY = 0.9  # paint, gelcoat, wood, dull metal
_CALM_MS = 2.0
_DRIEST_PA = 2.0
_SECOND = np.timedelta64(1, "s")


@dataclass(frozen=True, slots=True, eq=False)
class WeatherAround:
    """Weather on a grid that begins earlier than the forecast, without holes.

    Attributes
    ----------
    times : ndarray of datetime64[s], shape (R + T,)
        The run-up, then the forecast's own grid.
    run_up : int
        R, points before the forecast's first.
    step_h : float
        Grid step, h.
    outside : Outside
        Arrays (M, R + T).
    dew_point_c : ndarray, shape (M, R + T)
        Dew point outside.
    cloud_frac : ndarray, shape (M, R + T)
        Cloud; clear where unknown.
    unknown : ndarray of bool, shape (M, T)
        True where the forecast has no temperature or vapour of its own.
    notes : tuple of str
        What was assumed.
    inside_note : str
        What was assumed of the cabins' start, '' where it is known.
    water_note : str
        What was assumed of the water, '' where it was measured.
    """

    times: NDArray[np.datetime64]
    run_up: int
    step_h: float
    outside: Outside
    dew_point_c: FloatArray
    cloud_frac: FloatArray
    unknown: BoolArray
    notes: tuple[Finding, ...]
    inside_note: Finding | None
    water_note: Finding | None

    def seen_from(self, neighbour_c: dict[str, FloatArray]) -> Outside:
        """The outside of a space with these other spaces beside it."""
        return replace(self.outside, neighbour_c=neighbour_c)


def weather_around(place: Place, forecast: Forecast, now: datetime) -> WeatherAround:
    """Prepare a forecast for the balance.

    Parameters
    ----------
    place : Place
        For the temperature of the water.
    forecast : Forecast
        Past and coming weather; it may begin only now.
    now : datetime
        Aware.

    Returns
    -------
    WeatherAround
        Run-up: the first day of the forecast over and over, at its own hours of the
        day. Holes: a straight line between what is on either side. Without wind
        figures a light wind, without cloud a clear sky, without sun none: each the
        colder guess.
    """
    notes: list[Finding] = []
    unknown = ~(np.isfinite(forecast.temp_c) & np.isfinite(forecast.vapour_pa))
    if unknown.any():
        notes.append(finding("weather has holes"))
    temp = bridged(forecast.times, forecast.temp_c)
    # Saturation at -60 °C, where the sky's formula ends: no winter reaches it.
    vapour = np.maximum(bridged(forecast.times, forecast.vapour_pa), _DRIEST_PA)
    wind = _filled(forecast.wind_ms, _CALM_MS, "wind", notes)
    cloud = _filled(forecast.cloud_frac, 0.0, "cloud", notes)
    sun = _filled(forecast.sun_w_m2, 0.0, "sun", notes)

    step_h = forecast.step_h
    points = forecast.times.size
    run_up = round(RUN_UP_H / step_h)
    behind = (_utc64(now) - forecast.times[0]) / _SECOND / 3600.0
    inside_note = finding("past weather missing") if behind < RUN_UP_H else None
    period = max(min(round(24.0 / step_h), points), 1)
    before = np.arange(-run_up, 0) % period
    lead_in = np.concatenate([before, np.arange(points)])
    start = forecast.times[0] - run_up * (forecast.times[1] - forecast.times[0])
    times = start + np.arange(run_up + points) * (forecast.times[1] - forecast.times[0])
    temp, vapour, wind, cloud, sun = (a[:, lead_in] for a in (temp, vapour, wind, cloud, sun))

    dew = np.asarray(dew_point_from_pressure(vapour), dtype=np.float64)
    # Sky formula and radiation of a level surface as warm as the air, W/m².
    sky = np.asarray(sky_emissivity(dew, np.clip(cloud, 0.0, 1.0)))
    sky_loss = _EMISSIVITY * STEFAN_BOLTZMANN * (temp + ZERO_C_IN_K) ** 4 * (1.0 - sky)
    water, water_note = _water(place, forecast, now)
    outside = Outside(
        temp_c=temp,
        vapour_pa=vapour,
        wind_ms=wind,
        sun_w_m2=sun,
        sky_loss_w_m2=sky_loss,
        water_c=water,
    )
    return WeatherAround(
        times,
        run_up,
        step_h,
        outside,
        dew,
        cloud,
        unknown,
        tuple(notes),
        inside_note,
        water_note,
    )


def bridged(times: NDArray[np.datetime64], values: FloatArray) -> FloatArray:
    """Holes filled by a straight line, ends held; members without any value stay NaN."""
    if np.isfinite(values).all():
        return values
    seconds = (times - times[0]) / _SECOND
    out = values.copy()
    for row in out:
        good = np.isfinite(row)
        if good.any():
            row[~good] = np.interp(seconds[~good], seconds[good], row[good])
    return out


def _filled(values: FloatArray, default: float, what: str, notes: list[Finding]) -> FloatArray:
    missing = ~np.isfinite(values)
    if missing.any():
        notes.append(finding("weather figure missing", kind_of=what))
    return np.where(missing, default, values)


def _water(place: Place, forecast: Forecast, now: datetime) -> tuple[FloatArray, Finding | None]:
    if place.water_temp is not None:
        return np.array(place.water_temp), None
    water = water_estimate(forecast, now)
    note = finding(
        "water estimated", temp_c=water.temp_c, difference_k=water.error_k, state=water.basis
    )
    return np.array(water.temp_c), note


def _utc64(moment: datetime) -> np.datetime64:
    return np.datetime64(moment.astimezone(UTC).replace(tzinfo=None), "s")
