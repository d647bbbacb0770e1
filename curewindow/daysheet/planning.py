"""An order of work made, looked at a second time, told and kept."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path

from curewindow.daysheet.decide import decide_now
from curewindow.daysheet.far import seasons_for, with_seasons
from curewindow.daysheet.hardened import idle_runs, with_hardening
from curewindow.daysheet.ordering import facts_and_given
from curewindow.daysheet.outlook import runs_key
from curewindow.daysheet.secondlook import look_again
from curewindow.daysheet.today import StatedToday, as_stated, stated_soon
from curewindow.heating import HeatPlan
from curewindow.judgement.assumed import assumed_runs, with_runs
from curewindow.judgement.nearheat import near_runs
from curewindow.order.aims import AIMS, Aim, AimStep, Progress, Solved
from curewindow.order.answer import answer_of, now_utc
from curewindow.order.asking import worth
from curewindow.order.build import build_problem
from curewindow.order.conflict import conflict, held_too_soon
from curewindow.order.fewer import that_fits
from curewindow.order.given import Given
from curewindow.order.kept import KeptPlan, key_of, load, store
from curewindow.order.mend import as_before
from curewindow.order.plan import Conflict, Plan
from curewindow.order.problem import Order, Problem
from curewindow.order.settle import settled
from curewindow.order.solve import solve
from curewindow.order.walk import OrderFault
from curewindow.order.without import Ban, without
from curewindow.situation import Situation, read_situation
from curewindow.voice.plan import CUT_SHORT
from curewindow.weather.forecast import Forecast

SECONDS = 30.0
ROUGH_S = 2.0
"""So much each search until the second look finds nothing any more; then as much as there is."""
ROUNDS = 14
"""Searches at most, each without the days on which the second look found a coat wanting."""


_BY_CONDITIONS = ("limits", "recoat", "drying", "dust", "cured", "sleep")


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A plan with what it was made from.

    Attributes
    ----------
    plan : Plan
    problem : Problem
    given : Given
    solved : Solved
    told : Told or None
        Starts the day sheet tells; None where nothing is left to do.
    pins : dict of str to datetime
        Starts that were held, by the key of a step.
    """

    plan: Plan
    problem: Problem
    given: Given
    solved: Solved
    told: StatedToday | None = None
    pins: dict[str, datetime] = field(default_factory=dict)

    @property
    def taken_as_lit(self) -> dict[str, HeatPlan]:
        """Heater runs over films that are on, by the job that waits for them."""
        return {
            step.job: step.heat_before for step in self.plan.steps if step.heat_before is not None
        }


def make_plan(
    folder: Path,
    now: datetime,
    *,
    days: float | None = None,
    seconds: float = SECONDS,
    in_time: bool = False,
    forecast: Forecast | None = None,
    fixed: dict[str, datetime] | None = None,
    keep: bool = True,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    on_seasons: Callable[[], None] | None = None,
    seasons: bool = True,
) -> Made:
    """Make an order of work for a boat.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    days : float, optional
        How far to look; else a fortnight beyond the date, 45 to 180 days.
    seconds : float
        How hard to look: work as two idle cores do in so long.
    in_time : bool
        Being done by the date is enough; else as soon as can be.
    forecast : Forecast, optional
        Weather at hand; else it is got as boat.toml says.
    fixed : dict of str to datetime, optional
        Starts that are held, by the key of a step; else those kept in the folder.
    keep : bool
        Keep the plan in the folder.
    progress, stop : callable, optional
        As for :func:`curewindow.order.solve.solve`.
    on_seasons : callable, optional
        Called before the work is run through past years, which takes seconds.
    seasons : bool
        Run it through past years; without, nothing is told of the weeks beyond the forecast.

    Raises
    ------
    CurewindowError
        A hand-written file, the weather or the record cannot be used.
    ValueError
        ``now`` is not aware.
    """
    if now.tzinfo is None:
        raise ValueError(f"now must be aware of its time zone, got {now.isoformat()}")
    begun = time.monotonic()
    kept = load(folder)
    held = kept.fixed if fixed is None else fixed
    near = read_situation(folder, now.astimezone(UTC), forecast)
    asked = (seconds, days, in_time, sorted(held.items()))
    searched = runs_key(folder, now, near.forecast, asked)

    def made_with(runs: dict[str, HeatPlan]) -> Made:
        warm = with_runs(near, runs)
        facts, given = facts_and_given(
            folder, now.astimezone(UTC), days=days, forecast=forecast, lit=runs, near=warm
        )
        return _best(
            facts,
            given,
            kept,
            held,
            seconds,
            begun,
            near=warm,
            go_soon=stated_soon(warm, given.known_until),
            unchanged=kept.searched == searched,
            in_time=in_time,
            progress=progress,
            stop=stop,
        )

    lit = assumed_runs(near)
    made = made_with(lit)
    if made.plan.conflict is None and (idle := idle_runs(made.plan, lit)):
        # Nobody lights a heater for what begins no sooner: it is reckoned without.
        lit = {job: run for job, run in lit.items() if job not in idle}
        made = made_with(lit)
    if made.problem is not None and made.plan.conflict is None:
        made = replace(made, plan=with_hardening(made.plan, made.problem, lit))
    beyond = seasons and made.given.known_until < made.given.until
    if made.problem is not None and made.plan.conflict is None and beyond:
        if on_seasons is not None:
            on_seasons()
        made = replace(made, plan=_far(folder, now, made, forecast, keep=keep))
    if made.problem is not None:
        decide = decide_now(made.plan, made.given)
        made = replace(made, plan=made.plan.model_copy(update={"decide_now": decide}))
    # What cannot all be kept is no plan: the last one stays.
    if keep and (made.plan.conflict is None or kept.plan is None):
        placed = _placed_later(made)
        key = key_of(folder, ())
        if made.solved.stopped or made.solved.cut_short:
            searched = ""
        kept = replace(
            kept, plan=made.plan, key=key, fixed=held, placed=placed, warmed=_warmed(made)
        )
        store(folder, replace(kept, searched=searched))
    return made


