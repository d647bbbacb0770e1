"""Where a task would get in the way of those that have their place already."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from curewindow.order.near import Pair, pairs
from curewindow.order.problem import Mode, Placed, Problem, Task, lit_blocks, warm_blocks
from curewindow.order.slots import BoolArray


def pairs_of(problem: Problem) -> dict[int, list[Pair]]:
    """By task the pairs it is in that may not overlap (:func:`curewindow.order.near.pairs`)."""
    found: dict[int, list[Pair]] = {task.number: [] for task in problem.tasks}
    for pair in pairs(problem):
        found[pair[1]].append(pair)
        found[pair[2]].append(pair)
    return found


def clashing(
    problem: Problem,
    at: Mapping[int, Placed],
    task: Task,
    mode: Mode,
    clash: Mapping[int, list[Pair]],
) -> BoolArray:
    """Starts of a mode at which dust would settle in a film, or a tool is held elsewhere.

    Parameters
    ----------
    problem : Problem
    at : mapping of int to Placed
        Tasks that have their place.
    task : Task
    mode : Mode
    clash : mapping of int to list
        By task the pairs it is in (:func:`pairs_of`).

    Returns
    -------
    ndarray of bool, shape (K,)
    """
    found = np.zeros(mode.starts.size, np.bool_)
    for why, one, other in clash[task.number]:
        counterpart = at.get(other if one == task.number else one)
        if counterpart is None:
            continue
        there = problem.tasks[counterpart.task].modes[counterpart.mode]
        j = there.place(counterpart.start)
        assert j is not None
        if why == "dust":
            # The one that makes dust takes its hands-on time, the film until it is dry.
            mine = mode.ends if one == task.number else mode.dust_until
            theirs = there.dust_until if one == task.number else there.ends
        else:
            mine, theirs = mode.set_until, there.set_until
        found |= (mode.starts < int(theirs[j])) & (counterpart.start < mine)
    return found


def too_warm(problem: Problem, at: Mapping[int, Placed], task: Task, mode: Mode) -> BoolArray:
    """Starts of a mode at which the heater would have to warm more spaces than it can.

    Counted in blocks, as :func:`curewindow.order.costs.fuel_of` counts them.

    Returns
    -------
    ndarray of bool, shape (K,)
    """
    found = np.zeros(mode.starts.size, np.bool_)
    heater = problem.heater_of(task.space)
    if heater is None or heater.at_once >= len(heater.spaces):
        return found
    begin, end = warm_blocks(problem, mode)
    others: dict[str, BoolArray] = {}
    for placed in at.values():
        there = problem.tasks[placed.task]
        if there.space in (None, task.space) or there.space not in heater.spaces:
            continue
        used = there.modes[placed.mode]
        j = used.place(placed.start)
        assert j is not None
        assert there.space is not None
        low, high = warm_blocks(problem, used, j)
        if low < high:
            overlap = (begin < high) & (low < end) & (begin < end)
            others[there.space] = others.get(there.space, found) | overlap
    for block, spaces in lit_blocks(problem, heater).items():
        for space in spaces - {task.space}:
            overlap = (begin <= block) & (block < end)
            others[space] = others.get(space, found) | overlap
    if others:
        found = np.sum(list(others.values()), axis=0) >= heater.at_once
    return found
