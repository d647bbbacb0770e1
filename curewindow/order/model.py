"""The constraint model of a problem: hands, bounds, links and the last day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np

from curewindow.order.axis import Model, steps_of, tight_slots
from curewindow.order.early import earliest_starts, latest_starts_within, least_day
from curewindow.order.problem import Mode, Precedence, Problem, Task, cut
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
) -> tuple[Model, list[tuple[Mode, ...]]]:
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
        By task, for each of its modes: the starts left (:class:`.neighbourhood.Neighbourhood`).

    Returns
    -------
    Model
        Without what heat and calm cost (:mod:`curewindow.order.costs`).
    list of tuple of Mode
        By task the modes with the starts that are left.
    """
    from ortools.sat.python import cp_model

    model = Model(problem, cp_model.CpModel(), problem.slots.before)
    early = earliest_starts(problem)
    # Pins may ask for the impossible: then nothing is left out beforehand.
    late = None
    if latest_day is not None and not explain:
        late = latest_starts_within(problem, latest_day)
    modes = [
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
    _add_tasks(model, modes, explain)
    _add_bounds(model, pins or {}, explain)
    for link in problem.links:
        _add_link(model, link, modes, explain)
    _add_finish(model, modes, latest_day, least_day(problem, early))
    return model, modes


def _useful(
    problem: Problem,
    task: Task,
    latest_day: int | None,
    early: dict[int, int],
    late: dict[int, int] | None,
    allowed: tuple[BoolArray, ...] | None,
) -> tuple[Mode, ...]:
    """The modes with the starts after which it is known when it is hard, and soon enough."""
    found = []
    for number, mode in enumerate(task.modes):
        keep = mode.hard < problem.slots.count
        if latest_day is not None:
            day = problem.slots.day[np.minimum(mode.hard, problem.slots.count - 1)]
            keep &= day <= latest_day
        if late is not None:
            keep &= (mode.starts >= early[task.number]) & (mode.starts <= late[task.number])
        if allowed is not None:
            keep &= allowed[number]
        found.append(cut(mode, keep))
    return tuple(found)


def _switch(model: Model, name: str, explain: bool) -> list[cp_model.BoolVarT]:
    """The literal that holds a condition; none where nothing is to be explained."""
    if not explain:
        return []
    if name not in model.switches:
        model.switches[name] = model.cp.new_bool_var(name)
    return [model.switches[name]]


def _add_tasks(model: Model, modes: list[tuple[Mode, ...]], explain: bool) -> None:
    from ortools.sat.python import cp_model

    cp, problem = model.cp, model.problem
    intervals = []
    for task in problem.tasks:
        own = modes[task.number]
        places = [model.before[mode.starts] for mode in own]
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
            literals = [cp.new_bool_var(f"mode{number}.{j}") for j in range(len(own))]
            cp.add_exactly_one(literals)
            for literal, place in zip(literals, places, strict=True):
                if place.size == 0:
                    cp.add_bool_and([~literal])
                elif place.size < union.size:
                    only = cp_model.Domain.from_values(place.tolist())
                    cp.add_linear_expression_in_domain(start, only).only_enforce_if(literal)
        model.mode.append(literals)
        if union.size and task.hands:
            intervals.append(
                cp.new_optional_fixed_size_interval_var(start, task.hands, done, f"hands{number}")
            )
    cp.add_no_overlap(intervals)


def _not(literals: Iterable[cp_model.BoolVarT]) -> list[cp_model.BoolVarT]:
    return [~literal for literal in literals]


def _add_bounds(model: Model, pins: dict[int, int], explain: bool) -> None:
    for task in model.problem.tasks:
        for at, bound in enumerate(task.bounds):
            held = _switch(model, f"bound|{task.number}|{at}", explain)
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


def _table(link: Precedence, number: int, task: Task, mode: Mode, closes: bool = False) -> IntArray:
    """A link's table for the starts that are left of a mode."""
    whole = task.modes[number]
    table = (link.closes if closes else link.opens) or link.opens
    keep = np.searchsorted(whole.starts, mode.starts)
    return table[number][keep]


def _add_link(model: Model, link: Precedence, modes: list[tuple[Mode, ...]], explain: bool) -> None:
    cp, problem = model.cp, model.problem
    task, after = problem.tasks[link.before], link.after
    count = problem.slots.count
    if not modes[link.before] or not model.mode[link.before]:
        return
    held = _switch(model, f"link|{link.before}|{after}|{link.kind}", explain)
    either = [model.done[n] for n in (link.before, after) if problem.tasks[n].optional]
    least, most = _reach(model, modes[after])
    if most < 0 and not explain:
        return  # what comes after is not done at all
    for number, mode in enumerate(modes[link.before]):
        if mode.starts.size == 0:
            continue
        places = model.before[mode.starts]
        chosen = [model.mode[link.before][number]] if len(modes[link.before]) > 1 else []
        opens = model.before[np.clip(_table(link, number, task, mode), 0, count)]
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
        closes = _table(link, number, task, mode, closes=True)
        last = model.before[np.clip(closes + 1, 0, count)]  # starts lie below it
        open_end = closes >= count
        if not explain:
            open_end |= last > most + tight_slots(problem)
        _add_close(model, link, places, last, open_end, chosen, held)


def _reach(model: Model, modes: tuple[Mode, ...]) -> tuple[int, int]:
    """The first and the last place a task can begin at; (0, -1) where there is none."""
    starts = [model.before[[mode.starts[0], mode.starts[-1]]] for mode in modes if mode.starts.size]
    if not starts:
        return 0, -1
    return int(min(first for first, _ in starts)), int(max(last for _, last in starts))


def _add_close(
    model: Model,
    link: Precedence,
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
    model: Model, modes: list[tuple[Mode, ...]], latest_day: int | None, least: int
) -> None:
    slots = model.problem.slots
    last = int(slots.day[-1]) if latest_day is None else latest_day
    least = min(least, last)
    model.finish_day = model.cp.new_int_var(least, max(last, 0), "finish")
    for task in model.problem.tasks:
        if task.optional:
            continue
        for number, mode in enumerate(modes[task.number]):
            if mode.starts.size == 0:
                continue
            chosen = [model.mode[task.number][number]] if len(modes[task.number]) > 1 else []
            days = slots.day[np.minimum(mode.hard, slots.count - 1)]
            for k, (place, day) in enumerate(steps_of(model.before[mode.starts], days)):
                if day <= least:
                    continue
                held = list(chosen)
                if k:
                    held.append(model.from_on(task.number, place))
                added = model.cp.add(model.finish_day >= day)
                if held:
                    added.only_enforce_if(held)
