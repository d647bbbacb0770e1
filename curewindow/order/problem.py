"""What is to be put in order: tasks with their allowed starts, and what binds them together.

Everything is in slots (:class:`curewindow.order.slots.Slots`), counted from the moment
planned for, and worked out beforehand: when a coat started in a slot has set, when the
next may and must go on, until when heat is held. Whoever puts tasks in order (the
constraint model, the quick list, the season) looks up and works nothing out.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import lru_cache
from typing import Final, Literal

import numpy as np

from curewindow.order.slots import BoolArray, IntArray, Slots
from curewindow.rules.reach import within_reach
from curewindow.series import FloatArray

BLOCK_H: Final = 12
"""Heat is counted in blocks of so many hours."""

Missed = Literal["sand", "never", "as is"]
LinkKind = Literal["step", "recoat", "hot coat", "sand", "touch dry", "job", "cured"]
BoundKind = Literal["delivery", "recoat", "drying", "dust", "cured", "pinned", "touch dry"]
Do = Literal["prepare", "coat", "sand", "bond", "seal", "fit"]


@dataclass(frozen=True, slots=True, eq=False)
class Mode:
    """A mode of a task (as in resource-constrained scheduling), with all its allowed starts.

    A table has one entry a start and never falls from one start to the next. A slot
    at or beyond the end of the slots means: later than what is known.

    Attributes
    ----------
    level_c : float or None
        Setpoint held for it in its space; None: conditions as they are.
    starts : ndarray of int, shape (K,)
        Slots in which it may begin, rising.
    ends : ndarray of int, shape (K,)
        Slot in which the hands are free again.
    set_until : ndarray of int, shape (K,)
        Until then the limits while setting hold, and tools that hold it stay busy.
    dust_until : ndarray of int, shape (K,)
        Until then dust would settle in it; the end where there is no film.
    hard : ndarray of int, shape (K,)
        Hard enough to be worked over and used.
    covered : ndarray of int, shape (K,)
        May be closed up.
    warm_from, warm_until : ndarray of int, shape (K,)
        Slots in which the heater of the space is needed; equal: not at all.
    reached_c : ndarray, shape (K,), or None
        What the air gets to meanwhile in half of the members: nobody is told to hold more.
    """

    level_c: float | None
    starts: IntArray
    ends: IntArray
    set_until: IntArray
    dust_until: IntArray
    hard: IntArray
    covered: IntArray
    warm_from: IntArray
    warm_until: IntArray
    reached_c: FloatArray | None = field(default=None, kw_only=True)

    def reachable_c(self, k: int) -> float | None:
        """The setpoint to tell for a start: none its heater cannot reach there."""
        if self.level_c is None or self.reached_c is None:
            return self.level_c
        return within_reach(self.level_c, float(self.reached_c[k]))

    def place(self, slot: int) -> int | None:
        """Number of the start in a slot; None where it may not begin then."""
        k = int(np.searchsorted(self.starts, slot))
        return k if k < self.starts.size and self.starts[k] == slot else None


def cut(mode: Mode, keep: BoolArray) -> Mode:
    """A mode with some of its starts."""
    if keep.all():
        return mode
    return Mode(
        mode.level_c,
        mode.starts[keep],
        mode.ends[keep],
        mode.set_until[keep],
        mode.dust_until[keep],
        mode.hard[keep],
        mode.covered[keep],
        mode.warm_from[keep],
        mode.warm_until[keep],
        reached_c=None if mode.reached_c is None else mode.reached_c[keep],
    )


@dataclass(frozen=True, slots=True)
class Bound:
    """A task may not begin before a slot, for a reason outside the order of work.

    Attributes
    ----------
    slot : int
    kind : str
    name : str
        What or whom it waits for: what is delivered, the job of a film; '' where the kind says it.
    earliest : int or None
        Of a delivery: the slot at which it may come at the soonest.
    """

    slot: int
    kind: BoundKind
    name: str = ""
    earliest: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """A piece of work done in one go: one coat, or one sitting of other work.

    Attributes
    ----------
    number : int
        Its place in the problem.
    job : str
    step : int
        From 1.
    coat : int or None
        For steps with a product, from 1.
    sitting, of_sittings : int
        Long work without a product is done in sittings of a few hours.
    do : str
    sheet : str or None
    space : str or None
        None: outdoors.
    hands : int
        Slots the hands are on it.
    hands_h : float
        The same as asked for.
    modes : tuple of Mode
    bounds : tuple of Bound
    dusty : bool
        It makes dust: no film may be wet near it.
    due : int or None
        A coat of before has to be recoated by then, or be sanded first.
    sanding_of : int or None
        This task is the sanding of a missed recoat interval, wanted only where the
        interval before that task is missed; -1: of a coat that is on already.
    tools : tuple of (str, int)
        Held from the start until it has set, and how many of each.
    """

    number: int
    job: str
    step: int
    coat: int | None
    sitting: int
    of_sittings: int
    do: Do
    sheet: str | None
    space: str | None
    hands: int
    hands_h: float
    modes: tuple[Mode, ...]
    bounds: tuple[Bound, ...] = ()
    dusty: bool = False
    due: int | None = None
    sanding_of: int | None = None
    tools: tuple[tuple[str, int], ...] = ()

    @property
    def optional(self) -> bool:
        """True for sanding that is only done where a recoat interval is missed."""
        return self.sanding_of is not None

    @property
    def not_before(self) -> int:
        """The slot before which it may not begin."""
        return max([0, *(bound.slot for bound in self.bounds)])

    def renumbered(self, now: Callable[[int], int]) -> Task:
        """The same under another number, with the coat it is the sanding of."""
        of = self.sanding_of
        of = now(of) if of is not None and of >= 0 else of
        return replace(self, number=now(self.number), sanding_of=of)

    @property
    def key(self) -> str:
        """What a pin or a kept plan knows it by: 'job|step|coat or sitting', 's' for sanding."""
        return f"{self.job}|{self.part}"

    @property
    def part(self) -> str:
        """Which part of its job: 'step|coat or sitting', 's' for sanding."""
        last = self.coat if self.coat is not None else self.sitting
        return f"{self.step}|{last}{'s' if self.optional else ''}"


@dataclass(frozen=True, slots=True, eq=False)
class Precedence:
    """One task has to come before another.

    Attributes
    ----------
    before, after : int
        Numbers of tasks.
    kind : str
        Why.
    opens : tuple of ndarray of int
        One table a mode of ``before``: the slot at or after which ``after`` may begin.
    closes : tuple of ndarray of int or None
        The slot by which it must begin; None: no end.
    missed : {'sand', 'never', 'as is'}
        What a missed end costs: sanding, or it may not be missed.
    sanding : int or None
        The task that is the sanding.
    """

    before: int
    after: int
    kind: LinkKind
    opens: tuple[IntArray, ...]
    closes: tuple[IntArray, ...] | None = None
    missed: Missed = "as is"
    sanding: int | None = None

    def renumbered(self, now: Callable[[int], int]) -> Precedence:
        """The same between tasks under other numbers."""
        sanding = None if self.sanding is None else now(self.sanding)
        return replace(self, before=now(self.before), after=now(self.after), sanding=sanding)


@dataclass(frozen=True, slots=True, eq=False)
class HeatSource:
    """A heater, the spaces it warms, and what that takes beyond its routine.

    Attributes
    ----------
    name : str
        The space it stands in.
    spaces : tuple of str
    at_once : int
        Spaces it can warm at a time.
    kwh : dict of (space, level) to ndarray, shape (N,)
        Heat beyond the routine's, kWh a slot, while the level is held.
    kwh_per_unit : float
        Heat of a litre, kilogram or kWh that stays aboard.
    unit : str
    lit : dict of str to tuple of (int, int)
        By space: slots in which the log has it warmed already, the last left out.
    """

    name: str
    spaces: tuple[str, ...]
    at_once: int
    kwh: dict[tuple[str, float], np.ndarray] = field(default_factory=dict)
    kwh_per_unit: float = 1.0
    unit: str = "kWh"
    lit: dict[str, tuple[tuple[int, int], ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Problem:
    """Tasks to be put in order.

    Attributes
    ----------
    slots : Slots
    tasks : tuple of Task
    links : tuple of Precedence
    reach : dict of (str or None) to frozenset
        By space: the spaces its dust and vapour get to, itself too; None: outdoors.
    heaters : tuple of HeatSource
    done_by : int or None
        Slot by which everything is to be done.
    known_until : int
        Slot up to which the weather is forecast; later it is typical weather.
    left_out : tuple of (job, reason)
        Jobs that cannot be planned as things are, and those that wait for them.
    notes : tuple of str
        What has to be said with any plan.
    now : datetime
        Aware UTC.
    tool_counts : dict of str to int
        Tools of which there is more than one.
    day_kwh : float
        Heat that a day is worth by which a job is done sooner; 0: none.
    """

    slots: Slots
    tasks: tuple[Task, ...]
    links: tuple[Precedence, ...]
    reach: dict[str | None, frozenset[str | None]]
    heaters: tuple[HeatSource, ...]
    done_by: int | None
    known_until: int
    left_out: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    now: datetime
    tool_counts: dict[str, int] = field(default_factory=dict)
    day_kwh: float = 0.0

    def count_of(self, tool: str) -> int:
        """How many there are of a tool."""
        return self.tool_counts.get(tool, 1)

    def sanding_on(self, task: Task) -> int | None:
        """Number of the sanding of the coat that is on already, where a task follows it."""
        if task.due is None:
            return None
        return next(
            each.number
            for each in self.tasks
            if each.sanding_of == -1 and each.job == task.job and each.step == task.step
        )

    def sanding_before(self, task: Task) -> int | None:
        """Number of the sanding wanted where the interval before a task is missed."""
        for each in self.tasks:
            if each.optional and each.sanding_of == task.number:
                return each.number
        return self.sanding_on(task)

    def heater_of(self, space: str | None) -> HeatSource | None:
        """The heater that warms a space."""
        return next((each for each in self.heaters if space in each.spaces), None)


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a task was put.

    Attributes
    ----------
    task : int
    mode : int
        Number of the mode.
    start : int
        Slot.
    """

    task: int
    mode: int
    start: int


