"""What a task waits for in an order of work, and the chain of waits that sets the date."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from curewindow.order.problem import Bound, Order, Placed, Precedence, Problem

Kind = Literal["conditions", "cure", "delivery", "hands", "dust", "work before", "choice"]
_CURES = ("recoat", "hot coat", "sand", "touch dry", "cured")


@dataclass(frozen=True, slots=True)
class Waited:
    """Why a task does not begin sooner.

    Attributes
    ----------
    kind : str
    since, until : int
        Slots: it waits from the one to the other.
    task : int or None
        The task it waits for, if any.
    bound : Bound or None
        What it waits for, where that is no task.
    """

    kind: Kind
    since: int
    until: int
    task: int | None = None
    bound: Bound | None = None


def waits_of(problem: Problem, order: Order, placed: Placed) -> list[Waited]:
    """What a task waits for, what ends last first."""
    at = {each.task: each for each in order.placed}
    task = problem.tasks[placed.task]
    found: list[Waited] = []
    for link in problem.links:
        before = at.get(link.before)
        if link.after == task.number and before is not None:
            found.append(_behind(problem, link, before))
    for bound in task.bounds:
        if bound.slot > 0:
            found.append(Waited(kind_of(bound), 0, bound.slot, None, bound))
    ready = max([0, *(each.until for each in found)])
    starts = task.modes[placed.mode].starts
    later = starts[starts >= ready]
    first = int(later[0]) if later.size else placed.start
    aboard = np.flatnonzero(problem.slots.aboard[ready : first + 1])
    if aboard.size and first > ready + int(aboard[0]):
        found.append(Waited("conditions", ready, first))
    if placed.start > first:
        found.append(_taken(problem, order, placed, first))
    return sorted(found, key=lambda each: (-each.until, each.since))


def kind_of(bound: Bound) -> Kind:
    """What kind of wait a bound is."""
    kinds: dict[str, Kind] = {"delivery": "delivery", "dust": "dust", "pinned": "choice"}
    return kinds.get(bound.kind, "cure")


def _behind(problem: Problem, link: Precedence, before: Placed) -> Waited:
    mode = problem.tasks[link.before].modes[before.mode]
    k = mode.place(before.start)
    assert k is not None
    end = int(mode.ends[k])
    opens = int(link.opens[before.mode][k])
    kind: Kind = "cure" if link.kind in _CURES and opens > end else "work before"
    return Waited(kind, end, opens, link.before)


def _taken(problem: Problem, order: Order, placed: Placed, first: int) -> Waited:
    """From its first possible start on the hands were at other work, or nothing pressed."""
    inside = [
        each
        for each in order.placed
        if each.task != placed.task
        and each.start < placed.start
        and each.start + problem.tasks[each.task].hands > first
    ]
    busy = sum(problem.tasks[each.task].hands for each in inside)
    free = int(np.count_nonzero(problem.slots.aboard[first : placed.start])) - busy
    if inside and free < problem.tasks[placed.task].hands:
        last = max(inside, key=lambda each: each.start)
        return Waited("hands", first, placed.start, last.task)
    return Waited("choice", first, placed.start)


def chain(problem: Problem, order: Order) -> list[tuple[Placed, Waited | None]]:
    """From the last task back, what each waited for longest; first to last.

    Each entry is a task of the chain and the wait that ends with its start; None where it
    waits for nothing.
    """
    if not order.placed:
        return []
    at = {each.task: each for each in order.placed}

    def hard(each: Placed) -> int:
        mode = problem.tasks[each.task].modes[each.mode]
        k = mode.place(each.start)
        assert k is not None
        return int(mode.hard[k])

    here: Placed | None = max(order.placed, key=lambda each: (hard(each), each.start))
    found: list[tuple[Placed, Waited | None]] = []
    seen: set[int] = set()
    while here is not None and here.task not in seen:
        seen.add(here.task)
        waits = [each for each in waits_of(problem, order, here) if each.until > 0]
        if not waits:
            found.append((here, None))
            break
        found.append((here, waits[0]))
        behind = next((w for w in waits if w.task is not None and w.task not in seen), None)
        stops = waits[0].task is None and waits[0].kind in ("delivery", "cure", "dust")
        here = None if behind is None or stops else at[behind.task or 0]
    return found[::-1]
