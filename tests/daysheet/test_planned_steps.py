"""The kept order of work on the day sheet: shown, judged again, and marked where it is old."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from curewindow.calendar import events_of
from curewindow.cli.daytext import day_lines
from curewindow.daysheet import DaySheet, day_sheet
from curewindow.daysheet.changed import remember
from curewindow.daysheet.planning import make_plan
from curewindow.order.kept import load, store
from curewindow.record.entries import Coat
from curewindow.record.store import Record
from curewindow.voice.plan import plan_lines
from curewindow.wording import Wording
from tests.cutplans import cut_at
from tests.daysheet.conftest import NOW, job, put_on
from tests.voiced import said

ELECTRIC = """
[space.heating]
kind = "electric"
power = "2 kW"
vented = false
open_flame = false
unattended = "yes"
"""
WORK = job("shelf") + "\n" + job("door")


@pytest.fixture
def planned(make, folder: Path) -> Path:
    """Two jobs of three coats each, and an order of work for them."""
    make(WORK)
    make_plan(folder, NOW, days=10)
    return folder


def text_of(sheet: DaySheet, width: int = 80) -> str:
    return " ".join(" ".join(day_lines(sheet, width=width)).split())


def later(folder: Path, *, start: datetime) -> None:
    """The plan's first step of today begins then."""
    kept = load(folder)
    assert kept.plan is not None
    first, *rest = kept.plan.steps
    moved = first.model_copy(update={"start": start, "end": start + timedelta(hours=1)})
    store(folder, replace(kept, plan=kept.plan.model_copy(update={"steps": [moved, *rest]})))


def log(folder: Path, *coats: Coat, now: datetime) -> None:
    with Record(folder / "record.db", now=lambda: now) as record:
        for coat in coats:
            record.add_coat(coat)


def test_without_a_plan_nothing_is_said_of_one(make) -> None:
    sheet = make(WORK)
    assert sheet.plan is None
    assert "IN THIS ORDER" not in text_of(sheet)


def test_todays_steps_in_their_order(planned: Path) -> None:
    sheet = day_sheet(planned, NOW)
    assert sheet.plan is not None
    assert sheet.plan.fresh
    today = sheet.plan.today
    assert {step.job for step in today} == {"shelf", "door"}
    assert [step.start for step in today] == sorted(step.start for step in today)
    firsts = {step.job: step for step in reversed(today)}
    assert all(step.allowed for step in firsts.values())
    # nobody has two pairs of hands
    assert all(a.end <= b.start for a, b in pairwise(today))
    for width in (32, 80):
        lines = day_lines(sheet, width=width)
        assert max(map(len, lines)) <= width
        assert "TODAY, IN THIS ORDER" in lines


def test_what_the_day_sheet_refuses_is_never_told_as_possible(planned: Path) -> None:
    """The owner leaves at 18:00 and the coat takes an hour: 17:30 is too late."""
    sheet = day_sheet(planned, NOW)
    assert sheet.plan is not None
    name = sheet.plan.today[0].job
    late = NOW.replace(hour=16, minute=30)  # 17:30 in London
    later(planned, start=late)
    sheet = day_sheet(planned, NOW)
    assert sheet.plan is not None
    step = next(each for each in sheet.plan.today if each.start == late)
    assert step.allowed is False
    words = Wording(ZoneInfo("Europe/London"), NOW, False)
    line = next(line for line in plan_lines(sheet.plan, words) if line.at == late)
    assert not line.ok
    assert line.text == f"✗ {name}, coat 1 of 3: not now"


@pytest.mark.parametrize("late", [1, 193, 599, 601])
def test_a_step_begun_a_little_late_is_as_possible_as_it_was(planned: Path, late: int) -> None:
    """The window it was planned into is open all the while, on the grid's points and between."""
    first = day_sheet(planned, NOW).plan
    assert first is not None
    step = first.today[0]
    now = step.start + timedelta(seconds=late)
    sheet = day_sheet(planned, now)
    assert sheet.plan is not None
    (window, *_) = next(day for day in sheet.jobs if day.job == step.job).windows_today
    assert window.opens == now
    assert next(each for each in sheet.plan.today if each.key == step.key).allowed


def test_a_planned_coat_has_the_deadline_of_the_coat_that_is_on(planned: Path) -> None:
    """Not the one the plan foresaw: two deadlines for one recoat would stand on one sheet."""
    sheet = day_sheet(planned, NOW)
    assert sheet.plan is not None
    first = sheet.plan.today[0]
    kept = load(planned)
    assert kept.plan is not None
    foreseen = [
        step.model_copy(update={"must_by": NOW + timedelta(hours=30)}) for step in kept.plan.steps
    ]
    store(planned, replace(kept, plan=kept.plan.model_copy(update={"steps": foreseen})))
    log(planned, put_on(first.job, first.start), now=first.end)
    sheet = day_sheet(planned, first.end + timedelta(minutes=7))
    assert sheet.plan is not None
    coming = [*sheet.plan.today, *sheet.plan.coming]
    step = next(each for each in coming if (each.job, each.coat) == (first.job, 2))
    clock = next(clock for clock in sheet.clocks if clock.job == first.job)
    assert step.must_by == clock.next_deadline


