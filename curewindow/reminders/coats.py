"""Coats that are on: the next one may go on, must go on soon; cured far enough to be covered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

import numpy as np

from curewindow.answers import Clock
from curewindow.boat.folder import job_by_name
from curewindow.boat.service import Level
from curewindow.findings import Finding, finding
from curewindow.judgement.models import JobDay
from curewindow.reminders.daily import morning_of
from curewindow.reminders.keys import coat_key
from curewindow.reminders.known import Known, of_step
from curewindow.reminders.models import Reminder
from curewindow.rules.work import WITH_PRODUCT
from curewindow.windows.grid import at_index, first_at_or_after

# News of something that may be done keeps for so long.
_KEEPS = timedelta(hours=24)
_STALE = timedelta(hours=12)
# The morning notice names every deadline: what is not urgent is not said twice.
_SAID_THEN = timedelta(hours=1)


def coat_reminders(known: Known) -> Iterator[Reminder]:
    """Recoat opens and closes, closed up, cured."""
    for clock in known.clocks:
        day = known.day(clock.job)
        if day is not None and day.next is not None and day.next.do in WITH_PRODUCT:
            yield from _opens(known, clock, day)
            yield from _closes(known, clock, day)
        yield from _milestones(known, clock)


def lead_hours(clock: Clock, hands_on_h: float) -> tuple[float, ...]:
    """How long before a recoat interval ends it is told, longest first.

    The more is lost the earlier: what has to be sanded costs about as long as a coat
    took, what may never be coated again costs all coats that are on and the new ones.
    The last time is early enough to begin and finish the coat. Common practice, no source.
    """
    if clock.recoat_after == "never":
        lost_h = hands_on_h * (clock.coat + 2)
        first = min(max(8.0 * lost_h, 12.0), 48.0)
        return (first, first / 3.0, hands_on_h + 1.5)
    if clock.recoat_after == "sand":
        first = min(max(6.0 * hands_on_h, 6.0), 24.0)
        return (first, hands_on_h + 1.5)
    return ()


def ready_at(clock: Clock, day: JobDay) -> datetime | None:
    """When the next coat may go on: the coat below ready, and whatever else comes first done."""
    waits = [wait.until for wait in day.waits if wait.kind != "recoat"]
    known = [until for until in waits if until is not None]
    if clock.recoat_from is None or len(known) < len(waits):
        return None
    return max([clock.recoat_from, *known])


def _opens(known: Known, clock: Clock, day: JobDay) -> Iterator[Reminder]:
    opens = ready_at(clock, day)
    assert day.next is not None
    if opens is None or opens < known.now - _KEEPS or clock.state == "never again":
        return
    until = clock.next_deadline
    if clock.recoat_until is not None and clock.recoat_until <= opens:
        return  # nobody can promise a gap: the deadline says so itself
    due = _aboard_from(known, clock.job, opens)
    there = _aboard_from(known, clock.job, max(opens, known.now))
    if due is None or there is None:
        return  # nobody is there to do it within the weather known
    if due <= known.now < there:
        due = there  # whoever has not heard of it yet does once they are back
    body = [finding("ready since", begins=opens)]
    if until is not None and not day.next.sand_first:
        body.append(
            finding("recoat interval until", until=until, after=clock.recoat_after or "as is")
        )
    yield known.reminder(
        "recoat opens",
        coat_key(clock),
        about=clock.job,
        level="normal" if day.windows_today or day.next_window else "low",
        due=due,
        expires=min(until or due + _KEEPS, due + _KEEPS),
        head=of_step("time for coat", day, sand_first=day.next.sand_first or None),
        body=[*body, known.stands(day)],
        care=day.cautions,
    )


def _aboard_from(known: Known, job: str, at: datetime) -> datetime | None:
    """The first moment from then on at which someone is aboard; None: not within what is known."""
    series = known.facts.series(job_by_name(known.facts.work, job))
    first = first_at_or_after(series, at)
    aboard = np.flatnonzero(known.facts.hours_ok(series)[first:])
    if not aboard.size:
        return None
    return max(at, at_index(series, first + int(aboard[0]))) if aboard[0] else at


def _closes(known: Known, clock: Clock, day: JobDay) -> Iterator[Reminder]:
    ends = clock.next_deadline
    if ends is None or ends <= known.now or day.next is None:
        return
    leads = lead_hours(clock, day.next.hands_on_h)
    times = [ends - timedelta(hours=lead) for lead in leads]
    passed = [number for number, at in enumerate(times) if at <= known.now]
    first = passed[-1] if passed else 0
    can_be_met = _has_start_by(day, ends)
    made: dict[object, Reminder] = {}
    for number in range(first, len(times)):
        last = number == len(times) - 1
        if last and not can_be_met:
            continue  # a last call is a call to begin
        level: Level = "urgent" if last or clock.recoat_after == "never" else "normal"
        state = "last" if last else None if can_be_met else "no start"
        told = known.reminder(
            "recoat closes",
            f"{coat_key(clock)}|{number + 1}",
            about=clock.job,
            level=level,
            due=times[number],
            latest=ends - timedelta(hours=day.next.hands_on_h + 0.5),
            expires=ends,
            head=of_step("recoat deadline", day, until=ends, state=state),
            body=[
                finding("interval missed", after=clock.recoat_after or "as is"),
                known.stands(day),
            ],
            care=day.cautions,
        )
        if level == "normal" and abs(told.due - _morning(known, told.due)) < _SAID_THEN:
            continue
        made[told.due] = told  # two that fall together are told once, as the later
    yield from made.values()


def _has_start_by(day: JobDay, ends: datetime) -> bool:
    """Is there a start in time, as things stand, wiped dry or with heat?"""
    windows = [*day.windows_today, *filter(None, [day.next_window, day.if_wiped])]
    heated = None if day.heat is None else day.heat.start
    return any(window.opens <= ends for window in windows) or (
        heated is not None and heated <= ends
    )


def _morning(known: Known, at: datetime) -> datetime:
    return morning_of(at, known.settings.morning, known.words.zone)


def _covers(known: Known, names: Iterable[str]) -> Iterator[Finding]:
    """How jobs stand that waited for a coat: they may wait for something else yet."""
    for day in filter(None, map(known.day, names)):
        if day.status == "go":
            yield of_step("go today", day, because=[known.verdict(day)])
        elif day.status != "done":
            yield finding("no start today", job=day.job, because=[day.verdict])


def _milestones(known: Known, clock: Clock) -> Iterator[Reminder]:
    covering = [job.name for job in known.facts.work.job if clock.job in job.after_cured]
    day = known.day(clock.job)
    if not covering and (day is None or day.next is not None):
        return  # another coat goes over it
    few = [finding("few readings")] if clock.measured_share < 0.3 else []
    for name, at in (("closed up", clock.closed_up), ("full cure", clock.full_cure)):
        if at is None or at < known.now - _STALE:
            continue
        closed = name == "closed up"
        head = finding("coat may be covered" if closed else "coat cured through", job=clock.job)
        body = (
            finding("cured since", at=at, names=tuple(covering))
            if closed
            else finding("cured by clock", at=at)
        )
        yield known.reminder(
            "milestone",
            f"{coat_key(clock)}|{name}",
            about=clock.job,
            level="normal" if covering and closed else "low",
            due=at,
            expires=at + timedelta(hours=36),
            head=head,
            body=[body, *(_covers(known, covering) if closed else ()), *few],
        )
