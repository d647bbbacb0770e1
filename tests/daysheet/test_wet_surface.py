"""A surface that rain or dew left wet: no start, what wiping would open, and wiped as logged."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from curewindow.daysheet import day_sheet, windows_ahead
from curewindow.record.entries import Done, Heat, Item, Reading, Wiped
from curewindow.record.store import Record
from curewindow.situation import read_situation
from tests.daysheet.conftest import NOW, SAND, VARNISH, WORDS, job, of
from tests.voiced import said


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


def write(folder: Path, *items: Item) -> None:
    with Record(folder / "record.db", now=lambda: NOW) as record:
        for item in items:
            record.add(item)


def starts_now(folder: Path, name: str = "rail") -> bool:
    return any(w.opens <= NOW for w in of(day_sheet(folder, NOW), name).windows_today)


def test_no_start_while_it_is_wet_but_what_wiping_would_open(make, rained: Path) -> None:
    day = of(make(job("rail", space="")), "rail")
    assert day.windows_today or "still wet" in said(day.verdict, WORDS)
    assert day.if_wiped is not None
    assert "once wiped dry and logged: today" in said(day.verdict, WORDS)
    assert not any(window.opens <= NOW for window in day.windows_today)
    assert any("curewindow log dry rail" in note for note in said(day.notes))


def test_wiped_dry_as_logged_ends_it_for_that_job_alone(make, rained: Path) -> None:
    make(job("rail", space="") + job("hatch", space=""))
    assert not starts_now(rained)
    write(rained, Wiped(NOW, job="rail"))
    sheet = day_sheet(rained, NOW)
    day = of(sheet, "rail")
    assert day.status == "go"
    assert day.windows_today[0].opens == NOW
    assert day.if_wiped is None
    assert not starts_now(rained, "hatch")
    assert of(sheet, "hatch").if_wiped is not None


def test_taken_back_it_is_wet_again(make, rained: Path) -> None:
    make(job("rail", space=""))
    write(rained, Wiped(NOW, job="rail"))
    assert starts_now(rained)
    with Record(rained / "record.db", now=lambda: NOW) as record:
        record.undo_last()
    assert not starts_now(rained)


_SIDE = 'panel = "side"'


@pytest.mark.parametrize(
    ("wiped", "dry"),
    [
        (Wiped(NOW, space="cabin", panel="side"), {"wall", "shelf on the wall"}),
        (Wiped(NOW, space="cabin"), {"wall", "shelf on the wall", "table"}),
        (Wiped(NOW, space="fore cabin"), set()),
        (Wiped(NOW, job="wall"), {"wall"}),
        (Wiped(NOW, job="gone from the list"), set()),
    ],
    ids=["a panel", "a space", "another space", "a job", "a lost job"],
)
def test_a_panel_is_every_job_s_on_it_and_a_space_all_it_has(
    make, folder: Path, wiped: Wiped, dry: set[str]
) -> None:
    names = {"wall": [_SIDE], "shelf on the wall": [_SIDE], "table": []}
    make("".join(job(name, VARNISH, *more) for name, more in names.items()))
    write(folder, wiped)
    facts = read_situation(folder, NOW)
    assert {each.name for each in facts.work.job if facts.dry_at(each)} == dry


@pytest.mark.slow
@pytest.mark.parametrize(
    "said",
    ["wiped dry", "Wiped dry with a towel", "could not be wiped dry, still running with water"],
)
@pytest.mark.parametrize(
    "item",
    [
        Reading("outdoors", NOW, 15.0, 51.0),
        Reading("outdoors", NOW, 15.0, 51.0, panel="rail"),
        Done("rail", 1, NOW),
        Heat("cabin", NOW, NOW),
    ],
    ids=lambda item: type(item).__name__.lower(),
)
def test_a_free_note_never_decides(make, rained: Path, item: Item, said: str) -> None:
    """Whatever stands in it, the day is as without it."""
    make(job("rail", SAND + VARNISH if isinstance(item, Done) else VARNISH, space=""))
    write(rained, replace(item, note=said))
    noted = day_sheet(rained, NOW).jobs
    assert not any(window.opens <= NOW for day in noted for window in day.windows_today)
    with Record(rained / "record.db", now=lambda: NOW) as record:
        record.undo_last()
    write(rained, item)
    assert noted == day_sheet(rained, NOW).jobs


def test_windows_and_day_sheet_agree(make, rained: Path) -> None:
    day = of(make(job("rail", space="")), "rail")
    (ahead,) = windows_ahead(rained, NOW).jobs
    assert said(ahead.verdict, WORDS) == said(day.verdict, WORDS)
    told = [*day.windows_today, *([day.next_window] if day.next_window else [])]
    assert [window.opens for window in ahead.windows][: len(told)] == [w.opens for w in told]
