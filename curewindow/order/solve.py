"""The best order of work: one aim after the other, each held while the next is sought."""

from __future__ import annotations

from collections.abc import Callable

from curewindow.order.aims import AIMS, Aim, Progress, Solved
from curewindow.order.asking import load_solver
from curewindow.order.mend import mended
from curewindow.order.problem import Order, Problem
from curewindow.order.quick import quick_order
from curewindow.order.search import Search
from curewindow.order.work import Work


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
    earlier: Solved | None = None,
) -> Solved:
    """Find the best order of work.

    Parameters
    ----------
    problem : Problem
    seconds : float
        How hard to look: work as two idle cores do in so long, whatever else this machine does.
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
    earlier : Solved, optional
        Of the same problem with more starts: what could not be undercut with them cannot be
        without, and the search begins near its order.

    Returns
    -------
    Solved
        The same for the same problem, unless it was cut short.
    """
    if not problem.tasks:
        return Solved(Order((), 0), (), True)
    quick, sought = None, False
    if earlier is not None and earlier.order is not None:
        quick = mended(problem, earlier.order, pins or {})
        sought = quick is not None and not _later(problem, quick, earlier.order)
        sought = sought and len(earlier.steps) > 0
    if not sought:
        laid = quick_order(problem, pins=pins, hint=yesterday)
        if quick is None or (laid is not None and _later(problem, quick, laid)):
            quick = laid
    if quick is not None and progress is not None:
        progress("date", quick, problem.slots.day_of(quick.finish), 0)
    state: Search | None = None
    work = Work(seconds)
    try:
        load_solver()
        state = Search(
            problem,
            quick,
            work,
            pins=pins or {},
            yesterday=yesterday or {},
            in_time=in_time,
            progress=progress,
            stop=stop,
            earlier=earlier,
        )
        for aim in aims:
            if not state.reach(aim, last=aim == aims[-1]):
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
        return Solved(best, steps, True, work.done, stopped=True)
    return Solved(
        state.best, state.reached(), state.possible, work.done, state.stopped, work.cut_short
    )


def _later(problem: Problem, one: Order, other: Order) -> bool:
    """Is one order over on a later day than the other?"""
    return problem.slots.day_of(one.finish) > problem.slots.day_of(other.finish)
