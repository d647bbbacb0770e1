"""The kept order of work as the day sheet shows it: today's steps, each judged again.

Reads one file and solves nothing. A plan is as old as its making: what it has for today is
held against the windows of the day sheet, and what these refuse is never told as possible.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from curewindow.answers import Clock, HeaterHeld, NextStep, PlannedStart, PlanNow, RunBefore
from curewindow.boat.schema import Space
from curewindow.cautions.alone import not_planned
from curewindow.changes.kept import load as load_told
from curewindow.findings import Finding, finding
from curewindow.heating.models import HeatPlan
from curewindow.judgement.clocks import spoilt_on
from curewindow.judgement.models import JobDay
from curewindow.judgement.planned import kept_plan, spoilt_since, stale_because
from curewindow.order.heldwarm import heater_times
from curewindow.order.plan import PlannedStep
from curewindow.record.spoilt import counting, still_done
from curewindow.rules.unattended import left_alone
from curewindow.rules.unflued import unflued_for
from curewindow.situation import Situation

COMING_DAYS = 7


def plan_now(
    facts: Situation, days: Mapping[str, JobDay], clocks: Mapping[str, Clock]
) -> PlanNow | None:
    """What the kept plan has for today and the days after; None where none was made.

    Of what lies beyond its forecast nothing: that is told by the week, and no day has it.

    Parameters
    ----------
    facts : Situation
    days : mapping of str to JobDay
        Each job on this day.
    clocks : mapping of str to Clock
        Of the coats that are on: what they ask for counts, not what the plan foresaw.

    Returns
    -------
    PlanNow or None
    """
    kept = kept_plan(facts)
    if kept.plan is None or not (kept.plan.steps or kept.plan.later):
        return None
    words = facts.words
    today = words.local(facts.now).date()
    last = today + timedelta(days=COMING_DAYS)
    done = {(coat.job, coat.step, coat.coat) for coat in counting(facts.coats)}
    finished = {(each.job, each.step) for each in still_done(facts.coats, facts.dones)}
    spoilt = spoilt_since(facts, kept.plan)
    lying = {job.name for job in facts.work.job if spoilt_on(facts, job) is not None}
    left = [
        step
        for step in kept.plan.steps
        if step.job in days
        and (step.job, step.step, step.coat) not in done
        and (step.job, step.step) not in finished
        # what it has for a job of which a coat was spoilt since comes too early
        and step.job not in spoilt
        and not (step.spoilt and step.job not in lying)
    ]
    at = {step.key: words.local(step.start).date() for step in left}
    told = [_planned_start(step, facts, days, clocks) for step in left if at[step.key] < last]
    refused = {step.job for step in told if step.allowed is False}
    no_use = {step.key for step in told if step.allowed is False}
    stale = stale_because(facts, kept)
    return PlanNow(
        as_of=kept.plan.as_of,
        fresh=stale is None,
        note=stale,
        finish=kept.plan.finish,
        overdue=_missed(facts, [step for step in told if at[step.key] < today]),
        today=_behind(refused, [step for step in told if at[step.key] == today]),
        coming=[step for step in told if today < at[step.key] < last],
        heaters=_heaters([step for step in left if step.key not in no_use]),
    )


def _heaters(steps: list[PlannedStep]) -> list[HeaterHeld]:
    """When heaters are lit for steps; a run over a film that is on is told with its step."""
    return heater_times([step.model_copy(update={"heat_before": None}) for step in steps])


def missed_key(key: str, start: datetime) -> str:
    """A planned step at a time of its own: missed again after another plan it is told again."""
    return f"{key} {start.astimezone(UTC):%Y-%m-%dT%H:%M}"


def _missed(facts: Situation, steps: list[PlannedStart]) -> list[PlannedStart]:
    """Steps that were missed, but for those told as missed on a day before."""
    today = facts.words.local(facts.now).date()
    told = load_told(facts.folder).missed
    return [
        step
        for step in steps
        if (at := told.get(missed_key(step.key, step.start))) is None
        or facts.words.local(at).date() >= today
    ]


def _behind(refused: set[str], steps: list[PlannedStart]) -> list[PlannedStart]:
    """Today's steps; none is possible behind one of the same job that is not."""
    note = finding("step before not possible")
    return [
        step.model_copy(update={"allowed": False, "note": note})
        if step.allowed is None and step.job in refused
        else step
        for step in steps
    ]


