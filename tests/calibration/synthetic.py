"""Made-up weather whose truth and forecasts come from a known hand, and windows run on both.

Two hands: the tool's own error model, and one built otherwise (fronts that come early or
late, runs of weather that are hard or easy to forecast, no first-order autoregression).
Each can draw members as the truth is drawn, or draw them too close together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from unittest.mock import patch

import numpy as np

from curewindow.calibration.fit import fit_trust
from curewindow.findings import finding
from curewindow.physics.air import dew_point_from_pressure, relative_humidity
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.trust import Trust
from curewindow.weather.forecast import Forecast
from curewindow.weather.packed import vapour_of
from curewindow.weather.spread import with_members
from curewindow.windows import find, judge
from curewindow.windows.grid import first_at_or_after

START = datetime(2026, 1, 12, 6, tzinfo=UTC)
DAYS = 8
# The reasons in words take most of the time and have no part in how sure a window is.
UNTOLD = finding("open already")
UNSAID = {name: lambda *_: UNTOLD for name in ("_why_opens", "_why_closes")} | {
    "_tightest": lambda *_: None
}
FIELDS = ("stated", "held", "lead_h", "day")
HOURS = np.arange(24 * DAYS + 1, dtype=np.float64)

SHEET = Sheet.model_validate(
    {
        "name": "made-up varnish",
        "kind": "varnish",
        "chemistry": "oxidation",
        "basis": "made up",
        "applying": {"surface": {"min": "8 °C"}, "above_dew_point": "3 K"},
        "setting": {"surface": {"min": "5 °C"}, "until": "touch dry"},
        "cure": {"temps": ["10 °C"], "touch_dry": ["6 h"]},
    }
)


@dataclass(frozen=True)
class Case:
    """A window told, and what came of it."""

    stated: float
    held: bool
    lead_h: float
    day: int


@dataclass(frozen=True)
class Draw:
    """Temperature and dew point of members and truth, (M, T) and (T,)."""

    temp_c: FloatArray
    dew_c: FloatArray
    true_temp_c: FloatArray
    true_dew_c: FloatArray


def smooth(rng: np.random.Generator, memory_h: float, rows: int = 1) -> FloatArray:
    """Standard normal courses that forget within so many hours, (rows, T)."""
    rho = float(np.exp(-1.0 / memory_h))
    fresh = rng.standard_normal((rows, HOURS.size))
    out = np.empty_like(fresh)
    out[:, 0] = fresh[:, 0]
    for i in range(1, HOURS.size):
        out[:, i] = rho * out[:, i - 1] + np.sqrt(1.0 - rho * rho) * fresh[:, i]
    return out


def likely(rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """The middle of a forecast: a mild spell in winter with its days and fronts."""
    swing = rng.uniform(1.0, 4.0) * np.cos((HOURS - 8.0) / 24.0 * 2.0 * np.pi)
    temp = rng.normal(9.0, 2.0) + swing + 2.5 * smooth(rng, 60.0)[0]
    return temp, temp - 5.0 - 1.5 * smooth(rng, 40.0)[0]


def own(rng: np.random.Generator, members: int) -> Draw:
    """Truth and members both by the tool's own error model."""
    temp, dew = likely(rng)
    forecast = as_forecast(temp[None], dew[None])
    seeds = rng.integers(0, 2**31, 2)
    told = forecast
    if members > 1:
        told = with_members(forecast, START, members=members, seed=int(seeds[0]))
    came = with_members(forecast, START, members=2, seed=int(seeds[1]))
    dews = [dew_of(run) for run in (told, came)]
    return Draw(told.temp_c, dews[0], came.temp_c[1], dews[1][1])


