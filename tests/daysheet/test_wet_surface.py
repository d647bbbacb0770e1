"""A surface that rain or dew left wet: no start, what wiping would open, and wiped as logged."""

from __future__ import annotations

from pathlib import Path

import pytest

from curewindow.daysheet import day_sheet, windows_ahead
from curewindow.record.entries import Done, Reading
from curewindow.record.store import Record
from tests.daysheet.conftest import NOW, SAND, VARNISH, job, of


@pytest.fixture
def rained(folder: Path) -> Path:
    """It rained until an hour ago."""
    path = folder / "weather.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    # still air: what lies there stays for hours
    rain = [
        line.replace(",15,5,2,0,", ",15,5,0,0.5,")
        if line.startswith("2026-05-11T0") and line < "2026-05-11T06"
        else line.replace(",15,5,2,0,", ",15,5,0,0,")
        for line in lines
    ]
    path.write_text("\n".join(rain) + "\n", encoding="utf-8")
    return folder


def write(folder: Path, *readings: Reading) -> None:
    with Record(folder / "record.db", now=lambda: NOW) as record:
        for reading in readings:
            record.add_reading(reading)


def test_no_start_while_it_is_wet_but_what_wiping_would_open(make, rained: Path) -> None:
    day = of(make(job("rail", space="")), "rail")
    assert day.windows_today or "still wet" in day.sentence
    assert day.if_wiped is not None
    assert "once wiped dry and logged: today" in day.sentence
    assert not any(window.opens <= NOW for window in day.windows_today)
    assert any("wiped dry" in note for note in day.notes)


@pytest.mark.parametrize(
    "reading",
    [
        Reading("outdoors", NOW, 15.0, 51.0, note="Wiped dry with a towel"),
        Reading("outdoors", NOW, 15.0, 51.0, panel="rail", note="wiped dry"),
    ],
    ids=["all of it", "the piece"],
)
def test_wiped_dry_as_logged_ends_it(make, rained: Path, reading: Reading) -> None:
    make(job("rail", space=""))
    write(rained, reading)
    day = of(day_sheet(rained, NOW), "rail")
    assert day.status == "go"
    assert day.windows_today[0].opens == NOW
    assert day.if_wiped is None


def test_another_piece_or_another_note_does_not(make, rained: Path) -> None:
    make(job("rail", space=""))
    write(
        rained,
        Reading("outdoors", NOW, 15.0, 51.0, panel="hatch", note="wiped dry"),
        Reading("outdoors", NOW, 15.0, 51.0, note="still raining?"),
    )
    day = of(day_sheet(rained, NOW), "rail")
    assert not any(window.opens <= NOW for window in day.windows_today)


def test_a_step_finished_with_those_words_does_too(make, rained: Path) -> None:
    work = job("rail", SAND + VARNISH, space="")
    day = of(make(work, done=[Done("rail", 1, NOW, "sanded, wiped dry")]), "rail")
    assert day.status == "go"
    assert day.windows_today[0].opens == NOW


def test_windows_and_day_sheet_agree(make, rained: Path) -> None:
    day = of(make(job("rail", space="")), "rail")
    (ahead,) = windows_ahead(rained, NOW).jobs
    assert ahead.sentence == day.sentence
    told = [*day.windows_today, *([day.next_window] if day.next_window else [])]
    assert [window.opens for window in ahead.windows][: len(told)] == [w.opens for w in told]