def _planned_start(
    step: PlannedStep, facts: Situation, days: Mapping[str, JobDay], clocks: Mapping[str, Clock]
) -> PlannedStart:
    day = days[step.job]
    allowed, note = _judged(step, facts, day)
    must_by, clock = step.must_by, clocks.get(step.job)
    if clock is not None and day.next is not None and _is_next(step, day.next):
        must_by = clock.next_deadline
    return PlannedStart(
        key=step.key,
        part=step.part,
        job=step.job,
        where=step.where,
        space=step.space,
        step=step.step,
        do="sand" if step.sanding_for_missed else step.do,
        product=step.product,
        coat=None if step.sanding_for_missed else step.coat,
        of_coats=step.of_coats,
        start=step.start,
        end=step.end,
        must_by=must_by,
        sanding_for_missed=step.sanding_for_missed,
        spoilt=step.spoilt,
        why=_why(step),
        setpoint_c=step.setpoint_c,
        heat_from=step.heat_from,
        heat_until=step.heat_until,
        heat_before=_before(step.heat_before),
        wipe_first=step.wipe_first,
        step_note=step.note,
        cautions=step.cautions,
        allowed=allowed,
        note=note,
    )


def _before(run: HeatPlan | None) -> RunBefore | None:
    """The run over a film that is on, as far as the list of steps tells it."""
    if run is None or run.light_at is None:
        return None
    return RunBefore(said=run.verdict, ventilation=run.ventilation, light_at=run.light_at)


def _why(step: PlannedStep) -> Finding | None:
    """What it waited for last; None where nothing held it back."""
    held = [wait for wait in step.waits_for if wait.kind != "choice"]
    if not held:
        return None
    last = max(held, key=lambda wait: wait.until)
    return finding("waits in plan", until=last.until, because=[last.what])


def _is_next(step: PlannedStep, ahead: NextStep) -> bool:
    return (ahead.step, ahead.coat) == (step.step, step.coat)


def _in_hours_aboard(step: PlannedStep, facts: Situation, space: Space) -> bool:
    """Has it a heater run of its own, all of it in hours its heater may be alight?"""
    run = step.heat
    if run is None or run.light_at is None or run.hold_until is None:
        return False
    if unflued_for(facts.boat, space) is not None:
        return False
    return not left_alone(facts.boat, space, run.light_at, run.hold_until)


def _judged(step: PlannedStep, facts: Situation, day: JobDay) -> tuple[bool | None, Finding | None]:
    """Is a step of today or before one the day sheet tells? None: that is not known yet."""
    words, ahead = facts.words, day.next
    today = words.local(facts.now).date()
    space = facts.boat.find_space(step.space or "")
    if step.setpoint_c is not None and space is not None:
        # The plan was made when the heater had a flue, or might be left alone.
        against = not_planned(facts.boat, space, facts.forecast.times)
        if against is not None and not _in_hours_aboard(step, facts, space):
            return False, against
    if words.local(step.start).date() > today or step.sanding_for_missed:
        return None, None
    if ahead is None or not _is_next(step, ahead):
        return None, None
    windows = list(day.windows_today)
    if step.wipe_first and day.if_wiped is not None:
        windows.append(day.if_wiped)
    start = max(step.start, facts.now)
    inside = [window for window in windows if ahead.may_start(window, start)]
    if not inside:
        return False, day.verdict
    if step.start < facts.now:
        return True, finding("last start", last_start=inside[0].closes)
    return True, None