def other(rng: np.random.Generator, members: int, narrow: float = 1.0, cold: float = 0.0) -> Draw:
    """Truth and members by a hand of its own; members may be too narrow, the truth colder."""
    temp, dew = likely(rng)
    hard = np.exp(rng.normal(0.0, 0.35))  # how hard this week is to forecast
    rows = members + 1
    width = hard * 2.8 * (1.0 - np.exp(-(HOURS + 8.0) / 70.0))
    late_h = hard * rng.normal(0.0, 0.06, (rows, 1)) * HOURS
    slow = np.cumsum(rng.standard_normal((rows, HOURS.size)), axis=1)
    slow = (slow - slow.mean(axis=1, keepdims=True)) / (HOURS.size**0.5 / 3.0)
    jolts = rng.standard_t(5, (rows, DAYS + 1))[:, (HOURS // 24).astype(int)]
    off = width * (0.45 * rng.standard_normal((rows, 1)) + 0.5 * slow + 0.35 * jolts)
    off_dew = 0.7 * off + 0.5 * width * rng.standard_normal((rows, 1))
    scale = np.full((rows, 1), narrow)
    scale[-1] = 1.0
    temps = np.array([np.interp(HOURS - late, HOURS, temp) for late in scale * late_h])
    dews = np.array([np.interp(HOURS - late, HOURS, dew) for late in scale * late_h])
    temps, dews = temps + scale * off, dews + scale * off_dew
    temps[-1] -= cold
    dews = np.minimum(dews, temps)
    return Draw(temps[:-1], dews[:-1], temps[-1], dews[-1])


def cases(
    draws: Iterator[Draw], *, threshold: float | None = None, trust: Trust | None = None
) -> list[Case]:
    """Run the windows on each forecast and look up what came of every best start."""
    found: list[Case] = []
    for day, draw in enumerate(draws):
        told = replace(series(draw.temp_c, draw.dew_c), trust=trust)
        aboard = (HOURS % 24 >= 2) & (HOURS % 24 <= 12)
        verdict = judge(told, SHEET, 1.0, hours_ok=aboard)
        true = judge(
            series(draw.true_temp_c[None], draw.true_dew_c[None]), SHEET, 1.0, hours_ok=aboard
        )
        # the last day's films may not have set within what the truth is known for
        with patch.multiple(find, **UNSAID):
            windows = find.find_windows(verdict, threshold=threshold)
        for window in windows:
            at = first_at_or_after(told, window.best_start)
            if at < HOURS.size - 20:
                lead_h = (window.best_start - START) / timedelta(hours=1)
                found.append(Case(window.confidence, bool(true.ok[0, at]), lead_h, day))
    return found


def correction(found: list[Case]) -> Trust | None:
    """What is learned from windows that are past."""
    columns = [[getattr(case, name) for case in found] for name in FIELDS]
    return fit_trust(*(np.array(column) for column in columns))


def off_by_decile(found: list[Case], enough: int) -> dict[int, tuple[int, float]]:
    """Share that held less mean confidence stated, by tenth, where there are so many cases."""
    stated = np.array([case.stated for case in found])
    held = np.array([case.held for case in found])
    tenth = np.minimum((stated * 10.0 + 1e-9).astype(int), 9)
    return {
        int(number): (int(inside.sum()), float(held[inside].mean() - stated[inside].mean()))
        for number in np.unique(tenth)
        if (inside := tenth == number).sum() >= enough
    }


def series(temp_c: FloatArray, dew_c: FloatArray) -> SurfaceSeries:
    dew_c = np.minimum(dew_c, temp_c)
    return SurfaceSeries(
        space="made up",
        surface="",
        times=np.datetime64(START.replace(tzinfo=None), "s")
        + HOURS.astype(np.int64) * np.timedelta64(3600, "s"),
        air_c=temp_c,
        rh_pct=np.minimum(np.asarray(relative_humidity(temp_c, dew_c)), 100.0),
        dew_point_c=dew_c,
        surface_c=temp_c,
        wood_moisture_pct=None,
        wind_ms=None,
        rain_mm_h=None,
        sun_w_m2=None,
        measured=np.zeros(HOURS.size, np.bool_),
        lead_h=HOURS,
    )


def as_forecast(temp_c: FloatArray, dew_c: FloatArray) -> Forecast:
    nothing = np.full(temp_c.shape, np.nan)
    return Forecast(
        times=np.datetime64(START.replace(tzinfo=None), "s")
        + HOURS.astype(np.int64) * np.timedelta64(3600, "s"),
        temp_c=temp_c,
        vapour_pa=vapour_of(np.minimum(dew_c, temp_c)),
        wind_ms=nothing,
        rain_mm_h=nothing,
        cloud_frac=nothing,
        sun_w_m2=nothing,
        gap_h=np.ones(HOURS.size),
        source="made up",
        attribution="",
        issued_at=None,
        fetched_at=START,
    )


def dew_of(forecast: Forecast) -> FloatArray:
    return np.asarray(dew_point_from_pressure(forecast.vapour_pa))
