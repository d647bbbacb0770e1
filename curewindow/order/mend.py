"""An order some of whose starts are gone: laid anew around what still stands."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from curewindow.order.neighbourhood import Neighbourhood
from curewindow.order.problem import Order, Placed, Problem, Task
from curewindow.order.quick import order_around
from curewindow.order.settle import fits

Warmed = tuple[float | None, int, int]
"""A setpoint [°C], and the slots from and to which it is held; None: nothing is held."""


def mended(problem: Problem, order: Order, pins: Mapping[int, int]) -> Order | None:
    """An order as near to another as its lost starts allow.

    Parameters
    ----------
    problem : Problem
    order : Order
        Of the same tasks when they had more starts; kept every rule then.
    pins : mapping of int to int
        Slots of tasks that are held where they are.

    Returns
    -------
    Order or None
        The order itself where all its starts are still there; else what is lost waits for cheap
        heat, or goes as early as it fits, whichever is not over later; None where it finds no
        place beside the rest.
    """
    lost = {each.task for each in order.placed if not _stands(problem, each)}
    if not lost:
        return order
    jobs = {problem.tasks[number].job for number in lost}
    later = {
        task.number
        for task in problem.tasks
        if any(task.job == problem.tasks[number].job and task.number >= number for number in lost)
    }
    whole = {task.number for task in problem.tasks if task.job in jobs}
    part, last = Neighbourhood(problem), problem.slots.day_of(order.finish)
    best: Order | None = None
    for free, day in ((later, last), (whole, last), (later, None), (whole, None)):
        kept = [each for each in order.placed if each.task not in free]
        allowed = part.left(Order(tuple(kept), order.finish), free)
        laid = order_around(problem, kept, allowed, latest_day=day, pins=dict(pins))
        if laid is None or not fits(problem, laid):
            continue
        if problem.slots.day_of(laid.finish) <= last:
            return laid
        if best is None or laid.finish < best.finish:
            best = laid
    return best


def as_before(
    problem: Problem,
    before: Mapping[int, int],
    pins: Mapping[int, int],
    warmed: Mapping[int, Warmed],
) -> Order | None:
    """An order with every task where an earlier plan had it, the others laid around them.

    Parameters
    ----------
    problem : Problem
    before : mapping of int to int
        Slots of the earlier plan; one that no start is left at is as if it were new.
    pins : mapping of int to int
        Slots of tasks that are held where they are.
    warmed : mapping of int to tuple
        What the earlier plan held for each of its tasks [°C], and its slots; None: nothing.

    Returns
    -------
    Order or None
        None where these slots do not go together any more.
    """
    stands = {
        number: slot
        for number, slot in before.items()
        if any(mode.place(slot) is not None for mode in problem.tasks[number].modes)
    }
    allowed = {
        task.number: tuple(
            np.full(mode.starts.size, each)
            for mode, each in zip(
                task.modes, _as_warm(task, stands.get(task.number), warmed), strict=True
            )
        )
        for task in problem.tasks
    }
    day = problem.slots.day_of(problem.slots.count - 1)
    laid = order_around(problem, (), allowed, latest_day=day, pins={**stands, **pins})
    return laid if laid is not None and fits(problem, laid) else None


def _as_warm(task: Task, slot: int | None, warmed: Mapping[int, Warmed]) -> list[bool]:
    """Which mode of a task holds what an earlier plan held for it; all where none does."""
    if slot is None or task.number not in warmed:
        return [True] * len(task.modes)
    level_c, first, end = warmed[task.number]
    off = []
    for mode in task.modes:
        k = mode.place(slot)
        if k is None or mode.level_c != level_c:
            off.append(np.inf)
        else:
            off.append(abs(float(mode.warm_from[k] - first)) + abs(float(mode.warm_until[k] - end)))
    return [bool(each == min(off)) for each in off]


def _stands(problem: Problem, placed: Placed) -> bool:
    modes = problem.tasks[placed.task].modes
    return placed.mode < len(modes) and modes[placed.mode].place(placed.start) is not None
