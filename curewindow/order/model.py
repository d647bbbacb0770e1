"""The constraint model of a problem: hands, bounds, links and the last day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np

from curewindow.order.axis import Model, steps_of, tight_slots
from curewindow.order.early import earliest_starts, latest_starts_within, least_day
from curewindow.order.problem import Link, Problem, Task, Way
from curewindow.order.slots import BoolArray, IntArray

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


def build_model(
    problem: Problem,
    *,
    latest_day: int | None = None,
    pins: dict[int, int] | None = None,
    explain: bool = False,
    allowed: Mapping[int, tuple[BoolArray, ...]] | None = None,
) -> tuple[Model, list[tuple[Way, ...]]]:
    """Turn a problem into a constraint model.

    Parameters
    ----------
    problem : Problem
    latest_day : int, optional
        Local day by which all is known to be possible: later starts are left out.
    pins : dict of int to int, optional
        Slots of tasks held where they are.
    explain : bool
        Give each condition that could be dropped a switch (``switches``), to find those
        that cannot be kept together.
    allowed : mapping of int to tuple of ndarray of bool, optional
        By task, for each of its ways: the starts that are left (:class:`.part.Part`).

    Returns
    -------
    Model
        Without what heat and calm cost (:mod:`curewindow.order.costs`).
    list of tuple of Way
        By task the ways with the starts that are left.
    """
    from ortools.sat.python import cp_model

    before = np.concatenate(([0], np.cumsum(problem.slots.aboard))).astype(np.int64)
    model = Model(problem, cp_model.CpModel(), before)
    early = earliest_starts(problem)
    # Pins may ask for the impossible: then nothing is left out beforehand.
    late = None
    if latest_day is not None and not explain:
        late = latest_starts_within(problem, latest_day)
    ways = [
        _useful(
            problem,
            task,
            latest_day,
            early,
            late,
            None if allowed is None else allowed[task.number],
        )
        for task in problem.tasks
    ]
    _add_tasks(model, ways, explain)
    _add_bounds(model, pins or {}, explain)
    for link in problem.links:
        _add_link(model, link, ways, explain)
    _add_finish(model, ways, latest_day, least_day(problem, early))
    return model, ways


def _useful(
    problem: Problem,
    task: Task,
    latest_day: int | None,
    early: dict[int, int],
    late: dict[int, int] | None,
    allowed: tuple[BoolArray, ...] | None,
) -> tuple[Way, ...]:
    """The ways with the starts after which it is known when it is hard, and soon enough."""
    found = []
    for number, way in enumerate(task.ways):
        keep = way.hard < problem.slots.count
        if latest_day is not None:
            day = problem.slots.day[np.minimum(way.hard, problem.slots.count - 1)]
            keep &= day <= latest_day
        if late is not None:
            keep &= (way.starts >= early[task.number]) & (way.starts <= late[task.number])
        if allowed is not None:
            keep &= allowed[number]
        found.append(cut(way, keep))
    return tuple(found)


def cut(way: Way, keep: BoolArray) -> Way:
    """A way with some of its starts."""
    if keep.all():
        return way
    return Way(
        way.level_c,
        way.starts[keep],
        way.ends[keep],
        way.set_until[keep],
        way.dust_until[keep],
        way.hard[keep],
        way.covered[keep],
        way.warm_from[keep],
        way.warm_until[keep],
    )


def _switch(model: Model, name: str, explain: bool) -> list[cp_model.BoolVarT]:
    """The literal that holds a condition; none where nothing is to be explained."""
    if not explain:
        return []
    if name not in model.switches:
        model.switches[name] = model.cp.new_bool_var(name)
    return [model.switches[name]]


def _add_tasks(model: Model, ways: list[tuple[Way, ...]], explain: bool) -> None:
    from ortools.sat.python import cp_model

    cp, problem = model.cp, model.problem
    intervals = []
    for task in problem.tasks:
        own = ways[task.number]
        places = [model.before[way.starts] for way in own]
        union = np.unique(np.concatenate(places)) if places else np.empty(0, np.int64)
        number = task.number
        if union.size == 0:
            # Never within what is looked at: allowed only where it may be left out.
            model.nowhere.add(number)
            start = cp.new_constant(0)
            done: cp_model.BoolVarT = cp.new_constant(0)
            if not task.optional:
                cp.add_bool_or(_not(_switch(model, f"starts|{number}", explain)))
        else:
            domain = cp_model.Domain.from_values(union.tolist())
            start = cp.new_int_var_from_domain(domain, f"t{number}")
            done = cp.new_bool_var(f"done{number}") if task.optional else cp.new_constant(1)
        model.start.append(start)
        model.done.append(done)
        literals: list[cp_model.BoolVarT] = []
        if len(own) == 1 or union.size == 0:
            literals = [done] if own else []
        else:
            literals = [cp.new_bool_var(f"way{number}.{j}") for j in range(len(own))]
            cp.add_exactly_one(literals)
            for literal, place in zip(literals, places, strict=True):
                if place.size == 0:
                    cp.add_bool_and([~literal])
                elif place.size < union.size:
                    only = cp_model.Domain.from_values(place.tolist())
                    cp.add_linear_expression_in_domain(start, only).only_enforce_if(literal)
        model.way.append(literals)
        if union.size and task.hands:
            intervals.append(
                cp.new_optional_fixed_size_interval_var(start, task.hands, done, f"hands{number}")
            )
    cp.add_no_overlap(intervals)


def _not(literals: Iterable[cp_model.BoolVarT]) -> list[cp_model.BoolVarT]:
    return [~literal for literal in literals]


def _add_bounds(model: Model, pins: dict[int, int], explain: bool) -> None:
    for task in model.problem.tasks:
        for bound in task.bounds:
            held = _switch(model, f"bound|{task.number}|{bound.kind}|{bound.what}", explain)
            place = int(model.before[min(max(bound.slot, 0), model.problem.slots.count)])
            added = model.cp.add(model.start[task.number] >= place)
            if task.optional:
                held = [*held, model.done[task.number]]
            if held:
                added.only_enforce_if(held)
        if task.number in pins:
            slot = pins[task.number]
            held = _switch(model, f"pin|{task.number}", explain)
            if 0 <= slot < model.problem.slots.count and model.problem.slots.aboard[slot]:
                added = model.cp.add(model.start[task.number] == int(model.before[slot]))
                if held:
                    added.only_enforce_if(held)
            else:
                model.cp.add_bool_or(_not(held))
        if task.due is not None:
            place = int(model.before[min(max(task.due + 1, 0), model.problem.slots.count)])
            sanding = model.problem.sanding_on(task)
            assert sanding is not None
            model.cp.add(model.start[task.number] < place).only_enforce_if(~model.done[sanding])
    for task in model.problem.tasks:
        if task.optional:
            minutes = task.hands * model.problem.slots.minutes
            model.missed.append((model.done[task.number], minutes))


def _table(link: Link, number: int, task: Task, way: Way, closes: bool = False) -> IntArray:
    """A link's table for the starts that are left of a way."""
    whole = task.ways[number]
    table = (link.closes if closes else link.opens) or link.opens
    keep = np.searchsorted(whole.starts, way.starts)
    return table[number][keep]


