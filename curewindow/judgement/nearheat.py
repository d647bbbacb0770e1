"""The heater runs of an order's coats as far as the forecast carries, each from the heat search.

What an order of work knows of heat are a few setpoints lit at evenings. Here every coat it heats
within the forecast gets the run that `heat` would find for just that start: lit as late, set as
low and held as short as its limits allow, in all members of the weather. Runs of one space go by
the clock, each on top of those before it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Space, Ventilation
from curewindow.cautions import gravest_first
from curewindow.conditions.course import utc64
from curewindow.curing import recoat_bounds
from curewindow.findings import Finding, finding
from curewindow.heating import Below, HeatedCoat, HeatPlan, Room
from curewindow.heating.choice import Choice, Planned
from curewindow.heating.fuel import fuel_use
from curewindow.judgement.airing import room_of
from curewindow.judgement.coatahead import below_of, coat_ahead, from_now
from curewindow.judgement.films import burning_near
from curewindow.judgement.harden import turned_down
from curewindow.judgement.kept import PlannedKept, facts_key, kept_or_made, name_of
from curewindow.judgement.progress import Progress, next_of
from curewindow.order.given import Given
from curewindow.order.problem import Order, Placed, Problem, Task
from curewindow.rules.milestones import HARD
from curewindow.series import FloatArray
from curewindow.situation import Situation
from curewindow.windows.grid import at_index

_A_SECOND = timedelta(seconds=1)


def near_runs(
    facts: Situation,
    given: Given,
    problem: Problem,
    order: Order,
    *,
    closer: bool = False,
    roughly: bool = False,
) -> dict[int, HeatPlan]:
    """The heater run of each coat that an order heats as far as the forecast carries.

    Parameters
    ----------
    facts : Situation
        With the forecast itself, not the typical weather behind it.
    given : Given
        With the starts that heat opens, each with its run.
    problem : Problem
    order : Order
    closer : bool
        With what-ifs, for the next step of each job: of that one they are told.
    roughly : bool
        A run that opened its start is taken as it is where it holds, and no better looked for.

    Returns
    -------
    dict of int to HeatPlan
        By task; a coat for which the search finds no run is not in it.
    """
    found: dict[int, HeatPlan] = {}
    held: dict[str, list[HeatPlan]] = {}
    begun: set[str] = set()
    for each in sorted(order.placed, key=lambda placed: placed.start):
        task = problem.tasks[each.task]
        next_ = closer and task.job not in begun
        begun.add(task.job)
        if not heated_near(problem, each) or task.space is None:
            continue
        before = held.get(task.space, [])
        plan = _run_of(facts, given, problem, order, each, before, next_, roughly)
        if plan is not None:
            plan = _held_on(facts, problem, each, plan)
            found[task.number] = plan
            held.setdefault(task.space, []).append(plan)
    return found


def heated_near(problem: Problem, placed: Placed) -> bool:
    """Is a coat heated, and as far as the forecast carries?"""
    task = problem.tasks[placed.task]
    mode = task.modes[placed.mode]
    return (
        task.sheet is not None and mode.level_c is not None and placed.start < problem.known_until
    )


def _run_of(
    facts: Situation,
    given: Given,
    problem: Problem,
    order: Order,
    placed: Placed,
    held: list[HeatPlan],
    closer: bool,
    roughly: bool,
) -> HeatPlan | None:
    """The run for a start the order has, on top of those held already; None: none was found."""
    # most plans heat nothing
    from curewindow.heating.compose import look_closer, plan_heating
    from curewindow.heating.plan import as_opened

    task = problem.tasks[placed.task]
    job = next(each for each in facts.work.job if each.name == task.job)
    space = facts.boat.find_space(task.space or "")
    assert space is not None
    start = problem.slots.at(placed.start)
    coat = _coat(facts, problem, order, task, job, start)
    wet_near = burning_near(facts, space)

    level = task.modes[placed.mode].level_c

    def room() -> Room | None:
        found = room_of(facts, space, from_now(facts, job))
        if found is None:
            return None
        return replace(found, routine_c=_with_held(found.routine_c, found.times, held))

    opened = _opened(given, job, task, start, level, bare=coat.bare_wood)

    def made(here: Room | None, first: Choice | None) -> PlannedKept:
        # As warm as the order has it, by which what follows was reckoned; else otherwise; else
        # by the very run that opened the start, or one a little stronger.
        ways = ((level, None),) if roughly else ((level, None), (None, None), (None, first))
        for setpoint_c, of_tables in ways:
            found = plan_heating(
                facts.boat,
                space,
                coat,
                here,
                setpoint_c=setpoint_c,
                wet_near=wet_near,
                first=of_tables,
            )
            if found.plan.status == "possible" or (first is None and setpoint_c is None):
                break
        return PlannedKept.of(found)

    key = (
        facts_key(facts, job.name),
        (task.step, task.coat),
        start,
        level,
        opened,
        None if coat.below is None else (coat.below.first_stroke, coat.below.last_stroke),
        [(each.setpoint_c, each.light_at, each.hold_until) for each in held],
        [(film.sheet.name, film.job and film.job.name, film.share) for film in wet_near],
        from_now(facts, job),
    )

    def proved() -> PlannedKept:
        here = room()
        first = _in_room(opened, here)
        found = None
        if roughly and here is not None and first is not None:
            found = as_opened(coat, here, first, space.heating)
        return made(here, first) if found is None else PlannedKept.of(Planned(found))

    name = "planned roughly" if roughly else "planned"
    planned = kept_or_made(name_of(name, key), PlannedKept, proved)
    if planned.plan.status != "possible":
        return None
    if not closer:
        return _on_top(facts, job, space, planned.plan, held)

    def looked() -> HeatPlan:
        here = room()
        assert here is not None  # else there were no run
        return look_closer(coat, here, planned.planned(), other_ways=False)

    told = kept_or_made(name_of("planned closer", key), HeatPlan, looked)
    return _on_top(facts, job, space, told, held)


def _on_top(
    facts: Situation, job: Job, space: Space, plan: HeatPlan, held: list[HeatPlan]
) -> HeatPlan:
    """A run that follows others in its space, with the heat it takes on top of theirs."""
    from curewindow.heating.plan import kwh_between  # most plans heat nothing
    from curewindow.heating.room import routine_heat_w

    assert plan.light_at is not None
    assert plan.hold_until is not None
    assert plan.use is not None
    ends = [each.hold_until for each in held if each.hold_until is not None]
    if not any(end > plan.light_at for end in ends):
        return plan
    room = room_of(facts, space, from_now(facts, job))
    assert room is not None  # else there were no run
    begin, end = np.searchsorted(room.times, [utc64(plan.light_at), utc64(plan.hold_until)])
    usual = kwh_between(room, routine_heat_w(room), int(begin), int(end))
    theirs = max(plan.routine_kwh - usual, 0.0)
    use = fuel_use(max(plan.use.energy_kwh - theirs, 0.0), space.heating)
    share = min(usual / max(use.energy_kwh, 1e-9), 1.0)
    verdict = plan.verdict.changed(cost=use.cost, fuel_amount=use.amount, share=share)
    told = {"use": use, "routine_kwh": round(usual, 2), "verdict": verdict}
    return plan.model_copy(update=told)


@dataclass(frozen=True, slots=True)
class Opened:
    """The run of a start that heat opens, as a plan's tables have it."""

    setpoint_c: float
    light: datetime
    start: datetime
    end: datetime
    dry: datetime | None
    energy_kwh: float
    vents: Ventilation


