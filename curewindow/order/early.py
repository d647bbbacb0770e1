"""When a task could begin at the soonest by its own row, and what people call it."""

from __future__ import annotations

import numpy as np

from curewindow.order.problem import Mode, Problem, Task
from curewindow.order.slots import IntArray


def earliest_starts(problem: Problem, held: dict[int, int] | None = None) -> dict[int, int]:
    """Slot before which each task cannot begin by its own row alone; hands left out of account.

    Parameters
    ----------
    problem : Problem
    held : dict of int to int, optional
        Slots of tasks that stand where they are: what follows them begins no sooner for it.
    """
    found: dict[int, int] = {}
    held = held or {}
    lower = {task.number: max(task.not_before, held.get(task.number, 0)) for task in problem.tasks}
    for _ in problem.tasks:
        changed = False
        for task in problem.tasks:
            options = []
            for mode in task.modes:
                k = int(np.searchsorted(mode.starts, lower[task.number]))
                if k < mode.starts.size:
                    options.append(int(mode.starts[k]))
            found[task.number] = min(options, default=problem.slots.count)
        for link in problem.links:
            first = problem.tasks[link.before]
            if first.optional:
                continue
            opens = []
            for mode, table in zip(first.modes, link.opens, strict=True):
                k = int(np.searchsorted(mode.starts, lower[link.before]))
                if k < mode.starts.size:
                    opens.append(int(table[k]))
            least = min(opens, default=problem.slots.count)
            if least > lower[link.after]:
                lower[link.after] = least
                changed = True
        if not changed:
            break
    return found


def latest_starts_within(problem: Problem, last_day: int) -> dict[int, int]:
    """Slot after which each task cannot begin if all is to be hard by a local day; -1: never.

    By its own row alone, whatever the hands do.
    """
    slots = problem.slots
    upper = {task.number: slots.count - 1 for task in problem.tasks}
    for task in problem.tasks:
        ends = [_last(mode, mode.hard, slots.day, last_day, slots.count) for mode in task.modes]
        if not task.optional:
            upper[task.number] = max(ends, default=-1)
    for _ in problem.tasks:
        changed = False
        for link in problem.links:
            if problem.tasks[link.after].optional:
                continue
            first = problem.tasks[link.before]
            most = -1
            for mode, table in zip(first.modes, link.opens, strict=True):
                k = int(np.searchsorted(table, upper[link.after], side="right"))
                if k:
                    most = max(most, int(mode.starts[k - 1]))
            if most < upper[link.before]:
                upper[link.before] = most
                changed = True
        if not changed:
            break
    return upper


def _last(mode: Mode, hard: IntArray, day: IntArray, last_day: int, count: int) -> int:
    good = np.flatnonzero((hard < count) & (day[np.minimum(hard, count - 1)] <= last_day))
    return int(mode.starts[good[-1]]) if good.size else -1


def least_day(problem: Problem, early: dict[int, int]) -> int:
    """A local day before which not everything can be hard: by rows, and by the hands' hours."""
    slots = problem.slots
    least = 0
    for task in problem.tasks:
        if task.optional:
            continue
        ends = []
        for mode in task.modes:
            k = int(np.searchsorted(mode.starts, early[task.number]))
            if k < mode.starts.size:
                ends.append(int(mode.hard[k]))
        if ends:
            least = max(least, slots.day_of(min(ends)))
    before = slots.before
    needed = [task for task in problem.tasks if not task.optional and task.hands]
    # Whatever cannot begin before some moment has to find its hours after it.
    for moment in sorted({early[task.number] for task in needed}):
        work = sum(task.hands for task in needed if early[task.number] >= moment)
        place = int(before[min(moment, slots.count)]) + work
        slot = int(np.searchsorted(before, place))
        if slot <= slots.count:
            least = max(least, slots.day_of(slot - 1))
    return least


def task_name(task: Task) -> str:
    """A task as people call it: 'saloon doors' coat 4."""
    if task.optional:
        return f"sanding of '{task.job}'"
    if task.coat is not None and task.do == "coat":
        return f"'{task.job}' coat {task.coat}"
    part = f", sitting {task.sitting} of {task.of_sittings}" if task.of_sittings > 1 else ""
    return f"'{task.job}', {task.do}{part}"
