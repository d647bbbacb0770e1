"""Tasks that are kept apart: dust from wet films, tools from hands that still hold them."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

import numpy as np

from curewindow.order.axis import Model, steps_of
from curewindow.order.near import pairs
from curewindow.order.problem import Mode

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


def keep_apart(
    model: Model, modes: list[tuple[Mode, ...]], free: Collection[int] | None = None
) -> None:
    """Bring the rules of spaces and tools into a model.

    Parameters
    ----------
    model : Model
    modes : list of tuple of Mode
        By task the modes with the starts that are left (:func:`build_model`).
    free : collection of int, optional
        Tasks that may move: pairs of others are kept apart by the starts that are left.
    """
    until: dict[tuple[int, str], cp_model.IntVar] = {}
    for why, one, other in pairs(model.problem):
        if free is None or (one in free and other in free):
            _add_pair(model, why, one, other, modes, until)
    _add_tools(model, modes)


def _add_pair(
    model: Model,
    why: str,
    one: int,
    other: int,
    modes: list[tuple[Mode, ...]],
    until: dict[tuple[int, str], cp_model.IntVar],
) -> None:
    """Two tasks of which one may not begin while the other is wet, or holds the tool."""
    cp, problem = model.cp, model.problem
    either = [model.done[n] for n in (one, other) if problem.tasks[n].optional]
    first = cp.new_bool_var(f"{one} before {other}")
    # 'one' before 'other': over in time.
    if why == "dust":
        hands = problem.tasks[one].hands
        cp.add(model.start[one] + hands <= model.start[other]).only_enforce_if([*either, first])
        dry = _until(model, other, "dust_until", modes, until)
        cp.add(model.start[one] >= dry).only_enforce_if([*either, ~first])
        return
    free = _until(model, one, "set_until", modes, until)
    cp.add(model.start[other] >= free).only_enforce_if([*either, first])
    free = _until(model, other, "set_until", modes, until)
    cp.add(model.start[one] >= free).only_enforce_if([*either, ~first])


def _until(
    model: Model,
    task: int,
    table: str,
    modes: list[tuple[Mode, ...]],
    known: dict[tuple[int, str], cp_model.IntVar],
) -> cp_model.IntVar:
    """The place from which on a task is out of the way by one of its tables, told in steps once.

    Bound from below only: nothing gains by its being later.
    """
    key = (task, table)
    if key in known:
        return known[key]
    count = model.problem.slots.count
    end = model.cp.new_int_var(0, int(model.before[-1]), f"{table} {task}")
    known[key] = end
    for number, mode in enumerate(modes[task]):
        if mode.starts.size == 0:
            continue
        chosen = [model.mode[task][number]] if len(modes[task]) > 1 else []
        ends = model.before[np.clip(getattr(mode, table), 0, count)]
        for k, (place, value) in enumerate(steps_of(model.before[mode.starts], ends)):
            held = [*chosen, *([model.from_on(task, place)] if k else [])]
            added = model.cp.add(end >= value)
            if held:
                added.only_enforce_if(held)
    return end


def _add_tools(model: Model, modes: list[tuple[Mode, ...]]) -> None:
    """Tools of which there are several: so many held at a time and no more."""
    cp, problem = model.cp, model.problem
    for tool, count in problem.tool_counts.items():
        intervals, demands = [], []
        for task in problem.tasks:
            held = dict(task.tools).get(tool, 0)
            if not held or not any(mode.starts.size for mode in modes[task.number]):
                continue
            end = cp.new_int_var(0, int(model.before[-1]), f"{tool} {task.number}")
            size = cp.new_int_var(0, int(model.before[-1]), f"{tool} {task.number} held")
            intervals.append(
                cp.new_optional_interval_var(
                    model.start[task.number], size, end, model.done[task.number], f"{tool}"
                )
            )
            demands.append(held)
            spans = {
                int(value)
                for mode in modes[task.number]
                for value in model.before[np.clip(mode.set_until, 0, problem.slots.count)]
                - model.before[mode.starts]
            }
            if len(spans) == 1:
                cp.add(size == spans.pop())
                continue
            for number, mode in enumerate(modes[task.number]):
                if mode.starts.size == 0:
                    continue
                chosen = [model.mode[task.number][number]] if len(modes[task.number]) > 1 else []
                until = model.before[np.clip(mode.set_until, 0, problem.slots.count)]
                for k, (place, value) in enumerate(steps_of(model.before[mode.starts], until)):
                    condition = [*chosen, *([model.from_on(task.number, place)] if k else [])]
                    added = cp.add(end >= value)
                    if condition:
                        added.only_enforce_if(condition)
        cp.add_cumulative(intervals, demands, count)
