"""Heater times, and what becomes of coats that are on: deadlines and milestones, as events."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from curewindow.answers import Clock
from curewindow.calendar.happening import Alarm, Happening
from curewindow.calendar.saying import Words
from curewindow.daysheet.models import DaySheet
from curewindow.judgement.models import JobDay
from curewindow.rules.chance import worth_saying
from curewindow.voice import act
from curewindow.voice.cautions import care_lines

# A moment is shown as half an hour: before it where it must not be missed, else after it.
_SHOWN: Final = timedelta(minutes=30)
_DEADLINE_ALARMS: Final = (12 * 60, 2 * 60)


def heat_of(sheet: DaySheet, words: Words) -> Iterator[Happening]:
    """When to light the heater and when to turn it down, of jobs that need it."""
    for job in sheet.jobs:
        if job.next is not None:
            yield from _heat(job, job.next.step, job.next.coat, words)


def _heat(job: JobDay, step: int, coat: int | None, words: Words) -> Iterator[Happening]:
    plan = job.heat
    if plan is None or plan.status != "possible":
        return
    if plan.light_at is None or plan.hold_until is None or plan.setpoint_c is None:
        return
    heat = words.temp(plan.setpoint_c)
    before = plan.light_at - _SHOWN  # read later, it still says by when and not 'now'
    told = act(plan.verdict, replace(words.wording, days="date", now=before))
    lines = [f"{told[:1].upper()}{told[1:]}."]
    if plan.start is not None:
        lines.append(f"Start the coat {words.when(plan.start)}.")
    until = f", when it is {plan.milestone}" if plan.milestone else ""
    lines.append(f"Turn it down {words.when(plan.hold_until)}{until}.")
    if plan.airing is not None:
        lines.append(
            f"Air from {words.when(plan.airing.begins)} to {words.when(plan.airing.ends)}: "
            f"at least {plan.airing.flow_m3_h:.0f} m³/h."
        )
    lines += care_lines(plan.cautions, words.dated)
    yield Happening(
        kind="heat",
        job=job.job,
        step=step,
        coat=coat,
        begins=plan.light_at,
        ends=max(plan.hold_until, plan.light_at + _SHOWN),
        title=f"Heater on, {heat}: {job.job}",
        body="\n".join(lines),
        where=plan.where,
        certain=plan.confidence is None or not worth_saying(plan.confidence),
        alarms=[
            Alarm(minutes=0, says=f"Light the heater: {job.job}"),
            Alarm(minutes=0, before="ends", says=f"Turn the heater down: {job.job}"),
        ],
    )


def coats_of(sheet: DaySheet, words: Words) -> Iterator[Happening]:
    """Recoat times, deadlines and milestones of the coats that are not cured yet."""
    where = {job.job: job.where for job in sheet.jobs}
    care = {job.job: care_lines(job.cautions, words.dated) for job in sheet.jobs}
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


def _coat(clock: Clock) -> str:
    return f"{clock.job}, coat {clock.coat} of {clock.of_coats}"


def _basis(clock: Clock, words: Words) -> list[str]:
    lines = [f"Put on {words.when(clock.applied)}.", f"Goes by {clock.basis}."]
    if clock.extrapolated:
        lines.append("Partly outside the sheet's own table: less certain.")
    return lines


def _recoat_opens(clock: Clock, where: str, words: Words, care: list[str]) -> Happening:
    assert clock.recoat_from is not None
    title = f"Next coat may go on: {_coat(clock)}"
    lines = [f"From {words.when(clock.recoat_from)}, at the latest.", *_basis(clock, words), *care]
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


def _recoat_closes(clock: Clock, where: str, words: Words, care: list[str]) -> Happening:
    assert clock.next_deadline is not None
    late = "no more coats after" if clock.recoat_after == "never" else "then sand first"
    title = f"Recoat by {words.clock(clock.next_deadline)}, {late}: {_coat(clock)}"
    by = f"By {words.when(clock.next_deadline)}: {clock.deadline_for}."
    return Happening(
        kind="recoat closes",
        job=clock.job,
        step=clock.step,
        coat=clock.coat,
        begins=clock.next_deadline - _SHOWN,
        ends=clock.next_deadline,
        title=title,
        body="\n".join([by, *_basis(clock, words), *care]),
        where=where,
        alarms=[Alarm(minutes=each, before="ends", says=title) for each in _DEADLINE_ALARMS],
    )


def _milestone(
    clock: Clock, what: str, moment: datetime, title: str, where: str, words: Words
) -> Happening:
    return Happening(
        kind="milestone",
        job=clock.job,
        step=clock.step,
        coat=clock.coat,
        what=what,
        begins=moment,
        ends=moment + _SHOWN,
        title=f"{title[0].upper()}{title[1:]}: {_coat(clock)}",
        body="\n".join([f"From {words.when(moment)}, at the latest.", *_basis(clock, words)]),
        where=where,
        certain=not clock.extrapolated,
    )
