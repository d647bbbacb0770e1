"""What makes an order of work a calm one: few half-days, time in hand, nothing put off or moved."""

from __future__ import annotations

from collections.abc import Mapping
from graphlib import TopologicalSorter
from typing import TYPE_CHECKING

import numpy as np

from curewindow.order.axis import Model, tight_slots
from curewindow.order.problem import Mode, Order, Precedence, Problem, Task
from curewindow.order.slots import IntArray

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


def add_calm(model: Model, modes: list[tuple[Mode, ...]], yesterday: dict[int, int]) -> None:
    """Half-days with work, weeks until jobs are done, tasks on another day than they were."""
    problem = model.problem
    places = {
        task.number: np.unique(np.concatenate([model.before[mode.starts] for mode in own]))
        for task, own in zip(problem.tasks, modes, strict=True)
        if any(mode.starts.size for mode in own)
    }
    used = _add_half_days(model, places)
    for chain in _chains(problem):
        _add_chain(model, places, used, chain)
    _add_weeks(model, places)
    add_moved(model, modes, yesterday)


def add_moved(model: Model, modes: list[tuple[Mode, ...]], yesterday: dict[int, int]) -> None:
    """A literal for each task that is on another day than it was; once for a model."""
    if model.moved:
        return
    for number, slot in yesterday.items():
        own = [model.before[mode.starts] for mode in modes[number] if mode.starts.size]
        if own and not model.problem.tasks[number].optional:
            _add_moved(model, number, np.unique(np.concatenate(own)), slot)


def _add_half_days(model: Model, places: dict[int, IntArray]) -> dict[int, cp_model.BoolVarT]:
    half_of = model.problem.slots.half_day[model.problem.slots.aboard]
    used: dict[int, cp_model.BoolVarT] = {}
    for number, own in places.items():
        for half in np.unique(half_of[own]).tolist():
            if half not in used:
                used[half] = model.cp.new_bool_var(f"half-day {half}")
            clause = _within(model, model.problem.tasks[number], own, half_of[own] == half)
            model.cp.add_bool_or([used[half], *clause])
    model.half_days = list(used.values())
    return used


def _add_chain(
    model: Model,
    places: dict[int, IntArray],
    used: dict[int, cp_model.BoolVarT],
    chain: list[int],
) -> None:
    """Of tasks no two of which fit one half-day, each takes one of its own.

    This follows from the rest; said as a sum it tightens the bound a great deal.
    """
    half_of = model.problem.slots.half_day[model.problem.slots.aboard]
    terms: dict[int, list[cp_model.LinearExprT]] = {}
    for number in chain:
        own = places.get(number)
        if own is None:
            continue
        for half in np.unique(half_of[own]).tolist():
            at = np.flatnonzero(half_of[own] == half)
            here = terms.setdefault(half, [])
            here.append(model.from_on(number, int(own[at[0]])) if at[0] > 0 else 1)
            if at[-1] + 1 < own.size:
                here.append(-model.from_on(number, int(own[at[-1] + 1])))
    for half, sums in terms.items():
        model.cp.add(used[half] >= sum(sums))


def _chains(problem: Problem) -> list[list[int]]:
    """Rows of tasks that must be done, no two of which can ever share a half-day.

    For every task after which nothing comes the longest such row that leads to it.
    """
    needed = [task.number for task in problem.tasks if not task.optional]
    before: dict[int, list[tuple[int, bool]]] = {number: [] for number in needed}
    for link in problem.links:
        if link.before in before and link.after in before:
            before[link.after].append((link.before, _never_together(problem, link)))
    order = TopologicalSorter({n: [b for b, _ in links] for n, links in before.items()})
    rows: dict[int, list[int]] = {}
    for number in order.static_order():
        best = [number]
        for other, apart in before[number]:
            row = [*rows[other], number] if apart else rows[other]
            if len(row) > len(best):
                best = row
        rows[number] = best
    followed = {b for links in before.values() for b, _ in links}
    return [rows[number] for number in needed if number not in followed and len(rows[number]) > 1]


def _never_together(problem: Problem, link: Precedence) -> bool:
    """Is the second task always in a later half-day than the first?"""
    half, last = problem.slots.half_day, problem.slots.count - 1
    return all(
        bool(np.all((opens > last) | (half[np.clip(opens, 0, last)] > half[mode.starts])))
        for mode, opens in zip(problem.tasks[link.before].modes, link.opens, strict=True)
    )


