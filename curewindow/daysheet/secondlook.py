"""The second look at an order of work, and the heater runs that stand up to it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from curewindow.heating import HeatPlan
from curewindow.judgement.heated import conditions_under, done_of
from curewindow.judgement.nearheat import near_runs
from curewindow.order.given import Given
from curewindow.order.problem import Order, Problem
from curewindow.order.verify import verify
from curewindow.order.walk import OrderFault
from curewindow.situation import Situation

_TRIES: Final = 3


def look_again(
    facts: Situation,
    given: Given,
    problem: Problem,
    order: Order,
    runs: Mapping[int, HeatPlan] | None = None,
) -> list[OrderFault]:
    """The second look: with the conditions the plan's own heat gives.

    Parameters
    ----------
    facts : Situation
        With weather over the whole plan.
    given : Given
    problem : Problem
    order : Order
    runs : mapping of int to HeatPlan, optional
        Heater runs told for some tasks, in the place of those the order knows.
    """
    series = conditions_under(facts, problem, order, runs)
    left_out = frozenset(job for job, _ in problem.left_out)
    return verify(given, problem.slots, done_of(problem, order, runs), series, left_out)


def runs_that_hold(
    near: Situation, facts: Situation, given: Given, problem: Problem, order: Order
) -> dict[int, HeatPlan]:
    """The heater runs of the heat search with which an order still keeps every rule.

    A run that lets a film harden too late for what the order has behind it is not told: that
    coat keeps the longer one the order was found with.

    Parameters
    ----------
    near : Situation
        With the forecast itself.
    facts : Situation
        With weather over the whole plan.
    given : Given
    problem : Problem
    order : Order
        The second look has found nothing against it.

    Returns
    -------
    dict of int to HeatPlan
        By task.
    """
    left: set[int] = set()
    for _ in range(_TRIES):
        runs = near_runs(near, problem, order, left)
        faults = look_again(facts, given, problem, order, runs) if runs else []
        if not faults:
            return runs
        at_fault = {fault.job for fault in faults}
        # What waits for another job's film is at fault for that film's heat.
        at_fault |= {
            problem.tasks[link.before].job
            for link in problem.links
            if problem.tasks[link.after].job in at_fault
        }
        worse = {number for number in runs if problem.tasks[number].job in at_fault}
        left |= worse or set(runs)
    return {}
