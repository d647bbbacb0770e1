"""Members for a forecast that has one: errors that grow with lead time.

The error of a temperature forecast at lead time L is taken as normal with standard
deviation ``now + per_h L``, no more than ``most``, correlated in time as a first
order autoregression, and shared in part by the dew point, since a front that comes
early changes both. The figures are estimates. What publications we know of say:
Brooks and Doswell, Weather and Forecasting 11 (1996) 288-303, table 1, give a root
mean square error of 2.1 K for an office's forecast of the next afternoon's high at
Oklahoma City and 5.1 K for yesterday's high taken over, in a climate far more
changeable than a coast's; verification of today's models near the ground is of the
order of 1.5 K for the first day and 3 K for the fifth (from memory). A season of
one's own forecasts and readings is better than either: :func:`fit_errors`.

Not used unless asked for: a window with one member carries a confidence worked out
from its margin instead.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from curewindow.physics.air import dew_point_from_pressure, saturation_pressure
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray

MEMBERS = 20
_TENTH = 1.2815515655446004  # standard normal deviate of the 90th percentile
_SEED = 20


@dataclass(frozen=True, slots=True)
class ErrorModel:
    """How wrong a forecast is.

    Attributes
    ----------
    now_k, per_h_k, most_k : float
        Standard deviation of the temperature's error at lead time 0, its growth an
        hour, and where it stops.
    dew_share : float
        The dew point's standard deviation as a share of the temperature's.
    memory_h : float
        e-folding time of the error's correlation.
    together : float
        Correlation between the errors of temperature and dew point.
    """

    now_k: float = 1.0
    per_h_k: float = 0.016
    most_k: float = 4.5
    dew_share: float = 1.1
    memory_h: float = 18.0
    together: float = 0.6

    def sigma_k(self, lead_h: FloatArray) -> FloatArray:
        """Standard deviation of the temperature's error, K; past hours as lead time 0."""
        grown = self.now_k + self.per_h_k * np.maximum(lead_h, 0.0)
        return np.asarray(np.minimum(grown, self.most_k))


