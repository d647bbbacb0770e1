"""One aim after the other on one model, each held while the next is sought."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from curewindow.order.aims import Aim, Progress, Solved, Step, missed_minutes
from curewindow.order.calm import calm_of
from curewindow.order.costs import fuel_of
from curewindow.order.early import earliest_starts, least_day
from curewindow.order.model import Model, hint
from curewindow.order.problem import Order, Placed
from curewindow.order.quick import finish_of

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

SEED = 7
CALM_S, CALM_SHARE = 8.0, 0.5
"""The fewest half-days are packing, hard to prove: so long, or so much of the time given."""
SOONER_S = 4.0
"""For putting nothing off that need not be: of equally good orders the soonest."""
# Shares of the time there is, for each aim; what one leaves over the next may have.
_SHARE: dict[Aim, float] = {"date": 0.6, "missed": 0.5, "fuel": 0.6, "calm": 1.0}
# Calm: a task on another day than yesterday's plan had it, a deadline run close, a half-day,
# a week a job is still open: no half-day is saved by leaving things undone for months.
_MOVED, _TIGHT, _HALF_DAY, _WEEK = 5, 2, 1, 1


class Search:
    """One aim after the other on one model."""

    def __init__(
        self,
        model: Model,
        quick: Order | None,
        begun: float,
        seconds: float,
        progress: Progress | None,
        stop: Callable[[], bool] | None,
        workers: int,
        first_seconds: float | None,
        yesterday: dict[int, int],
    ) -> None:
        self._yesterday = yesterday
        self.earlier: Solved | None = None
        self._least = least_day(model.problem, earliest_starts(model.problem))
        self.model, self.best, self._begun, self._seconds = model, quick, begun, seconds
        self._progress, self._stop, self._workers = progress, stop, workers
        self.steps: list[Step] = []
        self.possible: bool | None = True if quick is not None else None
        self.first_seconds = first_seconds
        self.stopped = False

    def reach(self, aim: Aim, *, in_time: bool) -> bool:
        """Bring one aim as far as it goes; False where there is no use in going on."""
        from ortools.sat.python import cp_model

        model = self.model
        left = self._seconds - (time.monotonic() - self._begun)
        expression, low = self._expression(aim, in_time)
        low = max(low, self._known_bound(aim))
        at_hand = None if self.best is None else self._value(aim, self.best, in_time)
        begun = time.monotonic()
        if at_hand is not None and at_hand <= low:
            # Nothing can be better, and nothing has to be sought.
            self.steps.append(Step(aim, at_hand, at_hand, True, 0.0))
            if not isinstance(expression, int):
                model.cp.add(expression <= at_hand)
            return True
        if left <= 0.05 or self.stopped:
            return False
        model.cp.clear_hints()  # type: ignore[no-untyped-call]
        near = self.best
        if not self.steps and self.earlier is not None and self.earlier.order is not None:
            near = self.earlier.order
        if near is not None:
            hint(model, near.placed)
        if not isinstance(expression, int):
            model.cp.add(expression >= low)
        model.cp.minimize(expression)
        share = max(0.1, left * _SHARE[aim])
        if aim == "calm":
            share = min(share, max(CALM_S, CALM_SHARE * self._seconds))
        solver = self._solver(share)
        if aim == "calm":
            # Proven from below, by which of its points cannot all be saved together.
            solver.parameters.subsolvers.extend(["core", "default_lp"])
        watch = _watcher(self, aim)
        status = solver.solve(model.cp, watch)
        if status == cp_model.INFEASIBLE:
            self.possible = False if self.best is None else self.possible
            return False
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            if self.best is not None and at_hand is not None:
                bound = max(low, round(solver.best_objective_bound))
                self.steps.append(Step(aim, at_hand, bound, False, time.monotonic() - begun))
                model.cp.add(expression <= at_hand)
                return True
            return False
        self.possible = True
        if status == cp_model.FEASIBLE and time.monotonic() - begun < 0.95 * share:
            self.stopped = True  # by Ctrl-C, which the solver answers with the best it has
        found = _read(model, solver)
        value = self._value(aim, found, in_time)
        if at_hand is None or value <= at_hand:
            self.best = found
        else:
            value = at_hand
        bound = min(value, max(low, round(solver.best_objective_bound)))
        proven = status == cp_model.OPTIMAL or bound >= value
        self.steps.append(Step(aim, value, bound, proven, time.monotonic() - begun))
        model.cp.add(expression <= value)
        return not self.stopped

    def sooner(self) -> None:
        """Of orders that are all the best, the one that does things soonest.

        Which of them the search ends in is chance; so the same question has the same answer.
        """
        from ortools.sat.python import cp_model

        left = self._seconds - (time.monotonic() - self._begun)
        if self.best is None or self.stopped or left <= 0.05:
            return
        model = self.model
        model.cp.clear_hints()  # type: ignore[no-untyped-call]
        hint(model, self.best.placed)
        model.cp.minimize(sum(model.start))
        solver = self._solver(min(left, SOONER_S))
        if solver.solve(model.cp) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.best = _read(model, solver)

    def _solver(self, seconds: float) -> cp_model.CpSolver:
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.num_workers = self._workers
        parameters.random_seed = SEED
        # The model comes tightened; looking for more to tighten costs more than it brings.
        parameters.cp_model_probing_level = 0
        parameters.symmetry_level = 0
        parameters.max_presolve_iterations = 1
        parameters.max_time_in_seconds = seconds
        return solver

    def _known_bound(self, aim: Aim) -> int:
        """What cannot be undercut, by an earlier search with more starts to choose from.

        Of an aim that holds only as long as those before it came out the same.
        """
        if self.earlier is None:
            return 0
        for number, step in enumerate(self.earlier.steps):
            if step.aim == aim:
                return step.bound
            if number >= len(self.steps) or self.steps[number].value != step.value:
                return 0
        return 0

    def _expression(self, aim: Aim, in_time: bool) -> tuple[cp_model.LinearExprT, int]:
        """What an aim makes small, and what it cannot fall below."""
        model, problem = self.model, self.model.problem
        if aim == "date":
            assert model.finish_day is not None
            if in_time and problem.done_by is not None:
                last = problem.slots.day_of(problem.done_by - 1)
                late = model.cp.new_int_var(0, problem.slots.count, "late")
                model.cp.add(late >= model.finish_day - last)
                return late, 0
            return model.finish_day, self._least
        if aim == "missed":
            return sum(minutes * literal for literal, minutes in model.missed), 0
        if aim == "fuel":
            return sum(cost * literal for literal, cost in model.fuel), 0
        return (
            _MOVED * sum(model.moved)
            + _TIGHT * sum(model.tight)
            + _HALF_DAY * sum(model.half_days)
            + _WEEK * sum(model.weeks)
        ), 0

    def _value(self, aim: Aim, order: Order, in_time: bool) -> int:
        """What an order is worth for an aim; for fuel and calm only where it is nothing."""
        problem = self.model.problem
        if aim == "date":
            day = problem.slots.day_of(order.finish)
            if in_time and problem.done_by is not None:
                return max(0, day - problem.slots.day_of(problem.done_by - 1))
            return day
        if aim == "missed":
            return missed_minutes(problem, order)
        if aim == "fuel":
            return fuel_of(problem, order)
        moved, close, halves, weeks = calm_of(problem, order, self._yesterday)
        return _MOVED * moved + _TIGHT * close + _HALF_DAY * halves + _WEEK * weeks

    def better(self, aim: Aim, order: Order, value: int, bound: int) -> bool:
        """A better order was found; True: go on."""
        if self.first_seconds is None:
            self.first_seconds = time.monotonic() - self._begun
        self.best = order
        if self._progress is not None:
            self._progress(aim, order, value, bound)
        if self._stop is not None and self._stop():
            self.stopped = True
        return not self.stopped


def _read(model: Model, values: cp_model.CpSolver | cp_model.CpSolverSolutionCallback) -> Order:
    """The order of a solution."""
    value, true = values.value, values.boolean_value
    slot_of = np.flatnonzero(model.problem.slots.aboard)
    placed = []
    for task in model.problem.tasks:
        if not true(model.done[task.number]):
            continue
        start = int(slot_of[value(model.start[task.number])])
        ways = model.way[task.number]
        way = next((j for j, literal in enumerate(ways) if true(literal)), 0)
        placed.append(Placed(task.number, way, start))
    done = tuple(sorted(placed, key=lambda each: (each.start, each.task)))
    return Order(done, finish_of(model.problem, done))


def _watcher(search: Search, aim: Aim) -> cp_model.CpSolverSolutionCallback:
    from ortools.sat.python import cp_model

    class Watcher(cp_model.CpSolverSolutionCallback):
        """Told of every better order."""

        def on_solution_callback(self) -> None:
            order = _read(search.model, self)
            value, bound = round(self.objective_value), round(self.best_objective_bound)
            if not search.better(aim, order, value, bound):
                self.stop_search()

    return Watcher()
