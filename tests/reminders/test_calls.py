"""A call to begin is made while someone is there, for a coat that follows and can still go on."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.daysheet.assemble import assemble
from curewindow.record.entries import Coat
from curewindow.reminders.derive import reminders_of
from curewindow.situation import read_situation
from tests.fewer_jobs import only_jobs
from tests.reminders.test_derive import HOUR, NOW, derive

__all__ = ["derive"]


def coat(number: int, end_before: timedelta) -> Coat:
    end = NOW - end_before
    return Coat("table", 1, number, end - HOUR, end, "test-varnish")


def test_nothing_calls_for_a_coat_after_the_last(derive) -> None:
    """A later forecast warms it: the interval nobody waits for ends sooner, and nobody is told."""
    log = [coat(1, 40 * HOUR), coat(2, 2 * HOUR)]
    plan = {"table": {"next": "2.None", "until": (NOW + 20 * HOUR).isoformat()}}
    fit = '[[job.step]]\ndo = "fit"\nhands_on = "1 h"\n'
    told = derive(coats=2, log=log, work=fit, plan=plan)
    assert not [key for key in told if key.startswith(("recoat", "plan changed"))]


def test_a_recoat_that_opens_at_night_is_told_when_someone_comes(derive) -> None:
    now = NOW + 8 * HOUR  # 16:00; ready for the next some 6 h later
    log = [Coat("table", 1, 1, now - 1.5 * HOUR, now - 0.5 * HOUR, "test-varnish")]
    told = derive(now=now, log=log)
    opens = next(each for key, each in told.items() if key.startswith("recoat opens"))
    assert opens.due == NOW + 24 * HOUR  # tomorrow 08:00, the first hour aboard


@pytest.mark.parametrize(("days", "called"), [(0, True), (2, False)])
def test_the_last_call_is_for_a_coat_that_can_start(derive, days: int, called: bool) -> None:
    """A delivery that comes behind the end of the recoat interval leaves nothing to call for."""
    latest = (NOW + timedelta(days=days)).date()
    box = f'[[job.delivery]]\nwhat = "box"\nlatest = {latest}\narrived = {str(not days).lower()}\n'
    told = derive(log=[coat(1, 8 * HOUR)], work=box)
    assert any(each.title.startswith("Last call") for each in told.values()) == called
    assert any(key.startswith("recoat closes") for key in told) == called


@pytest.mark.slow
def test_what_goes_on_today_once_it_is_wiped_is_told_in_the_morning(
    demo_day: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "boat"
    shutil.copytree(demo_day, folder)
    only_jobs(folder, "mooring bitts", "wet locker cork")
    wiped = 0
    for day in range(4):
        now = datetime(2026, 11, 25, 6, 30, tzinfo=UTC) + timedelta(days=day)
        facts = read_situation(folder, now)
        sheet = assemble(facts)
        morning = next(r for r in reminders_of(facts, sheet) if r.kind == "morning")
        lines = [line for line in morning.told if line.kind == "go once wiped"]
        today = [
            each.job
            for each in sheet.jobs
            if each.status != "go" and each.if_wiped is not None
            if facts.words.local(each.if_wiped.opens).date() == sheet.day
        ]
        assert [line.text("job") for line in lines] == today
        wiped += len(today)
    assert wiped