@dataclass(frozen=True, slots=True)
class Order:
    """An order of work: every task that is done, by its start.

    Attributes
    ----------
    placed : tuple of Placed
        By start; sanding that is not needed is left out.
    finish : int
        Slot at which the last task is hard enough for use.
    """

    placed: tuple[Placed, ...]
    finish: int


def block_slots(problem: Problem) -> int:
    """Slots of a block of heat."""
    return max(1, round(BLOCK_H / problem.slots.hours))


def warm_blocks(
    problem: Problem, mode: Mode, k: int | slice = slice(None)
) -> tuple[IntArray, IntArray]:
    """Blocks in which a space is warmed for starts of a mode.

    Parameters
    ----------
    problem : Problem
    mode : Mode
    k : int or slice
        Numbers of the starts; else all of them.

    Returns
    -------
    first, end : ndarray of int, shape (K,) or ()
        Of each start, the end left out; the same where nothing is warmed.
    """
    per = block_slots(problem)
    begin, until = mode.warm_from[k], mode.warm_until[k]
    first = begin // per
    return first, np.where(until > begin, -(-until // per), first)


@lru_cache(maxsize=16)  # a problem is itself alone: it is told apart by which one it is
def lit_blocks(problem: Problem, heater: HeatSource) -> dict[int, frozenset[str]]:
    """By block: the spaces of a heater that the log has lit in some of it."""
    per = block_slots(problem)
    found: dict[int, set[str]] = {}
    for space, spans in heater.lit.items():
        for begin, until in spans:
            for block in range(begin // per, -(-until // per)):
                found.setdefault(block, set()).add(space)
    return {block: frozenset(spaces) for block, spaces in found.items()}


def warmed_too_many(at_once: int, warmed: Collection[str], lit: Collection[str]) -> bool:
    """Would a heater have to warm more spaces than it can, some of them by the log already?

    Where the log alone has more than it can warm, an order adds none.
    """
    return len(set(warmed) - set(lit)) > max(at_once - len(lit), 0)