def _opened(
    given: Given, job: Job, task: Task, start: datetime, level: float | None, *, bare: bool
) -> Opened | None:
    """The run an order's start was opened by; None: it has none of its own."""
    if given.near is None or level is None:
        return None
    found = given.near.heated(job, task.step, bare)
    if found is None:
        return None
    times = found.series.times
    rows = np.flatnonzero((times[found.start] == utc64(start)) & (found.setpoint_c == level))
    if not rows.size:
        return None
    row = int(rows[0])

    def at(point: int) -> datetime:
        return at_index(found.series, min(point, len(times) - 1))

    dry = int(found.dry[row])
    return Opened(
        level,
        at(int(found.light[row])),
        start,
        at(int(found.end[row])),
        None if dry < 0 else at(dry),
        float(found.energy_kwh[row]),
        found.vents[row],
    )


def _in_room(opened: Opened | None, room: Room | None) -> Choice | None:
    """The same in grid points of a room; None where there is none, or it is not known that long."""
    if opened is None or room is None:
        return None

    def point(moment: datetime) -> int:
        return int(np.searchsorted(room.times, utc64(moment)))

    end = point(opened.end)
    if end >= room.points:
        return None
    return Choice(
        setpoint_c=opened.setpoint_c,
        light=point(opened.light),
        start=point(opened.start),
        end=end,
        dry=-1 if opened.dry is None else min(point(opened.dry), end),
        ventilation=opened.vents,
        power_w=room.power_w,
        energy_kwh=opened.energy_kwh,
    )


