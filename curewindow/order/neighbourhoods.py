"""Large neighbourhood search: a few jobs free to move at a time, the others held.

What a whole long list is too large for, a neighbourhood of it is searched for in less than a
second, to its proven best; then comes the next one. The order found so is never worse.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from curewindow.order.aims import Aim
from curewindow.order.apart import keep_apart
from curewindow.order.asking import SEED, ask, expression, read, worth
from curewindow.order.axis import Model, hint
from curewindow.order.calm import add_calm, add_moved
from curewindow.order.costs import add_heat
from curewindow.order.delay import delay_weights, least_delay
from curewindow.order.early import earliest_starts
from curewindow.order.model import build_model
from curewindow.order.neighbourhood import Neighbourhood, among_all, only, starts_in
from curewindow.order.problem import Mode, Order, Placed, Problem
from curewindow.order.quick import order_around
from curewindow.order.settle import fits
from curewindow.order.work import Work

NEIGHBOURHOOD: Final = 3.0
"""A neighbourhood that takes more work is left as far as it came."""
NEIGHBOURHOOD_STARTS: Final = 60_000
"""A neighbourhood with more starts takes too long to read."""
LEAST_STARTS: Final = 150_000
"""The same of jobs by themselves, whose best is sought once and not over and over."""
DAYS, BACK, AWAY = 8, 3, 14
"""Where a job would rather be, whatever is begun within so many days is set free with it, to
be put back by so many or on by so many."""
TRIES: Final = 12
"""So many neighbourhoods by chance without a gain, and what work is left is for something else."""


@dataclass(frozen=True, slots=True)
class Free:
    """Tasks set free together.

    Attributes
    ----------
    tasks : set of int
    near : set of int
        Those of them that only make room: they stay within a span.
    span : tuple of int
        Slots, the second left out.
    """

    tasks: set[int]
    near: set[int] = field(default_factory=set)
    span: tuple[int, int] = (0, 0)


@dataclass(slots=True)
class NeighbourhoodSearch:
    """Makes an order better neighbourhood by neighbourhood.

    Attributes
    ----------
    problem : Problem
    order : Order
        The best so far; keeps every rule.
    latest_day : int
        Local day by which all has to stay hard.
    yesterday, pins : dict of int to int
        As for :func:`curewindow.order.solve.solve`.
    work : Work
        What there is to be done, and is done.
    better : callable or None
        Told of every better order: the aim, the order and its value; False: stop.
    """

    problem: Problem
    order: Order
    latest_day: int
    yesterday: Mapping[int, int]
    pins: Mapping[int, int]
    work: Work
    better: Callable[[Aim, Order, int], bool] | None = None
    stopped: bool = False
    _part: Neighbourhood = field(init=False)
    _of: dict[str, set[int]] = field(init=False)
    _early: dict[int, int] = field(init=False)
    _waiting: tuple[int, ...] = field(init=False)
    _starts: int = field(init=False)

    def __post_init__(self) -> None:
        self._part = Neighbourhood(self.problem)
        self._early = earliest_starts(self.problem)
        self._waiting = delay_weights(self.problem)[0]
        self._starts = sum(mode.starts.size for task in self.problem.tasks for mode in task.modes)
        self._of = {}
        for task in self.problem.tasks:
            if task.number not in self.pins:
                self._of.setdefault(task.job, set()).add(task.number)

    def improve(
        self, aim: Aim, held: Mapping[Aim, int], low: int, until: float, tries: int = TRIES
    ) -> int:
        """Bring one aim on as far as neighbourhoods take it.

        Parameters
        ----------
        aim : str
        held : mapping of str to int
            What is kept of other aims.
        low : int
            What cannot be undercut.
        until : float
            Work done to stop at.
        tries : int
            Neighbourhoods taken by chance after those that suggest themselves.

        Returns
        -------
        int
            What the best order is worth.
        """
        value = worth(self.problem, self.order, aim, self.yesterday)
        chance, begun = random.Random(SEED), -1
        while value > low and value != begun:
            # Once more all of it, as long as it brings anything, on what the order has become.
            begun, tried = value, set[tuple[frozenset[int], tuple[int, int]]]()
            gained = True
            while value > low and gained:
                # After every gain what costs most now comes first again.
                sets = self._untried(aim, chance, tries, tried)
                before, value = value, self._gain(aim, held, value, sets, until)
                gained = value < before
        return value

    def _gain(
        self, aim: Aim, held: Mapping[Aim, int], value: int, sets: Iterator[Free], until: float
    ) -> int:
        """What the first neighbourhood that gains anything gains; else the value itself."""
        for free in sets:
            if self.stopped or self.work.over(until):
                break
            reached = self._one(aim, held, value, free, until)
            if reached < value:
                return reached
        return value

    def _untried(
        self,
        aim: Aim,
        chance: random.Random,
        tries: int,
        tried: set[tuple[frozenset[int], tuple[int, int]]],
    ) -> Iterator[Free]:
        for free in self._sets(aim, chance, tries):
            key = (frozenset(free.tasks), free.span)
            if free.tasks and key not in tried:
                tried.add(key)
                yield free

    def _sets(self, aim: Aim, chance: random.Random, tries: int) -> Iterator[Free]:
        """Tasks to set free together: jobs that cost something, and what is in their way."""
        costly = self._costly(aim)
        if aim == "calm":
            for job in self._longest_open(costly):
                yield self._in_the_way(self._of[job], self._soonest(job))
        for job in costly:
            yield Free(self._of[job])
        if aim == "calm":
            last = self.problem.slots.day_of(self.order.finish)
            for day in range(0, last, DAYS):
                yield self._in_the_way(set(), day)
        else:
            yield Free(set().union(*(self._of[job] for job in costly)))
        others = [job for job in self._of if job not in costly] or list(self._of)
        for _ in range(tries if costly else 0):
            some = chance.sample(others, min(len(others), chance.choice((1, 2))))
            yield Free(set().union(*(self._of[job] for job in [chance.choice(costly), *some])))

    def _soonest(self, job: str) -> int:
        """Local day on which a job could be begun at the soonest."""
        return self.problem.slots.day_of(min(self._early[number] for number in self._of[job]))

    def _longest_open(self, jobs: list[str]) -> list[str]:
        """Jobs that end latest of what could end sooner first."""
        slots = self.problem.slots
        end = {task: slots.day_of(self._early[task]) for task in self._early}
        at = {each.task: slots.day_of(each.start) for each in self.order.placed}
        over = {
            job: max((at[n] - end[n] for n in self._of[job] if n in at), default=0) for job in jobs
        }
        return sorted(jobs, key=lambda job: -over[job])

    def _in_the_way(self, own: set[int], day: int) -> Free:
        """Tasks, and what is begun in the days from a local day on."""
        slots, tasks = self.problem.slots, self.problem.tasks
        near = {
            each.task
            for each in self.order.placed
            if day <= slots.day_of(each.start) < day + DAYS and each.task not in self.pins
        }
        near |= {
            task.number
            for task in tasks
            if task.optional and task.number not in self.pins and task.sanding_of in near
        }
        first, last = np.searchsorted(slots.day, (day - BACK, day + AWAY))
        return Free(own | near, near - own, (int(first), int(last)))

    def _costly(self, aim: Aim) -> list[str]:
        """Jobs that have a share in what an aim makes small."""
        tasks = self.problem.tasks
        found = []
        for each in self.order.placed:
            task = tasks[each.task]
            if aim == "cost" and not self._costs(each):
                continue
            found.append(task.job)
        return [job for job in dict.fromkeys(found) if job in self._of]

    def _costs(self, each: Placed) -> bool:
        """Does a task take heat, or wait for what it might do sooner?"""
        if self.problem.tasks[each.task].modes[each.mode].level_c is not None:
            return True
        return bool(self._waiting[each.task]) and each.start > self._early[each.task]

    def _heated(self) -> list[str]:
        """Jobs that heat is put on for."""
        tasks = self.problem.tasks
        found = [
            tasks[each.task].job
            for each in self.order.placed
            if tasks[each.task].modes[each.mode].level_c is not None
        ]
        return [job for job in dict.fromkeys(found) if job in self._of]

    def _least_waiting(self, but: frozenset[str]) -> int:
        """What the waiting of all other jobs costs at the least."""
        early = {
            task.number: 0 if task.job in but else self._early[task.number]
            for task in self.problem.tasks
        }
        return least_delay(self.problem, early)

    def _one(self, aim: Aim, held: Mapping[Aim, int], value: int, free: Free, until: float) -> int:
        allowed = self._part.left(self.order, free.tasks, free.near, free.span)
        self.work.spend(starts=self._starts)
        if starts_in(allowed, free.tasks) > NEIGHBOURHOOD_STARTS:
            return value
        model, modes = build_model(self.problem, latest_day=self.latest_day, allowed=allowed)
        keep_apart(model, modes, free.tasks)
        found = self._sought(model, modes, aim, held, until, self.order.placed)
        if found is None:
            return value
        reached = worth(self.problem, found[0], aim, self.yesterday)
        if reached < value:
            self._take(aim, found[0], reached)
        return min(reached, value)

    def _take(self, aim: Aim, order: Order, value: int) -> None:
        """Have a better order, and tell of it."""
        self.order = order
        if self.better is not None and not self.better(aim, order, value):
            self.stopped = True

    def _sought(
        self,
        model: Model,
        modes: list[tuple[Mode, ...]],
        aim: Aim,
        held: Mapping[Aim, int],
        until: float,
        near: Sequence[Placed],
        most: float = NEIGHBOURHOOD,
        yesterday: Mapping[int, int] | None = None,
    ) -> tuple[Order, int] | None:
        """The best order of a model and what cannot be undercut; None: none found."""
        add_heat(model, modes)
        days = dict(self.yesterday if yesterday is None else yesterday)
        if aim == "calm":
            add_calm(model, modes, days)
        add_moved(model, modes, days)
        for other, most in held.items():
            kept = expression(model, other)
            if other == "cost" and not isinstance(kept, int):
                model.cp.add(kept <= most)
        sought = expression(model, aim)
        if isinstance(sought, int):
            return None
        hint(model, near)
        model.cp.minimize(sought)
        search, status = ask(model, self.work, min(most, until - self.work.done))
        if search.status_name(status) not in ("OPTIMAL", "FEASIBLE"):
            return None
        return read(model, search), max(0, round(search.best_objective_bound))

    def least_cost(self, until: float) -> int:
        """Bring the cost on by what the heated jobs would do by themselves.

        No order takes less than these jobs take with nothing else to do. What is warmed for
        them is put where they would have it, and all else is laid around it.

        Parameters
        ----------
        until : float
            Work done to stop at.

        Returns
        -------
        int
            What the cost cannot be less than, in 0.01 kWh; 0 where it is not known.
        """
        least = 0
        tried: set[frozenset[str]] = set()
        while not self.stopped and not self.work.over(until):
            jobs = frozenset(self._heated())
            value = worth(self.problem, self.order, "cost", self.yesterday)
            if not jobs or value <= least or jobs in tried:
                break
            tried.add(jobs)
            found = self._by_themselves(jobs, until)
            if found is None:
                break
            least = max(least, found[1] + self._least_waiting(jobs))
            if value > least:
                self._lay_around(found[0], value)
        return least

    def _by_themselves(self, jobs: frozenset[str], until: float) -> tuple[list[Placed], int] | None:
        """What some jobs would warm had they nothing else to mind, and the least they cost."""
        part, number = only(self.problem, jobs)
        rows = among_all(self.problem, self.latest_day)
        allowed = {own: rows[whole] for whole, own in number.items()}
        for own, slot in ((number[n], s) for n, s in self.pins.items() if n in number):
            for mode, mask in zip(part.tasks[own].modes, allowed[own], strict=True):
                mask &= mode.starts == slot
        if starts_in(allowed, allowed) > LEAST_STARTS:
            return None
        model, modes = build_model(part, latest_day=self.latest_day, allowed=allowed)
        keep_apart(model, modes)
        own_order = [
            Placed(number[each.task], each.mode, each.start)
            for each in self.order.placed
            if each.task in number
        ]
        most = until - self.work.done
        found = self._sought(model, modes, "cost", {}, until, own_order, most, {})
        if found is None:
            return None
        among = {own: whole for whole, own in number.items()}
        warmed = [
            Placed(among[each.task], each.mode, each.start)
            for each in found[0].placed
            if part.tasks[each.task].modes[each.mode].level_c is not None
        ]
        return warmed, found[1]

    def _lay_around(self, warmed: list[Placed], value: int) -> None:
        """An order around what is warmed, kept where it is the better one."""
        free = {task.number for task in self.problem.tasks} - {each.task for each in warmed}
        allowed = self._part.left(Order(tuple(warmed), 0), free)
        laid = order_around(
            self.problem, warmed, allowed, latest_day=self.latest_day, pins=dict(self.pins)
        )
        if laid is None or self.problem.slots.day_of(laid.finish) > self.latest_day:
            return
        cost = worth(self.problem, laid, "cost", self.yesterday)
        if cost < value and fits(self.problem, laid):
            self._take("cost", laid, cost)
