"""An order of work turned into an answer: reasons, chain, slack, fuel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any, Protocol

from curewindow.boat.joined import joined_spaces
from curewindow.cautions import cautions_for, gravest_first
from curewindow.cautions.airflow import WetFilm
from curewindow.findings import Finding, finding
from curewindow.heating.models import HeatPlan
from curewindow.order.aims import AimStep
from curewindow.order.awaited import awaited
from curewindow.order.costs import fuel_of
from curewindow.order.critical_chain import Waited, chain, waits_of
from curewindow.order.early import task_name
from curewindow.order.given import Given
from curewindow.order.plan import (
    ChainLink,
    JobSlack,
    LaterStep,
    Plan,
    PlannedStep,
    Reached,
    WaitsFor,
)
from curewindow.order.problem import Mode, Order, Placed, Problem, Task
from curewindow.order.settle import latest_starts
from curewindow.order.slots import grid_index
from curewindow.order.walk import OrderFault
from curewindow.rules.unattended import unattended_of
from curewindow.rules.vapour import LEFT_AT_TOUCH_DRY
from curewindow.wording import Wording

_CRITICAL_H = 24.0


def answer_of(
    given: Given,
    problem: Problem,
    order: Order | None,
    words: Wording,
    *,
    made_at: datetime,
    steps: tuple[AimStep, ...] = (),
    faults: list[OrderFault] | None = None,
    fixed: frozenset[int] = frozenset(),
    runs: Mapping[int, HeatPlan] | None = None,
    seconds: float = 0.0,
    notes: tuple[str, ...] = (),
) -> Plan:
    """Say all there is to say of an order of work.

    Parameters
    ----------
    given : Given
    problem : Problem
    order : Order or None
    words : Wording
    made_at : datetime
        When it was made.
    steps : tuple of AimStep
        How far each aim was brought.
    faults : list of OrderFault, optional
        What the second look found; None: there was none.
    fixed : frozenset of int
        Tasks held by the owner.
    runs : mapping of int to HeatPlan, optional
        Heater runs of tasks as the heat search found them.
    seconds : float
        It took so long.
    notes : tuple of str
    """
    # Beyond the forecast the order is one year's: it keeps the search, and is told to nobody.
    near = order is not None and order.finish <= problem.known_until
    finish = problem.slots.at(order.finish) if order is not None and near else None
    heater = problem.heaters[0] if problem.heaters else None
    runs = runs or {}
    kwh = 0.0 if order is None else _kwh(problem, order, runs)
    in_hand = None
    if finish is not None and given.work.done_by is not None:
        in_hand = (given.work.done_by - words.local(finish).date()).days
    words = replace(words, known_until=given.known_until)
    faulty = [f"{f.rule}: '{f.job}' {words.when(f.at)}: {f.text}" for f in faults or []]
    return Plan(
        boat=given.boat.name,
        time_zone=given.boat.place.time_zone,
        temperature_unit="°F" if words.fahrenheit else "°C",
        as_of=given.now,
        made_at=made_at,
        done_by=given.work.done_by,
        finish=finish,
        days_in_hand=in_hand,
        steps=[] if order is None else _steps(given, problem, order, fixed, runs),
        later=[] if order is None else _later(given, problem, order, fixed),
        chain=_chain(problem, order) if order is not None and near else [],
        jobs=_jobs(problem, order) if order is not None and near else [],
        left_out=dict(problem.left_out),
        heat_kwh=round(kwh, 1),
        fuel_amount=0.0 if heater is None else round(kwh / heater.kwh_per_unit, 1),
        fuel_unit="" if heater is None else heater.unit,
        reached=[Reached(aim=s.aim, value=s.value, bound=s.bound, proven=s.proven) for s in steps],
        verified=faults is not None and not faults,
        faults=faulty,
        known_until=given.known_until,
        seconds=round(seconds, 1),
        notes=list(dict.fromkeys([*problem.notes, *notes])),
    )


def _kwh(problem: Problem, order: Order, runs: Mapping[int, HeatPlan]) -> float:
    """Heat beyond the routine's: of the runs as they were found, of the rest in blocks."""
    rest = Order(tuple(each for each in order.placed if each.task not in runs), order.finish)
    near = sum(max(run.use.energy_kwh - run.routine_kwh, 0.0) for run in runs.values() if run.use)
    return fuel_of(problem, rest) / 10.0 + near


