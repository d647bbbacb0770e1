"""A problem as plain lists, to be scheduled many times."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curewindow.order.problem import Precedence, Problem, Task
from curewindow.order.urgency import tails

Numbers = memoryview
"""A table of whole numbers, read one by one: far sooner than from an array, and no copy as a
list is, of which only some are ever looked at."""


@dataclass(frozen=True, slots=True)
class ModeLists:
    """The tables of a mode (:class:`curewindow.order.problem.Mode`)."""

    starts: Numbers
    set_until: Numbers
    dust_until: Numbers
    hard: Numbers
    warm_from: Numbers
    warm_until: Numbers


@dataclass(frozen=True, slots=True)
class LinkLists:
    """The tables of a link (:class:`curewindow.order.problem.Precedence`)."""

    before: int
    after: int
    opens: list[Numbers]
    closes: list[Numbers] | None
    missed: str
    sanding: int | None


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A problem as lists, to be scheduled many times."""

    problem: Problem
    modes: list[list[ModeLists]]
    into: list[list[LinkLists]]
    hot: dict[int, int]
    away: list[bytes]
    longest: int
    weight: list[float]
    heated: list[tuple[tuple[str, ...], int]]


def prepare(problem: Problem) -> Prepared:
    """Turn the tables of a problem into lists.

    Parameters
    ----------
    problem : Problem
    """
    known: dict[int, ModeLists] = {}
    modes: list[list[ModeLists]] = []
    for task in problem.tasks:
        own = []
        for mode in task.modes:
            if id(mode) not in known:
                known[id(mode)] = ModeLists(
                    mode.starts.data,
                    mode.set_until.data,
                    mode.dust_until.data,
                    mode.hard.data,
                    mode.warm_from.data,
                    mode.warm_until.data,
                )
            own.append(known[id(mode)])
        modes.append(own)
    into: list[list[LinkLists]] = [[] for _ in problem.tasks]
    hot: dict[int, int] = {}
    for link in problem.links:
        into[link.after].append(_as_lists(link))
        if link.missed == "never" and link.closes is not None:
            hot[link.before] = link.after
    away = (~problem.slots.aboard).astype(np.uint8).tobytes()
    edges = np.flatnonzero(np.diff(np.concatenate(([0], problem.slots.aboard, [0]))))
    longest = int((edges[1::2] - edges[::2]).max()) if edges.size else 0
    closed: dict[tuple[int, int], bytes] = {}
    shut = []
    for task in problem.tasks:
        if task.sheet is not None or task.space is not None:
            shut.append(away)
            continue
        key = (id(task.modes[0]), task.hands)
        if key not in closed:
            closed[key] = _shut(task, problem.slots.count)
        shut.append(closed[key])
    heated = [_others_heated(problem, task) for task in problem.tasks]
    return Prepared(problem, modes, into, hot, shut, longest, tails(problem), heated)


def _others_heated(problem: Problem, task: Task) -> tuple[tuple[str, ...], int]:
    """Other spaces its heater cannot warm at the same time, and how many it can at once."""
    heater = problem.heater_of(task.space)
    if task.sheet is None or heater is None or heater.at_once >= len(heater.spaces):
        return (), 0
    return tuple(name for name in heater.spaces if name != task.space), heater.at_once


def _as_lists(link: Precedence) -> LinkLists:
    closes = None if link.closes is None else [each.data for each in link.closes]
    opens = [each.data for each in link.opens]
    return LinkLists(link.before, link.after, opens, closes, link.missed, link.sanding)


def _shut(task: Task, count: int) -> bytes:
    """Slots in which work outdoors without a product cannot go on."""
    shut = np.ones(count, np.uint8)
    for lag in range(task.hands):
        shut[task.modes[0].starts + lag] = 0
    return shut.tobytes()