def _add_weeks(model: Model, places: dict[int, IntArray]) -> None:
    """A literal for each week that passes before a job's last task is begun."""
    day = model.problem.slots.day[model.problem.slots.aboard]
    week = (day - int(model.problem.slots.day[0])) // 7
    for number in last_of_jobs(model.problem):
        if number not in places:
            continue
        first, last = int(places[number][0]), int(places[number][-1])
        for place in (np.flatnonzero(np.diff(week, prepend=0) > 0)).tolist():
            if place <= first:
                model.weeks.append(model.cp.new_constant(1))
            elif place <= last:
                model.weeks.append(model.from_on(number, place))


def _add_moved(model: Model, number: int, places: IntArray, slot: int) -> None:
    moved = model.cp.new_bool_var(f"moved{number}")
    model.moved.append(moved)
    day = model.problem.slots.day[model.problem.slots.aboard]
    inside = np.flatnonzero(day[places] == model.problem.slots.day_of(slot))
    if slot < 0 or inside.size == 0:
        model.cp.add_bool_and([moved])
        return
    low, high = int(places[inside[0]]), int(places[inside[-1]])
    model.cp.add(model.start[number] >= low).only_enforce_if(~moved)
    model.cp.add(model.start[number] <= high).only_enforce_if(~moved)


def _within(
    model: Model,
    task: Task,
    places: IntArray,
    inside: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
) -> list[cp_model.BoolVarT]:
    """Literals of which one is true where a task does not start within a run of places."""
    at = np.flatnonzero(inside)
    clause: list[cp_model.BoolVarT] = []
    if task.optional:
        clause.append(~model.done[task.number])
    if at[0] > 0:
        clause.append(~model.from_on(task.number, int(places[at[0]])))
    if at[-1] + 1 < places.size:
        clause.append(model.from_on(task.number, int(places[at[-1] + 1])))
    return clause


def last_of_jobs(problem: Problem) -> list[int]:
    """By job, the last of its tasks that must be done."""
    return list({task.job: task.number for task in problem.tasks if not task.optional}.values())


def least_calm(problem: Problem, early: dict[int, int]) -> tuple[int, int]:
    """Half-days and weeks that no order does without: by hours, and by each job's own row.

    Parameters
    ----------
    problem : Problem
    early : dict of int to int
        Slot before which each task cannot begin (:func:`curewindow.order.early.earliest_starts`).
    """
    slots = problem.slots
    needed = [task.hands for task in problem.tasks if not task.optional and task.hands]
    _, sizes = np.unique(slots.half_day[slots.aboard], return_counts=True)
    # What is begun in the last slot of a half-day goes on into the next.
    room = int(sizes.max(initial=1)) + max(needed, default=1) - 1
    weeks = sum(
        (slots.day_of(early[number]) - int(slots.day[0])) // 7 for number in last_of_jobs(problem)
    )
    return -(-sum(needed) // room), weeks


def moved_from(problem: Problem, order: Order, yesterday: Mapping[int, int]) -> int:
    """Tasks on another day than an earlier plan had them."""
    at = {each.task: each for each in order.placed}
    return sum(
        1
        for number, slot in yesterday.items()
        if number in at
        and not problem.tasks[number].optional
        and (slot < 0 or problem.slots.day_of(at[number].start) != problem.slots.day_of(slot))
    )


def calm_of(problem: Problem, order: Order, yesterday: dict[int, int]) -> tuple[int, int, int, int]:
    """(tasks on another day than before, deadlines run close, half-days with work, weeks)."""
    at = {each.task: each for each in order.placed}
    halves = {int(problem.slots.half_day[each.start]) for each in order.placed}
    moved = moved_from(problem, order, yesterday)
    before = problem.slots.before
    close = 0
    for link in problem.links:
        if link.closes is None or link.missed == "as is":
            continue
        if link.before not in at or (link.sanding is not None and link.sanding in at):
            continue
        first = at[link.before]
        k = problem.tasks[link.before].modes[first.mode].place(first.start)
        assert k is not None
        end = int(link.closes[first.mode][k])
        if end >= problem.slots.count:
            continue
        last = int(before[min(max(end + 1, 0), problem.slots.count)])
        close += int(before[at[link.after].start]) >= last - tight_slots(problem)
    today = int(problem.slots.day[0])
    weeks = sum(
        (problem.slots.day_of(at[number].start) - today) // 7 for number in last_of_jobs(problem)
    )
    return moved, close, len(halves), weeks
