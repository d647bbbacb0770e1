"""A quick order of work: task by task, each as early as it fits. The first answer there is."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from curewindow.order.beside import clashing, pairs_of, too_warm
from curewindow.order.costs import KWH_STEPS, block_costs
from curewindow.order.delay import COST_STEPS, delay_weights
from curewindow.order.early import latest_starts_within
from curewindow.order.near import Pair, too_many
from curewindow.order.problem import Mode, Order, Placed, Precedence, Problem, Task, warm_blocks
from curewindow.order.slots import BoolArray, IntArray
from curewindow.order.urgency import scarce_first, tails

TRIES = 24
_ENOUGH = 500
"""So many tasks are scheduled at least, whatever their number: many tasks, few tries."""


def quick_order(
    problem: Problem,
    *,
    tries: int | None = None,
    seed: int = 1,
    pins: dict[int, int] | None = None,
    hint: dict[int, int] | None = None,
) -> Order | None:
    """The best of some orders in which each task is put as early as it fits.

    Parameters
    ----------
    problem : Problem
    tries : int, optional
        Orders tried, fewer where there are many tasks; the first by urgency alone, the
        others with chance mixed in.
    seed : int
        Of that chance: the same seed gives the same order.
    pins : dict of int to int, optional
        Slots of tasks that are held where they are.
    hint : dict of int to int, optional
        Slots of an earlier plan: one try takes the tasks in its order.

    Returns
    -------
    Order or None
        None where none of the tries had room for everything.
    """
    if tries is None:
        tries = min(TRIES, max(3, _ENOUGH // max(1, len(problem.tasks))))
    tail = tails(problem)
    scarce = scarce_first(problem)
    chance = random.Random(seed)
    best: Order | None = None
    for attempt in range(tries):
        spread = 0.0 if attempt == 0 else 0.5 * attempt / tries
        weight = [value * (1.0 + chance.uniform(-spread, spread)) for value in tail]
        if attempt == 1 and hint:
            last = max(hint.values())
            weight = [float(last - hint.get(n, last)) for n in range(len(tail))]
        if attempt % 3 == 2:
            # What only a heater makes possible that others share goes first, while it is free.
            weight = [
                value + problem.slots.count * (number in scarce)
                for number, value in enumerate(weight)
            ]
        found = _SerialSchedule(problem, pins or {}).schedule(weight)
        if found is not None and (best is None or found.finish < best.finish):
            best = found
    return best


def least_heat_order(
    problem: Problem, latest_day: int, *, pins: dict[int, int] | None = None
) -> Order | None:
    """An order in which each task waits for the start that takes the least heat.

    Parameters
    ----------
    problem : Problem
    latest_day : int
        Local day by which all is to be hard; a task whose turn comes too late for it is put
        as early as it fits, so the order may be over later.
    pins : dict of int to int, optional
        Slots of tasks that are held where they are.
    """
    return order_around(problem, (), None, latest_day=latest_day, pins=pins)


def order_around(
    problem: Problem,
    around: Sequence[Placed],
    allowed: Mapping[int, tuple[BoolArray, ...]] | None,
    *,
    latest_day: int | None,
    pins: dict[int, int] | None = None,
) -> Order | None:
    """An order in which all other tasks are scheduled around those that have their place.

    Parameters
    ----------
    problem : Problem
    around : sequence of Placed
        Tasks that have their place.
    allowed : mapping of int to tuple of ndarray of bool or None
        By task, for each of its modes: the starts left (:class:`.neighbourhood.Neighbourhood`).
    latest_day : int or None
        The others wait for cheap heat, as in :func:`least_heat_order`; None: for nothing.
    pins : dict of int to int, optional
        Slots of tasks that are held where they are.
    """
    last = None if latest_day is None else latest_starts_within(problem, latest_day)
    hand = _SerialSchedule(problem, pins or {}, last, allowed=allowed)
    hand.at = {each.task: each for each in around}
    return hand.schedule(tails(problem))


@dataclass(slots=True)
class _SerialSchedule:
    """Schedules tasks one after the other."""

    problem: Problem
    pins: dict[int, int]
    last: dict[int, int] | None = None
    """Slots up to which a task may wait for cheaper heat; None: nothing waits."""
    at: dict[int, Placed] = field(default_factory=dict)
    heat: dict[tuple[str, float], IntArray] = field(default_factory=dict)
    """What a block of heat still takes: nothing where it is held already."""
    places: IntArray = field(init=False)
    """Slots aboard before each slot."""
    allowed: Mapping[int, tuple[BoolArray, ...]] | None = None
    """Starts that are left by tasks that have their place before any is scheduled."""

    def __post_init__(self) -> None:
        self.places = self.problem.slots.before

    def schedule(self, weight: list[float]) -> Order | None:
        problem = self.problem
        self.heat = block_costs(problem)
        free = np.ones(problem.slots.count + 1, np.bool_)
        for placed in self.at.values():
            free[placed.start : placed.start + problem.tasks[placed.task].hands] = False
            self._pay(placed)
        for number, slot in self.pins.items():
            free[slot : slot + problem.tasks[number].hands] = False
        into: dict[int, list[Precedence]] = {task.number: [] for task in problem.tasks}
        for link in problem.links:
            into[link.after].append(link)
        clash = pairs_of(problem)
        waiting = [
            task for task in problem.tasks if not task.optional and task.number not in self.at
        ]
        # What was found for a task only moves later as others are scheduled: looked up again only
        # once its turn comes.
        known: dict[int, list[Placed]] = {}
        while waiting:
            ready = [
                task
                for task in waiting
                if all(
                    link.before in self.at or problem.tasks[link.before].optional
                    for link in into[task.number]
                )
            ]
            for task in ready:
                if task.number not in known:
                    found = self._earliest(task, into, clash, free)
                    if found is None:
                        return None
                    known[task.number] = found
            if not ready:
                return None
            while True:
                # Late starts of urgent chains come before early ones of others.
                task = min(
                    ready, key=lambda t: (known[t.number][0].start - weight[t.number], t.number)
                )
                found = self._earliest(task, into, clash, free)
                if found is None:
                    return None
                if found == known[task.number]:
                    break
                known[task.number] = found
            for placed in found:
                self.at[placed.task] = placed
                self._pay(placed)
                hands = problem.tasks[placed.task].hands
                free[placed.start : placed.start + hands] = False
            waiting = [each for each in waiting if each.number != task.number]
        done = tuple(sorted(self.at.values(), key=lambda p: (p.start, p.task)))
        return Order(done, finish_of(problem, done))

    def _earliest(
        self,
        task: Task,
        into: dict[int, list[Precedence]],
        clash: dict[int, list[Pair]],
        free: BoolArray,
    ) -> list[Placed] | None:
        """The earliest place of a task, with the sanding it needs before it."""
        problem = self.problem
        lower, closes, sanding, hard_close = self._bounds(task, into)
        if self.last is not None:
            cheap = self._cheapest(task, lower, clash, free, (hard_close, closes))
            if cheap is not None:
                return [cheap]
        first = self._first(task, lower, clash, free, hard_close)
        if first is None:
            return None
        if closes is None or first.start <= closes or sanding is None:
            return [first]
        sand = problem.tasks[sanding]
        low, _, _, _ = self._bounds(sand, into)
        placed = self._first(sand, low, clash, free, None)
        if placed is None:
            return None
        held = free.copy()
        held[placed.start : placed.start + sand.hands] = False
        after = self._first(task, max(lower, placed.start + sand.hands), clash, held, None)
        return None if after is None else [after, placed]

    def _bounds(
        self, task: Task, into: dict[int, list[Precedence]]
    ) -> tuple[int, int | None, int | None, int | None]:
        """Slots from which and by which it may begin, the sanding that helps, the hard end."""
        lower = task.not_before
        closes, sanding, hard = task.due, self.problem.sanding_on(task), None
        for link in into[task.number]:
            placed = self.at.get(link.before)
            if placed is None:
                continue
            mode = self.problem.tasks[link.before].modes[placed.mode]
            k = mode.place(placed.start)
            assert k is not None
            lower = max(lower, int(link.opens[placed.mode][k]))
            if link.closes is not None:
                end = int(link.closes[placed.mode][k])
                if link.missed == "never":
                    hard = end if hard is None else min(hard, end)
                elif link.missed == "sand":
                    closes, sanding = end, link.sanding
        return lower, closes, sanding, hard

    def _first(
        self,
        task: Task,
        lower: int,
        clash: dict[int, list[Pair]],
        free: BoolArray,
        hard: int | None,
    ) -> Placed | None:
        end = self.problem.slots.count if hard is None else hard
        room = np.concatenate(([0], np.cumsum(free)))
        best: tuple[int, int, Placed] | None = None
        for number, mode in enumerate(task.modes):
            good = self._good(task, number, (lower, end), clash, room)
            for k in np.flatnonzero(good).tolist():
                if best is not None and int(mode.hard[k]) >= best[0]:
                    break  # tables never fall: nothing better follows
                if task.tools and self._tools_gone(task, mode, k):
                    continue
                best = (int(mode.hard[k]), number, Placed(task.number, number, int(mode.starts[k])))
                break
        return None if best is None else best[2]

    def _cheapest(
        self,
        task: Task,
        lower: int,
        clash: dict[int, list[Pair]],
        free: BoolArray,
        ends: tuple[int | None, int | None],
    ) -> Placed | None:
        """The start that costs least in heat and waiting, before it has to be or is missed."""
        assert self.last is not None
        end = min(last for last in (self.last[task.number], *ends) if last is not None)
        room = np.concatenate(([0], np.cumsum(free)))
        best: tuple[int, int, Placed] | None = None
        for number, mode in enumerate(task.modes):
            good = self._good(task, number, (lower, end), clash, room)
            cost = self._cost(task, mode)
            for k in np.flatnonzero(good)[np.argsort(cost[good], kind="stable")].tolist():
                here = (int(cost[k]), int(mode.hard[k]))
                if best is not None and here >= best[:2]:
                    break
                if task.tools and self._tools_gone(task, mode, k):
                    continue
                best = (*here, Placed(task.number, number, int(mode.starts[k])))
                break
        return None if best is None else best[2]

    def _good(
        self,
        task: Task,
        number: int,
        span: tuple[int, int],
        clash: dict[int, list[Pair]],
        room: IntArray,
    ) -> BoolArray:
        """Starts of a mode within a span, its end too, that are in the way of nothing scheduled."""
        mode = task.modes[number]
        good = (mode.starts >= span[0]) & (mode.starts <= span[1])
        good &= mode.hard < self.problem.slots.count
        if self.allowed is not None:
            good &= self.allowed[task.number][number]
        if task.number in self.pins:
            good &= mode.starts == self.pins[task.number]
        else:
            good &= room[mode.starts + task.hands] - room[mode.starts] == task.hands
        if good.any():
            good &= ~clashing(self.problem, self.at, task, mode, clash)
            good &= ~too_warm(self.problem, self.at, task, mode)
        return good

    def _cost(self, task: Task, mode: Mode) -> IntArray:
        """Heat each start of a mode takes beyond what is held already, and what waiting costs.

        In 0.01 kWh.
        """
        waited = delay_weights(self.problem)[0][task.number]
        cost = np.asarray(waited * self.places[mode.starts], np.int64)
        if mode.level_c is None or task.space is None or self.problem.heater_of(task.space) is None:
            return cost
        paid = np.concatenate(([0], np.cumsum(self.heat[(task.space, mode.level_c)])))
        first, end = np.minimum(warm_blocks(self.problem, mode), paid.size - 1)
        return np.asarray(cost + COST_STEPS // KWH_STEPS * (paid[end] - paid[first]), np.int64)

    def _pay(self, placed: Placed) -> None:
        task = self.problem.tasks[placed.task]
        mode = task.modes[placed.mode]
        k = mode.place(placed.start)
        if k is None or mode.level_c is None or task.space is None:
            return
        held = self.heat.get((task.space, mode.level_c))
        if held is not None:
            first, end = warm_blocks(self.problem, mode, k)
            held[int(first) : int(end)] = 0

    def _tools_gone(self, task: Task, mode: Mode, k: int) -> bool:
        for tool, count in task.tools:
            if self.problem.count_of(tool) == 1:
                continue  # told by the pairs
            spans = [(int(mode.starts[k]), int(mode.set_until[k]), count)]
            for placed in self.at.values():
                held = dict(self.problem.tasks[placed.task].tools).get(tool, 0)
                used = self.problem.tasks[placed.task].modes[placed.mode]
                j = used.place(placed.start)
                if held and j is not None:
                    spans.append((placed.start, int(used.set_until[j]), held))
            if too_many(self.problem, tool, spans):
                return True
        return False


def finish_of(problem: Problem, placed: tuple[Placed, ...]) -> int:
    """Slot at which the last of the placed tasks is hard enough for use."""
    latest = 0
    for each in placed:
        mode = problem.tasks[each.task].modes[each.mode]
        k = mode.place(each.start)
        assert k is not None
        latest = max(latest, int(mode.hard[k]))
    return latest
