"""The best order of work: one aim after the other, each held while the next is sought."""

from __future__ import annotations

import time
from collections.abc import Callable

from curewindow.order.aims import AIMS, Aim, Progress, Solved
from curewindow.order.asking import load_solver
from curewindow.order.mend import mended
from curewindow.order.problem import Order, Problem
from curewindow.order.quick import quick_order
from curewindow.order.search import Search

WORKERS = 2


def solve(
    problem: Problem,
    *,
    seconds: float = 30.0,
    pins: dict[int, int] | None = None,
    yesterday: dict[int, int] | None = None,
    in_time: bool = False,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    aims: tuple[Aim, ...] = AIMS,
    workers: int = WORKERS,
    earlier: Solved | None = None,
) -> Solved:
    """Find the best order of work.

    Parameters
    ----------
    problem : Problem
    seconds : float
        Time there is.
    pins : dict of int to int, optional
        Slots of tasks held where they are.
    yesterday : dict of int to int, optional
        Slots of an earlier plan; where nothing is gained by it, no task changes its day.
    in_time : bool
        Being done by the date is enough; else as soon as can be.
    progress : callable, optional
    stop : callable, optional
        Asked at every better order; true: keep the best so far.
    aims : tuple of str
        Which aims, in this order.
    workers : int
        Threads.
    earlier : Solved, optional
        Of the same problem with more starts: what could not be undercut with them cannot be
        without, and the search begins near its order.

    Returns
    -------
    Solved
        The same for the same problem, as long as the time suffices.
    """
    begun = time.monotonic()
    if not problem.tasks:
        return Solved(Order((), 0), (), True, 0.0)
    before = None if earlier is None else earlier.order
    quick = None if before is None else mended(problem, before, pins or {})
    if before is None or quick is None or _later(problem, quick, before):
        laid = quick_order(problem, pins=pins, hint=yesterday)
        if quick is None or (laid is not None and _later(problem, quick, laid)):
            quick = laid
    first = time.monotonic() - begun if quick is not None else None
    if quick is not None and progress is not None:
        progress("date", quick, problem.slots.day_of(quick.finish), 0)
    state: Search | None = None
    try:
        load_solver()
        state = Search(
            problem,
            quick,
            begun=begun,
            seconds=seconds,
            pins=pins or {},
            yesterday=yesterday or {},
            in_time=in_time,
            progress=progress,
            stop=stop,
            workers=workers,
            earlier=earlier,
        )
        for aim in aims:
            if not state.reach(aim):
                break
        else:
            if all(step.proven for step in state.steps):
                state.sooner()
    except KeyboardInterrupt:
        # Whoever waits has waited enough: the best so far, if there is any.
        best = quick if state is None else state.best
        if best is None:
            raise
        steps = () if state is None else state.reached()
        return Solved(best, steps, True, first, stopped=True)
    return Solved(state.best, state.reached(), state.possible, state.first_seconds, state.stopped)


def _later(problem: Problem, one: Order, other: Order) -> bool:
    """Is one order over on a later day than the other?"""
    return problem.slots.day_of(one.finish) > problem.slots.day_of(other.finish)
