"""When not all of it fits: the fewest jobs left out so that the rest does."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from curewindow.order.problem import Problem
from curewindow.order.quick import quick_order
from curewindow.voice.plan import BESIDE_THE_REST, waits_in_vain

_TRIES = 3


def that_fits(problem: Problem) -> Problem | None:
    """The problem without the fewest jobs with which an order is found quickly.

    Parameters
    ----------
    problem : Problem
        One of which no order is known.

    Returns
    -------
    Problem or None
        With those jobs and what waits for them left out, by name; None where no job fits.

    Notes
    -----
    One job alone is tried first: of those whose place the rest can do without, the one that
    keeps most others, then the one with the soonest end. Where there is none, jobs are let in
    one after the other in the order of the work list, each where it still fits.
    """
    jobs = list(dict.fromkeys(task.job for task in problem.tasks))
    found: list[tuple[int, int, int, Problem]] = []
    for number, name in enumerate(jobs):
        left = without_jobs(problem, [name])
        order = quick_order(left, tries=_TRIES) if left.tasks else None
        if order is not None:
            found.append((len(left.left_out), order.finish, number, left))
    if found:
        return min(found, key=lambda each: each[:3])[3]
    kept: list[str] = []
    fits: Problem | None = None
    for name in jobs:
        left = without_jobs(problem, [each for each in jobs if each not in (*kept, name)])
        there = any(task.job == name for task in left.tasks)
        if there and quick_order(left, tries=_TRIES) is not None:
            kept.append(name)
            fits = left
    return fits


def without_jobs(problem: Problem, names: Iterable[str]) -> Problem:
    """The problem without some jobs and those that wait for them, each with the reason.

    Parameters
    ----------
    problem : Problem
    names : iterable of str
    """
    left = dict.fromkeys(names, BESIDE_THE_REST)
    changed = True
    while changed:
        changed = False
        for link in problem.links:
            before, after = problem.tasks[link.before].job, problem.tasks[link.after].job
            if before in left and after not in left:
                left[after] = waits_in_vain(before)
                changed = True
    kept = [task for task in problem.tasks if task.job not in left]
    now = {task.number: number for number, task in enumerate(kept)}
    return replace(
        problem,
        tasks=tuple(task.renumbered(now.__getitem__) for task in kept),
        links=tuple(
            link.renumbered(now.__getitem__)
            for link in problem.links
            if {link.before, link.after} <= now.keys()
        ),
        left_out=(*problem.left_out, *left.items()),
    )
