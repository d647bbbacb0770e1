"""A coat somebody looked at or sanded: what is asked once answered, and what then comes first."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import get_args

import pytest

from curewindow.cli.daytext import day_lines
from curewindow.daysheet import DaySheet, day_sheet
from curewindow.record.entries import Found, Inspection
from curewindow.record.store import Record
from curewindow.reminders.derive import reminders_of
from curewindow.sheets.shelf import get_sheet
from curewindow.situation import read_situation
from tests.daysheet.conftest import COAT, NOW, VARNISH, job, of, put_on

HOUR = timedelta(hours=1)
ENAMEL = COAT.format(sheet="alkyd-enamel")


@pytest.fixture
def dewed(make, folder: Path) -> Path:
    """An enamel on deck, put on late; dew falls on it in the small hours."""
    path = folder / "weather.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    damp = [
        line.replace(",15,5,2,0,100,0", ",8,8,0,0,0,0")
        if "2026-05-11T00" <= line < "2026-05-11T05"
        else line
        for line in lines
    ]
    path.write_text("\n".join(damp) + "\n", encoding="utf-8")
    coat = put_on("rail", NOW - 9 * HOUR, sheet="alkyd-enamel")
    make(job("rail", ENAMEL, space=""), coats=[coat])
    return folder


def seen(folder: Path, found: Found, at: datetime = NOW, coat: int = 1) -> None:
    with Record(folder / "record.db", now=lambda: max(at, NOW)) as record:
        record.add(Inspection("rail", 1, coat, at, found))


def asked(folder: Path, now: datetime = NOW) -> list[bool]:
    """Is one asked to check the coat, by the day sheet and by the next morning's notice?"""
    sheet, facts = day_sheet(folder, now), read_situation(folder, now)
    said = " ".join(day_lines(sheet, width=80))
    notices = " ".join(r.body for r in reminders_of(facts, sheet) if r.kind == "morning")
    assert "GO" in notices or "rail" in notices
    return ["check the coat" in said, "check the coat" in notices]


def test_that_its_rags_are_gone_is_no_answer(dewed: Path) -> None:
    seen(dewed, "cleared")
    assert asked(dewed) == [True, True]


@pytest.mark.slow
@pytest.mark.parametrize("found", [each for each in get_args(Found) if each != "cleared"])
def test_asked_until_it_is_answered(dewed: Path, found: Found) -> None:
    assert asked(dewed) == [True, True]
    seen(dewed, found)
    assert asked(dewed) == [False, False]
    assert asked(dewed, NOW + timedelta(days=1)) == [False, False]
    (clock,) = day_sheet(dewed, NOW).clocks
    assert clock.limits_broken  # what it had stays told
    assert (clock.found, clock.found_at) == (found, NOW)
    with Record(dewed / "record.db") as record:
        record.undo_last()
    assert asked(dewed) == [True, True]


def test_looked_at_before_the_dew_is_no_answer_and_in_its_midst_is(dewed: Path) -> None:
    seen(dewed, "sound", NOW - 8 * HOUR)
    assert asked(dewed) == [True, True]
    seen(dewed, "sound", NOW - 4 * HOUR)
    assert asked(dewed) == [False, False]


def test_another_coat_is_no_answer(dewed: Path) -> None:
    seen(dewed, "sound", coat=2)
    assert asked(dewed) == [True, True]


def sand_first(sheet: DaySheet) -> bool:
    ahead = of(sheet, "rail").next
    assert ahead is not None
    return ahead.sand_first


def test_dull_is_sanded_before_the_next_coat_and_sanded_it_is_not_sanded_again(
    dewed: Path,
) -> None:
    assert not sand_first(day_sheet(dewed, NOW))
    seen(dewed, "dull", NOW - HOUR)
    assert sand_first(day_sheet(dewed, NOW))
    seen(dewed, "sanded")
    assert not sand_first(day_sheet(dewed, NOW))
    later = NOW + HOUR
    seen(dewed, "dull", later)
    assert sand_first(day_sheet(dewed, later))


def test_planned_sanding_between_coats_is_done_once_logged(make, folder: Path) -> None:
    work = job("rail", VARNISH + 'between = "sand"\n')
    assert sand_first(make(work, coats=[put_on("rail", NOW - 30 * HOUR)]))
    seen(folder, "sanded", NOW - HOUR)
    assert not sand_first(day_sheet(folder, NOW))


def test_a_coat_too_old_is_sanded_and_has_no_deadline_again(make, folder: Path) -> None:
    """Also where sanding was logged before its interval ended."""
    sheet = make(job("rail"), coats=[put_on("rail", NOW - timedelta(days=5))])
    assert sheet.clocks[0].state == "sand first"
    seen(folder, "sanded", NOW - HOUR)
    sheet = day_sheet(folder, NOW)
    assert sheet.clocks[0].state == "recoat open"
    assert of(sheet, "rail").status == "go"
    assert not any("sand first" in note for note in of(sheet, "rail").notes)
    recent = make(job("rail"), coats=[put_on("rail", NOW - 10 * HOUR)])
    assert recent.clocks[0].next_deadline is not None
    seen(folder, "sanded", NOW - HOUR)
    assert day_sheet(folder, NOW).clocks[0].next_deadline is None


def test_sanding_does_not_reopen_what_the_sheet_closes_for_good(make, folder: Path) -> None:
    own = folder / "sheets"
    own.mkdir()
    text = get_sheet("waterborne-acrylic-varnish", None).path.read_text(encoding="utf-8")
    never = text.replace('after = "sand"', 'after = "never"')
    assert never != text
    (own / "waterborne-acrylic-varnish.toml").write_text(never, encoding="utf-8")
    sheet = make(job("rail"), coats=[put_on("rail", NOW - timedelta(days=5))])
    assert sheet.clocks[0].state == "never again"
    seen(folder, "sanded", NOW - HOUR)
    assert day_sheet(folder, NOW).clocks[0].state == "never again"
