"""What waiting costs: each day a job is done later counts as heat, so that heat may beat it.

Without it nothing speaks for beginning what does not set the date: a coat is put off for weeks
to save a litre, and the work never ends.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np

from curewindow.order.calm import last_of_jobs
from curewindow.order.problem import Order, Problem, Task
from curewindow.rules.work import MAKES_DUST

DAY_KWH: Final = 8.0
"""A day by which a job is done later is worth so much heat: about a litre of diesel (a judgement
of ours, no source)."""
COST_STEPS: Final = 100
"""What an order costs is counted in whole numbers of 0.01 kWh."""
SANDING: Final = 20
"""A minute of sanding for a missed interval, in 0.01 kWh: some hours of it are worth days of
waiting (a judgement of ours, no source)."""
MOVED: Final = 200
"""A task on another day than the last plan had it, in 0.01 kWh: people have arranged their week."""
_COAT: Final = 0.25
"""What waits for a coat that is not the last of its job waits in that job: a part of its worth."""
MOST_FRAGILE: Final = 4.0
"""A coat that can go on one day in four, or on fewer, counts so many times as much."""
_READY: Final = 0.5
"""A surface made ready long before its coat takes dust and bloom: a part of a job's worth."""


@lru_cache(maxsize=4)  # a problem is itself alone: it is told apart by which one it is
def delay_weights(problem: Problem) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """What each task costs by every slot aboard that lies before its start, in 0.01 kWh.

    Parameters
    ----------
    problem : Problem

    Returns
    -------
    waiting : tuple of int
        By task: for being done later, never below 0.
    ready : tuple of int
        By task: for a surface that waits for its coat; of the work that makes it ready below 0,
        of the coat as much above. Over an order they never sum to less than 0.
    """
    tasks, slots = problem.tasks, problem.slots
    waiting, ready = [0] * len(tasks), [0] * len(tasks)
    aboard = int(np.count_nonzero(slots.aboard))
    if problem.day_kwh > 0.0 and aboard:
        a_slot = COST_STEPS * problem.day_kwh * slots.count * slots.hours / 24.0 / aboard
        last = set(last_of_jobs(problem))
        for task in tasks:
            if task.optional:
                continue
            share_of_job = 1.0 if task.number in last else _COAT if task.sheet is not None else 0.0
            if share_of_job:
                weight = share_of_job * fragility(problem, task) * a_slot
                waiting[task.number] = max(1, round(weight))
            for each in _made_ready_by(tasks, task):
                share = max(1, round(_READY * a_slot / each.of_sittings))
                ready[each.number] -= share
                ready[task.number] += share
    return tuple(waiting), tuple(ready)


def fragility(problem: Problem, task: Task) -> float:
    """How many days pass for one on which a coat can go on, as far as the forecast carries.

    A coat with a start each day that is put off by one is done a day later. One that has a start
    on every fourth may lose four, and more where the forecast errs: so it goes first.

    Parameters
    ----------
    problem : Problem
    task : Task

    Returns
    -------
    float
        1 for work without a product; at most :data:`MOST_FRAGILE`.
    """
    if task.sheet is None:
        return 1.0
    slots = problem.slots
    near = max(problem.known_until, 1)
    aboard = np.unique(slots.day[:near][slots.aboard[:near]]).size
    starts = np.concatenate([mode.starts for mode in task.modes])
    open_ = np.unique(slots.day[starts[starts < near]]).size
    return float(np.clip(aboard / max(open_, 1), 1.0, MOST_FRAGILE))


def _made_ready_by(tasks: tuple[Task, ...], coat: Task) -> list[Task]:
    """The sittings of the step right before a coat that make its surface ready."""
    if coat.sheet is None:
        return []
    before = coat.step - 1
    return [
        task
        for task in tasks
        if task.job == coat.job
        and task.step == before
        and coat.coat in (None, 1)
        and task.do in MAKES_DUST
        and not task.optional
    ]


def delay_of(problem: Problem, order: Order) -> int:
    """What the waiting in an order costs, in 0.01 kWh."""
    waiting, ready = delay_weights(problem)
    if not any(waiting):
        return 0
    before = problem.slots.before
    return sum(
        (waiting[each.task] + ready[each.task]) * int(before[each.start]) for each in order.placed
    )


def least_delay(problem: Problem, early: dict[int, int]) -> int:
    """What waiting costs at the least, in 0.01 kWh.

    Parameters
    ----------
    problem : Problem
    early : dict of int to int
        Slot before which each task cannot begin (:func:`curewindow.order.early.earliest_starts`).
    """
    waiting, _ = delay_weights(problem)
    before = problem.slots.before
    return sum(
        weight * int(before[min(early[number], problem.slots.count)])
        for number, weight in enumerate(waiting)
        if weight
    )
