"""A spoilt coat in every face: it comes off, is put on again, and no later coat is told first."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from curewindow.daysheet import DaySheet, day_sheet
from curewindow.daysheet.planning import make_plan
from curewindow.record.entries import Inspection
from curewindow.record.store import Record
from curewindow.voice.plan import sanding_text, what
from tests.daysheet.conftest import NOW, SAND, SOLVENT, job, of, put_on
from tests.voiced import said

HOUR = timedelta(hours=1)
Make = Callable[..., DaySheet]


def note(folder: Path, found: str, coat: int, at=NOW, step: int = 1) -> int:
    with Record(folder / "record.db", now=lambda: at) as record:
        return record.add(Inspection("shelf", step, coat, at, found)).id  # type: ignore[arg-type]


@pytest.fixture
def two_on(make: Make, folder: Path) -> Path:
    """Two of three coats are on, two days and a day old."""
    coats = [put_on("shelf", NOW - 49 * HOUR), put_on("shelf", NOW - 25 * HOUR, coat=2)]
    make(job("shelf"), coats=coats)
    return folder


def test_it_is_due_again_and_comes_off_first(two_on: Path) -> None:
    before = of(day_sheet(two_on, NOW), "shelf")
    assert before.next is not None
    assert before.next.coat == 3
    note(two_on, "spoilt", 2)
    after = of(day_sheet(two_on, NOW), "shelf")
    assert after.next is not None
    assert (after.next.coat, after.next.sand_first) == (2, True)
    assert any("take the spoilt coat off" in said(each) for each in after.notes)
    note(two_on, "sanded", 2, NOW + HOUR)
    off = of(day_sheet(two_on, NOW + HOUR), "shelf")
    assert off.next is not None
    assert (off.next.coat, off.next.sand_first, off.status) == (2, False, "go")
    assert not any("spoilt" in said(each) for each in off.notes)


def test_what_lies_on_it_comes_off_with_it(two_on: Path) -> None:
    note(two_on, "spoilt", 1)
    day = of(day_sheet(two_on, NOW), "shelf")
    assert day.next is not None
    assert day.next.coat == 1


def test_one_too_soft_to_sand_is_waited_for(make: Make, folder: Path) -> None:
    make(job("shelf", SOLVENT), coats=[put_on("shelf", NOW - 2 * HOUR, sheet=SHEET)])
    note(folder, "spoilt", 1)
    day = of(day_sheet(folder, NOW), "shelf")
    assert day.status != "go"
    assert [wait.kind for wait in day.waits] == ["drying"]
    sheet = day_sheet(folder, NOW)
    # it is there to burn and to breathe all the same
    assert any(each.danger.kind == "flammable vapour" for each in sheet.cautions)


SHEET = "one-part-urethane-varnish"


@pytest.mark.parametrize("between", ["", 'between = "sand"\n'])
def test_the_plan_sands_it_back_and_then_puts_it_on(make: Make, folder: Path, between: str) -> None:
    coats = [put_on("shelf", NOW - 49 * HOUR), put_on("shelf", NOW - 25 * HOUR, coat=2)]
    from tests.daysheet.conftest import VARNISH

    make(job("shelf", VARNISH + between), coats=coats)
    old = make_plan(folder, NOW, days=10, seconds=3.0).plan
    assert [step.coat for step in old.steps if step.do == "coat"] == [3]
    later = NOW + HOUR
    note(folder, "spoilt", 2, later)
    # what the last plan has for it comes too early: it is told no more
    stale = day_sheet(folder, later).plan
    assert stale is not None
    assert not stale.fresh
    assert stale.note is not None
    assert stale.note.text("state") == "spoilt"
    assert [*stale.today, *stale.coming, *stale.overdue] == []
    plan = make_plan(folder, later, days=10, seconds=3.0).plan
    assert plan.verified
    assert [(step.do, step.coat, step.spoilt) for step in plan.steps] == [
        ("sand", None, True),
        ("coat", 2, False),
        ("coat", 3, False),
    ]
    sheet = day_sheet(folder, later)
    assert sheet.plan is not None
    assert sheet.plan.fresh
    told = [*sheet.plan.today, *sheet.plan.coming]
    assert what(told[0]) == sanding_text(spoilt=True)
    note(folder, "sanded", 2, later + HOUR)
    left = day_sheet(folder, later + HOUR).plan
    assert left is not None
    assert [step.coat for step in (*left.overdue, *left.today, *left.coming)] == [2, 3]


def test_taken_back_it_counts_as_before(two_on: Path) -> None:
    before = of(day_sheet(two_on, NOW), "shelf")
    note(two_on, "spoilt", 2)
    with Record(two_on / "record.db", now=lambda: NOW) as record:
        assert len(record.coats()) == 2
        assert [coat.spoilt is None for coat in record.coats()] == [True, False]
        # asked about an hour before, it was still sound
        assert all(coat.spoilt is None for coat in record.coats(by=NOW - HOUR))
        record.undo_last()
        assert [coat.spoilt for coat in record.coats()] == [None, None]
    assert of(day_sheet(two_on, NOW), "shelf") == before


def test_a_step_done_on_it_is_due_again(make: Make, folder: Path) -> None:
    from curewindow.record.entries import Done
    from tests.daysheet.conftest import VARNISH

    coats = [put_on("shelf", NOW - (97 - 24 * n) * HOUR, coat=n + 1) for n in range(3)]
    make(job("shelf", VARNISH + SAND + VARNISH), coats=coats, done=[Done("shelf", 2, NOW - HOUR)])
    day = of(day_sheet(folder, NOW), "shelf")
    assert day.next is not None
    assert day.next.step == 3
    note(folder, "spoilt", 3)
    day = of(day_sheet(folder, NOW), "shelf")
    assert day.next is not None
    assert (day.next.step, day.next.coat) == (1, 3)
