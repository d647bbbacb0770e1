"""51 members, 16 days of 10 minutes, 20 jobs: cabins, surfaces, cure and windows.

Run apart: ``python tests/benchmarks/bench_members.py``. The work is done in a process of
its own, so that its memory can be told; nothing kept on disk is used. Beside it the same
work in a plain loop over a pandas table: one member and one job at a time, row by row for
the cabin and start by start for the windows. The loop is run on a sample (one member, one
day) and its time multiplied, since the whole of it would take hours; what it leaves out
(the air's water, the sky, the surfaces' own lag, everything said about a window) makes it
look quicker than it would be.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import click
import numpy as np

MEMBERS, DAYS, JOBS = 51, 16, 20
POINTS = DAYS * 144 + 1
START = datetime(2026, 11, 23, tzinfo=UTC)
NOW = START + timedelta(hours=12)
MOST_S, MOST_MB = 1.5, 500.0
SHEETS = (
    "one-part-urethane-varnish",
    "waterborne-acrylic-varnish",
    "two-part-epoxy-primer-winter",
    "bilge-and-locker-paint",
    "hybrid-sealant",
    "alkyd-enamel",
    "low-temperature-panel-adhesive",
)


def ensemble():
    """Invented weather: each member its own temperature, damp, wind, cloud and sun."""
    from curewindow.physics.air import saturation_pressure
    from curewindow.weather.forecast import Forecast

    rng = np.random.default_rng(51)
    hour = np.arange(POINTS) / 6.0
    grown = np.linspace(0.3, 1.0, POINTS)
    shape = (MEMBERS, POINTS)

    def wander(scale: float) -> np.ndarray:
        knots = rng.normal(0.0, scale, (MEMBERS, DAYS * 4 + 1))
        at = np.linspace(0, DAYS * 4, POINTS)
        return np.stack([np.interp(at, np.arange(DAYS * 4 + 1), row) for row in knots]) * grown

    temp = 7.0 + 4.0 * np.sin((hour - 9.0) / 24.0 * 2.0 * np.pi) + wander(2.5)
    dew = np.minimum(temp, 4.0 + np.sin(hour / 31.0) + wander(2.0))
    light = np.maximum(np.sin((hour - 7.0) / 24.0 * 2.0 * np.pi), 0.0)
    cloud = np.clip(0.6 + wander(0.5), 0.0, 1.0)
    return Forecast(
        times=np.datetime64(START.replace(tzinfo=None), "s")
        + np.arange(POINTS) * np.timedelta64(600, "s"),
        temp_c=temp,
        vapour_pa=np.asarray(saturation_pressure(dew)),
        wind_ms=np.clip(4.0 + wander(3.0), 0.0, None),
        rain_mm_h=np.where(wander(1.0) > 0.9, 0.6, 0.0),
        cloud_frac=cloud,
        sun_w_m2=300.0 * light * (1.0 - 0.75 * cloud**3.4),
        gap_h=np.broadcast_to(1.0, shape[1:]).copy(),
        source="made up",
        attribution="",
        issued_at=START,
        fetched_at=START,
    )


def jobs(boat) -> list:
    """Twenty jobs over the demo boat's surfaces and the shelf's sheets."""
    from curewindow.boat.schema import Job

    places: list[dict] = []
    for space in boat.space:
        places += [{"space": space.name}]
        places += [{"space": space.name, "panel": panel.name} for panel in space.panel]
    places += [{"outdoors": True, "substrate": f"rail {i}"} for i in range(4)]
    return [
        Job.model_validate(
            {
                "name": f"job {i}",
                **places[i % len(places)],
                "step": [{"do": "coat", "sheet": SHEETS[i % len(SHEETS)], "hands_on": "1 h"}],
            }
        )
        for i in range(JOBS)
    ]


def work(folder: Path) -> int:
    """All of it, in this process: print seconds and peak memory."""
    from curewindow.boat.folder import load_boat
    from curewindow.boat.hours import daylight_mask, hours_mask
    from curewindow.conditions import boat_conditions, surface_series
    from curewindow.curing import recoat_bounds
    from curewindow.sheets.shelf import get_sheet
    from curewindow.windows import find_obstacles, find_windows, judge

    boat = load_boat(folder)
    todo = jobs(boat)
    sheets = {stem: get_sheet(stem).sheet for stem in SHEETS}
    forecast = ensemble()
    parts: dict[str, float] = {}
    begun, busy = time.perf_counter(), time.process_time()

    def part(name: str, since: float) -> float:
        at = time.perf_counter()
        parts[name] = parts.get(name, 0.0) + at - since
        return at

    at = begun
    spaces = boat_conditions(boat, forecast, [], NOW)
    at = part("cabins", at)
    hours_ok = hours_mask(boat, forecast.times)
    daylight_ok = daylight_mask(boat.place, forecast.times)
    at = part("hours and daylight", at)
    found = 0
    for job in todo:
        stem = job.step[0].sheet
        assert stem is not None
        sheet = sheets[stem]
        series = surface_series(boat, job, None, forecast, [], NOW, spaces=spaces)
        at = part("surfaces", at)
        verdict = judge(
            series, sheet, 1.0, hours_ok=hours_ok, daylight_ok=daylight_ok, earliest=NOW
        )
        at = part("judged", at)
        found += len(find_windows(verdict, recoat=recoat_bounds(sheet, None, sheet.kind, stem)))
        at = part("windows", at)
        find_obstacles(verdict, NOW)
        at = part("obstacles", at)
    took, busy = time.perf_counter() - begun, time.process_time() - busy
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    click.echo(f"{took:.3f} {busy:.3f} {peak_mb:.0f} {found}")
    for name, seconds in parts.items():
        click.echo(f"   {name:<20}{seconds * 1000:7.0f} ms", err=True)
    return 0


def plain_loop() -> float:
    """Seconds a plain loop over a table would take for the whole, from a sample of it."""
    import pandas as pd

    forecast = ensemble()
    table = pd.DataFrame(
        {
            "time": forecast.times,
            "temp": forecast.temp_c[0],
            "vapour": forecast.vapour_pa[0],
            "wind": forecast.wind_ms[0],
        }
    )
    day = table[:145].copy()
    begun = time.perf_counter()
    # The cabin: three spaces, each of three nodes, row by row.
    for _space in range(3):
        air = mass = skin = 10.0
        cabin = []
        for _, row in day.iterrows():
            heat = 2000.0 if 7 <= row["time"].hour < 21 and air < 18.0 else 0.0
            loss = 20.0 * (air - skin) + 15.0 * (air - row["temp"]) + 200.0 * (air - mass)
            air += 600.0 * (heat - loss) / 3e5
            mass += 600.0 * 200.0 * (air - mass) / 4e6
            skin += 600.0 * (20.0 * (air - skin) - 60.0 * (skin - row["temp"])) / 2e5
            cabin.append((air, skin, 100.0 * row["vapour"] / 2000.0))
        day[["air", "skin", "rh"]] = cabin
    cabin_s = time.perf_counter() - begun
    # One job: every start tried, each step of its hands-on time and of its curing looked at.
    begun = time.perf_counter()
    good = 0
    for start in range(0, 144, 6):
        done, ok = 0.0, True
        for at in range(start, len(day)):
            row = day.iloc[at]
            if row["skin"] < 5.0 or row["rh"] > 85.0 or row["skin"] - row["temp"] < -40.0:
                ok = False
            done += 1.0 / 6.0 / (8.0 * 2.0 ** ((20.0 - row["skin"]) / 10.0))
            if done >= 1.0:
                break
        good += ok
    windows_s = (time.perf_counter() - begun) * 6.0
    return (cabin_s + windows_s * JOBS) * MEMBERS * DAYS


def main() -> int:
    """Measure, print, and tell by the exit code whether the bounds hold."""
    if len(sys.argv) > 2 and sys.argv[1] == "--work":
        return work(Path(sys.argv[2]))
    with tempfile.TemporaryDirectory() as folder:
        demo = Path(folder) / "demo-boat"
        subprocess.run(
            [sys.executable, "-m", "curewindow", "demo", str(demo)],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        best, least, peak, found = float("inf"), float("inf"), 0.0, ""
        for run in range(5):
            own = {**os.environ, "CUREWINDOW_CACHE": str(Path(folder) / f"cache-{run}")}
            told = subprocess.run(
                [sys.executable, __file__, "--work", str(demo)],
                check=True,
                capture_output=True,
                text=True,
                env=own,
            )
            seconds, busy, memory, found = told.stdout.split()
            least = min(least, float(busy))
            if float(seconds) < best:
                best, parts = float(seconds), told.stderr
            peak = max(peak, float(memory))
    loop_s = plain_loop()
    click.echo(f"{MEMBERS} members, {DAYS} days of 10 min, {JOBS} jobs: {found} windows")
    click.echo(parts, nl=False)
    held = best <= MOST_S and peak <= MOST_MB
    click.echo(f"all of it           {best:7.2f} s    bound {MOST_S} s, quickest of 5")
    click.echo(f"processor time      {least:7.2f} s    tells a busy machine from slow work")
    click.echo(f"peak memory         {peak:7.0f} MB   bound {MOST_MB:.0f} MB, whole process")
    click.echo(
        f"a plain pandas loop {loop_s:7.0f} s    reckoned from a sample: {loop_s / best:.0f} x"
    )
    click.echo("held" if held else "BROKEN")
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
