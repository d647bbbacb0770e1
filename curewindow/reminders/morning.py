"""The morning notice: what the day allows, in a dozen short lines."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curewindow.answers import Clock, Window
from curewindow.daysheet.models import DaySheet
from curewindow.findings import Finding, finding
from curewindow.judgement.jobday import ahead_of
from curewindow.judgement.models import JobDay
from curewindow.reminders.daily import EARLY, morning_notice, morning_of
from curewindow.reminders.known import Known, of_step
from curewindow.reminders.models import Reminder
from curewindow.voice.cautions import DEFER, care_lines
from curewindow.voice.notices import lines_of, title_of
from curewindow.voice.plan import plan_lines
from curewindow.wording import Wording

_MOST_LINES = 4
_MOST_STEPS = 6


def morning_reminders(known: Known) -> Iterator[Reminder]:
    """Today's notice, once its time has come."""
    due = morning_of(known.now, known.settings.morning, known.words.zone)
    if known.now < due - EARLY:
        return
    sheet, words = known.sheet, known.dated
    go = tuple(day.job for day in sheet.jobs if day.status == "go")
    head = finding("day ahead", at=due, names=go or None)
    first, last = _acts(known), _news(sheet)
    lines = [*lines_of(first, words), *_care(sheet, words)]
    lines += lines_of(last, words)
    if sheet.cautions:
        lines.append(DEFER)
    made = morning_notice(due, words.zone, title_of(head, words), lines)
    yield made.model_copy(
        update={"told": (head, *first, *(each.danger for each in sheet.cautions), *last)}
    )


def _care(sheet: DaySheet, words: Wording) -> list[str]:
    return care_lines((each.danger for each in sheet.cautions), words, _MOST_LINES)


def _acts(known: Known) -> list[Finding]:
    """What must not be missed, what can be done, and where nothing can, why not."""
    sheet = known.sheet
    go = [day for day in sheet.jobs if day.status == "go"]
    told = [_deadline(known, clock) for clock in sheet.clocks if clock.next_deadline is not None]
    told += [finding("coat to check", job=clock.job) for clock in sheet.clocks if clock.to_check]
    told += _planned(known)
    told += [of_step("go today", day, because=[known.verdict(day)]) for day in go]
    today = known.words.local(known.now).date()
    told += [
        of_step("go once wiped", day, because=[_once_wiped(day, day.if_wiped)])
        for day in sheet.jobs
        if day.status not in ("go", "refused") and day.if_wiped is not None
        if known.words.local(day.if_wiped.opens).date() == today
    ]
    told += [
        finding("heat for job", job=day.job, because=[day.heat.verdict])
        for day in sheet.jobs
        if day.heat is not None and day.heat.status == "possible" and day.heat.light_at is not None
    ]
    told += [
        finding("no start today", job=day.job, because=[day.verdict])
        for day in sheet.jobs
        if day.status == "refused"
    ]
    if not go:
        held = [day for day in sheet.jobs if day.status in ("wait", "blocked")]
        told += _some([_held(day) for day in held], "jobs without a start")
    return told


def _once_wiped(day: JobDay, window: Window) -> Finding:
    takes = timedelta(hours=0.0 if day.next is None else day.next.tail_h)
    return ahead_of("window once wiped", window, takes)


def _deadline(known: Known, clock: Clock) -> Finding:
    day = known.day(clock.job)
    assert day is not None
    after = clock.recoat_after or "as is"
    return of_step("deadline ahead", day, until=clock.next_deadline, after=after)


def _planned(known: Known) -> list[Finding]:
    """Today's part of the order of work, if one is kept: only what the day sheet allows."""
    plan = known.sheet.plan
    if plan is None:
        return []
    found = [line for line in plan_lines(plan, known.dated) if line.ok]
    told = [finding("planned now", thing=line.clock, note=line.text) for line in found]
    stale = (
        [] if plan.note is None or not found else [finding("plan to renew", because=[plan.note])]
    )
    return [*_some(told, "steps planned", _MOST_STEPS), *stale]


def _held(day: JobDay) -> Finding:
    """What a job waits for, or the first thing in its way."""
    why = [wait.why for wait in day.waits] or [each.why for each in day.obstacles[:1]]
    return finding("no start today", job=day.job, because=why or [day.verdict])


def _news(sheet: DaySheet) -> list[Finding]:
    told = _some(
        [finding("news of job", job=each.job, because=[each.said]) for each in sheet.changes],
        "changes",
    )
    return [*told, *([finding("typical sheets")] if sheet.provenance.typical_sheets else [])]


def _some(found: list[Finding], what: str, most: int = _MOST_LINES) -> list[Finding]:
    """The first of them; those beyond are counted."""
    more = len(found) - most
    return (
        found if more <= 0 else [*found[:most], finding("more of these", count=more, kind_of=what)]
    )
