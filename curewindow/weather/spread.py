"""Members for a forecast that has one: others that it could as well have been.

Their errors follow :class:`curewindow.weather.errormodel.ErrorModel`. A member's error
at an instant is drawn for that instant, whatever the forecast: the next forecast is
doubted in the same way, so that a window which moves does so for what the forecast
says and not for another draw.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from curewindow.findings import finding
from curewindow.physics.air import dew_point_from_pressure, saturation_pressure
from curewindow.weather.errormodel import FORECAST, ErrorModel
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray

MEMBERS = 20
BY_DEFAULT = 16
"""Members of a forecast that has one, on the day sheet: enough for shares of a sixteenth,
few enough that the day sheet answers at once."""
DRIZZLE_MM_H = 0.5
_TENTH = 1.2815515655446004  # standard normal deviate of the 90th percentile
_SEED = 20
_DAY_S = 86_400
_DAYS_BEFORE = 100_000  # seeds are not negative: days count from long before 1970
_FORGOTTEN = 8.0  # e-folding times after which a walk has forgotten where it began
_SHOWER_H = 6.0  # e-folding time of rain that was not forecast (estimate)


def with_members(
    forecast: Forecast,
    now: datetime,
    *,
    model: ErrorModel = FORECAST,
    members: int = MEMBERS,
    seed: int = _SEED,
) -> Forecast:
    """Give a forecast of one member others that it could as well have been.

    Parameters
    ----------
    forecast : Forecast
        Of one member; one of several comes back as it is.
    now : datetime
        From which lead time counts, aware.
    model : ErrorModel
        How wrong it is.
    members : int
        How many, the forecast itself among them (the first).
    seed : int
        The same seed gives the same members.

    Returns
    -------
    Forecast
        Temperature, vapour and wind of each member with its own error, and rain where
        the forecast has none; its own rain, cloud and sun stay. Unknown stays unknown.
    """
    if forecast.members > 1 or members < 2:
        return forecast
    lead_h = _lead_h(forecast, now) + np.maximum(np.nan_to_num(forecast.gap_h) - 1.0, 0.0)
    sigma = model.sigma_k(lead_h)
    z_temp, z_dew, z_wind, z_rain = _noise(forecast, model, members, seed)
    spread = _perturbed(forecast, sigma * z_temp, model.dew_share * sigma * z_dew)
    wind = np.maximum(forecast.wind_ms + model.wind_ms(lead_h) * z_wind, 0.0)
    # A normal deviate is above this with the chance of rain.
    wet = (z_rain > -_deviate(model.wet(lead_h))) & (forecast.rain_mm_h == 0.0)
    return replace(
        spread,
        wind_ms=wind,
        rain_mm_h=np.where(wet, DRIZZLE_MM_H, forecast.rain_mm_h),
        notes=(*forecast.notes, finding("members made", count=members)),
    )


def as_ensemble(forecast: Forecast, boat: str) -> Forecast:
    """A forecast of one member with the members the day sheet goes by.

    Parameters
    ----------
    forecast : Forecast
        One that has members comes back as it is.
    boat : str
        Its name and place, in any form: the same gives the same members.

    Returns
    -------
    Forecast
        Lead time counts from when the forecast was made, to the full hour; its notes
        are unchanged, `spread` says how its members came about.
    """
    made = forecast.made.replace(minute=0, second=0, microsecond=0)
    seed = int.from_bytes(hashlib.sha256(boat.encode()).digest()[:4])
    found = with_members(forecast, made, members=BY_DEFAULT, seed=seed)
    if found is forecast:
        return forecast
    return replace(
        found,
        notes=forecast.notes,
        spread=FORECAST.described(BY_DEFAULT),
    )


def members_from_percentiles(
    forecast: Forecast,
    now: datetime,
    low_c: FloatArray,
    high_c: FloatArray,
    *,
    model: ErrorModel = FORECAST,
    members: int = MEMBERS,
    seed: int = _SEED,
) -> Forecast:
    """Members whose temperatures keep a service's own 10th and 90th percentiles.

    Parameters
    ----------
    forecast : Forecast
        Of one member; its temperature is taken as the median.
    now : datetime
        Aware.
    low_c, high_c : ndarray, shape (T,)
        10th and 90th percentile, NaN where not given: the error model stands in.
    model, members, seed
        As for :func:`with_members`; of the model its correlations are used, and its
        standard deviation at lead time 0 as the least that the error of a place can
        be, since percentiles of an ensemble are too narrow in the first hours.

    Returns
    -------
    Forecast

    Notes
    -----
    A normal curve in two halves: above the median it is as wide as the 90th
    percentile says, below it as the 10th says. The percentiles are of each hour by
    itself; that a warm hour follows a warm hour is the error model's, an assumption.
    """
    if forecast.members > 1 or members < 2:
        return forecast
    middle = forecast.temp_c[0]
    least, own = model.now_k, model.sigma_k(_lead_h(forecast, now))
    above = np.maximum((high_c - middle) / _TENTH, least)
    below = np.maximum((middle - low_c) / _TENTH, least)
    given = np.isfinite(above) & np.isfinite(below)
    above, below = np.where(given, above, own), np.where(given, below, own)
    z_temp, z_dew, _, _ = _noise(forecast, model, members, seed)
    width = np.where(z_temp > 0.0, above, below)
    dew = model.dew_share * 0.5 * (above + below) * z_dew
    note = finding("members made", count=members, state="percentiles")
    return replace(_perturbed(forecast, width * z_temp, dew), notes=(*forecast.notes, note))


def _lead_h(forecast: Forecast, now: datetime) -> FloatArray:
    moment = np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s")
    return np.asarray((forecast.times - moment) / np.timedelta64(3600, "s"), dtype=np.float64)


def _noise(
    forecast: Forecast, model: ErrorModel, members: int, seed: int
) -> tuple[FloatArray, ...]:
    """Standard normal, correlated in time: temperature, dew point, wind, rain, (M, T) each.

    The first member has none. What is drawn for an instant depends on the seed, the
    step and the instant alone: each day has its own numbers, and the walk begins long
    enough before the forecast to have forgotten where.
    """
    step_s = round(forecast.step_h * 3600.0)
    first_s = int(forecast.times[0].astype("datetime64[s]").astype(np.int64))
    last_s = int(forecast.times[-1].astype("datetime64[s]").astype(np.int64))
    memory_days = int(np.ceil(_FORGOTTEN * model.memory_h / 24.0))
    per_day = _DAY_S // step_s if _DAY_S % step_s == 0 else -(-_DAY_S // step_s)
    days = range(first_s // _DAY_S - memory_days, last_s // _DAY_S + 1)
    drawn = [
        np.random.default_rng([seed, day + _DAYS_BEFORE]).standard_normal((per_day, 4, members - 1))
        for day in days
    ]
    fresh = np.concatenate(drawn)
    rho = np.exp(-forecast.step_h / np.array([model.memory_h] * 3 + [_SHOWER_H]))[:, np.newaxis]
    fresh[1:] *= np.sqrt(1.0 - rho * rho)
    walk = fresh
    for i in range(1, walk.shape[0]):
        walk[i] += rho * walk[i - 1]
    begin = (first_s - days[0] * _DAY_S) // step_s
    walk = np.ascontiguousarray(walk[begin : begin + forecast.times.size].transpose(1, 2, 0))
    # A small draw is not to be off centre.
    if members > 3:
        walk[:3] -= walk[:3].mean(axis=1, keepdims=True)
        walk[:3] *= np.sqrt((members - 1) / (members - 2))
    walk[1] = model.together * walk[0] + np.sqrt(1.0 - model.together**2) * walk[1]
    none = np.zeros((1, walk.shape[2]))
    return tuple(np.concatenate([none, each]) for each in walk)


def _deviate(chance: FloatArray) -> FloatArray:
    """Standard normal deviate that lies below with a chance; -inf for none.

    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.23 (within 4.5e-4),
    for chances up to one half.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.sqrt(-2.0 * np.log(chance))
        above = 2.515517 + t * (0.802853 + t * 0.010328)
        below = 1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308))
        return np.where(chance > 0.0, -(t - above / below), -np.inf)


def _perturbed(forecast: Forecast, temp_k: FloatArray, dew_k: FloatArray) -> Forecast:
    temp_c = forecast.temp_c + temp_k
    dew_c = np.asarray(dew_point_from_pressure(np.maximum(forecast.vapour_pa, 2.0))) + dew_k
    vapour_pa = np.array(np.minimum(_full(dew_c), _full(temp_c)))
    vapour_pa[0] = forecast.vapour_pa[0]  # the forecast itself, to the last digit
    shape = temp_c.shape
    return replace(
        forecast,
        temp_c=temp_c,
        vapour_pa=vapour_pa,
        wind_ms=np.array(np.broadcast_to(forecast.wind_ms, shape)),
        rain_mm_h=np.array(np.broadcast_to(forecast.rain_mm_h, shape)),
        cloud_frac=np.array(np.broadcast_to(forecast.cloud_frac, shape)),
        sun_w_m2=np.array(np.broadcast_to(forecast.sun_w_m2, shape)),
    )


def _full(temp_c: FloatArray) -> FloatArray:
    return np.asarray(saturation_pressure(np.clip(temp_c, -80.0, 60.0)))
