"""How urgent tasks are: what hangs on each, and what only a heater that others share allows."""

from __future__ import annotations

from curewindow.order.near import ancestors
from curewindow.order.problem import Precedence, Problem


def tails(problem: Problem) -> list[float]:
    """Slots from the start of each task to the end of what hangs on it, at the best of paces."""
    tail = [0.0] * len(problem.tasks)
    for task in problem.tasks:
        spans = [int((mode.hard - mode.starts).min()) for mode in task.modes if mode.starts.size]
        tail[task.number] = float(min(spans, default=task.hands))
    gaps = [_least_gap(problem, link) for link in problem.links]
    for _ in problem.tasks:
        changed = False
        for link, gap in zip(problem.links, gaps, strict=True):
            via = gap + tail[link.after]
            if via > tail[link.before]:
                tail[link.before], changed = via, True
        if not changed:
            break
    return tail


def _least_gap(problem: Problem, link: Precedence) -> float:
    """Slots from the start of the one to when the other may begin, at the best of paces."""
    modes = problem.tasks[link.before].modes
    gaps = [
        int((table - mode.starts).min())
        for table, mode in zip(link.opens, modes, strict=True)
        if mode.starts.size
    ]
    return float(min(gaps, default=0))


def scarce_first(problem: Problem) -> set[int]:
    """Tasks done only with heat from a heater that others share, and what comes before them."""
    found: set[int] = set()
    before = ancestors(problem)
    for task in problem.tasks:
        heater = problem.heater_of(task.space)
        if heater is None or heater.at_once >= len(heater.spaces):
            continue
        if task.sheet is not None and all(mode.level_c is not None for mode in task.modes):
            found |= {task.number} | before[task.number]
    return found
