"""A quick order of work: task by task, each as early as it fits. The first answer there is."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

import numpy as np

from curewindow.order.near import ancestors, pairs, too_many
from curewindow.order.problem import Link, Order, Placed, Problem, Task, Way, block_slots
from curewindow.order.slots import BoolArray

TRIES = 24
_ENOUGH = 500
"""So many tasks are laid at least, whatever their number: many tasks, few tries."""


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
    scarce = _scarce(problem)
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
        found = _Hand(problem, pins or {}).lay(weight)
        if found is not None and (best is None or found.finish < best.finish):
            best = found
    return best


def tails(problem: Problem) -> list[float]:
    """Slots from the start of each task to the end of what hangs on it, at the best of paces."""
    tail = [0.0] * len(problem.tasks)
    for task in problem.tasks:
        spans = [int((way.hard - way.starts).min()) for way in task.ways if way.starts.size]
        tail[task.number] = float(min(spans, default=task.hands))
    gaps = [_least_gap(problem, link) for link in problem.links]
    for _ in problem.tasks:
        changed = False
        for link, gap in zip(problem.links, gaps, strict=True):
            via = gap + tail[link.after]
            if via > tail[link.before]:
                tail[link.before], changed = via, True
        if not changed:
            break
    return tail


def _least_gap(problem: Problem, link: Link) -> float:
    """Slots from the start of the one to when the other may begin, at the best of paces."""
    ways = problem.tasks[link.before].ways
    gaps = [
        int((table - way.starts).min())
        for table, way in zip(link.opens, ways, strict=True)
        if way.starts.size
    ]
    return float(min(gaps, default=0))


def _scarce(problem: Problem) -> set[int]:
    """Tasks done only with heat from a heater that others share, and what comes before them."""
    found: set[int] = set()
    before = ancestors(problem)
    for task in problem.tasks:
        heater = problem.heater_of(task.space)
        if heater is None or heater.at_once >= len(heater.spaces):
            continue
        if task.sheet is not None and all(way.level_c is not None for way in task.ways):
            found |= {task.number} | before[task.number]
    return found


@dataclass(slots=True)
class _Hand:
    """Lays tasks one after the other."""

    problem: Problem
    pins: dict[int, int]
    at: dict[int, Placed] = field(default_factory=dict)

    def lay(self, weight: list[float]) -> Order | None:
        problem = self.problem
        free = np.ones(problem.slots.count + 1, np.bool_)
        for number, slot in self.pins.items():
            free[slot : slot + problem.tasks[number].hands] = False
        into: dict[int, list[Link]] = {task.number: [] for task in problem.tasks}
        for link in problem.links:
            into[link.after].append(link)
        clash: dict[int, list[tuple[str, int, int]]] = {task.number: [] for task in problem.tasks}
        for pair in pairs(problem):
            clash[pair[1]].append(pair)
            clash[pair[2]].append(pair)
        waiting = [task for task in problem.tasks if not task.optional]
        # What was found for a task only moves later as others are laid: looked up again only
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
                hands = problem.tasks[placed.task].hands
                free[placed.start : placed.start + hands] = False
            waiting = [each for each in waiting if each.number != task.number]
        done = tuple(sorted(self.at.values(), key=lambda p: (p.start, p.task)))
        return Order(done, finish_of(problem, done))

    def _earliest(
        self,
        task: Task,
        into: dict[int, list[Link]],
        clash: dict[int, list[tuple[str, int, int]]],
        free: BoolArray,
    ) -> list[Placed] | None:
        """The earliest place of a task, with the sanding it needs before it."""
        problem = self.problem
        lower, closes, sanding, hard_close = self._bounds(task, into)
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
        self, task: Task, into: dict[int, list[Link]]
    ) -> tuple[int, int | None, int | None, int | None]:
        """Slots from which and by which it may begin, the sanding that helps, the hard end."""
        lower = task.not_before
        closes, sanding, hard = task.due, None, None
        if task.due is not None:
            sanding = next(
                (
                    link.before
                    for link in into[task.number]
                    if self.problem.tasks[link.before].sanding_of == -1
                ),
                None,
            )
        for link in into[task.number]:
            placed = self.at.get(link.before)
            if placed is None:
                continue
            way = self.problem.tasks[link.before].ways[placed.way]
            k = way.place(placed.start)
            assert k is not None
            lower = max(lower, int(link.opens[placed.way][k]))
            if link.closes is not None:
                end = int(link.closes[placed.way][k])
                if link.missed == "never":
                    hard = end if hard is None else min(hard, end)
                elif link.missed == "sand":
                    closes, sanding = end, link.sanding
        return lower, closes, sanding, hard

    def _first(
        self,
        task: Task,
        lower: int,
        clash: dict[int, list[tuple[str, int, int]]],
        free: BoolArray,
        hard: int | None,
    ) -> Placed | None:
        pinned = self.pins.get(task.number)
        room = np.concatenate(([0], np.cumsum(free)))
        best: tuple[int, int, Placed] | None = None
        for number, way in enumerate(task.ways):
            good = (way.starts >= lower) & (way.hard < self.problem.slots.count)
            if hard is not None:
                good &= way.starts <= hard
            if pinned is None:
                good &= room[way.starts + task.hands] - room[way.starts] == task.hands
            else:
                good &= way.starts == pinned
            good &= ~self._clashing(task, way, clash) & ~self._too_warm(task, way)
            for k in np.flatnonzero(good).tolist():
                if best is not None and int(way.hard[k]) >= best[0]:
                    break  # tables never fall: nothing better follows
                if task.tools and self._tools_gone(task, way, k):
                    continue
                best = (int(way.hard[k]), number, Placed(task.number, number, int(way.starts[k])))
                break
        return None if best is None else best[2]

    def _clashing(
        self, task: Task, way: Way, clash: dict[int, list[tuple[str, int, int]]]
    ) -> BoolArray:
        """Starts at which dust would settle in a film, or a tool is held elsewhere."""
        found = np.zeros(way.starts.size, np.bool_)
        for why, one, other in clash[task.number]:
            counterpart = self.at.get(other if one == task.number else one)
            if counterpart is None:
                continue
            there = self.problem.tasks[counterpart.task].ways[counterpart.way]
            j = there.place(counterpart.start)
            assert j is not None
            if why == "dust":
                # The one that makes dust takes its hands-on time, the film until it is dry.
                mine = way.ends if one == task.number else way.dust_until
                theirs = there.dust_until if one == task.number else there.ends
            else:
                mine, theirs = way.set_until, there.set_until
            found |= (way.starts < int(theirs[j])) & (counterpart.start < mine)
        return found

    def _tools_gone(self, task: Task, way: Way, k: int) -> bool:
        for tool, count in task.tools:
            if self.problem.count_of(tool) == 1:
                continue  # told by the pairs
            spans = [(int(way.starts[k]), int(way.set_until[k]), count)]
            for placed in self.at.values():
                held = dict(self.problem.tasks[placed.task].tools).get(tool, 0)
                used = self.problem.tasks[placed.task].ways[placed.way]
                j = used.place(placed.start)
                if held and j is not None:
                    spans.append((placed.start, int(used.set_until[j]), held))
            if too_many(self.problem, tool, spans):
                return True
        return False

    def _too_warm(self, task: Task, way: Way) -> BoolArray:
        """Starts at which the heater would have to warm more spaces than it can."""
        found = np.zeros(way.starts.size, np.bool_)
        heater = self.problem.heater_of(task.space)
        if heater is None or heater.at_once >= len(heater.spaces):
            return found
        per = block_slots(self.problem)
        begin, end = way.warm_from // per, -(-way.warm_until // per)
        others: dict[str, BoolArray] = {}
        for placed in self.at.values():
            there = self.problem.tasks[placed.task]
            if there.space in (None, task.space) or there.space not in heater.spaces:
                continue
            used = there.ways[placed.way]
            j = used.place(placed.start)
            assert j is not None
            assert there.space is not None
            low, high = int(used.warm_from[j]) // per, -(-int(used.warm_until[j]) // per)
            if low < high:
                overlap = (begin < high) & (low < end) & (way.warm_from < way.warm_until)
                others[there.space] = others.get(there.space, found) | overlap
        if others:
            found = np.sum(list(others.values()), axis=0) >= heater.at_once
        return found


def finish_of(problem: Problem, placed: tuple[Placed, ...]) -> int:
    """Slot at which the last of the placed tasks is hard enough for use."""
    latest = 0
    for each in placed:
        way = problem.tasks[each.task].ways[each.way]
        k = way.place(each.start)
        assert k is not None
        latest = max(latest, int(way.hard[k]))
    return latest
