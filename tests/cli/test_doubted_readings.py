"""A reading that lies is kept, marked, not used and said: by hand, on import, on the day sheet."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from click.testing import Result

from curewindow.record import Record
from tests.cli.conftest import AT, MORNING

Run = Callable[..., Result]


@pytest.fixture
def boat(demo: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo, tmp_path / "boat"))


@pytest.fixture
def asked(run: Run, boat: Path) -> Callable[..., Any]:
    """A command on the demo's own morning, answered in JSON."""

    def ask(*words: str) -> Any:
        with time_machine.travel(MORNING, tick=False):
            done = run(*words, "--boat", boat, "--json")
        assert done.exit_code == 0, done.stderr
        return json.loads(done.stdout)

    return ask


def states(answer: Any) -> list[tuple[str, str]]:
    return [(each["about"]["kind_of"], each["about"]["state"]) for each in answer["doubts"]]


def used(boat: Path, space: str) -> list[float | None]:
    with Record(boat / "record.db", read_only=True) as record:
        return [reading.air_c for reading in record.readings(space)]


@pytest.mark.slow
def test_by_hand(asked: Callable[..., Any], boat: Path, run: Run) -> None:
    """The saloon was read at 18.4 °C at 08:05; ten minutes later somebody types 31."""
    before = used(boat, "saloon")
    assert states(asked("log", "reading", "saloon", "17C", "53%")) == []
    answer = asked("log", "reading", "saloon", "31C", "40%", "--at", "8:10")
    assert states(answer) == [("air", "jump")]
    assert used(boat, "saloon") == [*before, 17.0]
    with time_machine.travel(MORNING, tick=False):
        day = run("today", "--full", "--boat", boat).stdout
        shown = run("log", "show", "--space", "saloon", "--last", "2", "--boat", boat).stdout
    assert "31 °C kept, not used" in " ".join(day.split())
    assert "31 °C" in shown
    assert shown.count("not used") == 1
    # somebody is sure
    asked("log", "believe", f"r{answer['reading']['id']}")
    assert 31.0 in used(boat, "saloon")
    with time_machine.travel(MORNING, tick=False):
        assert "not used" not in run("today", "--full", "--boat", boat).stdout


def test_another_s_reading_speaks_for_one_that_jumps(boat: Path) -> None:
    """Far from the one before it by the same hand, and just what a meter beside it showed."""
    from curewindow.boat.folder import load_boat
    from curewindow.logbook.doubting import KnownAround, look_over
    from curewindow.record import Reading

    at = MORNING - timedelta(minutes=15)
    with Record(boat / "record.db", now=lambda: MORNING) as record:
        record.add_readings(
            Reading("saloon", at + timedelta(minutes=n), air_c=30.0 + n / 10, source="meter")
            for n in range(3)
        )
        record.add_reading(Reading("saloon", at, air_c=30.3))
        around = KnownAround(boat, load_boat(boat), record, MORNING)
        marked = look_over(record, around, ["saloon"], at, at)
    assert [each for each in marked if each.reading.source == "by hand"] == []


def test_only_readings_are_believed(boat: Path, run: Run) -> None:
    done = run("log", "believe", "c1", "--boat", boat)
    assert done.exit_code == 2
    assert "only readings are doubted" in done.stderr


def logger(boat: Path, values: Callable[[int], str], count: int = 48) -> str:
    begin = MORNING - timedelta(hours=count)
    lines = [f"{begin + timedelta(hours=n):%Y-%m-%dT%H:%M:%SZ},{values(n)}" for n in range(count)]
    file = boat / "logger.csv"
    file.write_text("time,air,humidity\n" + "\n".join(lines) + "\n", "utf-8")
    return str(file)


def test_on_import(asked: Callable[..., Any], boat: Path) -> None:
    """A hygrometer that stands still while the air goes up and down by 4 K."""
    file = logger(boat, lambda n: f"{6 + 2 * ((n // 6) % 2) + n % 3},63")
    answer = asked("log", "import", file, "--space", "forepeak")
    assert ("humidity", "stuck") in states(answer)
    with Record(boat / "record.db", read_only=True) as record:
        own = [each for each in record.readings("forepeak") if each.source == "logger.csv"]
        kept = [
            each
            for each in record.readings("forepeak", doubted=True)
            if each.source == "logger.csv"
        ]
    assert len(kept) == 48
    assert {each.rh_pct for each in own} == {None}
    # what is not used is exported all the same
    asked("log", "export", "readings", str(boat / "all.csv"))
    assert (boat / "all.csv").read_text("utf-8").count("logger.csv") == 48


def test_an_import_in_order_is_not_doubted(asked: Callable[..., Any], boat: Path) -> None:
    file = logger(boat, lambda n: f"{5 + (n % 24) / 12:.1f},{88 - n % 5}")
    assert states(asked("log", "import", file, "--space", "forepeak")) == []


def test_the_demo_s_own_readings_are_believed(boat: Path) -> None:
    """The control: its log, looked over as if it had just been written."""
    from curewindow.boat.folder import load_boat
    from curewindow.logbook.doubting import KnownAround, look_over

    with Record(boat / "record.db", now=lambda: MORNING) as record:
        readings = record.readings()
        around = KnownAround(boat, load_boat(boat), record, MORNING)
        spaces = {reading.space for reading in readings}
        assert len(readings) > 20
        assert look_over(record, around, spaces, readings[0].at, readings[-1].at) == []


def test_what_cannot_be_is_refused_with_the_likely_slip(boat: Path, run: Run) -> None:
    """Beyond what a cabin can be nothing is kept: the slip is told at once."""
    said = run("log", "reading", "saloon", "71C", "60%", "--boat", boat)
    assert said.exit_code == 2
    assert "did you mean °F" in said.stderr
    said = run("log", "reading", "saloon", "71C", "12%", "--boat", boat)
    assert "humidity" in said.stderr
    assert "each other's place" in said.stderr


def test_marks_are_of_their_moment(boat: Path) -> None:
    """Taken back with its entry, a doubted reading is told no more."""
    at = datetime(2026, 11, 25, 7, tzinfo=UTC)
    with Record(boat / "record.db", now=lambda: MORNING) as record:
        from curewindow.record import Reading

        kept = record.add_reading(Reading("saloon", at, air_c=31.0))
        assert record.mark([(kept.id, "air", "jump", 18.0)]) == 1
        assert record.mark([(kept.id, "air", "jump", 18.0)]) == 0
        assert [each.reading.id for each in record.marked()] == [kept.id]
        record.undo_last()
        assert record.marked() == []
    assert AT.startswith("2026")
