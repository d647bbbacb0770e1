"""A plan's coming days, each with its steps, heater times, deadlines and what gets ready."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from curewindow.order.plan import Plan, PlannedStep
from curewindow.paper.heating import HeldStretch, heater_times
from curewindow.paper.models import Day, Line, Paper
from curewindow.voice import paper as said
from curewindow.voice.cautions import DEFER, care_text
from curewindow.voice.plan import done_text
from curewindow.voice.speaking import short
from curewindow.wording import Wording

# Job, number of the step, coat (None: a step without a product).
Key = tuple[str, int, int | None]
DAYS = 7
# Of what gets ready on the same moment, and of steps, in this order.
_ORDER = {"heat on": 0, "ready": 1, "deadline": 2, "step": 3, "heat off": 4}


def week_of(
    plan: Plan,
    now: datetime,
    *,
    days: int = DAYS,
    done: Collection[Key] = frozenset(),
) -> Paper:
    """The coming days of a plan, from the local day of ``now`` on.

    Parameters
    ----------
    plan : Plan
    now : datetime
        Aware.
    days : int
        How many.
    done : collection of Key, optional
        What the record has of it already.

    Raises
    ------
    ValueError
        ``now`` is not aware, or no day is asked for.
    """
    if now.tzinfo is None:
        raise ValueError(f"now must be aware of its time zone, got {now.isoformat()}")
    if days < 1:
        raise ValueError(f"at least one day goes on paper, got {days}")
    # Paper hangs for days: no 'today' and no 'tomorrow' on it.
    fahrenheit = plan.temperature_unit == "°F"
    words = Wording(ZoneInfo(plan.time_zone), now, fahrenheit, days="date")
    today = words.local(now).date()
    held = heater_times(plan.steps)
    heat = [line for each in held for line in _heat(each, held, words)]
    lines = sorted(
        [*_lines(plan, words, done), *heat], key=lambda line: (line.at, _ORDER[line.kind])
    )
    by_day = [_day(today + timedelta(days=ahead), lines, plan, words) for ahead in range(days)]
    return Paper(
        boat=plan.boat,
        time_zone=plan.time_zone,
        temperature_unit=plan.temperature_unit,
        as_of=now.astimezone(UTC),
        plan_made=plan.made_at,
        warnings=_warnings(plan, words),
        days=by_day,
        notes=_notes(plan, words, by_day),
    )


def what_of(step: PlannedStep) -> str:
    """What is done: 'coat 2 of 5, oil varnish', 'sand, part 1 of 2'."""
    if step.sanding_for_missed:
        return said.sand_missed()
    several = step.coat is not None and (step.of_coats or 1) > 1
    coat = (step.coat, step.of_coats or 1) if step.coat is not None and several else None
    part = (step.sitting, step.of_sittings) if coat is None and step.of_sittings > 1 else None
    return said.act_text(step.do, coat=coat, product=step.product or "", part=part)


def _day(day: date, lines: list[Line], plan: Plan, words: Wording) -> Day:
    own = [line for line in lines if words.local(line.at).date() == day]
    typical = any(
        step.typical_weather and words.local(step.start).date() == day for step in plan.steps
    )
    title = words.day(datetime.combine(day, time(12), words.zone))
    return Day(day=day, title=title, typical_weather=typical, lines=own)


def _lines(plan: Plan, words: Wording, done: Collection[Key]) -> list[Line]:
    found: list[Line] = []
    for step in plan.steps:
        key = (step.job, step.step, step.coat)
        found.append(_step(step, words, key in done))
        if step.coat is not None and not _covered(step, plan.steps, done):
            found.append(
                Line(
                    kind="ready",
                    at=step.hard,
                    clock=words.clock(step.hard),
                    text=said.ready_text(step.job, step.do, step.coat),
                    tick=False,
                )
            )
        if step.must_by is not None and step.must_by > step.end:
            found.append(
                Line(
                    kind="deadline",
                    at=step.must_by,
                    clock=words.clock(step.must_by),
                    text=said.deadline_text(step.job, step.do, step.coat),
                    tick=False,
                )
            )
    return found


def _covered(step: PlannedStep, steps: Sequence[PlannedStep], done: Collection[Key]) -> bool:
    """Does a later coat lie on it by the time it is hard, planned so or in the record?"""
    mine = (step.step, step.coat or 0)
    planned = any(
        other.job == step.job and (other.step, other.coat or 0) > mine and other.start < step.hard
        for other in steps
    )
    logged = any(job == step.job and (number, coat or 0) > mine for job, number, coat in done)
    return planned or logged


def _step(step: PlannedStep, words: Wording, done: bool) -> Line:
    under = [
        said.wait_text(wait.what, wait.until, words)
        for wait in step.waits_for
        if wait.kind not in ("hands", "choice")
    ]
    if step.wipe_first:
        under.append(said.WIPE_FIRST)
    if step.must_by is not None:
        under.append(said.by_text(step.must_by, words))
    if step.fixed:
        under.append(said.HELD_BY_YOU)
    under += [short(each, words) for each in step.first]
    if step.note:
        under.append(said.note_text(step.note))
    if care := care_text(step.cautions):
        under.append(care)
    if done:
        under = [said.DONE]
    return Line(
        kind="step",
        at=step.start,
        clock=f"{words.clock(step.start)}-{words.clock(step.end)}",
        text=said.step_text(step.job, step.where, what_of(step)),
        under=under,
        tick=not done,
    )


def _heat(held: HeldStretch, all_held: list[HeldStretch], words: Wording) -> list[Line]:
    """Lit (still lit, where it began before today), and let go where nothing follows."""
    midnight = words.local(words.now).replace(hour=0, minute=0, second=0, microsecond=0)
    still = held.begins < midnight < held.ends
    turned = any(each.space == held.space and each.ends == held.begins for each in all_held)
    at = midnight.astimezone(UTC) if still else held.begins
    lines = [
        Line(
            kind="heat on",
            at=at,
            clock=words.clock(at),
            text=said.heat_text(
                held.space, held.setpoint_c, held.ends, words, still=still, turned=turned
            ),
            under=[said.heat_for(held.jobs)],
            tick=True,
        )
    ]
    if not any(each.space == held.space and each.begins == held.ends for each in all_held):
        lines.append(
            Line(
                kind="heat off",
                at=held.ends,
                clock=words.clock(held.ends),
                text=said.heat_off(held.space),
                tick=True,
            )
        )
    return lines


def _warnings(plan: Plan, words: Wording) -> list[str]:
    warnings: list[str] = []
    if plan.faults:
        warnings.append(said.DOUBTED)
    today = words.local(words.now).date()
    if plan.steps and max(words.local(step.start).date() for step in plan.steps) < today:
        warnings.append(said.ALL_PAST)
    return warnings


def _notes(plan: Plan, words: Wording, days: list[Day]) -> list[str]:
    notes = [
        said.printed_text(words.now, plan.made_at, words),
        said.LOOK_FIRST,
        DEFER,
    ]
    last = days[-1].day
    if plan.finish is not None:
        told = done_text(plan.finish, plan.left_out, replace(words, known_until=plan.known_until))
        notes.append(said.as_planned(told))
    beyond = sum(words.local(step.start).date() > last for step in plan.steps)
    if beyond:
        notes.append(said.beyond_text(beyond))
    if any(day.typical_weather for day in days):
        notes.append(said.TYPICAL)
    if plan.left_out:
        notes.append(said.left_out_text(list(plan.left_out)))
    return notes
