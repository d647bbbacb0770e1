"""The axis of a constraint model: starts counted in hours aboard, every table a step.

A start is a whole number: how many slots aboard lie before it. On that axis two tasks
never share hands where their stretches do not overlap, and the hours left until a date
are simply a difference. A table of what follows a start never falls, so it is told in
steps: 'not before this start, then not before that moment' (an order encoding); only
the starts at which something changes are named.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from curewindow.order.problem import Placed, Problem
from curewindow.order.slots import IntArray

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

TIGHT_H: Final = 24
"""A deadline with less time in hand than this is a tight one."""


@dataclass(slots=True, eq=False)
class Model:
    """A problem as a constraint model, with what is needed to steer and read it.

    Attributes
    ----------
    problem : Problem
    cp : CpModel
    start : list of IntVar
        By task: slots aboard before its start.
    done : list
        By task: true where it is done; only sanding may be left out.
    mode : list of list
        By task and mode: true where it is done in that mode.
    finish_day : IntVar
        Local day on which the last task is hard enough.
    missed : list of (literal, int)
        Sanding for missed intervals, and its minutes.
    fuel : list of (literal, int)
        Heat held in a block, and what it takes beyond the routine in 0.1 kWh.
    half_days, moved, tight, weeks : list of literals
        Half-days with work, tasks on another day than before, deadlines run close, weeks
        that pass before a job's last task.
    before : ndarray of int, shape (N + 1,)
        Slots aboard before each slot.
    nowhere : set of int
        Tasks that no start is left for.
    """

    problem: Problem
    cp: cp_model.CpModel
    before: IntArray
    start: list[cp_model.IntVar] = field(default_factory=list)
    done: list[cp_model.BoolVarT] = field(default_factory=list)
    mode: list[list[cp_model.BoolVarT]] = field(default_factory=list)
    finish_day: cp_model.IntVar | None = None
    missed: list[tuple[cp_model.BoolVarT, int]] = field(default_factory=list)
    fuel: list[tuple[cp_model.BoolVarT, int]] = field(default_factory=list)
    half_days: list[cp_model.BoolVarT] = field(default_factory=list)
    moved: list[cp_model.BoolVarT] = field(default_factory=list)
    tight: list[cp_model.BoolVarT] = field(default_factory=list)
    weeks: list[cp_model.BoolVarT] = field(default_factory=list)
    switches: dict[str, cp_model.BoolVarT] = field(default_factory=dict)
    nowhere: set[int] = field(default_factory=set)
    _at_least: dict[tuple[int, int], cp_model.BoolVarT] = field(default_factory=dict)

    def from_on(self, task: int, least: int) -> cp_model.BoolVarT:
        """True exactly where a task starts at or after a place on the axis of slots aboard."""
        key = (task, least)
        if key not in self._at_least:
            literal = self.cp.new_bool_var(f"t{task}>={least}")
            self.cp.add(self.start[task] >= least).only_enforce_if(literal)
            self.cp.add(self.start[task] < least).only_enforce_if(~literal)
            self._at_least[key] = literal
        return self._at_least[key]

    def slot_of(self, place: int) -> int:
        """The slot of a place on the axis of slots aboard."""
        return int(np.flatnonzero(self.problem.slots.aboard)[place])


def steps_of(places: IntArray, values: IntArray) -> list[tuple[int, int]]:
    """(place, value) at which a rising table rises."""
    if places.size == 0:
        return []
    rises = np.concatenate(([True], np.diff(values) > 0))
    return [(int(p), int(v)) for p, v in zip(places[rises], values[rises], strict=True)]


def tight_slots(problem: Problem) -> int:
    """Slots aboard in the time in hand below which a deadline is run close."""
    hand = TIGHT_H / problem.slots.hours
    return max(1, round(hand * float(problem.slots.aboard.mean())))


def hint(model: Model, placed: Iterable[Placed]) -> None:
    """Begin the search at an order that is known."""
    by_task = {each.task: each for each in placed}
    for task in model.problem.tasks:
        each = by_task.get(task.number)
        if task.number in model.nowhere:
            continue  # a constant, which takes no hint
        if task.optional:
            model.cp.add_hint(model.done[task.number], each is not None)
        if each is None:
            continue
        model.cp.add_hint(model.start[task.number], int(model.before[each.start]))
        for number, literal in enumerate(model.mode[task.number]):
            if len(model.mode[task.number]) > 1:
                model.cp.add_hint(literal, number == each.mode)
