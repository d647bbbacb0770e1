"""Heater times, and what becomes of coats that are on: deadlines and milestones, as events."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from curewindow.answers import Clock
from curewindow.calendar.happening import Alarm, Happening
from curewindow.daysheet.models import DaySheet
from curewindow.judgement.models import JobDay
from curewindow.rules.chance import worth_saying
from curewindow.voice.calendar import (
    airing_line,
    from_lines,
    heat_alarms,
    heat_lines,
    heat_title,
    milestone_title,
    ready_title,
    recoat_lines,
    recoat_title,
)
from curewindow.voice.cautions import care_lines
from curewindow.wording import Wording

# A moment is shown as half an hour: before it where it must not be missed, else after it.
_SHOWN: Final = timedelta(minutes=30)
_DEADLINE_ALARMS: Final = (12 * 60, 2 * 60)


def heat_of(sheet: DaySheet, words: Wording) -> Iterator[Happening]:
    """When to light the heater and when to turn it down, of jobs that need it."""
    for job in sheet.jobs:
        if job.next is not None:
            yield from _heat(job, job.next.step, job.next.coat, words)


def _heat(job: JobDay, step: int, coat: int | None, words: Wording) -> Iterator[Happening]:
    plan = job.heat
    if plan is None or plan.status != "possible":
        return
    if plan.light_at is None or plan.hold_until is None or plan.setpoint_c is None:
        return
    before = replace(words, now=plan.light_at - _SHOWN)
    lines = heat_lines(plan.verdict, plan.hold_until, plan.milestone or "", before)
    if plan.airing is not None:
        air = plan.airing
        lines.append(airing_line(air.begins, air.ends, air.flow_m3_h, words))
    lines += care_lines(plan.cautions, words)
    light, down = heat_alarms(plan.space, job.job)
    yield Happening(
        kind="heat",
        job=job.job,
        step=step,
        coat=coat,
        begins=plan.light_at,
        ends=max(plan.hold_until, plan.light_at + _SHOWN),
        title=heat_title(plan.setpoint_c, job.job, words),
        body="\n".join(lines),
        where=plan.where,
        certain=plan.confidence is None or not worth_saying(plan.confidence),
        alarms=[
            Alarm(minutes=0, says=light),
            Alarm(minutes=0, before="ends", says=down),
        ],
    )


def coats_of(sheet: DaySheet, words: Wording) -> Iterator[Happening]:
    """Recoat times, deadlines and milestones of the coats that are not cured yet."""
    where = {job.job: job.where for job in sheet.jobs}
    care = {job.job: care_lines(job.cautions, words) for job in sheet.jobs}
    for clock in sheet.clocks:
        at = where.get(clock.job, "")
        last = clock.coat >= clock.of_coats
        if clock.recoat_from is not None and not last:
            yield _recoat_opens(clock, at, words, care.get(clock.job, []))
        if clock.next_deadline is not None:
            yield _recoat_closes(clock, at, words, care.get(clock.job, []))
        for what, moment, title in (
            ("touch dry", clock.touch_dry, "touch dry"),
            ("closed up", clock.closed_up if last else None, "may be covered"),
            ("full cure", clock.full_cure if last else None, "cured through"),
        ):
            if moment is not None:
                yield _milestone(clock, what, moment, title, at, words)


def _recoat_opens(clock: Clock, where: str, words: Wording, care: list[str]) -> Happening:
    assert clock.recoat_from is not None
    title = ready_title(clock)
    lines = [*from_lines(clock, clock.recoat_from, words), *care]
    return Happening(
        kind="recoat opens",
        job=clock.job,
        step=clock.step,
        coat=clock.coat,
        begins=clock.recoat_from,
        ends=clock.recoat_from + _SHOWN,
        title=title,
        body="\n".join(lines),
        where=where,
        certain=not clock.extrapolated,
        alarms=[Alarm(minutes=0, says=title)],
    )


def _recoat_closes(clock: Clock, where: str, words: Wording, care: list[str]) -> Happening:
    assert clock.next_deadline is not None
    title = recoat_title(clock, clock.next_deadline, words)
    return Happening(
        kind="recoat closes",
        job=clock.job,
        step=clock.step,
        coat=clock.coat,
        begins=clock.next_deadline - _SHOWN,
        ends=clock.next_deadline,
        title=title,
        body="\n".join([*recoat_lines(clock, clock.next_deadline, words), *care]),
        where=where,
        alarms=[Alarm(minutes=each, before="ends", says=title) for each in _DEADLINE_ALARMS],
    )


def _milestone(
    clock: Clock, what: str, moment: datetime, title: str, where: str, words: Wording
) -> Happening:
    return Happening(
        kind="milestone",
        job=clock.job,
        step=clock.step,
        coat=clock.coat,
        what=what,
        begins=moment,
        ends=moment + _SHOWN,
        title=milestone_title(clock, title),
        body="\n".join(from_lines(clock, moment, words)),
        where=where,
        certain=not clock.extrapolated,
    )