FORECAST = ErrorModel()


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
        Temperature and vapour of each member with its own error; wind, rain, cloud
        and sun are those of the forecast. Unknown stays unknown.
    """
    if forecast.members > 1 or members < 2:
        return forecast
    lead_h = _lead_h(forecast, now) + np.maximum(np.nan_to_num(forecast.gap_h) - 1.0, 0.0)
    sigma = model.sigma_k(lead_h)
    z_temp, z_dew = _noise(forecast, model, members, seed)
    return _perturbed(forecast, sigma * z_temp, model.dew_share * sigma * z_dew, "estimated")


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
    z_temp, z_dew = _noise(forecast, model, members, seed)
    width = np.where(z_temp > 0.0, above, below)
    dew = model.dew_share * 0.5 * (above + below) * z_dew
    return _perturbed(forecast, width * z_temp, dew, "drawn from the service's percentiles")


def fit_errors(
    lead_h: FloatArray,
    forecast_c: FloatArray,
    observed_c: FloatArray,
    *,
    run: FloatArray | None = None,
    dew_forecast_c: FloatArray | None = None,
    dew_observed_c: FloatArray | None = None,
    start: ErrorModel = FORECAST,
) -> ErrorModel:
    """Fit the error model to pairs of forecast and observation.

    Parameters
    ----------
    lead_h, forecast_c, observed_c : ndarray, shape (N,)
        Lead time and what was said and came; pairs with NaN are left out.
    run : ndarray, shape (N,), optional
        Which forecast each pair is of, for the correlation in time.
    dew_forecast_c, dew_observed_c : ndarray, shape (N,), optional
        The same for the dew point.
    start : ErrorModel
        Where the pairs say nothing its figures stay.

    Returns
    -------
    ErrorModel

    Raises
    ------
    ValueError
        Fewer than 30 pairs.

    Notes
    -----
    A constant error (a place always 1 K warmer than its grid point) is part of what
    is fitted. Growth: root mean squares of bins of six hours of lead, a straight
    line up to a lead time from which it is level, by least squares over all such
    lead times.
    """
    error = forecast_c - observed_c
    good = np.isfinite(error) & np.isfinite(lead_h)
    if int(good.sum()) < 30:
        raise ValueError(f"an error model needs at least 30 pairs, got {int(good.sum())}")
    lead, wrong = np.maximum(lead_h[good], 0.0), error[good]
    now_k, per_h_k, most_k = _growth(lead, wrong)
    model = replace(start, now_k=now_k, per_h_k=per_h_k, most_k=most_k)
    scaled = wrong / np.maximum(model.sigma_k(lead), 1e-6)
    if run is not None:
        model = replace(model, memory_h=_memory_h(lead, scaled, run[good], start.memory_h))
    if dew_forecast_c is not None and dew_observed_c is not None:
        dew = (dew_forecast_c - dew_observed_c)[good]
        both = np.isfinite(dew)
        if int(both.sum()) >= 30:
            share = np.sqrt(np.mean(dew[both] ** 2) / np.mean(wrong[both] ** 2))
            norm = np.sqrt(np.mean(dew[both] ** 2) * np.mean(wrong[both] ** 2))
            together = float(np.mean(dew[both] * wrong[both]) / norm)
            model = replace(model, dew_share=float(share), together=min(max(together, -1.0), 1.0))
    return model


def _growth(lead: FloatArray, wrong: FloatArray) -> tuple[float, float, float]:
    bins = np.floor(lead / 6.0)
    which = np.unique(bins)
    at = np.array([lead[bins == b].mean() for b in which])
    rms = np.array([np.sqrt(np.mean(wrong[bins == b] ** 2)) for b in which])
    weight = np.sqrt(np.array([float((bins == b).sum()) for b in which]))
    best: tuple[float, float, float, float] | None = None
    for level in at[1:]:
        x = np.minimum(at, level)
        rows = np.stack([np.ones_like(x), x], axis=1) * weight[:, None]
        (now_k, per_h), *_ = np.linalg.lstsq(rows, rms * weight, rcond=None)
        if per_h < 0.0 or now_k < 0.0:
            continue
        left = float(np.sum(((now_k + per_h * x - rms) * weight) ** 2))
        if best is None or left < best[0] - 1e-12:
            best = (left, float(now_k), float(per_h), float(now_k + per_h * level))
    if best is None:  # no growth in sight: one figure for all
        flat = float(np.sqrt(np.mean(wrong**2)))
        return flat, 0.0, flat
    return best[1:]


def _memory_h(lead: FloatArray, scaled: FloatArray, run: FloatArray, start_h: float) -> float:
    order = np.lexsort((lead, run))
    step = np.diff(lead[order])
    pair = (np.diff(run[order]) == 0) & (step > 0.0)
    if int(pair.sum()) < 30:
        return start_h
    product = (scaled[order][1:] * scaled[order][:-1])[pair]
    rho = float(product.mean() / np.mean(scaled**2))
    if not 0.0 < rho < 1.0:
        return start_h
    return float(np.mean(step[pair]) / -np.log(rho))


def _lead_h(forecast: Forecast, now: datetime) -> FloatArray:
    moment = np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s")
    return np.asarray((forecast.times - moment) / np.timedelta64(3600, "s"), dtype=np.float64)


def _noise(
    forecast: Forecast, model: ErrorModel, members: int, seed: int
) -> tuple[FloatArray, FloatArray]:
    """Standard normal, correlated in time and with each other, (M, T); the first member none."""
    rng = np.random.default_rng(seed)
    points = forecast.times.size
    rho = float(np.exp(-forecast.step_h / model.memory_h))
    fresh = rng.standard_normal((2, members - 1, points))
    fresh[:, :, 1:] *= np.sqrt(1.0 - rho * rho)
    walk = np.empty_like(fresh)
    walk[:, :, 0] = fresh[:, :, 0]
    for i in range(1, points):
        walk[:, :, i] = rho * walk[:, :, i - 1] + fresh[:, :, i]
    # A small draw is not to be off centre.
    if members > 3:
        walk -= walk.mean(axis=1, keepdims=True)
        walk *= np.sqrt((members - 1) / (members - 2))
    dew = model.together * walk[0] + np.sqrt(1.0 - model.together**2) * walk[1]
    none = np.zeros((1, points))
    return np.concatenate([none, walk[0]]), np.concatenate([none, dew])


def _perturbed(forecast: Forecast, temp_k: FloatArray, dew_k: FloatArray, how: str) -> Forecast:
    members = temp_k.shape[0]
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
        notes=(*forecast.notes, f"{members} members, their errors {how}"),
    )


def _full(temp_c: FloatArray) -> FloatArray:
    return np.asarray(saturation_pressure(np.clip(temp_c, -80.0, 60.0)))
