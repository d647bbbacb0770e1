"""Heating plans are kept for the same question only."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.boat.folder import job_by_name
from curewindow.demo import files as demofiles
from curewindow.findings import finding
from curewindow.heating import HeatPlan, Planned, compose
from curewindow.judgement import heat
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.jobday import find
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from curewindow.situation import read_situation
from curewindow.weather.cache import cache_folder
from tests.fewer_jobs import weather_until

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
FRAMES = "forepeak frames"
MINUTE = timedelta(minutes=1)
pytestmark = pytest.mark.alone


@pytest.fixture
def demo_folder(tmp_path: Path) -> Path:
    demofiles.write(tmp_path / "demo", AT)
    weather_until(tmp_path / "demo", "2026-12-03")
    return tmp_path / "demo"


@pytest.fixture
def asked(demo_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    """Ask at a time; answers how often a plan was made by then."""
    made: list[str] = []
    light = [AT + timedelta(hours=30)]

    def plan_heating(
        boat: object, space: object, task: object, *_: object, **__: object
    ) -> Planned:
        job = task.job.name  # type: ignore[attr-defined]
        made.append(job)
        at = max(light[0], task.earliest)  # type: ignore[attr-defined]
        plan = HeatPlan(
            job=job,
            where="forepeak",
            space="forepeak",
            status="possible",
            verdict=finding("no heat opens", until=AT),
            light_at=at,
        )
        return Planned(plan)

    monkeypatch.setattr(compose, "plan_heating", plan_heating)

    def ask(now: datetime = AT, light_at: datetime | None = None, job: str = FRAMES) -> int:
        light[0] = light_at or light[0]
        facts = read_situation(demo_folder, now)
        clocks = {clock.job: clock for clock in clocks_of(facts)}
        here = job_by_name(facts.work, job)
        plan = heat.heat_plan(facts, here, find(facts, here, clocks), clocks)
        assert plan.job == job
        assert plan.light_at is not None
        assert plan.light_at >= now
        return len(made)

    return ask


def test_the_same_question_is_not_searched_twice(asked: Callable[..., int]) -> None:
    assert [asked(), asked(), asked(AT + 20 * MINUTE)] == [1, 1, 1]


def test_another_hour_is_no_other_question(asked: Callable[..., int]) -> None:
    assert [asked(), asked(AT + 60 * MINUTE), asked(AT + 240 * MINUTE)] == [1, 1, 1]


@pytest.mark.slow
def test_another_job_or_run_of_the_forecast_is(asked: Callable[..., int]) -> None:
    assert [asked(), asked(job="pump well"), asked(AT + 300 * MINUTE)] == [1, 2, 3]


def test_where_it_is_too_late_to_light_for_it_another_is_made(asked: Callable[..., int]) -> None:
    soon = AT + 5 * MINUTE
    assert [asked(light_at=soon), asked(AT + 4 * MINUTE), asked(AT + 10 * MINUTE)] == [1, 1, 2]


def test_any_change_of_file_or_record_is(asked: Callable[..., int], demo_folder: Path) -> None:
    assert asked() == 1
    boat = demo_folder / "boat.toml"
    boat.write_text(boat.read_text("utf-8").replace('"7 m³"', '"8 m³"'), "utf-8")
    assert asked() == 2
    with Record(demo_folder / "record.db", now=lambda: AT) as record:
        record.add_reading(Reading("forepeak", AT - 5 * MINUTE, 5.0, 90.0))
    assert asked() == 3
    weather = demo_folder / "weather.csv"
    lines = weather.read_text("utf-8").splitlines()
    weather.write_text("\n".join(lines[:-24]) + "\n", "utf-8")
    assert asked() == 4


@pytest.mark.slow
def test_a_kept_file_that_is_spoilt_is_made_anew(
    asked: Callable[..., int], caplog: pytest.LogCaptureFixture
) -> None:
    assert asked() == 1
    for file in (cache_folder() / "heat").glob("*.json"):
        file.write_text('{"job": 3}')
    assert asked() == 2
    assert "another form" in caplog.text
    for file in (cache_folder() / "heat").glob("*.json"):
        file.write_text("{")
    assert asked() == 3


def test_a_run_is_told_until_it_is_too_late_to_light_for_it(
    demo_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    best, latest, start = (AT.replace(hour=hour, minute=0) for hour in (8, 10, 11))

    def plan_heating(
        boat: object, space: object, task: object, *_: object, **__: object
    ) -> Planned:
        tomorrow = task.earliest > latest  # type: ignore[attr-defined]
        days = timedelta(days=1 if tomorrow else 0)
        plan = HeatPlan(
            job=FRAMES,
            where="forepeak",
            space="forepeak",
            status="possible",
            verdict=finding("no heat opens", until=AT),
            light_at=best + days,
            latest_light_at=latest + days,
            start=start + days,
        )
        return Planned(plan)

    monkeypatch.setattr(compose, "plan_heating", plan_heating)

    def told(now: datetime) -> HeatPlan:
        facts = read_situation(demo_folder, now)
        clocks = {clock.job: clock for clock in clocks_of(facts)}
        here = job_by_name(facts.work, FRAMES)
        return heat.heat_plan(facts, here, find(facts, here, clocks), clocks)

    for now in (AT, AT + 29 * MINUTE):
        assert (told(now).light_at, told(now).start) == (best, start)
    late = told(best + 95 * MINUTE)  # to be lit at once, for the same start
    assert (late.light_at, late.latest_light_at, late.start) == (
        best + 90 * MINUTE,
        latest,
        start,
    )
    assert told(latest).start == start
    assert told(latest + MINUTE).start == start + timedelta(days=1)
