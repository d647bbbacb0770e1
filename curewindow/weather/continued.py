"""A forecast carried on beyond its end with weather typical of the season, marked as such."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from curewindow.findings import finding
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray, utc_of

_FIELDS = ("temp_c", "vapour_pa", "wind_ms", "rain_mm_h", "cloud_frac", "sun_w_m2")
LAST_DAYS = 7
"""Days of the forecast that are taken over and over where no past years are at hand."""
BLEND_H = 24.0
"""The forecast's end goes over into the typical weather in so many hours (estimate)."""
DOUBT_H = 24.0
"""What the gap between source values is taken as: typical weather is no forecast."""


def known_until(forecast: Forecast) -> datetime:
    """The last instant of which the forecast knows the temperature, aware UTC."""
    known = np.flatnonzero(np.isfinite(forecast.temp_c + forecast.vapour_pa).all(axis=0))
    return utc_of(forecast.times[int(known[-1]) if known.size else 0])


def most_usual(years: Forecast, after: datetime) -> int:
    """The member (a past year) nearest to the middle of all in temperature and vapour.

    Parameters
    ----------
    years : Forecast
        One member a year.
    after : datetime
        Aware; only later instants count.
    """
    late = years.times > np.datetime64(after.astimezone(UTC).replace(tzinfo=None), "s")
    far = np.zeros(years.members)
    for values in (years.temp_c, years.vapour_pa):
        means = np.nanmean(values[:, late], axis=1)
        spread = float(np.std(means)) or 1.0
        far += np.abs(means - np.median(means)) / spread
    return int(np.argmin(far))


def continued(
    forecast: Forecast,
    until: datetime,
    typical: Forecast | None = None,
    year: str = "",
    of_years: int | None = None,
) -> Forecast:
    """Carry a forecast on.

    Parameters
    ----------
    forecast : Forecast
    until : datetime
        Aware; to here at least.
    typical : Forecast, optional
        One member on any grid of the same step, such as a past year laid on these days;
        without it the last days of the forecast are taken over and over.
    year : str
        Which year that is, for people.
    of_years : int, optional
        Of so many it is the most usual.

    Returns
    -------
    Forecast
        Of the same members; beyond the forecast's end they all have the same weather.
        A note says from when on it is typical, and of what.
    """
    end = known_until(forecast)
    step = forecast.times[1] - forecast.times[0]
    step_s = int(step / np.timedelta64(1, "s"))
    stop = np.datetime64(end.replace(tzinfo=None), "s")
    kept = int(np.searchsorted(forecast.times, stop, side="right"))
    more = max(0, int(np.ceil((until - end).total_seconds() / step_s)))
    if more == 0:
        return forecast
    times = forecast.times[0] + np.arange(kept + more) * step
    ahead = times[kept:]
    fields: dict[str, FloatArray] = {}
    day = 86400 // step_s
    back = min(LAST_DAYS * day, kept // day * day) or kept
    fade = np.exp(-np.arange(1, more + 1) * step_s / 3600.0 / BLEND_H)
    for name in _FIELDS:
        values: FloatArray = getattr(forecast, name)[:, :kept]
        if typical is None:
            own = np.take(values, kept - back + np.arange(more) % back, axis=1)
        else:
            own = np.broadcast_to(_laid(typical, name, ahead), (forecast.members, more)).copy()
            if name in ("temp_c", "vapour_pa") and np.isfinite(own[:, 0]).all():
                # No jump at the seam: what the forecast's end has more or less dies away.
                last = values[:, -1:]
                own = own + np.where(np.isfinite(last), last - own[:, :1], 0.0) * fade
        if name == "vapour_pa":
            own = np.maximum(own, 50.0)
        fields[name] = np.concatenate([values, own], axis=1)
    note = finding(
        "typical weather from",
        at=end,
        year=year or None,
        count=of_years,
        days=None if year else back // day,
    )
    return replace(
        forecast,
        times=times,
        gap_h=np.concatenate([forecast.gap_h[:kept], np.full(more, DOUBT_H)]),
        notes=(*forecast.notes, note),
        temp_c=fields["temp_c"],
        vapour_pa=fields["vapour_pa"],
        wind_ms=fields["wind_ms"],
        rain_mm_h=fields["rain_mm_h"],
        cloud_frac=fields["cloud_frac"],
        sun_w_m2=fields["sun_w_m2"],
    )


def of_rows(forecast: Forecast, rows: NDArray[np.int64]) -> Forecast:
    """The forecast with some of its members, in any order and number."""
    return replace(
        forecast,
        temp_c=forecast.temp_c[rows],
        vapour_pa=forecast.vapour_pa[rows],
        wind_ms=forecast.wind_ms[rows],
        rain_mm_h=forecast.rain_mm_h[rows],
        cloud_frac=forecast.cloud_frac[rows],
        sun_w_m2=forecast.sun_w_m2[rows],
    )


def _laid(
    typical: Forecast, name: str, times: np.ndarray[tuple[int, ...], np.dtype[np.datetime64]]
) -> FloatArray:
    """A field of the typical weather at the instants asked for; NaN where it has none."""
    values: FloatArray = getattr(typical, name)[0]
    at = typical.times.astype("datetime64[s]").astype(np.int64)
    wanted = times.astype("datetime64[s]").astype(np.int64)
    inside = (wanted >= at[0]) & (wanted <= at[-1])
    found = np.full(wanted.shape, np.nan)
    found[inside] = np.interp(wanted[inside], at, values)
    return found
