"""How long it takes to judge every start of a coat, find its windows and follow it to its end.

Run apart: pytest tests/benchmarks/bench_windows.py -s. 16 days of 10 minutes, 2305 starts,
with one member and with 51, as an ensemble has them. Measured on two shared cores of a small
server: 0.03 s and 0.14 s for all of it; judging alone 0.5 and 21 ms. The bounds are some
three times that.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime

import numpy as np
import pytest

from curewindow.curing import CureModel, recoat_bounds
from curewindow.physics.air import relative_humidity
from curewindow.series import SurfaceSeries
from curewindow.sheets.shelf import get_sheet
from curewindow.windows import find_obstacles, find_windows, judge

POINTS = 16 * 24 * 6 + 1
START = datetime(2026, 11, 23, tzinfo=UTC)
SHEET = "one-part-urethane-varnish"


def cabin(members: int) -> SurfaceSeries:
    """A heated cabin, warm by day, with a surface that comes near the dew point at night."""
    hour = np.arange(POINTS) / 6.0
    wander = np.random.default_rng(5).normal(0.0, 0.02, (members, POINTS)).cumsum(axis=1)
    air = 14.0 + 4.0 * np.sin((hour - 9.0) / 24.0 * 2.0 * np.pi) + wander
    dew = np.broadcast_to(6.0 + np.sin(hour / 31.0), air.shape).copy()
    return SurfaceSeries(
        space="saloon",
        surface="hull side",
        times=np.datetime64(START.replace(tzinfo=None), "s")
        + np.arange(POINTS) * np.timedelta64(600, "s"),
        air_c=air,
        rh_pct=np.minimum(np.asarray(relative_humidity(air, np.minimum(dew, air))), 100.0),
        dew_point_c=np.minimum(dew, air),
        surface_c=air - 2.0,
        wood_moisture_pct=None,
        wind_ms=None,
        rain_mm_h=None,
        sun_w_m2=None,
        measured=np.zeros(POINTS, np.bool_),
        lead_h=hour,
    )


def quickest(run: Callable[[], object], times: int = 5) -> float:
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        run()
        taken.append(time.perf_counter() - begun)
    return min(taken)


@pytest.mark.benchmark
@pytest.mark.parametrize(("members", "most_s"), [(1, 0.1), (51, 0.5)])
def test_every_start(members: int, most_s: float) -> None:
    series, sheet = cabin(members), get_sheet(SHEET).sheet
    local = np.arange(POINTS) % 144
    hours_ok = (local >= 8 * 6) & (local <= 18 * 6)
    starts = np.arange(POINTS, dtype=np.float64)
    model = CureModel(sheet, series)
    rule = recoat_bounds(sheet, None, sheet.kind, SHEET)

    def whole():
        return judge(series, sheet, 1.0, hours_ok=hours_ok)

    verdict = whole()
    windows = find_windows(verdict, recoat=rule)
    assert len(windows) > 5
    rows = {
        "milestone of every start": quickest(lambda: model.milestone_end("touch dry", starts)),
        "every start judged": quickest(whole),
        "windows found and followed": quickest(lambda: find_windows(verdict, recoat=rule)),
        "what stands in the way of one": quickest(lambda: find_obstacles(verdict, START)),
    }
    for name, took_s in rows.items():
        print(f"\n{members:3d} members, {name:<32}{took_s * 1000:8.1f} ms", end="")
    assert sum(rows.values()) < most_s
