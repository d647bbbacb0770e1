"""Small problems by hand: slots of a day each, jobs of one coat or of plain work."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise

import numpy as np

from curewindow.order.problem import Bound, Mode, Precedence, Problem, Task
from curewindow.order.slots import Slots

NOW = datetime(2026, 11, 25, tzinfo=UTC)


def days(count: int, aboard: np.ndarray | None = None) -> Slots:
    number = np.arange(count, dtype=np.int64)
    there = np.ones(count, np.bool_) if aboard is None else aboard
    return Slots(NOW, 1440, there, number, 3 * number)


def coat(number: int, good: np.ndarray, slots: Slots, *, job: str = "", takes: int = 1) -> Task:
    """A coat that may go on in good slots and is hard so many slots later."""
    starts = np.flatnonzero(good & slots.aboard).astype(np.int64)
    ends = starts + 1
    hard = np.minimum(starts + takes, slots.count)
    mode = Mode(None, starts, ends, ends, ends, hard, hard, starts, starts)
    name = job or f"job {number}"
    return Task(number, name, 1, 1, 1, 1, "coat", "paint", "saloon", 1, 24.0, (mode,))


def delivered(task: Task, earliest: int, latest: int) -> Task:

    return replace(task, bounds=(Bound(latest, "delivery", "parts", earliest),))


def in_a_row(tasks: list[Task]) -> tuple[Precedence, ...]:
    """Each after the one before is hard."""
    return tuple(
        Precedence(one.number, two.number, "recoat", tuple(mode.hard for mode in one.modes))
        for one, two in pairwise(tasks)
    )


def problem(slots: Slots, tasks: list[Task], links: tuple[Precedence, ...] = ()) -> Problem:
    return Problem(
        slots=slots,
        tasks=tuple(tasks),
        links=links,
        reach={None: frozenset([None]), "saloon": frozenset(["saloon"])},
        heaters=(),
        done_by=None,
        known_until=0,
        left_out=(),
        notes=(),
        now=NOW,
    )
