"""The heater runs of an order's coats as far as the forecast carries, each from the heat search.

What an order of work knows of heat are a few setpoints lit at evenings. Here every coat it heats
within the forecast gets the run that `heat` would find for just that start: lit as late, set as
low and held as short as its limits allow, in all members of the weather. Runs of one space go by
the clock, each on top of those before it.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job
from curewindow.conditions.course import utc64
from curewindow.curing import recoat_bounds
from curewindow.heating import Below, HeatedCoat, HeatPlan
from curewindow.judgement.airing import airing_of, room_of, water_kg_h
from curewindow.judgement.films import burning_near
from curewindow.judgement.heat import below_of
from curewindow.judgement.judging import rule_for_next, someone_sleeps_near
from curewindow.judgement.kept import PlannedKept, facts_key, kept_or_made, name_of
from curewindow.judgement.progress import Progress, next_of
from curewindow.order.problem import Order, Placed, Problem, Task
from curewindow.series import FloatArray
from curewindow.situation import Situation
from curewindow.windows.grid import at_index, first_at_or_after

_A_SECOND = timedelta(seconds=1)


def near_runs(
    facts: Situation,
    problem: Problem,
    order: Order,
    without: Collection[int] = (),
) -> dict[int, HeatPlan]:
    """The heater run of each coat that an order heats as far as the forecast carries.

    Parameters
    ----------
    facts : Situation
        With the forecast itself, not the typical weather behind it.
    problem : Problem
    order : Order
    without : collection of int
        Tasks that keep the run of their order.

    Returns
    -------
    dict of int to HeatPlan
        By task; a coat for which the search finds no run is not in it.
    """
    found: dict[int, HeatPlan] = {}
    held: dict[str, list[HeatPlan]] = {}
    for each in sorted(order.placed, key=lambda placed: placed.start):
        task = problem.tasks[each.task]
        if not _heated_near(problem, each) or task.number in without or task.space is None:
            continue
        plan = _run_of(facts, problem, order, each, held.get(task.space, []))
        if plan is not None:
            found[task.number] = plan
            held.setdefault(task.space, []).append(plan)
    return found


def _heated_near(problem: Problem, placed: Placed) -> bool:
    task = problem.tasks[placed.task]
    mode = task.modes[placed.mode]
    return (
        task.sheet is not None and mode.level_c is not None and placed.start < problem.known_until
    )


def _run_of(
    facts: Situation, problem: Problem, order: Order, placed: Placed, held: list[HeatPlan]
) -> HeatPlan | None:
    """The run for a start the order has, on top of those held already; None: none was found."""
    from curewindow.heating.compose import plan_heating  # most plans heat nothing

    task = problem.tasks[placed.task]
    job = next(each for each in facts.work.job if each.name == task.job)
    space = facts.boat.find_space(task.space or "")
    assert space is not None
    start = problem.slots.at(placed.start)
    coat = _coat(facts, problem, order, task, job, start)
    wet_near = burning_near(facts, space)

    def made() -> PlannedKept:
        room = room_of(facts, space, _from_now(facts, job))
        if room is not None:
            room = replace(room, routine_c=_with_held(room.routine_c, room.times, held))
        return PlannedKept.of(plan_heating(facts.boat, space, coat, room, wet_near=wet_near))

    key = (
        facts_key(facts, job.name),
        (task.step, task.coat),
        start,
        None if coat.below is None else (coat.below.first_stroke, coat.below.last_stroke),
        [(each.setpoint_c, each.light_at, each.hold_until) for each in held],
        [(film.sheet.name, film.job and film.job.name, film.share) for film in wet_near],
        _from_now(facts, job),
    )
    plan = kept_or_made(name_of("planned", key), PlannedKept, made).plan
    return plan if plan.status == "possible" else None


def _from_now(facts: Situation, job: Job) -> datetime:
    """The first grid point nobody has missed yet."""
    series = facts.series(job)
    return at_index(series, min(first_at_or_after(series, facts.now), len(series.times) - 2))


def _with_held(routine_c: FloatArray, times: np.ndarray, held: list[HeatPlan]) -> FloatArray:
    """The routine with the heat of runs that are in the order already."""
    found = routine_c.copy()
    for plan in held:
        assert plan.setpoint_c is not None
        assert plan.light_at is not None
        assert plan.hold_until is not None
        inside = (times >= utc64(plan.light_at)) & (times < utc64(plan.hold_until))
        found[inside] = np.fmax(found[inside], plan.setpoint_c)
    return found


def _coat(
    facts: Situation, problem: Problem, order: Order, task: Task, job: Job, start: datetime
) -> HeatedCoat:
    """A coat of an order as what is to be heated for: just its start."""
    step = job.step[task.step - 1]
    assert step.sheet is not None
    sheet = facts.sheet(step.sheet).sheet
    on = next_of(job, facts.coats, facts.dones)
    last = None if on is None else on.last_coat
    progress = Progress(task.step, step, task.coat, last)
    before = _film_before(problem, order, task)
    if before is not None:
        below = _below(facts, problem, before, task, job)
    else:
        below = below_of(facts, job, progress)
    airing, known = airing_of(facts, job, progress, sheet)
    series = facts.series(job)
    more = task.coat is not None and task.coat < step.coats
    return HeatedCoat(
        job=job,
        step=step,
        sheet=sheet,
        hands_on_h=hands_on_h(step, job),
        base=series,
        hours_ok=facts.hours_ok(series),
        zone=facts.words.zone,
        earliest=start,
        latest=start + _A_SECOND,
        bare_wood=job.bare_wood and last is None and before is None,
        airing_m3_h=airing,
        airing_known=known,
        water_kg_h=water_kg_h(sheet, job, progress),
        by_bedtime=someone_sleeps_near(facts, job, sheet),
        below=below,
        next_rule=rule_for_next(facts, job, progress, sheet) if more else None,
    )


def _film_before(problem: Problem, order: Order, task: Task) -> Placed | None:
    """The coat of its job that the order puts on right before it."""
    own = [
        each
        for each in order.placed
        if problem.tasks[each.task].job == task.job
        and problem.tasks[each.task].sheet is not None
        and each.task < task.number
        and not problem.tasks[each.task].optional
    ]
    return max(own, key=lambda each: each.start, default=None)


def _below(
    facts: Situation, problem: Problem, before: Placed, task: Task, job: Job
) -> Below | None:
    """The planned coat below, whose clock goes on while the space is heated."""
    under, step = job.step[problem.tasks[before.task].step - 1], job.step[task.step - 1]
    assert under.sheet is not None
    assert step.sheet is not None
    sheet, coming = facts.sheet(under.sheet).sheet, facts.sheet(step.sheet).sheet
    rule = recoat_bounds(sheet, step.sheet, coming.kind, under.sheet)
    if rule is None:
        return None
    hot = step.between == "hot coat" and (task.coat or 1) > 1
    first = problem.slots.at(before.start)
    last = first + timedelta(hours=hands_on_h(under, job))
    return Below(sheet, rule, first, last, hot or rule.recoat.after == "never")
