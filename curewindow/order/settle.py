"""Does an order keep the tables, and could a task be earlier for nothing?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from curewindow.order.asking import cost_of
from curewindow.order.calm import calm_of
from curewindow.order.delay import delay_weights
from curewindow.order.near import pairs, too_many
from curewindow.order.neighbourhood import Neighbourhood
from curewindow.order.problem import (
    Order,
    Placed,
    Problem,
    lit_blocks,
    warm_blocks,
    warmed_too_many,
)
from curewindow.order.quick import finish_of


def fits(problem: Problem, order: Order, only: int | None = None) -> bool:
    """Does an order keep every table, bound and link, and the one pair of hands?

    Parameters
    ----------
    problem : Problem
    order : Order
    only : int, optional
        Look only at what this task takes part in.
    """
    at = {each.task: each for each in order.placed}
    for task in problem.tasks:
        here = at.get(task.number)
        if here is None:
            if not task.optional:
                return False
            continue
        if only is not None and task.number != only:
            continue
        mode = task.modes[here.mode]
        if mode.place(here.start) is None or here.start < task.not_before:
            return False
        end = here.start + task.hands
        if any(
            other.task != task.number
            and other.start < end
            and other.start + problem.tasks[other.task].hands > here.start
            for other in order.placed
        ):
            return False
        if task.due is not None and here.start > task.due and problem.sanding_on(task) not in at:
            return False
    kept = _links_kept(problem, at, only) and _pairs_kept(problem, at, only)
    return kept and _tools_kept(problem, at) and _heater_kept(problem, at)


def _links_kept(problem: Problem, at: dict[int, Placed], only: int | None) -> bool:
    for link in problem.links:
        if only is not None and only not in (link.before, link.after):
            continue
        first, then = at.get(link.before), at.get(link.after)
        if first is None or then is None:
            continue
        k = problem.tasks[link.before].modes[first.mode].place(first.start)
        if k is None or then.start < int(link.opens[first.mode][k]):
            return False
        if link.closes is None or link.missed == "as is":
            continue
        late = then.start > int(link.closes[first.mode][k])
        if late and (link.missed == "never" or link.sanding not in at):
            return False
    return True


def _pairs_kept(problem: Problem, at: dict[int, Placed], only: int | None) -> bool:
    for why, one, other in pairs(problem):
        if one not in at or other not in at or (only is not None and only not in (one, other)):
            continue
        spans = []
        for number, table in (
            (one, "ends" if why == "dust" else "set_until"),
            (other, "dust_until" if why == "dust" else "set_until"),
        ):
            mode = problem.tasks[number].modes[at[number].mode]
            k = mode.place(at[number].start)
            if k is None:
                return False
            spans.append((at[number].start, int(getattr(mode, table)[k])))
        if spans[0][0] < spans[1][1] and spans[1][0] < spans[0][1]:
            return False
    return True


def _tools_kept(problem: Problem, at: dict[int, Placed]) -> bool:
    spans: dict[str, list[tuple[int, int, int]]] = {}
    for each in at.values():
        mode = problem.tasks[each.task].modes[each.mode]
        k = mode.place(each.start)
        for tool, count in problem.tasks[each.task].tools:
            if k is not None:
                spans.setdefault(tool, []).append((each.start, int(mode.set_until[k]), count))
    return not any(too_many(problem, tool, held) for tool, held in spans.items())


def _heater_kept(problem: Problem, at: dict[int, Placed]) -> bool:
    """Does each heater warm no more spaces at a time than it can, counted in blocks?"""
    warm: dict[tuple[str, int], set[str]] = {}
    for each in at.values():
        space = problem.tasks[each.task].space
        heater = problem.heater_of(space)
        mode = problem.tasks[each.task].modes[each.mode]
        k = mode.place(each.start)
        if heater is None or space is None or k is None:
            continue
        first, end = warm_blocks(problem, mode, k)
        for block in range(int(first), int(end)):
            warm.setdefault((heater.name, block), set()).add(space)
    heaters = {heater.name: heater for heater in problem.heaters}
    lit = {name: lit_blocks(problem, heater) for name, heater in heaters.items()}
    return not any(
        warmed_too_many(heaters[name].at_once, spaces, lit[name].get(block, frozenset()))
        for (name, block), spaces in warm.items()
    )


def settled(problem: Problem, order: Order, yesterday: dict[int, int], held: set[int]) -> Order:
    """The order with every task as early as it can be for nothing: no more cost, no less calm.

    Sanding that nothing asks for is left out. Work that makes a surface ready, sanding for a
    missed interval among it, goes as near its coat as it can for no more.

    Parameters
    ----------
    problem : Problem
    order : Order
    yesterday : dict of int to int
        Slots of an earlier plan.
    held : set of int
        Tasks that stay where they are.
    """
    for each in order.placed:
        if problem.tasks[each.task].optional and each.task not in held:
            rest = tuple(other for other in order.placed if other.task != each.task)
            without = Order(rest, finish_of(problem, rest))
            order = without if fits(problem, without) else order
    # Sanding for a missed interval has no day of its own to keep: it goes with its coat.
    yesterday = {n: slot for n, slot in yesterday.items() if not problem.tasks[n].optional}
    cost, calm = cost_of(problem, order, yesterday), calm_of(problem, order, yesterday)
    ready = delay_weights(problem)[1]
    part = Neighbourhood(problem)
    halves = {int(problem.slots.half_day[each.start]) for each in order.placed}
    for task in [each.task for each in order.placed]:
        if task in held:
            continue
        here = next(each for each in order.placed if each.task == task)
        starts = problem.tasks[task].modes[here.mode].starts
        starts = starts[part.left_to(order, task)[here.mode]]
        sooner, later = starts[starts < here.start], starts[starts > here.start]
        readies = ready[task] < 0 or problem.tasks[task].optional
        for start in (later[::-1] if readies else sooner).tolist():
            if int(problem.slots.half_day[start]) not in halves:
                continue
            trial = _with(order, replace(here, start=start))
            if (
                cost_of(problem, trial, yesterday) > cost
                or calm_of(problem, trial, yesterday) > calm
            ):
                continue
            if not fits(problem, trial, task):
                continue
            order = Order(trial.placed, finish_of(problem, trial.placed))
            cost, calm = cost_of(problem, order, yesterday), calm_of(problem, order, yesterday)
            break
    return order


def _with(order: Order, moved: Placed) -> Order:
    placed = tuple(
        sorted(
            (moved if each.task == moved.task else each for each in order.placed),
            key=lambda each: (each.start, each.task),
        )
    )
    return Order(placed, order.finish)


def latest_starts(problem: Problem, order: Order) -> dict[int, int]:
    """Slot up to which each task could slip, other jobs aside, with everything as late in the end.

    Hands are left out of account: this is how long a job may take, not how long all may.
    """
    at = {each.task: each for each in order.placed}
    last_day = problem.slots.day_of(order.finish)
    latest: dict[int, int] = {}
    for each in reversed(order.placed):
        mode = problem.tasks[each.task].modes[each.mode]
        hard = problem.slots.day[np.minimum(mode.hard, problem.slots.count - 1)]
        ok = (hard <= last_day) & (mode.starts >= each.start)
        for link in problem.links:
            if link.before == each.task and link.after in at:
                ok &= link.opens[each.mode] <= latest.get(link.after, at[link.after].start)
            if link.after == each.task and link.before in at and link.closes is not None:
                first = at[link.before]
                k = problem.tasks[link.before].modes[first.mode].place(first.start)
                if link.missed == "never" and k is not None:
                    ok &= mode.starts <= int(link.closes[first.mode][k])
        found = np.flatnonzero(ok)
        latest[each.task] = int(mode.starts[found[-1]]) if found.size else each.start
    return latest