def test_what_comes_behind_a_refused_step_is_refused_with_it(planned: Path) -> None:
    """Coat 1 stands at 22:00, when nobody is aboard, and coat 2 at noon."""
    kept = load(planned)
    assert kept.plan is not None
    first = kept.plan.steps[0]
    second = next(s for s in kept.plan.steps if s.job == first.job and s.coat == 2)
    night, noon = NOW.replace(hour=21), NOW.replace(hour=11)
    steps = [
        step.model_copy(update={"start": night, "end": night + timedelta(hours=1)})
        if step is first
        else step.model_copy(update={"start": noon, "end": noon + timedelta(hours=1)})
        if step is second
        else step
        for step in kept.plan.steps
    ]
    store(planned, replace(kept, plan=kept.plan.model_copy(update={"steps": steps})))
    sheet = day_sheet(planned, NOW)
    assert sheet.plan is not None
    shown = {step.coat: step.allowed for step in sheet.plan.today if step.job == first.job}
    assert shown[1] is False
    assert shown[2] is False


def test_a_logged_step_is_gone_and_the_next_may_be_judged(planned: Path) -> None:
    sheet = day_sheet(planned, NOW)
    assert sheet.plan is not None
    first = sheet.plan.today[0]
    end = first.end + timedelta(minutes=5)
    log(planned, put_on(first.job, first.start), now=end + timedelta(hours=1))
    again = day_sheet(planned, end).plan
    assert again is not None
    assert again.fresh  # what was planned has been done: the plan holds
    assert first.key not in [step.key for step in again.today]


def test_another_day_another_work_list_or_another_coat_makes_it_old(planned: Path, make) -> None:
    def note(now: datetime) -> str:
        shown = day_sheet(planned, now).plan
        assert shown is not None
        assert shown.fresh == (not shown.note)
        return "" if shown.note is None else said(shown.note)

    assert note(NOW) == ""
    assert "made" in note(NOW + timedelta(days=1))
    log(planned, put_on("lid", NOW + timedelta(hours=1)), now=NOW + timedelta(hours=3))
    assert "'lid' was done otherwise" in note(NOW + timedelta(hours=2))
    (planned / "work.toml").write_text(WORK.replace("2 m²", "3 m²"), encoding="utf-8")
    assert "changed since" in note(NOW)


def test_what_was_planned_yesterday_and_not_logged_is_told(planned: Path) -> None:
    tomorrow = NOW + timedelta(days=1)
    sheet = day_sheet(planned, tomorrow)
    assert sheet.plan is not None
    assert {step.job for step in sheet.plan.overdue} == {"shelf", "door"}
    text = text_of(sheet)
    assert "TODAY, BY AN OLD PLAN" in text
    assert "planned yesterday" in text
    assert "'curewindow plan' makes it anew" in text


def test_a_day_missed_is_told_once_and_no_more(planned: Path) -> None:
    """Told all of the day it is first told, by whatever face; the days after have it no more."""
    tomorrow = NOW + timedelta(days=1)
    first = day_sheet(planned, tomorrow)
    assert first.plan is not None
    assert first.plan.overdue
    again = day_sheet(planned, tomorrow + timedelta(hours=2))
    assert again.plan is not None
    assert again.plan.overdue == first.plan.overdue  # nobody was told yet
    remember(planned, first)
    later = day_sheet(planned, tomorrow + timedelta(hours=4))
    assert later.plan is not None
    assert [step.key for step in later.plan.overdue] == [step.key for step in first.plan.overdue]
    remember(planned, later)
    after = day_sheet(planned, NOW + timedelta(days=2))
    assert after.plan is not None
    told = {step.key for step in first.plan.overdue}
    assert not told & {step.key for step in after.plan.overdue}
    text = text_of(after)
    assert all(
        f"{each.job}, coat {each.coat} of 3: planned" not in text for each in first.plan.overdue
    )
    # another plan takes what was missed in; missed again it is told again
    made = make_plan(planned, NOW + timedelta(days=2), days=10).plan
    assert {step.key for step in made.steps} >= told
    missed = day_sheet(planned, NOW + timedelta(days=3)).plan
    assert missed is not None
    assert missed.overdue


def test_the_calendar_has_the_steps_of_a_plan_that_holds(planned: Path) -> None:
    def steps(now: datetime) -> list[str]:
        events = events_of(day_sheet(planned, now))
        return [e.happening.title for e in events if e.happening.kind == "plan"]

    titles = steps(NOW)
    assert "Planned: shelf, coat 1 of 3" in titles
    assert "Planned: door, coat 3 of 3" in titles
    assert len(titles) == len(set(titles))
    assert sum(", coat " in title for title in titles) == 6
    assert steps(NOW + timedelta(days=1)) == []


def test_no_event_and_no_hour_beyond_the_forecast(planned: Path) -> None:
    """What the forecast does not reach is told by its week: no calendar has a place for it."""
    kept = load(planned)
    assert kept.plan is not None
    first = min(step.start for step in kept.plan.steps)
    known = min(step.start for step in kept.plan.steps if step.start > first)
    near = cut_at(kept.plan, known)
    store(planned, replace(kept, plan=near))
    sheet = day_sheet(planned, NOW)
    assert sheet.plan is not None
    told = [*sheet.plan.today, *sheet.plan.coming, *sheet.plan.overdue]
    assert told
    assert all(step.start < known for step in told)
    begun = [e.happening.begins for e in events_of(sheet) if e.happening.kind == "plan"]
    assert begun
    assert max(begun) < known


def test_a_spoilt_plan_file_is_no_plan(planned: Path) -> None:
    (planned / "plan.json").write_text("{", encoding="utf-8")
    assert day_sheet(planned, NOW).plan is None