def _far(folder: Path, now: datetime, made: Made, forecast: Forecast | None, *, keep: bool) -> Plan:
    """The plan with what the seasons tell of the end and of the weeks beyond the forecast."""
    outlook, why = seasons_for(folder, now, made.plan, forecast, keep=keep)
    if outlook is not None:
        return with_seasons(made.plan, made.given, outlook)
    if made.plan.later or made.plan.left_out:
        return made.plan.model_copy(update={"notes": [*made.plan.notes, why]})
    return made.plan


def _placed_later(made: Made) -> dict[str, datetime]:
    """Where the search has what lies beyond the forecast."""
    problem, order = made.problem, made.solved.order
    if problem is None or order is None:
        return {}
    return {
        problem.tasks[each.task].key: problem.slots.at(each.start)
        for each in order.placed
        if each.start >= problem.known_until
    }


def _warmed(made: Made) -> dict[str, tuple[float | None, datetime, datetime]]:
    """What the search holds for each step [°C], from and until when; None: nothing."""
    problem, order = made.problem, made.solved.order
    found: dict[str, tuple[float | None, datetime, datetime]] = {}
    for each in [] if problem is None or order is None else order.placed:
        assert problem is not None
        task = problem.tasks[each.task]
        mode = task.modes[each.mode]
        k = mode.place(each.start)
        assert k is not None
        since, until = (problem.slots.at(int(of[k])) for of in (mode.warm_from, mode.warm_until))
        found[task.key] = (mode.level_c, since, until)
    return found


def _in_slots(problem: Problem, span: tuple[datetime, datetime]) -> tuple[int, int]:
    """A stretch of time in slots."""
    return problem.slots.at_or_after(span[0]), problem.slots.at_or_after(span[1])