def _add_link(model: Model, link: Link, ways: list[tuple[Way, ...]], explain: bool) -> None:
    cp, problem = model.cp, model.problem
    task, after = problem.tasks[link.before], link.after
    count = problem.slots.count
    if not ways[link.before] or not model.way[link.before]:
        return
    held = _switch(model, f"link|{link.before}|{after}|{link.kind}", explain)
    either = [model.done[n] for n in (link.before, after) if problem.tasks[n].optional]
    least, most = _reach(model, ways[after])
    if most < 0 and not explain:
        return  # what comes after is not done at all
    for number, way in enumerate(ways[link.before]):
        if way.starts.size == 0:
            continue
        places = model.before[way.starts]
        chosen = [model.way[link.before][number]] if len(ways[link.before]) > 1 else []
        opens = model.before[np.clip(_table(link, number, task, way), 0, count)]
        for k, (place, value) in enumerate(steps_of(places, opens)):
            if value <= least and not explain:
                continue  # it does not begin sooner anyway
            condition = [*held, *either, *chosen]
            if k:
                condition.append(model.from_on(link.before, place))
            added = cp.add(model.start[after] >= value)
            if condition:
                added.only_enforce_if(condition)
        if link.closes is None or link.missed == "as is":
            continue
        closes = _table(link, number, task, way, closes=True)
        last = model.before[np.clip(closes + 1, 0, count)]  # starts lie below it
        open_end = closes >= count
        if not explain:
            open_end |= last > most + tight_slots(problem)
        _add_close(model, link, places, last, open_end, chosen, held)


def _reach(model: Model, ways: tuple[Way, ...]) -> tuple[int, int]:
    """The first and the last place a task can begin at; (0, -1) where there is none."""
    starts = [model.before[[way.starts[0], way.starts[-1]]] for way in ways if way.starts.size]
    if not starts:
        return 0, -1
    return int(min(first for first, _ in starts)), int(max(last for _, last in starts))


def _add_close(
    model: Model,
    link: Link,
    places: IntArray,
    last: IntArray,
    open_end: BoolArray,
    chosen: list[cp_model.BoolVarT],
    held: list[cp_model.BoolVarT],
) -> None:
    """The end of an interval: told from the last start back, each step bounds what is before."""
    sanded = None if link.sanding is None else model.done[link.sanding]
    tight = None
    if not open_end.all():
        tight = model.cp.new_bool_var(f"tight{link.before}-{link.after}")
        model.tight.append(tight)
    hand = tight_slots(model.problem)
    for k in range(places.size):
        if open_end[k] or (k + 1 < places.size and last[k + 1] == last[k]):
            continue
        condition = [*held, *chosen]
        if k + 1 < places.size:
            condition.append(~model.from_on(link.before, int(places[k + 1])))
        if sanded is not None:
            condition.append(~sanded)
        added = model.cp.add(model.start[link.after] < int(last[k]))
        if condition:
            added.only_enforce_if(condition)
        if tight is not None:
            early = model.cp.add(model.start[link.after] < int(last[k]) - hand)
            early.only_enforce_if([*condition, ~tight])


def _add_finish(
    model: Model, ways: list[tuple[Way, ...]], latest_day: int | None, least: int
) -> None:
    slots = model.problem.slots
    last = int(slots.day[-1]) if latest_day is None else latest_day
    least = min(least, last)
    model.finish_day = model.cp.new_int_var(least, max(last, 0), "finish")
    for task in model.problem.tasks:
        if task.optional:
            continue
        for number, way in enumerate(ways[task.number]):
            if way.starts.size == 0:
                continue
            chosen = [model.way[task.number][number]] if len(ways[task.number]) > 1 else []
            days = slots.day[np.minimum(way.hard, slots.count - 1)]
            for k, (place, day) in enumerate(steps_of(model.before[way.starts], days)):
                if day <= least:
                    continue
                held = list(chosen)
                if k:
                    held.append(model.from_on(task.number, place))
                added = model.cp.add(model.finish_day >= day)
                if held:
                    added.only_enforce_if(held)
