"""What the solver is asked for, and its answer read as an order; what an order is worth."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from threading import Event, Thread
from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np

from curewindow.order.aims import Aim, missed_minutes
from curewindow.order.axis import Model
from curewindow.order.calm import calm_of, moved_from
from curewindow.order.costs import KWH_STEPS, fuel_of
from curewindow.order.delay import COST_STEPS, MOVED, SANDING, delay_of, delay_weights
from curewindow.order.problem import Order, Placed, Problem
from curewindow.order.quick import finish_of
from curewindow.order.work import PER_SECOND, Work

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

T = TypeVar("T")

SEED: Final = 7
# Calm: a task on another day than yesterday's plan had it, a deadline run close, a half-day,
# a week a job is still open: no half-day is saved by leaving things undone for months.
_MOVED, _TIGHT, _HALF_DAY, _WEEK = 5, 2, 1, 1


def ask(
    model: Model,
    work: Work,
    most: float,
    watch: cp_model.CpSolverSolutionCallback | None = None,
    *,
    tighten: bool = False,
) -> tuple[cp_model.CpSolver, cp_model.CpSolverStatus]:
    """Have a model solved.

    One worker: of more the quicker one decides, and which that is is the machine's affair.
    In a thread of its own: an interrupt then reaches who waits, at once, and stops the search;
    the solver's own answer to it looks the same as its work being done.

    Parameters
    ----------
    model : Model
    work : Work
        What is done is counted there.
    most : float
        Of it so much at most.
    watch : callable, optional
    tighten : bool
        Look for more to tighten beforehand. An order's model comes tightened, and is a million
        small rules: that takes several times what the search then takes.

    Raises
    ------
    KeyboardInterrupt
        Whoever waits has waited enough.
    ValueError
        The model is not valid.
    """
    from ortools.sat.python import cp_model

    search = cp_model.CpSolver()
    search.parameters.num_workers = 1
    search.parameters.random_seed = SEED
    if not tighten:
        search.parameters.cp_model_presolve = False
        search.parameters.cp_model_probing_level = 0
        search.parameters.symmetry_level = 0
    search.parameters.catch_sigint_signal = False  # seen to here
    search.parameters.max_deterministic_time = PER_SECOND * max(0.0, min(most, work.left))
    search.parameters.max_time_in_seconds = work.wall_s
    status = _beside(lambda: search.solve(model.cp, watch), search.stop_search)
    if status == cp_model.MODEL_INVALID:
        raise ValueError(f"the constraint model is not valid: {model.cp.validate()}")
    work.spend(search.response_proto.deterministic_time, rules=len(model.cp.proto.constraints))
    work.cut_short = work.cut_short or (status != cp_model.OPTIMAL and work.wall_s <= 0.0)
    return search, status


def load_solver() -> None:
    """Load the solver's library, which an interrupt amid its loading would leave broken."""
    _beside(lambda: import_module("ortools.sat.python.cp_model"), lambda: None)


def _beside(work: Callable[[], T], stop: Callable[[], None]) -> T:
    """Do what must not be broken off in a thread of its own, and wait for it.

    Parameters
    ----------
    work : callable
    stop : callable
        Asks it to end soon, for who waits was interrupted.

    Raises
    ------
    KeyboardInterrupt
        Who waits was interrupted; the work has ended by then.
    """
    answer: list[T] = []
    failed: list[BaseException] = []
    begun, done = Event(), Event()

    def do() -> None:
        begun.set()
        try:
            answer.append(work())
        except BaseException as bad:
            failed.append(bad)
        finally:
            done.set()

    try:
        Thread(target=do, name="order", daemon=True).start()
        # Not 'join': one that is interrupted takes the thread for ended, and it is not.
        done.wait()
    except KeyboardInterrupt:
        if begun.wait(1.0):  # else the interrupt came before the thread did
            while not done.wait(0.1):
                stop()  # again, should the work only just have begun
        raise
    if failed:
        raise failed[0]
    return answer[0]


def expression(model: Model, aim: Aim) -> cp_model.LinearExprT:
    """What an aim makes small."""
    if aim == "date":
        assert model.finish_day is not None
        return model.finish_day
    if aim == "cost":
        return _cost(model)
    return (
        _MOVED * sum(model.moved)
        + _TIGHT * sum(model.tight)
        + _HALF_DAY * sum(model.half_days)
        + _WEEK * sum(model.weeks)
    )


def _cost(model: Model) -> cp_model.LinearExprT:
    """Heat, and what waiting, sanding and other days are worth in heat, in 0.01 kWh."""
    per = COST_STEPS // KWH_STEPS
    waiting, ready = delay_weights(model.problem)
    return (
        sum(per * cost * literal for literal, cost in model.fuel)
        + sum(SANDING * minutes * literal for literal, minutes in model.missed)
        + MOVED * sum(model.moved)
        + sum(
            (one + other) * start
            for one, other, start in zip(waiting, ready, model.start, strict=True)
            if one + other
        )
    )


def cost_of(problem: Problem, order: Order, yesterday: Mapping[int, int]) -> int:
    """The same of an order."""
    heat = COST_STEPS // KWH_STEPS * fuel_of(problem, order)
    sanded = SANDING * missed_minutes(problem, order)
    moved = MOVED * moved_from(problem, order, yesterday)
    return heat + sanded + moved + delay_of(problem, order)


def worth(
    problem: Problem,
    order: Order,
    aim: Aim,
    yesterday: Mapping[int, int],
    in_time: bool = False,
) -> int:
    """What an order is worth for an aim, the less the better.

    Parameters
    ----------
    problem : Problem
    order : Order
    aim : str
    yesterday : mapping of int to int
        Slots of an earlier plan.
    in_time : bool
        Of the date, the days it is too late: being done by it is enough.

    Returns
    -------
    int
        As in :class:`curewindow.order.aims.Step`.
    """
    if aim == "date":
        day, done_by = problem.slots.day_of(order.finish), problem.done_by
        if in_time and done_by is not None:
            return max(0, day - problem.slots.day_of(done_by - 1))
        return day
    if aim == "cost":
        return cost_of(problem, order, yesterday)
    return calm_points(*calm_of(problem, order, dict(yesterday)))


def calm_points(moved: int, close: int, halves: int, weeks: int) -> int:
    """Tasks moved, deadlines run close, half-days and weeks, each with its weight."""
    return _MOVED * moved + _TIGHT * close + _HALF_DAY * halves + _WEEK * weeks


def read(model: Model, values: cp_model.CpSolver | cp_model.CpSolverSolutionCallback) -> Order:
    """The order of a solution."""
    value, true = values.value, values.boolean_value
    slot_of = np.flatnonzero(model.problem.slots.aboard)
    placed = []
    for task in model.problem.tasks:
        if not true(model.done[task.number]):
            continue
        start = int(slot_of[value(model.start[task.number])])
        modes = model.mode[task.number]
        mode = next((j for j, literal in enumerate(modes) if true(literal)), 0)
        placed.append(Placed(task.number, mode, start))
    done = tuple(sorted(placed, key=lambda each: (each.start, each.task)))
    return Order(done, finish_of(model.problem, done))
