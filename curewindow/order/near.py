"""Which tasks get in each other's way besides the one pair of hands."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal
from weakref import WeakKeyDictionary

from curewindow.order.problem import Problem, Task

Why = Literal["dust", "tool"]
Pair = tuple[Why, int, int]


def ancestors(problem: Problem) -> list[set[int]]:
    """For each task the tasks that have to come before it, by links, near and far."""
    found: list[set[int]] = [set() for _ in problem.tasks]
    changed = True
    while changed:
        changed = False
        for link in problem.links:
            more = {link.before} | found[link.before]
            if not more <= found[link.after]:
                found[link.after] |= more
                changed = True
    return found


def keeps_off(dusty: Task, wet: Task, problem: Problem) -> bool:
    """Would the dust of one task settle in the fresh film of the other?"""
    return (
        dusty.dusty
        and wet.sheet is not None
        and dusty.number != wet.number
        and wet.space in problem.reach[dusty.space]
    )


def shares_tool(one: Task, other: Task, problem: Problem) -> bool:
    """Do two tasks hold more of a tool than there is, both until they have set?"""
    held = dict(one.tools)
    return one.number != other.number and any(
        held.get(tool, 0) and held[tool] + count > problem.count_of(tool)
        for tool, count in other.tools
    )


def too_many(problem: Problem, tool: str, spans: list[tuple[int, int, int]]) -> bool:
    """Is a tool held more often at a time than there is of it? Spans are (from, until, count)."""
    return any(
        sum(count for begin, end, count in spans if begin <= moment < end) > problem.count_of(tool)
        for moment, _, _ in spans
    )


# A problem never changes, and is asked for its pairs at every turn.
_known: WeakKeyDictionary[Problem, tuple[Pair, ...]] = WeakKeyDictionary()


def pairs(problem: Problem) -> tuple[Pair, ...]:
    """Pairs that may not overlap: (why, the one that comes between, the one that takes long).

    In 'dust' the second is the film; in 'tool' both hold it. Dust that is over before the film
    goes on, as the one comes before the other anyway, is left out; a tool may still be held
    when the next in the row may begin.
    """
    if problem not in _known:
        _known[problem] = tuple(_pairs(problem))
    return _known[problem]


def _pairs(problem: Problem) -> Iterator[Pair]:
    before = ancestors(problem)
    for one in problem.tasks:
        for other in problem.tasks:
            if one.number not in before[other.number] and keeps_off(one, other, problem):
                yield ("dust", one.number, other.number)
            if one.number < other.number and shares_tool(one, other, problem):
                yield ("tool", one.number, other.number)
