"""Heating plans are kept for the same question only."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.daysheet import kept
from curewindow.daysheet.facts import gather
from curewindow.demo import files as demofiles
from curewindow.heating import HeatPlan
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from curewindow.weather.cache import cache_folder

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


@pytest.fixture
def demo_folder(tmp_path: Path) -> Path:
    demofiles.write(tmp_path / "demo", AT)
    return tmp_path / "demo"


@pytest.fixture
def asked(demo_folder: Path):
    """Ask at a time; answers how often a plan was made by then."""
    made: list[datetime] = []

    def ask(now: datetime = AT, light_h: float = 30.0, job: str = "forepeak frames") -> int:
        facts = gather(demo_folder, now)

        def make() -> HeatPlan:
            made.append(now)
            return HeatPlan(
                job=job,
                where="forepeak",
                space="forepeak",
                status="possible",
                sentence="light it",
                light_at=now + timedelta(hours=light_h),
            )

        plan = kept.kept_or_made(facts, job, make)
        assert plan.job == job
        return len(made)

    return ask


def test_the_same_question_is_not_searched_twice(asked) -> None:
    assert [asked(), asked(), asked(AT + timedelta(minutes=20))] == [1, 1, 1]


def test_another_hour_or_job_is(asked) -> None:
    assert [asked(), asked(AT + timedelta(hours=1)), asked(job="pump well")] == [1, 2, 3]


def test_a_time_to_light_that_is_past_is(asked) -> None:
    assert [asked(light_h=0.1), asked(AT + timedelta(minutes=10))] == [1, 2]


def test_any_change_of_file_or_record_is(asked, demo_folder: Path) -> None:
    assert asked() == 1
    boat = demo_folder / "boat.toml"
    boat.write_text(boat.read_text("utf-8").replace('"7 m³"', '"8 m³"'), "utf-8")
    assert asked() == 2
    with Record(demo_folder / "record.db", now=lambda: AT) as record:
        record.add_reading(Reading("forepeak", AT - timedelta(minutes=5), 5.0, 90.0))
    assert asked() == 3
    weather = demo_folder / "weather.csv"
    lines = weather.read_text("utf-8").splitlines()
    weather.write_text("\n".join(lines[:-24]) + "\n", "utf-8")
    assert asked() == 4


def test_a_kept_file_that_is_spoilt_is_made_anew(asked, caplog) -> None:
    assert asked() == 1
    for file in (cache_folder() / "heat").glob("*.json"):
        file.write_text('{"job": 3}')
    assert asked() == 2
    assert "another form" in caplog.text
    for file in (cache_folder() / "heat").glob("*.json"):
        file.write_text("{")
    assert asked() == 3