def _steps(
    given: Given,
    problem: Problem,
    order: Order,
    fixed: frozenset[int],
    runs: Mapping[int, HeatPlan],
) -> list[PlannedStep]:
    latest = latest_starts(problem, order)
    # Sanding goes with its coat: beyond the forecast neither has a time.
    with_later = {problem.sanding_before(problem.tasks[each.task]) for each in _far(problem, order)}
    # How far a step may slip is told where the end is forecast; beyond, the seasons tell.
    near = order.finish <= problem.known_until
    found = []
    for placed in order.placed:
        task = problem.tasks[placed.task]
        if placed.start >= problem.known_until or placed.task in with_later:
            continue
        mode = task.modes[placed.mode]
        k = mode.place(placed.start)
        assert k is not None
        waits = waits_of(problem, order, placed)
        slack = (latest[placed.task] - placed.start) * problem.slots.hours
        run = runs.get(task.number)
        found.append(
            PlannedStep(
                **part_of(given, task, sanding=task.optional),
                start=problem.slots.at(placed.start),
                end=problem.slots.at(placed.start) + timedelta(hours=task.hands_h),
                hard=problem.slots.at(int(mode.hard[k])),
                setpoint_c=mode.reachable_c(k) if run is None else run.setpoint_c,
                heat_from=_heat_from(problem, mode, k) if run is None else run.light_at,
                heat_until=_heat_until(problem, mode, k) if run is None else run.hold_until,
                heat=run,
                sanding_for_missed=task.optional,
                spoilt=task.sanding_of == -1 and _lies_spoilt(given, task.job),
                sanded_for=task.coat if task.optional else None,
                must_by=_near_must_by(given, problem, order, task),
                waits_for=[_wait(problem, each) for each in waits],
                why=_why(problem, placed, waits),
                slack_h=slack if near else None,
                critical=near and slack < _CRITICAL_H,
                fixed=task.number in fixed,
                wipe_first=_wet(given, problem, task, placed),
                cautions=_dangers(given, problem, order, placed),
            )
        )
    return found


class Placeable(Protocol):
    """A coat or a sitting by its place in the work."""

    @property
    def key(self) -> str: ...
    @property
    def part(self) -> str: ...
    @property
    def job(self) -> str: ...
    @property
    def step(self) -> int: ...
    @property
    def coat(self) -> int | None: ...
    @property
    def sitting(self) -> int: ...
    @property
    def of_sittings(self) -> int: ...


def part_of(given: Given, part: Placeable, *, sanding: bool = False) -> dict[str, Any]:
    """The fields of a :class:`PartStep`, but for its dangers.

    Parameters
    ----------
    given : Given
    part : Placeable
    sanding : bool
        It is the sanding of a missed interval: nothing goes on that what is below is readied for.
    """
    job = next(each for each in given.work.job if each.name == part.job)
    step = job.step[part.step - 1]
    coated = step.sheet is not None and not sanding
    first = given.first.get((part.job, part.step), ()) if part.coat == 1 and not sanding else ()
    return {
        "key": part.key,
        "part": part.part,
        "job": part.job,
        "where": given.series[part.job].where,
        "space": given.series[part.job].space,
        "step": part.step,
        "do": "sand" if sanding else step.do,
        "product": given.sheet(step.sheet).name if step.sheet is not None and coated else None,
        "coat": part.coat if coated else None,
        "of_coats": step.coats if coated else None,
        "sitting": part.sitting,
        "of_sittings": part.of_sittings,
        "first": list(first),
        "note": step.note,
    }


def _far(problem: Problem, order: Order) -> list[Placed]:
    """What the order has beyond the forecast, but for sanding, which goes with its coat."""
    return [
        each
        for each in order.placed
        if each.start >= problem.known_until and not problem.tasks[each.task].optional
    ]


