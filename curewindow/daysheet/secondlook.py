"""The second look at an order of work: each near coat's own heater run, then every rule."""

from __future__ import annotations

from curewindow.heating import HeatPlan
from curewindow.judgement.heated import conditions_under, done_of
from curewindow.judgement.nearheat import heated_near, near_runs
from curewindow.order.given import Given
from curewindow.order.problem import Order, Problem
from curewindow.order.verify import verify
from curewindow.order.walk import OrderFault
from curewindow.situation import Situation


def look_again(
    facts: Situation,
    given: Given,
    problem: Problem,
    order: Order,
    near: Situation,
    *,
    roughly: bool = False,
) -> tuple[list[OrderFault], dict[int, HeatPlan]]:
    """Hold an order against every rule, in the conditions its own heat gives.

    A coat that is heated as far as the forecast carries is held against its limits by the
    heater run that is told for it, with the air its vapour asks for and in all members of the
    weather; where the heat search finds no run for its start, that is a fault. Beyond the
    forecast no limit is held against a start: there it is one typical year's weather that would
    say no, and weeks and chances are told by many years.

    Parameters
    ----------
    facts : Situation
        With weather over the whole plan.
    given : Given
    problem : Problem
    order : Order
    near : Situation
        With the forecast itself.
    roughly : bool
        By the runs that opened the starts, where they hold: none is told.

    Returns
    -------
    faults : list of OrderFault
    runs : dict of int to HeatPlan
        By task, of those heated as far as the forecast carries.
    """
    runs = near_runs(near, given, problem, order, roughly=roughly)
    series = conditions_under(facts, problem, order, runs)
    left_out = frozenset(job for job, _ in problem.left_out)
    found = verify(given, problem.slots, done_of(problem, order, runs), series, left_out)
    heated = [each for each in order.placed if heated_near(problem, each)]
    at = {each.task: problem.slots.at(each.start) for each in heated}
    judged = {(problem.tasks[number].job, start) for number, start in at.items()}
    known = problem.slots.at(problem.known_until)
    faults = [
        fault
        for fault in found
        if fault.rule != "limits" or (fault.at < known and (fault.job, fault.at) not in judged)
    ]
    faults += [
        OrderFault("limits", problem.tasks[number].job, start, "no heater run opens this start")
        for number, start in at.items()
        if number not in runs
    ]
    return faults, runs
