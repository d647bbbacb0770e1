"""The demo boat: complete, always of this week, and never over anything of yours."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import Result

from curewindow.boat.folder import load_boat, load_work
from curewindow.daysheet import day_sheet
from curewindow.demo import files as demofiles
from curewindow.record.store import Record
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import get_sheet
from curewindow.voice import act
from curewindow.wording import wording_of
from tests.fewer_jobs import weather_until

Run = Callable[..., Result]


@pytest.mark.slow
def test_end_to_end_as_typed(tmp_path: Path) -> None:
    """In a process of its own: the demo, then the day sheet of now, then the windows."""

    def typed(*arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, "-m", "curewindow", *arguments],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        assert done.stderr == ""
        return done.stdout

    first = typed("demo")
    assert first.startswith("Slow Kettle, ")
    assert " 08:30\n" in first
    assert "curewindow today --boat demo-boat" in first
    assert typed("today", "--boat", "demo-boat").startswith("Slow Kettle, ")
    assert "chart table" in typed("windows", "--boat", "demo-boat", "--days", "2")
    assert "was in demo-boat already" in typed("demo")


@pytest.mark.slow
def test_same_boat_whatever_the_day(demo: Path, tmp_path: Path) -> None:
    """Moved by whole days the demo says the same below deck; the sun on deck is the day's own."""
    one = day_sheet(demo, datetime(2026, 11, 25, 7, 30, tzinfo=UTC))
    morning = datetime(2027, 1, 14, 7, 30, tzinfo=UTC)
    demofiles.write(tmp_path / "boat", morning)
    weather_until(tmp_path / "boat", "2027-01-22")
    other = day_sheet(tmp_path / "boat", morning)
    assert [job.job for job in one.jobs] == [job.job for job in other.jobs]
    for job, again in zip(one.jobs, other.jobs, strict=True):
        assert job.status == again.status or job.where.startswith("outdoors"), job.job
    assert [s.air_c for s in one.spaces] == pytest.approx([s.air_c for s in other.spaces], abs=0.3)


@pytest.mark.slow
@pytest.mark.parametrize("day", ["2026-03-29", "2026-06-21", "2028-02-29", "2026-10-25"])
def test_any_day_can_be_the_demos(run: Run, tmp_path: Path, day: str) -> None:
    result = run("demo", tmp_path / "boat", "--at", f"{day} 08:30")
    assert result.exit_code == 0, result.stderr


@pytest.mark.slow
@pytest.mark.parametrize("days", [1, 5, 13])
def test_covers_the_next_two_weeks(whole_demo: Path, days: int) -> None:
    assert day_sheet(whole_demo, datetime(2026, 11, 25, 9, tzinfo=UTC) + timedelta(days=days)).jobs


def test_leaves_other_folders_alone(run: Run, tmp_path: Path) -> None:
    (tmp_path / "boat").mkdir()
    (tmp_path / "boat" / "letter.txt").write_text("mine", encoding="utf-8")
    for again in ([], ["--again"]):
        result = run("demo", tmp_path / "boat", *again)
        assert result.exit_code == 3
        assert "not a demo boat" in result.stderr
    assert [path.name for path in (tmp_path / "boat").iterdir()] == ["letter.txt"]


@pytest.mark.slow
def test_keeps_your_changes_unless_told(run: Run, tmp_path: Path) -> None:
    at = ("--at", "2026-11-25 08:30")
    run("demo", tmp_path / "boat", *at)
    path = tmp_path / "boat" / "boat.toml"
    changed = path.read_text(encoding="utf-8").replace("Slow Kettle", "Quick Kettle")
    path.write_text(changed, encoding="utf-8")
    assert run("demo", tmp_path / "boat", *at).stdout.startswith("Quick Kettle")
    assert run("demo", tmp_path / "boat", "--again", *at).stdout.startswith("Slow Kettle")


@pytest.mark.slow
def test_may_be_written_into_an_empty_folder(run: Run, tmp_path: Path) -> None:
    assert run("demo", tmp_path, "--at", "2026-11-25 08:30").exit_code == 0


def test_what_the_demo_promises(demo: Path) -> None:
    boat, work = load_boat(demo), load_work(demo)
    assert len(boat.space) == 3
    heaters = [space.heating for space in boat.space if space.heating is not None]
    assert [(heater.kind, heater.vented) for heater in heaters] == [("diesel", True)] * 2
    assert 8 <= len(work.job) <= 12
    stems = {step.sheet for job in work.job for step in job.step if step.sheet}
    kinds = {_sheet(stem).kind for stem in stems}
    assert {"varnish", "primer", "paint", "sealant", "adhesive"} <= kinds
    assert any(job.outdoors for job in work.job)
    assert any(job.after_cured for job in work.job)
    assert any(job.delivery for job in work.job)
    with Record(demo / "record.db", read_only=True) as record:
        assert record.coats()
        assert record.done()
        assert len({reading.space for reading in record.readings()}) == 3


def _sheet(stem: str) -> Sheet:
    return get_sheet(stem).sheet


def test_heat_opens_what_nothing_else_does(demo: Path) -> None:
    """The forepeak primer has no start as things stand, and a plan with its small outlet."""
    sheet = day_sheet(demo, datetime(2026, 11, 25, 7, 30, tzinfo=UTC))
    primer = next(day for day in sheet.jobs if day.job == "forepeak frames")
    assert primer.status == "blocked"
    assert primer.heat is not None
    assert primer.heat.status == "possible"
    assert act(primer.heat.verdict, wording_of(sheet)).startswith("light the heater ")