def _later(given: Given, problem: Problem, order: Order, fixed: frozenset[int]) -> list[LaterStep]:
    """What the order has beyond the forecast, in its order; the seasons tell its weeks."""
    at = {each.task: each for each in order.placed}
    found = []
    for placed in _far(problem, order):
        task = problem.tasks[placed.task]
        sanded = problem.sanding_before(task) in at
        by = _must_by(problem, order, task)
        below = next(
            (
                at[link.before]
                for link in problem.links
                if link.after == task.number and link.closes is not None and link.before in at
            ),
            None,
        )
        within = None
        if by is not None and below is not None:
            within = (by - problem.slots.at(below.start)) / timedelta(hours=1)
        found.append(
            LaterStep(
                **part_of(given, task),
                held=problem.slots.at(placed.start) if task.number in fixed else None,
                sanding_for_missed=sanded,
                spoilt=sanded and task.due is not None and _lies_spoilt(given, task.job),
                below=None if within is None or below is None else problem.tasks[below.task].coat,
                within_h=within,
                cautions=_dangers(given, problem, order, placed),
            )
        )
    return found


def _near_must_by(given: Given, problem: Problem, order: Order, task: Task) -> datetime | None:
    """By when, where that is forecast, or hangs on a coat that is on: then to the minute."""
    by = _must_by(problem, order, task)
    if by is None:
        return None
    if task.due is not None:
        on = given.stands[task.job].on
        exact = None if on is None else on.closes
        return exact if exact is not None and by == problem.slots.at(task.due) else by
    return by if by <= problem.slots.at(problem.known_until) else None


def _heat_from(problem: Problem, mode: Mode, k: int) -> datetime | None:
    return None if mode.level_c is None else problem.slots.at(int(mode.warm_from[k]))


def _heat_until(problem: Problem, mode: Mode, k: int) -> datetime | None:
    return None if mode.level_c is None else problem.slots.at(int(mode.warm_until[k]))


def _lies_spoilt(given: Given, job: str) -> bool:
    on = given.stands[job].on
    return on is not None and on.spoilt


def _dangers(given: Given, problem: Problem, order: Order, placed: Placed) -> list[Finding]:
    """What can hurt someone in a step: its product's, and of films still wet near.

    Of the plan, and of the record as long as those give off vapour: from when its heat is lit on.
    """
    task = problem.tasks[placed.task]
    job = next(each for each in given.work.job if each.name == task.job)
    space = None if job.space is None else given.boat.find_space(job.space)
    mode = task.modes[placed.mode]
    k = mode.place(placed.start)
    assert k is not None
    heated = mode.level_c is not None
    begins = problem.slots.at(int(mode.warm_from[k]) if heated else placed.start)
    films: list[WetFilm] = list(given.wet_near(space, begins))
    near = set() if space is None else {each.name for each in joined_spaces(given.boat, space)}
    ends = placed.start + task.hands
    for other in order.placed:
        wet = problem.tasks[other.task]
        of = wet.modes[other.mode]
        at = of.place(other.start)
        assert at is not None
        on = wet.sheet is not None and wet.space in near and other.start < ends
        if on and wet is not task and of.hard[at] > placed.start:
            assert wet.sheet is not None
            share = 1.0 if of.set_until[at] > placed.start else LEFT_AT_TOUCH_DRY
            its = next(each for each in given.work.job if each.name == wet.job)
            films.append(WetFilm(given.sheet(wet.sheet), its, share))
    sheets = [] if task.sheet is None else [given.sheet(task.sheet)]
    step = job.step[task.step - 1]
    if task.optional:
        # What is done then is to sand the film, whatever the step puts on after.
        step = step.model_copy(update={"do": "sand"})
    lit = space.heating if heated and space is not None else None
    found = cautions_for(sheets, job, space, given.boat, lit, step=step, films=films)
    if lit is None or space is None:
        return gravest_first(found)
    if unattended_of(given.boat, lit) == "never":
        return gravest_first(
            [*found, finding("never left alone", heater=lit.kind, space=space.name)]
        )
    # A plan lights heaters the evening before and holds them through the night.
    return gravest_first([*found, finding("heat unattended")])


