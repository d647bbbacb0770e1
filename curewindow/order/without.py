"""A problem without starts that the second look found wanting."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from curewindow.order.problem import Problem, Task, cut
from curewindow.order.slots import BoolArray

Ban = tuple[int, int, int]
"""Number of the task, number of its mode, local day."""


def without(problem: Problem, bans: set[Ban]) -> Problem:
    """The problem without the starts of some days.

    Parameters
    ----------
    problem : Problem
    bans : set of (task, mode, day)
    """
    return with_starts(
        problem,
        {
            task.number: [_kept(problem, task, number, bans) for number in range(len(task.modes))]
            for task in problem.tasks
        },
    )


def with_starts(problem: Problem, keeps: dict[int, list[BoolArray]]) -> Problem:
    """The problem with some of the starts of each mode.

    Parameters
    ----------
    problem : Problem
    keeps : dict of int to list of ndarray of bool
        By task, one a mode: the starts that are kept.
    """
    tasks = tuple(
        replace(
            task,
            modes=tuple(
                cut(mode, keep) for mode, keep in zip(task.modes, keeps[task.number], strict=True)
            ),
        )
        for task in problem.tasks
    )
    links = tuple(
        replace(
            link,
            opens=tuple(
                table[keep] for table, keep in zip(link.opens, keeps[link.before], strict=True)
            ),
            closes=None
            if link.closes is None
            else tuple(
                table[keep] for table, keep in zip(link.closes, keeps[link.before], strict=True)
            ),
        )
        for link in problem.links
    )
    return replace(problem, tasks=tasks, links=links)


def _kept(problem: Problem, task: Task, number: int, bans: set[Ban]) -> BoolArray:
    starts = task.modes[number].starts
    keep = np.ones(starts.size, np.bool_)
    for banned, mode, day in bans:
        if (banned, mode) == (task.number, number):
            keep &= problem.slots.day[starts] != day
    return keep
