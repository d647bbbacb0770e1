"""How much room a year of forecasts takes, and how long keeping one takes.

Run apart: pytest -n 0 tests/benchmarks/bench_kept.py -s. An ensemble of 51 members, 16 days,
got anew every three hours, every one of them different, with noise from hour to hour in
every column: real ensembles, given every three or six hours, pack better.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from curewindow.boat.schema import Place
from curewindow.series import FloatArray
from curewindow.weather.forecast import Forecast
from curewindow.weather.kept_forecasts import all_names, keep, kept
from curewindow.weather.local import learned
from curewindow.weather.packed import vapour_of

MEMBERS, DAYS, A_YEAR = 51, 16, 365 * 8
PLACE = Place(latitude=52.0, longitude=5.0, time_zone="UTC")
START = datetime(2026, 1, 1, tzinfo=UTC)


def walk(rng: np.random.Generator, memory_h: float, rows: int = MEMBERS) -> FloatArray:
    """Courses that forget within so many hours, hourly noise in straight lines to 10 minutes."""
    hours = np.arange(DAYS * 24 + 1)
    rho = np.exp(-1.0 / memory_h)
    fresh = rng.standard_normal((rows, hours.size))
    out = np.empty_like(fresh)
    out[:, 0] = fresh[:, 0]
    for i in range(1, hours.size):
        out[:, i] = rho * out[:, i - 1] + np.sqrt(1.0 - rho * rho) * fresh[:, i]
    fine = np.arange(DAYS * 144 + 1) / 6.0
    return np.array([np.interp(fine, hours, row) for row in out])


def ensemble(seed: int) -> Forecast:
    rng = np.random.default_rng(seed)
    hour = np.arange(DAYS * 144 + 1) / 6.0
    grows = np.minimum(0.5 + 0.016 * hour, 4.5)
    temp = 6.0 + 3.0 * np.sin(hour / 24.0 * 2.0 * np.pi) + 3.0 * walk(rng, 40.0, 1)
    temp = temp + grows * walk(rng, 18.0)
    cloud = np.clip(0.6 + 0.5 * walk(rng, 6.0), 0.0, 1.0)
    sun = np.maximum(np.sin((hour - 6.0) / 24.0 * 2.0 * np.pi), 0.0)
    made = START + timedelta(hours=3 * seed)
    return Forecast(
        times=np.datetime64(made.replace(tzinfo=None), "s")
        + np.arange(hour.size) * np.timedelta64(600, "s"),
        temp_c=temp,
        vapour_pa=vapour_of(temp - np.abs(3.0 + 2.0 * walk(rng, 12.0))),
        wind_ms=np.abs(5.0 + 3.0 * walk(rng, 12.0)),
        rain_mm_h=np.maximum(walk(rng, 5.0) - 1.2, 0.0),
        cloud_frac=cloud,
        sun_w_m2=400.0 * sun * (1.0 - 0.7 * cloud),
        gap_h=np.ones(hour.size),
        source="ensemble",
        attribution="",
        issued_at=None,
        fetched_at=made,
    )


@pytest.mark.benchmark
def test_a_year_of_forecasts(tmp_path: Path) -> None:
    forecasts = [ensemble(seed) for seed in range(12)]
    took, again = [], []
    for forecast in forecasts:
        begun = time.perf_counter()
        assert keep(tmp_path, PLACE, forecast, forecast.fetched_at)
        took.append(time.perf_counter() - begun)
    begun = time.perf_counter()
    read = sum(1 for _ in kept(tmp_path, PLACE))
    reading = (time.perf_counter() - begun) / max(read, 1)
    # what a year leaves in the folder of the last month: 240 names to look through
    month = all_names(tmp_path)[0].path.parent
    for number in range(240):
        (month / f"20260101T0{number % 10}{number % 60:02}00-0000000000-{number:012}.fc").touch()
    for _ in range(20):
        begun = time.perf_counter()
        assert not keep(tmp_path, PLACE, forecasts[-1], forecasts[-1].fetched_at)
        learned(tmp_path, PLACE, "ensemble")
        again.append(time.perf_counter() - begun)
    sizes = [name.path.stat().st_size for name in all_names(tmp_path) if name.feed != "0" * 10]
    # files fill whole blocks of 4 kB on most disks
    year = np.mean([-(-size // 4096) * 4096 for size in sizes]) * A_YEAR / 1e6
    print(f"\none forecast {np.mean(sizes) / 1e3:.1f} kB, a year {year:.1f} MB", end="")
    print(f"\nkept in {1000 * np.median(took):.1f} ms, known already ", end="")
    print(f"{1000 * np.median(again):.2f} ms, read back {1000 * reading:.1f} ms", end="")
    assert year < 100.0
    assert np.median(took) < 0.040
    assert np.median(again) < 0.010