def _held_on(facts: Situation, problem: Problem, placed: Placed, plan: HeatPlan) -> HeatPlan:
    """The run held on until the film is hard, where the order counts on that to gain days."""
    task = problem.tasks[placed.task]
    mode = task.modes[placed.mode]
    k = mode.place(placed.start)
    assert k is not None
    assert plan.hold_until is not None
    assert plan.use is not None
    until = problem.slots.at(int(mode.warm_until[k]))
    heater = problem.heater_of(task.space)
    space = facts.boat.find_space(task.space or "")
    if mode.warm_until[k] <= mode.set_until[k] or until <= plan.hold_until or heater is None:
        return plan
    kwh = heater.kwh.get((task.space or "", mode.level_c or 0.0))
    first = problem.slots.at_or_after(plan.hold_until)
    more = 0.0 if kwh is None else float(kwh[first : int(mode.warm_until[k])].sum())
    use = fuel_use(plan.use.energy_kwh + more, None if space is None else space.heating)
    verdict = plan.verdict.changed(until=until, cost=use.cost, fuel_amount=use.amount)
    cautions = plan.cautions
    if not any(each.kind == "heat unattended" for each in cautions):
        # It burns on through nights nobody had it burn through till then.
        cautions = gravest_first([*cautions, finding("heat unattended")])
    job = next(each for each in facts.work.job if each.name == task.job)
    held = {
        "hold_until": until,
        "use": use,
        "milestone": _hard_of(facts, plan, task),
        "cautions": cautions,
        "notes": [*turned_down(facts, job, until), *_but(plan.notes, "nobody to turn it down")],
    }
    return plan.model_copy(update={**held, "verdict": verdict})


def _but(notes: list[Finding], kind: str) -> list[Finding]:
    return [each for each in notes if each.kind != kind]


def _hard_of(facts: Situation, plan: HeatPlan, task: Task) -> str | None:
    """The milestone at which the film is hard, by its sheet."""
    cure = facts.sheet(task.sheet or "").sheet.cure
    return next((name for name in HARD if cure.hours(name) is not None), plan.milestone)


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
    on = next_of(job, facts.coats, facts.dones)
    last = None if on is None else on.last_coat
    progress = Progress(task.step, job.step[task.step - 1], task.coat, last)
    before = _film_before(problem, order, task)
    if before is not None:
        below = _below(facts, problem, before, task, job)
    else:
        below = below_of(facts, job, progress)
    return replace(
        coat_ahead(facts, job, progress, bare_wood=last is None and before is None),
        earliest=start,
        latest=start + _A_SECOND,
        below=below,
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
