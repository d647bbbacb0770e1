"""The seasons as the plan goes: nothing sooner than the plan has it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from curewindow.order.plan import Plan
from curewindow.order.problem import Bound, Problem


def not_before(plan: Plan) -> dict[str, datetime]:
    """When a plan has each step at the soonest, by its key, or by its job for all others of it.

    What it has beyond the forecast, or has no place for, comes not before that ends.

    Parameters
    ----------
    plan : Plan
    """
    found = {step.key: step.start for step in plan.steps}
    found |= {step.key: step.held for step in plan.later if step.held is not None}
    if plan.known_until is not None:
        jobs = {step.job for step in plan.later} | set(plan.left_out)
        found |= dict.fromkeys(sorted(jobs), plan.known_until)
    return found


def bounded(problem: Problem, soonest: Mapping[str, datetime]) -> Problem:
    """The problem with these steps not begun sooner; what needs more than is left stays free.

    Parameters
    ----------
    problem : Problem
    soonest : mapping of str to datetime
        As of :func:`not_before`.
    """
    if not soonest:
        return problem
    tasks = []
    for task in problem.tasks:
        at = soonest.get(task.key, soonest.get(task.job))
        slot = -1 if at is None else problem.slots.at_or_after(at)
        if slot > 0:
            bound = Bound(slot, "pinned")
            task = replace(task, bounds=(*task.bounds, bound))
        tasks.append(task)
    return replace(problem, tasks=tuple(tasks))
