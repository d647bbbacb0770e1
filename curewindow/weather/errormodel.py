"""How wrong a forecast is: an error that grows with lead time, and its figures fitted.

The error of a temperature forecast at lead time L is taken as normal with standard
deviation ``now + per_h L``, no more than ``most``, correlated in time as a first
order autoregression, and shared in part by the dew point, since a front that comes
early changes both. The figures are estimates. What publications we know of say:
Brooks and Doswell, Weather and Forecasting 11 (1996) 288-303, table 1, give a root
mean square error of 2.1 K for an office's forecast of the next afternoon's high at
Oklahoma City and 5.1 K for yesterday's high taken over, in a climate far more
changeable than a coast's; verification of today's models near the ground is of the
order of 1.5 K for the first day and 3 K for the fifth (from memory). A season of
one's own forecasts and readings is better than either: :func:`fit_errors`. Wind and
rain that the forecast does not have are estimates too, no source; cloud and sun are
taken as forecast.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from curewindow.findings import Finding, finding
from curewindow.weather.grid import FloatArray


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
    wind_now_ms, wind_per_h_ms, wind_most_ms : float
        The same three figures for the wind.
    wet_now, wet_most, wet_grows_h : float
        Chance that it rains at an instant forecast dry, at lead time 0 and in the end,
        and the e-folding time from the one to the other.
    """

    now_k: float = 1.0
    per_h_k: float = 0.016
    most_k: float = 4.5
    dew_share: float = 1.1
    memory_h: float = 18.0
    together: float = 0.6
    wind_now_ms: float = 1.0
    wind_per_h_ms: float = 0.02
    wind_most_ms: float = 4.0
    wet_now: float = 0.02
    wet_most: float = 0.12
    wet_grows_h: float = 120.0

    def sigma_k(self, lead_h: FloatArray) -> FloatArray:
        """Standard deviation of the temperature's error, K; past hours as lead time 0."""
        grown = self.now_k + self.per_h_k * np.maximum(lead_h, 0.0)
        return np.asarray(np.minimum(grown, self.most_k))

    def wind_ms(self, lead_h: FloatArray) -> FloatArray:
        """Standard deviation of the wind's error, m/s."""
        grown = self.wind_now_ms + self.wind_per_h_ms * np.maximum(lead_h, 0.0)
        return np.asarray(np.minimum(grown, self.wind_most_ms))

    def wet(self, lead_h: FloatArray) -> FloatArray:
        """Chance of rain at an instant forecast dry; none in the past."""
        grown = 1.0 - np.exp(-np.maximum(lead_h, 0.0) / self.wet_grows_h)
        chance = self.wet_now + (self.wet_most - self.wet_now) * grown
        return np.asarray(np.where(lead_h > 0.0, chance, 0.0))

    def described(self, members: int) -> Finding:
        """That so many members were made by it, and by what figures."""
        errors = [
            finding("error taken", hours=hours, difference_k=float(self.sigma_k(np.array(hours))))
            for hours in (0.0, 24.0, 120.0)
        ]
        return finding(
            "members made",
            count=members,
            hours=self.memory_h,
            share=self.together,
            because=errors,
        )


FORECAST = ErrorModel()


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
