"""Workable hours: how long in each week a coat of each kind could be begun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from curewindow.order.problem import Problem, Task
from curewindow.order.slots import Slots
from curewindow.series import BoolArray, FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class KindHours:
    """Of one kind of work.

    Attributes
    ----------
    sheet : str
        Stem of the sheet.
    space : str or None
        None: outdoors.
    jobs : tuple of str
    as_is, warmed : ndarray, shape (Y, W)
        Hours of each week in which it could be begun: as things are, and with the space
        kept warm as well where it can be.
    """

    sheet: str
    space: str | None
    jobs: tuple[str, ...]
    as_is: FloatArray
    warmed: FloatArray


def workable_hours(problems: Sequence[Problem]) -> list[KindHours]:
    """Hours a week for each product in each space, in the owner's hours.

    Parameters
    ----------
    problems : sequence of Problem
        One a year, all on the same slots.

    Returns
    -------
    list of KindHours
        Whole weeks from now only. Where jobs with the same product in the same space
        differ, as on two panels, the hours are those of the worst.
    """
    slots = problems[0].slots
    tasks = [task for problem in problems for task in problem.tasks if task.sheet is not None]
    kinds = dict.fromkeys((task.sheet or "", task.space) for task in tasks)
    found = []
    for sheet, space in kinds:
        rows = [[t for t in p.tasks if (t.sheet, t.space) == (sheet, space)] for p in problems]
        jobs = tuple(dict.fromkeys(task.job for row in rows for task in row))
        as_is = [_weekly(slots, _worst(slots, row, heated=False, jobs=jobs)) for row in rows]
        warmed = [_weekly(slots, _worst(slots, row, heated=True, jobs=jobs)) for row in rows]
        found.append(KindHours(sheet, space, jobs, np.array(as_is), np.array(warmed)))
    return found


def aboard_hours(problem: Problem) -> FloatArray:
    """Hours of each week someone is aboard for, (W,)."""
    return _weekly(problem.slots, problem.slots.aboard)


def _worst(slots: Slots, tasks: list[Task], *, heated: bool, jobs: tuple[str, ...]) -> BoolArray:
    """Slots in which every one of the jobs could be begun."""
    good = np.ones(slots.count, np.bool_)
    for job in jobs:
        own = np.zeros(slots.count, np.bool_)
        for task in tasks:
            if task.job == job:
                for mode in task.modes:
                    if heated or mode.level_c is None:
                        own[mode.starts] = True
        good &= own
    return good


def _weekly(slots: Slots, good: BoolArray) -> FloatArray:
    """Hours by week from now on; a started last week is left out."""
    per = round(7 * 24 / slots.hours)
    weeks = max(1, slots.count // per)
    cut = good[: weeks * per]
    padded = np.zeros(weeks * per, np.bool_)
    padded[: cut.size] = cut
    hours: FloatArray = padded.reshape(weeks, per).sum(axis=1) * slots.hours
    return hours
