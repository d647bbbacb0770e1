"""Heat that is told does what it is told for: lit so, the day sheet lets the coat go on."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.daysheet.assemble import day_sheet
from curewindow.daysheet.planning import make_plan
from curewindow.demo import files as demofiles
from curewindow.heating import HeatPlan
from curewindow.record.entries import Heat, Wiped
from curewindow.record.store import Record
from tests.fewer_jobs import only_jobs

pytestmark = pytest.mark.slow

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
JOBS = ("forepeak frames", "wet locker primer", "wet locker cork", "pump well")


def goes_on(folder: Path, job: str, run: HeatPlan, keep: Path) -> bool:
    """Light the heater as told, ask the day sheet at the start; no reading comes between."""
    shutil.rmtree(keep, ignore_errors=True)
    shutil.copytree(folder, keep)
    assert run.light_at is not None
    assert run.start is not None
    assert run.hold_until is not None
    assert run.ventilation is not None
    light, until = run.light_at, run.hold_until
    with Record(keep / "record.db", now=lambda: light) as record:
        record.add(Wiped(light, job=job))
        record.add(Heat(run.space, light, until, run.setpoint_c, run.ventilation))
    at = max(run.start, light + timedelta(seconds=1))
    day = next(day for day in day_sheet(keep, at).jobs if day.job == job)
    return day.status == "go" and day.windows_today[0].opens <= at


@pytest.mark.parametrize("days", [0, 2])
def test_a_heater_lit_as_told_opens_the_start(days: int, tmp_path: Path) -> None:
    now: datetime = NOW + timedelta(days=days)
    folder = tmp_path / "boat"
    demofiles.write(folder, NOW)
    only_jobs(folder, *JOBS)
    plan = make_plan(folder, now, days=20, seconds=6.0).plan
    nexts = {day.job: day for day in day_sheet(folder, now).jobs if day.next is not None}
    told: list[tuple[str, HeatPlan]] = []
    for step in plan.steps:
        day = nexts.get(step.job)
        if step.heat is None or day is None or day.next is None or day.waits:
            continue
        if (day.next.step, day.next.coat) == (step.step, step.coat):
            told.append((step.job, step.heat))
    told += [
        (day.job, day.heat)
        for day in nexts.values()
        if day.heat is not None and day.heat.status == "possible" and not day.waits
    ]
    for job, run in told:
        assert goes_on(folder, job, run, tmp_path / "kept"), (job, run.light_at, run.start)