def _best(
    facts: Situation,
    given: Given,
    kept: KeptPlan,
    held: dict[str, datetime],
    seconds: float,
    begun: float,
    *,
    near: Situation,
    go_soon: StatedToday,
    unchanged: bool,
    in_time: bool,
    progress: Progress | None,
    stop: Callable[[], bool] | None,
    problem: Problem | None = None,
) -> Made:
    if not given.series or all(stand.step is None for stand in given.stands.values()):
        return _nothing_left(facts, given)
    if problem is None:
        problem = problem_as_stated(given, go_soon)
    if in_time:
        problem = replace(problem, day_kwh=0.0)  # whoever only wants to be in time may wait
    pins, gone = pins_of(problem, held)
    before = _slots_of(problem, kept)
    words = replace(facts.words, known_until=given.known_until)
    if (plain := held_too_soon(problem, words, pins)) is not None:
        plan = answer_of(given, problem, None, facts.words, made_at=now_utc())
        plan = plan.model_copy(update={"conflict": Conflict(sentences=plain)})
        return Made(plan, problem, given, Solved(None, (), False), go_soon, held)
    bans: set[Ban] = set()
    earlier: Solved | None = None
    order: Order | None = None
    faults: list[OrderFault] | None = None
    runs: dict[int, HeatPlan] = {}
    sound: tuple[Solved, Order, dict[int, HeatPlan], bool] | None = None
    did, cut_short, same, stays = 0.0, False, False, False
    warmed = {
        task.number: (kept.warmed[task.key][0], *_in_slots(problem, kept.warmed[task.key][1:]))
        for task in problem.tasks
        if task.key in kept.warmed
    }
    stood = as_before(problem, before, pins, warmed) if before else None
    if stood is not None:
        # The search begins where the last plan was, and that stays unless there is a better one.
        earlier = Solved(stood, (), None)
        same = unchanged and _ahead(kept, facts.now)
        faults, runs = look_again(facts, given, problem, stood, near, roughly=not same)
        bans, order = _bans(problem, stood, faults), stood
        solved = Solved(stood, _as_reached(kept), True)
        if faults:
            stood = None
    same = same and stood is not None
    # Calm comes last, once the second look finds nothing: it costs most and changes least.
    aims, roughly = AIMS[:-1], False
    for _ in range(0 if same else ROUNDS):
        left = without(problem, bans)
        solved = solve(
            left,
            seconds=max(ROUGH_S, seconds - did) if aims == AIMS else ROUGH_S,
            pins=pins,
            yesterday=before,
            in_time=in_time,
            progress=progress,
            stop=stop,
            aims=aims,
            earlier=earlier,
        )
        did += solved.work
        cut_short = cut_short or solved.cut_short
        if solved.order is None:
            if earlier is not None:
                solved = earlier  # with fewer starts nothing fits: the faults are told
            break
        order = solved.order
        order = settled(left, order, before, set(pins))
        roughly = aims != AIMS
        faults, runs = look_again(facts, given, left, order, near, roughly=roughly)
        if not faults:
            sound = (solved, order, runs, roughly)
        more = _bans(problem, order, faults) - bans
        if solved.stopped or (not more and aims == AIMS):
            break
        if not more:
            if stood is not None and not _better(problem, order, stood, aims, before, in_time):
                stays = True
                break
            aims = AIMS
        bans |= more
        earlier = solved
    if faults and sound is not None and not solved.stopped:
        # A calmer order, but one that does not hold: the last that did.
        (solved, order, runs, roughly), faults = sound, []
    if order is None and not held and not solved.stopped and (fits := that_fits(problem)):
        # What does not fit is left out and named, the rest is planned.
        return _best(
            facts,
            given,
            kept,
            held,
            seconds,
            begun,
            near=near,
            go_soon=go_soon,
            unchanged=unchanged,
            in_time=in_time,
            progress=progress,
            stop=stop,
            problem=fits,
        )
    if stood is not None and order is not None and not same:
        stays = stays or bool(faults)
        stays = stays or not _better(problem, order, stood, AIMS, before, in_time)
        of_stood = look_again(facts, given, problem, stood, near) if stays else None
        if of_stood is not None and not of_stood[0]:
            there = {aim: worth(problem, stood, aim, before, in_time) for aim in AIMS}
            steps = [
                replace(
                    s,
                    value=there[s.aim],
                    bound=min(s.bound, there[s.aim]),
                    proven=s.bound >= there[s.aim],
                )
                for s in solved.steps
            ]
            solved = replace(solved, steps=tuple(steps))
            order, (faults, runs) = stood, of_stood
            roughly = False
    if roughly and order is not None and not faults:
        faults, runs = look_again(facts, given, problem, order, near)
    if order is not None and runs:
        runs = near_runs(near, given, problem, order, closer=True)
    notes = [
        f"'{key}' is fixed but no longer in the work: 'curewindow plan --free'" for key in gone
    ]
    if cut_short:
        notes.append(CUT_SHORT)
    plan = answer_of(
        given,
        problem,
        order,
        facts.words,
        made_at=now_utc(),
        steps=solved.steps,
        faults=faults,
        fixed=frozenset(pins),
        runs=runs,
        seconds=time.monotonic() - begun,
        notes=tuple(notes),
    )
    if order is None and problem.tasks:
        sentences = conflict(problem, words, pins=pins)
        if sentences is None:
            sentences = ["no order was found: have it look harder (--seconds)"]
        plan = plan.model_copy(update={"conflict": Conflict(sentences=sentences)})
    solved = replace(solved, order=order, cut_short=cut_short)
    return Made(plan, problem, given, solved, go_soon, held)


