"""One aim after the other: by large neighbourhood search, then, if not too long, as a whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from curewindow.order.aims import Aim, AimStep, Progress, Solved
from curewindow.order.apart import keep_apart
from curewindow.order.asking import ask, calm_points, expression, read, worth
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
from curewindow.order.work import Work

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LONG: Final = 150_000
"""With more starts than these the whole model takes longer to read than it is worth."""
PER_WORK: Final = 4_000
"""The same for each second of work there still is."""
SOONER = 4.0
"""Work for putting nothing off that need not be: of equally good orders the soonest."""
# Shares of the work there is, for each aim; what one leaves over the next may have.
_SHARE: dict[Aim, float] = {"date": 0.6, "cost": 0.6, "calm": 1.0}
# The same where the whole is never searched, and another search may have to follow.
_SHARE_LONG: dict[Aim, float] = {"date": 0.6, "cost": 0.5, "calm": 1.0}
PARTS: Final = 2.0
"""So much work neighbourhood by neighbourhood where the whole is searched afterwards."""
STALL: Final = 4.0
"""So much work on the whole without a better order is enough."""


class Search:
    """One aim after the other, each held while the next is sought.

    Parameters
    ----------
    problem : Problem
    quick : Order or None
        A first order.
    work : Work
        What there is to be done, and is done.
    pins, yesterday, in_time, progress, stop, earlier
        As for :func:`curewindow.order.solve.solve`.
    """

    def __init__(
        self,
        problem: Problem,
        quick: Order | None,
        work: Work,
        *,
        pins: dict[int, int],
        yesterday: dict[int, int],
        in_time: bool,
        progress: Progress | None,
        stop: Callable[[], bool] | None,
        earlier: Solved | None = None,
    ) -> None:
        self.problem, self.best, self.work = problem, quick, work
        self._pins, self._yesterday, self._in_time = pins, yesterday, in_time
        self._progress, self._stop, self._earlier = progress, stop, earlier
        self.steps: list[AimStep] = []
        self.possible: bool | None = True if quick is not None else None
        self.stopped = False
        self._early = earliest_starts(problem)
        self._least = least_day(problem, self._early)
        self._latest = self._latest_day()
        self._made: Model | None = None

    def reach(self, aim: Aim, *, last: bool = False) -> bool:
        """Bring one aim as far as it goes; False where there is no use in going on.

        Parameters
        ----------
        aim : str
        last : bool
            No other follows: it may have all the work that is left.
        """
        begun = self.work.done
        low = max(self._least_of(aim), self._known_bound(aim))
        if aim == "cost":
            self._take_least_heat()
        long = self._long
        share = self.work.left * (1.0 if last else (_SHARE_LONG if long else _SHARE)[aim])
        if aim != "date" and self.best is not None:
            most = share if long else min(share, PARTS)
            low = max(low, self._by_neighbourhoods(aim, low, most, whole=not long))
        at_hand = None if self.best is None else self.value_of(aim, self.best)
        if at_hand is not None and (at_hand <= low or (long and aim != "date")):
            did = self.work.done - begun
            self.steps.append(AimStep(aim, at_hand, min(low, at_hand), at_hand <= low, did))
            if self._made is not None:
                self._hold(self._made, aim, at_hand)
            return not self.stopped
        if self.work.over(self.work.most) or self.stopped:
            return False
        return self._whole(aim, low, at_hand, begun, share)

    def _whole(self, aim: Aim, low: int, at_hand: int | None, begun: float, share: float) -> bool:
        """Bring an aim on upon the model of everything."""
        from ortools.sat.python import cp_model

        model = self._model()
        sought = self._expression(model, aim)
        near = self.best
        if not self.steps and self._earlier is not None and self._earlier.order is not None:
            near = self._earlier.order
        if not isinstance(sought, int):
            model.cp.add(sought >= low)
        model.cp.minimize(sought)
        until = self.work.done + share
        value, proven = at_hand, False
        while not proven and not self.stopped and not self.work.over(until):
            model.cp.clear_hints()  # type: ignore[no-untyped-call]
            if near is not None:
                hint(model, near.placed)
            most = min(STALL, until - self.work.done)
            search, status = ask(model, self.work, most, _watcher(self, aim, model))
            if status == cp_model.INFEASIBLE:
                self.possible = False if self.best is None else self.possible
                return False
            low = max(low, round(search.best_objective_bound))
            proven, before = status == cp_model.OPTIMAL, value
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                found = read(model, search)
                if value is None or self.value_of(aim, found) <= value:
                    self.possible = True
                    self.best = near = found
                    value = self.value_of(aim, found)
            if value is not None and value == before:
                break
        if value is None:
            return False
        bound = value if proven else min(value, low)
        self.steps.append(AimStep(aim, value, bound, bound >= value, self.work.done - begun))
        self._hold(model, aim, value)
        return not self.stopped

    def sooner(self) -> None:
        """Of orders that are all the best, the one that does things soonest.

        Which of them the search ends in is chance; so the same question has the same answer.
        """
        from ortools.sat.python import cp_model

        if self.best is None or self.stopped or self._made is None:
            return
        model = self._made
        model.cp.clear_hints()  # type: ignore[no-untyped-call]
        hint(model, self.best.placed)
        model.cp.minimize(sum(model.start))
        search, status = ask(model, self.work, SOONER)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.best = read(model, search)

    def better(self, aim: Aim, order: Order, value: int, bound: int) -> bool:
        """A better order was found; True: go on."""
        self.best = order
        if self._progress is not None:
            self._progress(aim, order, value, bound)
        if self._stop is not None and self._stop():
            self.stopped = True
        return not self.stopped

    @property
    def _long(self) -> bool:
        """Is the whole model more than there is work for?"""
        if self._latest is None:
            return False
        rows = among_all(self.problem, self._latest)
        return starts_in(rows, rows) > min(LONG, PER_WORK * self.work.left)

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

    def _by_neighbourhoods(self, aim: Aim, low: int, most: float, *, whole: bool) -> int:
        """Bring an aim on neighbourhood by neighbourhood; what it cannot fall below.

        Where the whole is searched afterwards that is looked for first: it helps there.
        """
        assert self.best is not None
        held = {step.aim: step.value for step in self.steps}
        parts = self._parts(self.best)
        parts.better = lambda aim, order, value: self.better(aim, order, value, low)
        until = self.work.done + most
        if aim == "cost" and whole:
            low = max(low, parts.least_cost(until))
        parts.improve(aim, held, low, until)
        if aim == "cost" and not whole:
            low = max(low, parts.least_cost(until))
        self.best, self.stopped = parts.order, self.stopped or parts.stopped
        return low

    def _parts(self, order: Order) -> NeighbourhoodSearch:
        assert self._latest is not None
        return NeighbourhoodSearch(
            self.problem, order, self._latest, self._yesterday, self._pins, self.work
        )

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
        """What an order is worth for an aim."""
        return worth(self.problem, order, aim, self._yesterday, self._in_time)


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
