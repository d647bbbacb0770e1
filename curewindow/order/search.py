"""One aim after the other: by large neighbourhood search, then, if not too long, as a whole."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from curewindow.order.aims import Aim, AimStep, Progress, Solved
from curewindow.order.apart import keep_apart
from curewindow.order.asking import ask, calm_points, expression, read, solver, worth
from curewindow.order.axis import Model, hint
from curewindow.order.calm import add_calm, least_calm
from curewindow.order.costs import add_heat
from curewindow.order.delay import least_delay
from curewindow.order.early import earliest_starts, least_day
from curewindow.order.model import build_model
from curewindow.order.neighbourhood import among_all, starts_in
from curewindow.order.neighbourhoods import NeighbourhoodSearch
from curewindow.order.problem import Order, Problem
from curewindow.order.quick import least_heat_order

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LONG: Final = 150_000
"""With more starts than these the whole model takes longer to read than there is time."""
CALM_S, CALM_SHARE = 8.0, 0.5
"""The fewest half-days are packing, hard to prove: so long, or so much of the time given."""
SOONER_S = 4.0
"""For putting nothing off that need not be: of equally good orders the soonest."""
# Shares of the time there is, for each aim; what one leaves over the next may have.
_SHARE: dict[Aim, float] = {"date": 0.6, "cost": 0.6, "calm": 1.0}
# The same where the whole is never searched, and another search may have to follow.
_SHARE_LONG: dict[Aim, float] = {"date": 0.6, "cost": 0.5, "calm": 1.0}
PARTS_S: Final = 1.0
"""So long neighbourhood by neighbourhood where the whole is searched afterwards."""


class Search:
    """One aim after the other, each held while the next is sought.

    Parameters
    ----------
    problem : Problem
    quick : Order or None
        A first order.
    seconds, pins, yesterday, in_time, progress, stop, workers, earlier
        As for :func:`curewindow.order.solve.solve`.
    begun : float
        Moment of the monotonic clock the time is counted from.
    """

    def __init__(
        self,
        problem: Problem,
        quick: Order | None,
        *,
        begun: float,
        seconds: float,
        pins: dict[int, int],
        yesterday: dict[int, int],
        in_time: bool,
        progress: Progress | None,
        stop: Callable[[], bool] | None,
        workers: int,
        earlier: Solved | None = None,
    ) -> None:
        self.problem, self.best, self._begun, self._seconds = problem, quick, begun, seconds
        self._pins, self._yesterday, self._in_time = pins, yesterday, in_time
        self._progress, self._stop, self._workers = progress, stop, workers
        self._earlier = earlier
        self.steps: list[AimStep] = []
        self.possible: bool | None = True if quick is not None else None
        self.first_seconds = time.monotonic() - begun if quick is not None else None
        self.stopped = False
        self._early = earliest_starts(problem)
        self._least = least_day(problem, self._early)
        self._latest = self._latest_day()
        self._made: Model | None = None

    def reach(self, aim: Aim) -> bool:
        """Bring one aim as far as it goes; False where there is no use in going on."""
        begun = time.monotonic()
        low = max(self._least_of(aim), self._known_bound(aim))
        if aim == "cost":
            self._take_least_heat()
        long = self._long
        share = max(0.1, self._left * (_SHARE_LONG if long else _SHARE)[aim])
        if aim != "date" and self.best is not None:
            low = max(
                low, self._by_neighbourhoods(aim, low, share if long else min(share, PARTS_S))
            )
        at_hand = None if self.best is None else self.value_of(aim, self.best)
        if at_hand is not None and (at_hand <= low or (long and aim != "date")):
            took = time.monotonic() - begun
            self.steps.append(AimStep(aim, at_hand, min(low, at_hand), at_hand <= low, took))
            if self._made is not None:
                self._hold(self._made, aim, at_hand)
            return not self.stopped
        if self._left <= 0.05 or self.stopped:
            return False
        return self._whole(aim, low, at_hand, begun)

    def _whole(self, aim: Aim, low: int, at_hand: int | None, begun: float) -> bool:
        """Bring an aim on upon the model of everything."""
        from ortools.sat.python import cp_model

        model = self._model()
        sought = self._expression(model, aim)
        share = max(0.1, self._left * _SHARE[aim])
        if aim == "calm":
            share = min(share, max(CALM_S, CALM_SHARE * self._seconds))
        near = self.best
        if not self.steps and self._earlier is not None and self._earlier.order is not None:
            near = self._earlier.order
        model.cp.clear_hints()  # type: ignore[no-untyped-call]
        if near is not None:
            hint(model, near.placed)
        if not isinstance(sought, int):
            model.cp.add(sought >= low)
        model.cp.minimize(sought)
        search = solver(share, self._workers)
        if aim == "calm":
            # Proven from below, by which of its points cannot all be saved together.
            search.parameters.subsolvers.extend(["core", "default_lp"])
        status = ask(search, model, _watcher(self, aim, model))
        if status == cp_model.INFEASIBLE:
            self.possible = False if self.best is None else self.possible
            return False
        bound = max(low, round(search.best_objective_bound))
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            if at_hand is None:
                return False
            self.steps.append(AimStep(aim, at_hand, bound, False, time.monotonic() - begun))
            self._hold(model, aim, at_hand)
            return True
        self.possible = True
        found = read(model, search)
        value = self.value_of(aim, found)
        if at_hand is None or value <= at_hand:
            self.best = found
        else:
            value = at_hand
        bound = min(value, bound)
        proven = status == cp_model.OPTIMAL or bound >= value
        self.steps.append(AimStep(aim, value, bound, proven, time.monotonic() - begun))
        self._hold(model, aim, value)
        return not self.stopped

    def sooner(self) -> None:
        """Of orders that are all the best, the one that does things soonest.

        Which of them the search ends in is chance; so the same question has the same answer.
        """
        from ortools.sat.python import cp_model

        if self.best is None or self.stopped or self._made is None or self._left <= 0.05:
            return
        model = self._made
        model.cp.clear_hints()  # type: ignore[no-untyped-call]
        hint(model, self.best.placed)
        model.cp.minimize(sum(model.start))
        search = solver(min(self._left, SOONER_S), self._workers)
        if ask(search, model) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.best = read(model, search)

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

    @property
    def _left(self) -> float:
        """Seconds there still are."""
        return self._seconds - (time.monotonic() - self._begun)

    @property
    def _long(self) -> bool:
        """Is the whole model more than there is time for?"""
        if self._latest is None:
            return False
        rows = among_all(self.problem, self._latest)
        return starts_in(rows, rows) > LONG

    def _latest_day(self) -> int | None:
        """Local day by which all is known to be possible."""
        if self.best is None:
            return None
        day = self.problem.slots.day_of(self.best.finish)
        return max(day, self._done_by) if self._in_time else day

    @property
    def _done_by(self) -> int:
        """The last local day that is in time; -1 without a date."""
        done_by = self.problem.done_by
        return -1 if done_by is None else self.problem.slots.day_of(done_by - 1)

    def _take_least_heat(self) -> None:
        """An order that waits for cheap heat, where it is the better one."""
        self._latest = self._latest_day()
        if self._latest is None or self.best is None:
            return
        least_heat = least_heat_order(self.problem, self._latest, pins=self._pins)
        if (
            least_heat is not None
            and self.problem.slots.day_of(least_heat.finish) <= self._latest
            and self.value_of("cost", least_heat) < self.value_of("cost", self.best)
        ):
            self.best = least_heat

    def _by_neighbourhoods(self, aim: Aim, low: int, seconds: float) -> int:
        """Bring an aim on neighbourhood by neighbourhood; what it cannot fall below."""
        assert self.best is not None
        held = {step.aim: step.value for step in self.steps}
        parts = self._parts(self.best)
        parts.better = lambda aim, order, value: self.better(aim, order, value, low)
        until = time.monotonic() + min(seconds, max(0.0, self._left))
        if aim == "cost":
            low = max(low, parts.least_cost(until))
        parts.improve(aim, held, low, until)
        self.best, self.stopped = parts.order, self.stopped or parts.stopped
        return low

    def _parts(self, order: Order) -> NeighbourhoodSearch:
        assert self._latest is not None
        return NeighbourhoodSearch(self.problem, order, self._latest, self._yesterday, self._pins)

    def _model(self) -> Model:
        """The model of everything, made once it is needed; what was reached is held."""
        if self._made is None:
            self._made, modes = build_model(self.problem, latest_day=self._latest, pins=self._pins)
            keep_apart(self._made, modes)
            add_heat(self._made, modes)
            add_calm(self._made, modes, self._yesterday)
            for step in self.steps:
                self._hold(self._made, step.aim, step.value)
        return self._made

    def _hold(self, model: Model, aim: Aim, value: int) -> None:
        kept = self._expression(model, aim)
        if not isinstance(kept, int):
            model.cp.add(kept <= value)

    def _known_bound(self, aim: Aim) -> int:
        """What cannot be undercut, by an earlier search with more starts to choose from.

        Of an aim that holds only as long as those before it came out the same.
        """
        if self._earlier is None:
            return 0
        for number, step in enumerate(self._earlier.steps):
            if step.aim == aim:
                return step.bound
            if number >= len(self.steps) or self.steps[number].value != step.value:
                return 0
        return 0

    def _least_of(self, aim: Aim) -> int:
        """What an aim cannot fall below, without a search."""
        if aim == "calm":
            return calm_points(0, 0, *least_calm(self.problem, self._early))
        if aim == "cost":
            return least_delay(self.problem, self._early)
        if aim != "date":
            return 0
        return max(0, self._least - self._done_by) if self._late_only else self._least

    @property
    def _late_only(self) -> bool:
        """Is being in time enough?"""
        return self._in_time and self.problem.done_by is not None

    def _expression(self, model: Model, aim: Aim) -> cp_model.LinearExprT:
        if aim != "date" or not self._late_only:
            return expression(model, aim)
        late = model.cp.new_int_var(0, self.problem.slots.count, "late")
        model.cp.add(late >= expression(model, "date") - self._done_by)
        return late

    def reached(self) -> tuple[AimStep, ...]:
        """How far each aim was brought in the end: a later one may have bettered one before it."""
        if self.best is None:
            return tuple(self.steps)
        found = []
        for step in self.steps:
            value = min(step.value, self.value_of(step.aim, self.best))
            found.append(replace(step, value=value, proven=step.proven or step.bound >= value))
        return tuple(found)

    def value_of(self, aim: Aim, order: Order) -> int:
        """What an order is worth for an aim; of the date the days too late, if in time will do."""
        value = worth(self.problem, order, aim, self._yesterday)
        return max(0, value - self._done_by) if aim == "date" and self._late_only else value


def _watcher(search: Search, aim: Aim, model: Model) -> cp_model.CpSolverSolutionCallback:
    from ortools.sat.python import cp_model

    class Watcher(cp_model.CpSolverSolutionCallback):
        """Told of every better order."""

        def on_solution_callback(self) -> None:
            order = read(model, self)
            # What the order is worth: heat the model holds for nothing is not in it.
            value, bound = search.value_of(aim, order), round(self.best_objective_bound)
            if not search.better(aim, order, value, bound):
                self.stop_search()

    return Watcher()