def _wet(given: Given, problem: Problem, task: Task, placed: Placed) -> bool:
    """Does water lie on the surface a film is to go on?"""
    lies = given.wet.get(task.job)
    if task.sheet is None or lies is None:
        return False
    begin, per = grid_index(problem.slots, given.series[task.job].times)
    return bool(lies[begin + per * placed.start])


def _must_by(problem: Problem, order: Order, task: Task) -> datetime | None:
    at = {each.task: each for each in order.placed}
    ends = [] if task.due is None or problem.sanding_on(task) in at else [task.due]
    for link in problem.links:
        first = at.get(link.before)
        if link.after != task.number or link.closes is None or first is None:
            continue
        if link.missed == "as is" or (link.sanding is not None and link.sanding in at):
            continue
        k = problem.tasks[link.before].modes[first.mode].place(first.start)
        assert k is not None
        end = int(link.closes[first.mode][k])
        if end < problem.slots.count:
            ends.append(end)
    return problem.slots.at(min(ends)) if ends else None


def _wait(problem: Problem, each: Waited) -> WaitsFor:
    return WaitsFor(kind=each.kind, what=_what(problem, each), until=problem.slots.at(each.until))


def _what(problem: Problem, each: Waited) -> Finding:
    if each.bound is not None:
        return awaited(each.bound)
    states = {"cure": "hardens", "work before": "done"}
    part = None if each.task is None else task_name(problem.tasks[each.task])
    return finding("awaited", state=states.get(each.kind, each.kind), part=part)


def _why(problem: Problem, placed: Placed, waits: list[Waited]) -> Finding:
    if not waits or waits[0].until <= 0:
        return finding("begins when", state="at once")
    last = waits[0]
    state = "ends then" if last.until >= placed.start - 1 else "ended before"
    if last.kind == "choice":
        held = next((w for w in waits[1:] if w.until > 0), None)
        if held is None:
            return finding("begins when", state="any time")
        state, last = "choice", held
    at = problem.slots.at(last.until)
    return finding("begins when", state=state, at=at, because=[_what(problem, last)])


def _chain(problem: Problem, order: Order) -> list[ChainLink]:
    links = []
    for placed, waited in chain(problem, order):
        task = problem.tasks[placed.task]
        if waited is None:
            continue
        begins, ends = problem.slots.at(waited.since), problem.slots.at(placed.start)
        links.append(
            ChainLink(
                key=task.key,
                said=finding(
                    "sets end",
                    part=task_name(task),
                    state="waits",
                    because=[_what(problem, waited)],
                ),
                kind=waited.kind,
                begins=begins,
                ends=ends,
                days=round((ends - begins).total_seconds() / 86400.0, 1),
            )
        )
    if order.placed:
        last = max(order.placed, key=lambda each: _hard(problem, each))
        task = problem.tasks[last.task]
        end = problem.slots.at(_hard(problem, last))
        begins = problem.slots.at(last.start) + timedelta(hours=task.hands_h)
        days = round((end - begins).total_seconds() / 86400.0, 1)
        if days >= 0.1:
            links.append(
                ChainLink(
                    key=task.key,
                    said=finding("sets end", part=task_name(task), state="hardens"),
                    kind="cure",
                    begins=begins,
                    ends=end,
                    days=days,
                )
            )
    return links


def _hard(problem: Problem, each: Placed) -> int:
    mode = problem.tasks[each.task].modes[each.mode]
    k = mode.place(each.start)
    assert k is not None
    return int(mode.hard[k])


def _jobs(problem: Problem, order: Order) -> list[JobSlack]:
    latest = latest_starts(problem, order)
    found = []
    for job in dict.fromkeys(problem.tasks[each.task].job for each in order.placed):
        own = [each for each in order.placed if problem.tasks[each.task].job == job]
        slack = min(latest[each.task] - each.start for each in own) * problem.slots.hours
        found.append(
            JobSlack(
                job=job,
                first=problem.slots.at(own[0].start),
                last=problem.slots.at(max(_hard(problem, each) for each in own)),
                slack_days=round(slack / 24.0, 1),
            )
        )
    return found


def now_utc() -> datetime:
    """The moment by the clock, aware UTC."""
    return datetime.now(UTC).replace(microsecond=0)
