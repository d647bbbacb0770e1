"""One job as a chain of tasks: its coats and sittings, and what binds each to the one before."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Step
from curewindow.curing import recoat_bounds
from curewindow.order.given import CoatOn, Given, Stand
from curewindow.order.modes import Modes
from curewindow.order.problem import Bound, Mode, Precedence, Task
from curewindow.order.slots import IntArray, Slots
from curewindow.order.tables import CoatMode, milestone_table, recoat_tables
from curewindow.rules.milestones import HARD, SANDABLE, TOUCH_DRY
from curewindow.rules.work import MAKES_DUST, WITH_PRODUCT


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """The tasks of a job, numbered from 0, with the links between them.

    Attributes
    ----------
    tasks : tuple of Task
    links : tuple of Precedence
    why_not : str
        Why the job cannot be planned; '' where it can.
    last : int
        Its last task that is not a sanding wanted only at need.
    last_of_each_product : tuple of int
        The last coat of each step with a product.
    touch_dry : tuple of ndarray or None
        Slots at which the last task's film is touch dry, one table a mode.
    """

    tasks: tuple[Task, ...]
    links: tuple[Precedence, ...]
    why_not: str = ""
    last: int = 0
    last_of_each_product: tuple[int, ...] = ()
    touch_dry: tuple[IntArray, ...] | None = None

    def held_back(self, bounds: list[Bound]) -> Chain:
        """The chain with what its first task has to wait for."""
        if not bounds:
            return self
        tasks = [replace(task, bounds=(*task.bounds, *bounds)) for task in self.tasks[:2]]
        # The sanding of a coat that is on stands second and may come first.
        held = tasks if len(tasks) > 1 and tasks[1].sanding_of == -1 else tasks[:1]
        return replace(self, tasks=(*held, *self.tasks[len(held) :]))


def chain_of(given: Given, slots: Slots, modes: Modes, job: Job, stand: Stand) -> Chain:
    """Lay out what is left of a job."""
    assert stand.step is not None
    if stand.on is not None and not stand.on.allowed:
        return Chain((), (), why_not=stand.on.why_not)
    builder = _Builder(given, slots, modes, job)
    for number in range(stand.step, len(job.step) + 1):
        step = job.step[number - 1]
        if step.do in WITH_PRODUCT:
            begin = (stand.coat or 1) if number == stand.step else 1
            for coat in range(begin, step.coats + 1):
                why_not = builder.add_coat(number, step, coat, stand.on)
                if why_not:
                    name = given.sheet(step.sheet or "").name
                    return Chain((), (), why_not=f"{name}: {why_not}")
        else:
            builder.add_hands(number, step, stand.on)
    return builder.done()


class _Builder:
    """Grows a chain task by task; knows the last film and whether it was sanded since."""

    def __init__(self, given: Given, slots: Slots, modes: Modes, job: Job) -> None:
        self._given, self._slots, self._ways, self._job = given, slots, modes, job
        self._tasks: list[Task] = []
        self._links: list[Precedence] = []
        self._film: tuple[int, tuple[CoatMode, ...], Step] | None = None
        self._sanded = False
        self._last: int | None = None
        self._coats: dict[int, int] = {}
        self._bounds: dict[int, list[Bound]] = {}

    def add_hands(self, number: int, step: Step, on: CoatOn | None) -> None:
        whole_h = hands_on_h(step, self._job)
        longest = self._ways.longest_sitting()
        needed = self._slots.needed(whole_h)
        parts = -(-needed // longest)
        size = [needed // parts + (k < needed % parts) for k in range(parts)]
        for sitting, hands in enumerate(size, 1):
            task = self._task(
                number,
                step,
                None,
                hands,
                whole_h / parts,
                (self._ways.hands(self._job, hands),),
                sitting=(sitting, parts),
            )
            self._follow_on(task, step, on)
            self._tasks.append(task)
            self._last = task.number
        if step.do in MAKES_DUST:
            self._sanded = True

    def _follow_on(self, task: Task, step: Step, on: CoatOn | None) -> None:
        """Bind work without a product to what came before it."""
        if self._last is not None:
            ends = tuple(mode.ends for mode in self._tasks[self._last].modes)
            self._links.append(Precedence(self._last, task.number, "step", ends))
        if self._film is not None:
            number, made, _ = self._film
            names = SANDABLE if step.do in MAKES_DUST else HARD
            tables = tuple(milestone_table(self._slots, each, names) for each in made)
            self._links.append(Precedence(number, task.number, "sand", tables))
        elif on is not None and not self._tasks:
            when = on.sandable if step.do in MAKES_DUST else on.hard
            slot = self._slots.count if when is None else self._slots.at_or_after(when)
            if slot > 0:
                bound = Bound(slot, "drying")
                self._hold_back(task.number, bound)

    def _hold_back(self, number: int, bound: Bound) -> None:
        self._bounds.setdefault(number, []).append(bound)

    def add_coat(self, number: int, step: Step, coat: int, on: CoatOn | None) -> str:
        fresh = self._film is None and on is None
        made, why_not = self._ways.coat(self._job, number, fresh)
        if why_not:
            return why_not
        sands = coat > 1 and step.between == "sand"
        hands_h = hands_on_h(step, self._job)
        task = self._task(
            number,
            step,
            coat,
            self._slots.needed(hands_h),
            hands_h,
            tuple(each.mode for each in made),
            dusty=sands,
        )
        self._tasks.append(task)
        if self._film is not None:
            self._recoat(task, step, sands)
        elif on is not None:
            self._recoat_what_is_on(task, step, on, sands)
        if self._last is not None and (self._film is None or self._last != self._film[0]):
            ends = tuple(mode.ends for mode in self._tasks[self._last].modes)
            self._links.append(Precedence(self._last, task.number, "step", ends))
        self._film = (task.number, made, step)
        self._coats[number] = task.number
        self._sanded = False
        self._last = task.number
        return ""

    def _recoat(self, task: Task, step: Step, sands: bool) -> None:
        assert self._film is not None
        before, made, under = self._film
        assert under.sheet is not None
        assert step.sheet is not None
        below, coming = self._given.sheet(under.sheet), self._given.sheet(step.sheet)
        rule = recoat_bounds(below, step.sheet, coming.kind, under.sheet)
        if rule is None:
            # The sheet does not say: once cured, and sanded.
            tables = tuple(each.mode.covered for each in made)
            never = tuple(np.full(each.mode.starts.shape, -1, np.int64) for each in made)
            self._close(before, task, tables, never, made, sands)
            return
        both = [recoat_tables(self._slots, each, rule) for each in made]
        opens = tuple(table for table, _ in both)
        closes = None
        if all(table is not None for _, table in both):
            closes = tuple(table for _, table in both if table is not None)
        same_step = task.coat is not None and task.coat > 1
        if same_step and step.between == "hot coat":
            if closes is None:
                # No end on the sheet: only while the coat below is still tacky.
                closes = tuple(each.mode.dust_until for each in made)
            self._links.append(Precedence(before, task.number, "hot coat", opens, closes, "never"))
        elif closes is None or rule.recoat.after == "as is":
            self._open(before, task, opens, made, sands)
        elif rule.recoat.after == "never":
            self._links.append(Precedence(before, task.number, "recoat", opens, closes, "never"))
        else:
            self._close(before, task, opens, closes, made, sands)

    def _open(
        self,
        before: int,
        task: Task,
        opens: tuple[IntArray, ...],
        made: tuple[CoatMode, ...],
        sands: bool,
    ) -> None:
        if sands:
            ready = (milestone_table(self._slots, each, SANDABLE) for each in made)
            opens = tuple(np.maximum(a, b) for a, b in zip(opens, ready, strict=True))
        self._links.append(Precedence(before, task.number, "recoat", opens))

    def _close(
        self,
        before: int,
        task: Task,
        opens: tuple[IntArray, ...],
        closes: tuple[IntArray, ...],
        made: tuple[CoatMode, ...],
        sands: bool,
    ) -> None:
        """A recoat interval that costs sanding where it is missed."""
        if sands or self._sanded:
            self._open(before, task, opens, made, sands)
            return
        sanding = self._sanding(task)
        self._links.append(
            Precedence(before, task.number, "recoat", opens, closes, "sand", sanding.number)
        )
        ready = tuple(milestone_table(self._slots, each, SANDABLE) for each in made)
        self._links.append(Precedence(before, sanding.number, "sand", ready))
        self._links.append(
            Precedence(
                sanding.number, task.number, "step", tuple(mode.ends for mode in sanding.modes)
            )
        )

    def _recoat_what_is_on(self, task: Task, step: Step, on: CoatOn, sands: bool) -> None:
        """The first coat to come on one that is on already."""
        slots = self._slots
        opens = on.opens
        if sands and on.sandable is not None and opens is not None:
            opens = max(opens, on.sandable)
        slot = slots.count if opens is None else slots.at_or_after(opens)
        if slot > 0:
            self._hold_back(task.number, Bound(slot, "recoat"))
        sanded = (sands and not on.spoilt) or self._sanded
        if on.closes is None or sanded or on.missed == "as is":
            return
        due = slots.at_or_before(on.closes)
        if on.missed == "never":
            self._tasks[task.number] = replace(
                task, modes=tuple(_cut(mode, due) for mode in task.modes)
            )
            return
        self._tasks[task.number] = replace(task, due=due)
        sanding = self._sanding(task, on_already=True)
        if on.sandable is None or slots.at_or_after(on.sandable) > 0:
            ready = slots.count if on.sandable is None else slots.at_or_after(on.sandable)
            self._hold_back(sanding.number, Bound(ready, "drying"))
        self._links.append(
            Precedence(
                sanding.number, task.number, "step", tuple(mode.ends for mode in sanding.modes)
            )
        )

    def _sanding(self, task: Task, *, on_already: bool = False) -> Task:
        """The sanding of a missed interval, a task of its own that may be left out."""
        step = Step(do="sand")
        hours = hands_on_h(step, self._job)
        hands = min(self._slots.needed(hours), self._ways.longest_sitting())
        sanding = replace(
            self._task(
                task.step, step, task.coat, hands, hours, (self._ways.hands(self._job, hands),)
            ),
            sanding_of=-1 if on_already else task.number,
        )
        self._tasks.append(sanding)
        return sanding

    def _task(
        self,
        number: int,
        step: Step,
        coat: int | None,
        hands: int,
        hands_h: float,
        modes: tuple[Mode, ...],
        *,
        sitting: tuple[int, int] = (1, 1),
        dusty: bool = False,
    ) -> Task:
        return Task(
            number=len(self._tasks),
            job=self._job.name,
            step=number,
            coat=coat,
            sitting=sitting[0],
            of_sittings=sitting[1],
            do=step.do,
            sheet=step.sheet,
            space=self._job.space,
            hands=hands,
            hands_h=hands_h,
            modes=modes,
            dusty=dusty or step.do in MAKES_DUST,
            tools=tuple(Counter(step.tools).items()),
        )

    def done(self) -> Chain:
        tasks = [
            replace(task, bounds=(*task.bounds, *self._bounds.get(task.number, ())))
            for task in self._tasks
        ]
        assert self._last is not None
        touch = None
        if self._film is not None and self._film[0] == self._last:
            touch = tuple(milestone_table(self._slots, each, TOUCH_DRY) for each in self._film[1])
        return Chain(
            tasks=tuple(tasks),
            links=tuple(self._links),
            last=self._last,
            last_of_each_product=tuple(self._coats.values()),
            touch_dry=touch,
        )


def _cut(mode: Mode, last: int) -> Mode:
    """Only the starts up to a slot."""
    keep = mode.starts <= last
    return Mode(
        mode.level_c,
        *(
            table[keep]
            for table in (
                mode.starts,
                mode.ends,
                mode.set_until,
                mode.dust_until,
                mode.hard,
                mode.covered,
                mode.warm_from,
                mode.warm_until,
            )
        ),
    )
