"""How long the season takes, how that grows, and how near it is to the exact model.

    python tests/benchmarks/bench_season.py            years, days and jobs, each alone
    python tests/benchmarks/bench_season.py --exact 4  the same years by the constraint model

Processor time beside the clock's: on a machine with other work the clock's is the longer.
The work is the made-up list of ``tests/order/boats.py`` on the demo boat, the past years
those of the demo (more than twenty are the same again). The exact model plans with each
year's weather known: its finish is compared with that of the quick laying in the same
weather, with hands-on times as written and deliveries at their latest.
"""

from __future__ import annotations

import argparse
import importlib.util
import tempfile
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np

from curewindow.boat.folder import load_boat
from curewindow.daysheet.ordering import facts_and_given
from curewindow.daysheet.seasonfacts import season_facts
from curewindow.order.build import build_problem
from curewindow.order.solve import solve
from curewindow.season.prepared import prepare
from curewindow.season.run import problems_of, run_season
from curewindow.season.schedule import lay
from curewindow.weather.choose import get_forecast
from curewindow.weather.continued import continued, of_rows
from curewindow.weather.pastyears import PastYears, past_years

_FIELDS = ("temp_c", "vapour_pa", "wind_ms", "rain_mm_h", "cloud_frac", "sun_w_m2")


def _boats():
    path = Path(__file__).parents[1] / "order" / "boats.py"
    spec = importlib.util.spec_from_file_location("boats", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _years(folder: Path, now, days: int, years: int) -> PastYears:
    past = past_years(load_boat(folder), folder, 60, now=now, until=now + timedelta(days=days))
    rows = np.arange(years) % len(past.years)
    fields = {name: getattr(past.weather, name)[rows] for name in _FIELDS}
    labels = tuple(past.years[row] for row in rows)
    return PastYears(labels, replace(past.weather, **fields), ())


def measured(years: int, days: int, jobs: int) -> float:
    """Run one season from files on disk; processor time in seconds."""
    boats = _boats()
    with tempfile.TemporaryDirectory() as place:
        folder = boats.write_boat(Path(place) / "boat", jobs)
        past = _years(folder, boats.NOW, days, years)
        wall, begun = time.perf_counter(), time.process_time()
        known = season_facts(folder, boats.NOW, days=days, past=past)
        conditions = time.process_time() - begun
        season = run_season(known.given, years, known.pace)
        whole = time.process_time() - begun
        done = np.isfinite(season.finish_d).mean()
        print(
            f"{years:3} years x {days:3} days x {jobs:2} jobs: {whole:6.1f} s CPU "
            f"({conditions:.1f} s conditions, {whole - conditions:.1f} s tables and "
            f"{4 * season.finish_d.size} layings), "
            f"{time.perf_counter() - wall:.1f} s by the clock; {100 * done:.0f} % done in the time",
            flush=True,
        )
    return whole


def exact(years: int, days: int) -> None:
    """The quick laying beside the constraint model, year by year."""
    boats = _boats()
    with tempfile.TemporaryDirectory() as place:
        folder = boats.write_boat(Path(place) / "boat")
        past = _years(folder, boats.NOW, days, years)
        known = season_facts(folder, boats.NOW, days=days, past=past)
        weather = get_forecast(load_boat(folder), folder, boats.NOW)
        far, near = [], []
        for row, problem in enumerate(problems_of(known.given, years)):
            quick = max(lay(prepare(problem)).values()) / 48.0
            same = solve(problem, seconds=20.0).order
            until = boats.NOW + timedelta(days=days)
            year = continued(of_rows(weather, np.zeros(1, np.int64)), until, past.each()[row])
            _, given = facts_and_given(folder, boats.NOW, days=days, forecast=year)
            full = solve(build_problem(given), seconds=20.0).order
            same_d = np.inf if same is None else same.finish / 48.0
            full_d = np.inf if full is None else full.finish / 48.0
            near += [quick - same_d] if np.isfinite(quick + same_d) else []
            far += [quick - full_d] if np.isfinite(quick + full_d) else []
            print(
                f"  {past.years[row]}: quick {quick:.1f} d, exact on its tables {same_d:.1f} d, "
                f"exact on the plan's own {full_d:.1f} d",
                flush=True,
            )
        if not far:
            return
        print(
            f"quick less exact: on its tables {np.mean(near):+.1f} d (to {np.max(near):+.1f}), "
            f"on the plan's own {np.mean(far):+.1f} d ({np.min(far):+.1f} to {np.max(far):+.1f})"
        )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--exact", type=int, metavar="YEARS")
    parser.add_argument("--only", action="store_true", help="the one size aimed at")
    asked = parser.parse_args()
    if asked.exact:
        exact(asked.exact, 120)
    else:
        sizes = [(30, 180, 20)]
        if not asked.only:
            sizes += [(15, 180, 20), (60, 180, 20), (30, 90, 20), (30, 180, 10), (30, 180, 40)]
        for size in sizes:
            measured(*size)
