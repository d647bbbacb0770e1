"""Water temperature at the hull from the air of the last weeks.

Pilgrim, Fang and Stefan, Correlations of Minnesota Stream Water Temperatures with
Air Temperatures (University of Minnesota, 1995), from 43 streams with ice-covered
periods left out: weekly means Tw = 1.9 + 0.97 Ta with a standard deviation of 2.6 K
between measured and predicted, monthly means Tw = 0.7 + 1.04 Ta with 1.9 K. Taken
here for canals, rivers and shallow harbours of the temperate zone, and never below
freezing. Deep lakes and the open sea lag by weeks and months, and water warmed by a
power station or cooled by springs keeps to itself: measure it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray, TimeArray

FRESH_FREEZES_C = 0.0
SEA_FREEZES_C = -1.9
"""At a salinity of 35 g/kg (UNESCO 1983, from memory)."""
_WEEK = (1.9, 0.97, 2.6)
_MONTH = (0.7, 1.04, 1.9)
_WEEK_DAYS, _MONTH_DAYS = 7.0, 30.0
_MONTH_NEEDS_DAYS = 21.0
_WEEK_NEEDS_DAYS = 5.0
_FEW_DAYS_K = 3.5  # less than five days known: our estimate, more than the week's figure
_AHEAD_K = 5.0  # no past at all, days ahead stand in: our estimate
_SLOPE_LIMIT_C = 30.0  # the line bends over in hot weather; boats are not painted then either


@dataclass(frozen=True, slots=True)
class WaterEstimate:
    """Water temperature in °C (NaN: nothing to go by), its standard error in K, and the basis."""

    temp_c: float
    error_k: float
    basis: str


def water_estimate(forecast: Forecast, now: datetime, *, salt: bool = False) -> WaterEstimate:
    """Estimate the water temperature from a forecast's past hours.

    Parameters
    ----------
    forecast : Forecast
        With the last weeks in it, as far as they are known.
    now : datetime
        Aware.
    salt : bool
        Sea water freezes lower.

    Returns
    -------
    WaterEstimate
        Where not even a day of the past is known, from the mean of the days ahead
        with a larger error.
    """
    moment = np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s")
    # A mean over members with holes; an instant unknown in all of them stays so.
    known = np.isfinite(forecast.temp_c)
    count = known.sum(axis=0)
    total = np.where(known, forecast.temp_c, 0.0).sum(axis=0)
    air_c = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return water_from_air(forecast.times, np.asarray(air_c), moment, salt=salt)


def water_from_air(
    times: TimeArray, air_c: FloatArray, moment: np.datetime64, *, salt: bool = False
) -> WaterEstimate:
    """Estimate the water temperature at a moment.

    Parameters
    ----------
    times : ndarray of datetime64, shape (T,)
        UTC, evenly spaced.
    air_c : ndarray, shape (T,)
        Air temperature, °C, NaN where unknown.
    moment : datetime64
        UTC.
    salt : bool
        Sea water freezes lower.

    Returns
    -------
    WaterEstimate
    """
    ago_d = (moment - times) / np.timedelta64(86400, "s")
    known = np.isfinite(air_c)
    step_d = float((times[1] - times[0]) / np.timedelta64(86400, "s")) if times.size > 1 else 0.0

    def days_in(last_d: float) -> tuple[float, float]:
        inside = known & (ago_d >= 0.0) & (ago_d < last_d)
        mean = float(air_c[inside].mean()) if inside.any() else np.nan
        return float(inside.sum()) * step_d, mean

    month_d, month_c = days_in(_MONTH_DAYS)
    week_d, week_c = days_in(_WEEK_DAYS)
    if month_d >= _MONTH_NEEDS_DAYS:
        (base, slope, error_k), air, basis = _MONTH, month_c, "the air of the last month"
    elif week_d >= 1.0:
        (base, slope, error_k), air, basis = _WEEK, week_c, "the air of the last week"
        if week_d < _WEEK_NEEDS_DAYS:
            error_k, basis = _FEW_DAYS_K, f"the air of only {week_d:.1f} days past"
    elif known.any():
        (base, slope, _), air = _WEEK, float(air_c[known].mean())
        error_k, basis = _AHEAD_K, "the air of the days ahead, the past being unknown"
    else:
        return WaterEstimate(np.nan, np.inf, "nothing")
    freezes = SEA_FREEZES_C if salt else FRESH_FREEZES_C
    water = max(base + slope * min(air, _SLOPE_LIMIT_C), freezes)
    return WaterEstimate(water, error_k, basis)