def _better(
    problem: Problem,
    order: Order,
    other: Order,
    aims: tuple[Aim, ...],
    before: dict[int, int],
    in_time: bool,
) -> bool:
    """Is an order worth more than another, one aim after the other?"""

    def worth_of(one: Order) -> list[int]:
        return [worth(problem, one, aim, before, in_time) for aim in aims]

    return worth_of(order) < worth_of(other)


def _ahead(kept: KeptPlan, now: datetime) -> bool:
    """Is nothing of a kept plan to have been begun already?"""
    return kept.plan is not None and all(step.start >= now for step in kept.plan.steps)


def _as_reached(kept: KeptPlan) -> tuple[AimStep, ...]:
    """How far the search of a kept plan brought each aim."""
    reached = [] if kept.plan is None else kept.plan.reached
    return tuple(AimStep(each.aim, each.value, each.bound, each.proven, 0.0) for each in reached)


def problem_as_stated(given: Given, go_soon: StatedToday) -> Problem:
    """The problem with those starts the day sheet tells; a job it leaves none is left out."""
    problem = as_stated(build_problem(given), go_soon)
    if nowhere := _without_a_start(problem):
        given = replace(given, refused={**given.refused, **nowhere})
        problem = as_stated(build_problem(given), go_soon)
    return problem


def _without_a_start(problem: Problem) -> dict[tuple[str, str], str]:
    """Jobs and sheets of next coats that no start is left for."""
    return {
        (task.job, task.sheet): "no start within the weather looked at: the day sheet tells none"
        for task in problem.tasks
        if task.sheet is not None
        and not task.optional
        and not any(mode.starts.size for mode in task.modes)
    }


def _bans(problem: Problem, order: Order, faults: list[OrderFault]) -> set[Ban]:
    """Days of coats whose conditions are not what was reckoned with."""
    found: set[Ban] = set()
    for each in order.placed:
        task = problem.tasks[each.task]
        start, day = problem.slots.at(each.start), problem.slots.day_of(each.start)
        for fault in faults:
            if (fault.job, fault.at) != (task.job, start) or fault.rule not in _BY_CONDITIONS:
                continue
            found.add((task.number, each.mode, day))
            if fault.rule == "limits":
                # What is wrong with that day is wrong for every coat of the step.
                found |= {
                    (other.number, each.mode, day)
                    for other in problem.tasks
                    if (other.job, other.step, other.sheet) == (task.job, task.step, task.sheet)
                    and len(other.modes) == len(task.modes)
                }
    return found


def _nothing_left(facts: Situation, given: Given) -> Made:
    plan = Plan(
        boat=facts.boat.name,
        time_zone=facts.boat.place.time_zone,
        temperature_unit="°F" if facts.words.fahrenheit else "°C",
        as_of=facts.now,
        made_at=now_utc(),
        done_by=facts.work.done_by,
        verified=True,
        notes=["everything on the work list is done"],
    )
    return Made(plan, None, given, Solved(Order((), 0), (), True))  # type: ignore[arg-type]


def pins_of(problem: Problem, held: dict[str, datetime]) -> tuple[dict[int, int], list[str]]:
    """Slots of the tasks that are held; keys of those that are not in the work any more."""
    by_key = {task.key: task.number for task in problem.tasks}
    pins: dict[int, int] = {}
    gone: list[str] = []
    for key, when in held.items():
        if key not in by_key:
            gone.append(key)
            continue
        slot = problem.slots.at_or_after(when)
        if slot >= 0:
            pins[by_key[key]] = slot
    return pins, gone


def _slots_of(problem: Problem, kept: KeptPlan) -> dict[int, int]:
    """Where an earlier plan had each task that is still to be done."""
    if kept.plan is None:
        return {}
    by_key = {task.key: task.number for task in problem.tasks}
    had = {**kept.placed, **{step.key: step.start for step in kept.plan.steps}}
    return {
        by_key[key]: problem.slots.at_or_after(start) for key, start in had.items() if key in by_key
    }
