"""A neighbourhood of an order: some tasks free to move while the rest stays, or is left out.

A long list makes a constraint model of a million rules, which takes longer to read than
there is time. With most tasks held where they are, what they ask of the others is known
beforehand, start by start, and the model of the rest is small. With most tasks left out,
what the few cannot do better by themselves they cannot do better among the others.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

import numpy as np

from curewindow.order.beside import clashing, pairs_of, too_warm
from curewindow.order.early import earliest_starts, latest_starts_within
from curewindow.order.near import Pair
from curewindow.order.problem import Mode, Order, Placed, Problem, Task
from curewindow.order.slots import BoolArray, IntArray

Allowed = dict[int, tuple[BoolArray, ...]]
"""By task, for each of its modes: the starts that are left."""


class Neighbourhood:
    """What is looked up of a problem once, for all its neighbourhoods.

    Parameters
    ----------
    problem : Problem
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._clash: Mapping[int, list[Pair]] = pairs_of(problem)

    def left(
        self,
        order: Order,
        free: Collection[int],
        near: Collection[int] = (),
        span: tuple[int, int] = (0, 0),
    ) -> Allowed:
        """Starts left to every task, where all but some stay as they are in an order.

        Parameters
        ----------
        order : Order
            Keeps every rule.
        free : collection of int
            Tasks that may move. Sanding goes with the task it is for.
        near : collection of int
            Those of them that move only within a span.
        span : tuple of int
            Slots, the second left out.

        Returns
        -------
        Allowed
            A held task has its one start, sanding that is held left out has none. What is
            left of the others breaks no rule with a held one; sanding and the end of an
            interval it opens again are for the model to see to.
        """
        at = {each.task: each for each in order.placed if each.task not in free}
        room = self._room(at)
        found: Allowed = {}
        for task in self.problem.tasks:
            if task.number not in free:
                found[task.number] = _held(task, at.get(task.number))
                continue
            found[task.number] = self._beside(task, at, room)
            if task.number in near:
                for mode, mask in zip(task.modes, found[task.number], strict=True):
                    mask &= (mode.starts >= span[0]) & (mode.starts < span[1])
        self._cut_by_links(found, at, free)
        return found

    def left_to(self, order: Order, number: int) -> tuple[BoolArray, ...]:
        """Starts left to one task where all others stay, for each of its modes.

        Parameters
        ----------
        order : Order
            Keeps every rule.
        number : int
        """
        at = {each.task: each for each in order.placed if each.task != number}
        found = {number: self._beside(self.problem.tasks[number], at, self._room(at))}
        self._cut_by_links(found, at, (number,))
        return found[number]

    def _room(self, at: Mapping[int, Placed]) -> IntArray:
        """Slots before each in which no held task has the hands, shape (N + 2,)."""
        hands = np.ones(self.problem.slots.count + 1, np.int64)
        for each in at.values():
            hands[each.start : each.start + self.problem.tasks[each.task].hands] = 0
        return np.concatenate(([0], np.cumsum(hands)))

    def _beside(
        self, task: Task, at: Mapping[int, Placed], room: IntArray
    ) -> tuple[BoolArray, ...]:
        """Starts at which a task is in the way of none that is held, links aside."""
        problem, masks = self.problem, []
        for mode in task.modes:
            good = mode.starts >= task.not_before
            end = np.minimum(mode.starts + task.hands, problem.slots.count + 1)
            good &= room[end] - room[mode.starts] == task.hands
            good &= ~clashing(problem, at, task, mode, self._clash)
            good &= ~too_warm(problem, at, task, mode)
            masks.append(good)
        return tuple(masks)

    def _cut_by_links(
        self, found: Allowed, at: Mapping[int, Placed], free: Collection[int]
    ) -> None:
        for link in self.problem.links:
            first, then = at.get(link.before), at.get(link.after)
            ends = link.closes is not None and link.missed != "as is"
            may_sand = link.sanding is not None and (link.sanding in free or link.sanding in at)
            if first is not None and link.after in free:
                k = self.problem.tasks[link.before].modes[first.mode].place(first.start)
                assert k is not None
                opens = int(link.opens[first.mode][k])
                modes = self.problem.tasks[link.after].modes
                for mode, mask in zip(modes, found[link.after], strict=True):
                    mask &= mode.starts >= opens
                    if ends and not may_sand:
                        assert link.closes is not None
                        mask &= mode.starts <= int(link.closes[first.mode][k])
            elif then is not None and link.before in free:
                for number, mask in enumerate(found[link.before]):
                    mask &= link.opens[number] <= then.start
                    if ends and not may_sand:
                        assert link.closes is not None
                        mask &= link.closes[number] >= then.start


def _held(task: Task, placed: Placed | None) -> tuple[BoolArray, ...]:
    return tuple(_only(mode, placed, number) for number, mode in enumerate(task.modes))


def _only(mode: Mode, placed: Placed | None, number: int) -> BoolArray:
    if placed is None or placed.mode != number:
        return np.zeros(mode.starts.size, np.bool_)
    return np.asarray(mode.starts == placed.start, np.bool_)


def only(problem: Problem, jobs: Collection[str]) -> tuple[Problem, dict[int, int]]:
    """Some jobs of a problem by themselves.

    Parameters
    ----------
    problem : Problem
    jobs : collection of str

    Returns
    -------
    Problem
        Everything the other jobs ask is left out: no order of all is better than its best.
    dict of int to int
        Numbers of its tasks, by their numbers among all.
    """
    kept = [task for task in problem.tasks if task.job in jobs]
    number = {task.number: n for n, task in enumerate(kept)}
    tasks = tuple(
        replace(
            task,
            number=number[task.number],
            sanding_of=None
            if task.sanding_of is None
            else number.get(task.sanding_of, task.sanding_of),
        )
        for task in kept
    )
    links = tuple(
        replace(
            link,
            before=number[link.before],
            after=number[link.after],
            sanding=None if link.sanding is None else number[link.sanding],
        )
        for link in problem.links
        if link.before in number and link.after in number
    )
    return replace(problem, tasks=tasks, links=links), number


def among_all(problem: Problem, latest_day: int) -> Allowed:
    """Starts left to each task by its own row, whatever the hands do.

    Parameters
    ----------
    problem : Problem
    latest_day : int
        Local day by which all is to be hard.
    """
    early, late = earliest_starts(problem), latest_starts_within(problem, latest_day)
    return {
        task.number: tuple(
            (mode.starts >= early[task.number]) & (mode.starts <= late[task.number])
            for mode in task.modes
        )
        for task in problem.tasks
    }


def starts_in(allowed: Allowed, tasks: Iterable[int]) -> int:
    """How many starts some tasks are left."""
    return sum(int(np.count_nonzero(mask)) for number in tasks for mask in allowed[number])
