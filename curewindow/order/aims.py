"""What an order of work is to be good for, in this order, and how far each was brought."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from curewindow.order.problem import Order, Problem

Aim = Literal["date", "cost", "calm"]
AIMS: tuple[Aim, ...] = ("date", "cost", "calm")


@dataclass(frozen=True, slots=True)
class AimStep:
    """How far an aim was brought.

    Attributes
    ----------
    aim : str
    value, bound : int
        What was reached, and what cannot be undercut: a local day (date), 0.01 kWh of heat with
        what waiting, sanding and other days than before are worth in heat (cost), points (calm).
    proven : bool
        They are the same.
    work : float
        It took so much (:class:`curewindow.order.work.Work`).
    """

    aim: Aim
    value: int
    bound: int
    proven: bool
    work: float


@dataclass(frozen=True, slots=True)
class Solved:
    """What was found.

    Attributes
    ----------
    order : Order or None
        None: nothing fits, or nothing was found in time.
    steps : tuple of AimStep
    possible : bool or None
        False: it is proven that nothing fits; None: not known.
    work : float
        It took so much.
    stopped : bool
        Stopped by whoever waited.
    cut_short : bool
        The machine was too busy for the work there was to be done.
    """

    order: Order | None
    steps: tuple[AimStep, ...]
    possible: bool | None
    work: float = 0.0
    stopped: bool = False
    cut_short: bool = False

    @property
    def proven(self) -> bool:
        """True where every aim is proven to be as good as can be."""
        return len(self.steps) == len(AIMS) and all(step.proven for step in self.steps)


Progress = Callable[[Aim, Order, int, int], None]
"""Called with the aim, the best order so far, its value and the bound."""


def missed_minutes(problem: Problem, order: Order) -> int:
    """Minutes of sanding that missed recoat intervals cost."""
    return sum(
        problem.tasks[each.task].hands * problem.slots.minutes
        for each in order.placed
        if problem.tasks[each.task].optional
    )
