"""A season's work laid task by task, each as early as it fits: fast, for many Monte Carlo runs.

The same rules as the quick order of :mod:`curewindow.order.quick` (hands, dust and wet
films, tools, one heater, recoat intervals), with hands-on times and deliveries as sampled.
Tables are read number by number and what is taken stands in byte strings that are searched, so that
a schedule takes some milliseconds.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field

from curewindow.order.problem import Bound, Task
from curewindow.season.prepared import Prepared
from curewindow.season.sampling import Sample

HOT_TRIES = 40
"""Starts tried for a coat whose next one has to go on while it is wet."""


@dataclass(frozen=True, slots=True)
class InSeason:
    """Where a task is in one season: its slots, its mode and which of its starts (-1: none)."""

    start: int
    end: int
    mode: int
    k: int
    hard: int


def schedule(
    ready: Prepared, sample: Sample | None = None, *, many_hands: bool = False
) -> dict[str, float]:
    """Slot at which each job is done and hard enough for use; infinite: not within the slots.

    Parameters
    ----------
    ready : Prepared
    sample : Sample, optional
        What chance decides; else hands-on times as written and everything arrives at the latest.
    many_hands : bool
        As many hands as there is work for, in the same hours.
    """
    return _Season(ready, sample or Sample({}, {}), many_hands).run()


def places(ready: Prepared, sample: Sample | None = None) -> dict[int, InSeason]:
    """Where each task is put, by its number; those that fit nowhere are not in it.

    Parameters
    ----------
    ready : Prepared
    sample : Sample, optional
        As for :func:`schedule`.
    """
    season = _Season(ready, sample or Sample({}, {}), many_hands=False)
    season.run()
    return season.at


@dataclass(slots=True, eq=False)
class _Season:
    ready: Prepared
    sample: Sample
    many_hands: bool
    at: dict[int, InSeason] = field(default_factory=dict)
    busy: bytearray = field(default_factory=bytearray)
    wet: dict[str | None, bytearray] = field(default_factory=dict)
    dust: dict[str | None, bytearray] = field(default_factory=dict)
    warm: dict[str, bytearray] = field(default_factory=dict)
    held: dict[str, bytearray] = field(default_factory=dict)
    reached: dict[int, list[int]] = field(default_factory=dict)
    slot_reached: dict[int, int] = field(default_factory=dict)
    hands: dict[int, int] = field(default_factory=dict)

    def run(self) -> dict[str, float]:
        problem = self.ready.problem
        count = problem.slots.count
        self.busy = bytearray(count)
        self.wet = {space: bytearray(count) for space in problem.reach}
        self.dust = {space: bytearray(count) for space in problem.reach}
        for heater in problem.heaters:
            if heater.at_once < len(heater.spaces):
                self.warm |= {name: bytearray(count) for name in heater.spaces}
                for name, spans in heater.lit.items():
                    for begin, until in spans:
                        self.warm[name][begin:until] = b"\1" * (until - begin)
        self.held = {tool: bytearray(count) for task in problem.tasks for tool, _ in task.tools}
        followers = self._followers()
        missing = [
            sum(not problem.tasks[link.before].optional for link in links)
            for links in self.ready.into
        ]
        found: dict[int, InSeason | None] = {}
        open_tasks = {
            task.number for task in problem.tasks if not task.optional and missing[task.number] == 0
        }
        while open_tasks:
            best: tuple[float, int] | None = None
            for number in list(open_tasks):
                place = found[number] = self._again(number, found.get(number))
                if place is None:
                    open_tasks.discard(number)  # nor what comes after it
                    continue
                rank = (place.start - self.ready.weight[number], number)
                if best is None or rank < best:
                    best = rank
            if best is None:
                break
            open_tasks.discard(best[1])
            for number in self._lay(best[1]):
                open_tasks.discard(number)
                for after in followers[number]:
                    missing[after] -= 1
                    if missing[after] == 0 and after not in self.at:
                        open_tasks.add(after)
        done: dict[str, float] = {}
        for task in problem.tasks:
            at = self.at.get(task.number)
            if at is not None or not task.optional:
                hard = float("inf") if at is None else float(at.hard)
                done[task.job] = max(done.get(task.job, 0.0), hard)
        return done

    def _followers(self) -> list[list[int]]:
        tasks = self.ready.problem.tasks
        found: list[list[int]] = [[] for _ in tasks]
        for links in self.ready.into:
            for link in links:
                if not tasks[link.after].optional:
                    found[link.before].append(link.after)
        return found

    def _again(self, number: int, before: InSeason | None) -> InSeason | None:
        """The earliest place; what was found before still is where nothing came between."""
        task = self.ready.problem.tasks[number]
        if before is not None:
            place = (before.start, before.end, before.mode, before.k)
            if self._blocked(task, *place) < 0:
                return before
        if number not in self.reached:
            lower = self._lower(task)[0]
            modes = self.ready.modes[number]
            self.reached[number] = [bisect_left(mode.starts, lower) for mode in modes]
            self.slot_reached[number] = lower
        # What is scheduled later only takes room away: whatever did not fit never will.
        return self._first(task, self.slot_reached[number], self.reached[number])

    def _lay(self, number: int) -> list[int]:
        """A task with the sanding before it and the hot coat after it; what was scheduled."""
        task = self.ready.problem.tasks[number]
        after = self.ready.hot.get(number)
        if after is None:
            return [number] if self._one(task) else []
        lower = 0
        for _ in range(HOT_TRIES):
            kept = self._copy()
            if not self._one(task, lower):
                return []
            lower = self.at[number].start + 1
            if all(link.before in self.at for link in self.ready.into[after]):
                more = self._lay(after)
                if more:
                    return [number, *more]
            self._restore(kept)
        return []

    def _copy(self) -> tuple[dict[int, InSeason], list[bytearray]]:
        return dict(self.at), [bytearray(each) for each in self._masks()]

    def _masks(self) -> list[bytearray]:
        groups = (self.wet, self.dust, self.warm, self.held)
        return [self.busy, *(mask for group in groups for mask in group.values())]

    def _restore(self, kept: tuple[dict[int, InSeason], list[bytearray]]) -> None:
        self.at = kept[0]
        for mask, old in zip(self._masks(), kept[1], strict=True):
            mask[:] = old

    def _one(self, task: Task, later: int = 0) -> bool:
        tasks = self.ready.problem.tasks
        lower, closes, sanding, hard_close = self._lower(task)
        place = self._first(task, max(lower, later))
        if place is None or (hard_close is not None and place.start > hard_close):
            return False
        if closes is not None and place.start > closes and sanding is not None:
            sand = tasks[sanding]
            first = self._first(sand, self._lower(sand)[0])
            if first is None:
                return False
            self._take(sand, first)
            place = self._first(task, max(lower, later, first.end))
            if place is None:
                return False
        self._take(task, place)
        return True

    def _lower(self, task: Task) -> tuple[int, int | None, int | None, int | None]:
        """Slots from which and by which it may begin, the sanding that helps, the hard end."""
        lower = max([0, *(self._bound(task, bound) for bound in task.bounds)])
        closes, sanding, hard = task.due, None, None
        for link in self.ready.into[task.number]:
            at = self.at.get(link.before)
            if task.due is not None and self.ready.problem.tasks[link.before].sanding_of == -1:
                sanding = link.before
            if at is None:
                continue
            lower = max(lower, at.end if at.k < 0 else max(at.end, link.opens[at.mode][at.k]))
            if link.closes is not None and at.k >= 0:
                end = link.closes[at.mode][at.k]
                if link.missed == "never":
                    hard = end if hard is None else min(hard, end)
                elif link.missed == "sand":
                    closes, sanding = end, link.sanding
        return lower, closes, sanding, hard

    def _bound(self, task: Task, bound: Bound) -> int:
        share = self.sample.arrives.get((task.job, bound.name))
        if bound.kind != "delivery" or bound.earliest is None or share is None:
            return bound.slot
        if share < 0.0:
            return 0  # at hand
        return round(bound.earliest + share * (bound.slot - bound.earliest))

    def _hands(self, task: Task) -> int:
        found = self.hands.get(task.number)
        if found is None:
            factor = self.sample.pace.get(task.job, 1.0)
            slots = self.ready.problem.slots
            found = task.hands if factor == 1.0 else slots.needed(task.hands_h * factor)
            # No coat and no sitting is longer than someone is aboard for in one go.
            found = self.hands[task.number] = max(1, min(found, self.ready.longest))
        return found

    def _first(self, task: Task, lower: int, reached: list[int] | None = None) -> InSeason | None:
        """The earliest place from a slot on; ``reached`` is moved on as starts fall away."""
        hands, count = self._hands(task), self.ready.problem.slots.count
        if task.sheet is None:
            start = lower
            while start + hands <= count:
                blocked = self._blocked(task, start, start + hands, 0, -1)
                if blocked < 0:
                    if reached is not None:
                        self.slot_reached[task.number] = start
                    return InSeason(start, start + hands, 0, -1, start + hands)
                start = max(blocked, start) + 1
            return None
        best: InSeason | None = None
        for number, mode in enumerate(self.ready.modes[task.number]):
            starts = mode.starts
            k = bisect_left(starts, lower) if reached is None else reached[number]
            while k < len(starts):
                start = starts[k]
                end = start + hands
                hard = mode.hard[k] if mode.hard[k] > end else end
                if hard >= count or (best is not None and hard >= best.hard):
                    break
                blocked = self._blocked(task, start, end, number, k)
                if blocked < 0:
                    best = InSeason(start, end, number, k, hard)
                    break
                k = bisect_left(starts, blocked + 1, k + 1)
            if reached is not None:
                reached[number] = k
        return best

    def _blocked(self, task: Task, start: int, end: int, number: int, k: int) -> int:
        """-1 where it fits; else a slot at or before which it cannot start."""
        found = self.ready.away[task.number].rfind(b"\1", start, end)
        if found >= 0:
            return found
        if not self.many_hands:
            found = self.busy.rfind(b"\1", start, end)
            if found >= 0:
                return found
        if task.dusty:
            found = self.wet[task.space].rfind(b"\1", start, end)
            if found >= 0:
                return found
        set_until = end
        if task.sheet is not None:
            mode = self.ready.modes[task.number][number]
            set_until = max(end, mode.set_until[k])
            # Tables never fall: a later start before what is in the way meets it as well.
            found = self.dust[task.space].rfind(b"\1", start, max(end, mode.dust_until[k]))
            if found >= 0:
                return found
            found = self._too_warm(task.number, mode.warm_from[k], mode.warm_until[k])
            if found >= 0:
                return max(start, found)
        for tool, amount in task.tools:
            total = self.ready.problem.count_of(tool)
            if max(self.held[tool][start:set_until], default=0) + amount > total:
                return start
        return -1

    def _too_warm(self, number: int, begin: int, end: int) -> int:
        """A slot in which the heater is needed for too many others; -1: none."""
        others, at_once = self.ready.heated[number]
        if begin == end or not others:
            return -1
        last = [self.warm[name].rfind(b"\1", begin, end) for name in others]
        needed = sorted((slot for slot in last if slot >= 0), reverse=True)
        return needed[at_once - 1] if len(needed) >= at_once else -1

    def _take(self, task: Task, at: InSeason) -> None:
        self.at[task.number] = at
        reach = self.ready.problem.reach
        ones = b"\1" * (at.end - at.start)
        self.busy[at.start : at.end] = ones
        if task.dusty:
            for space in reach[task.space]:
                self.dust[space][at.start : at.end] = ones
        set_until = at.end
        if task.sheet is not None:
            mode = self.ready.modes[task.number][at.mode]
            until = min(max(at.end, mode.dust_until[at.k]), len(self.busy))
            set_until = min(max(at.end, mode.set_until[at.k]), len(self.busy))
            for space in reach:
                if task.space in reach[space]:
                    self.wet[space][at.start : until] = b"\1" * (until - at.start)
            begin, end = mode.warm_from[at.k], min(mode.warm_until[at.k], len(self.busy))
            if begin < end and task.space in self.warm:
                self.warm[task.space][begin:end] = b"\1" * (end - begin)
        for tool, amount in task.tools:
            held = self.held[tool]
            for slot in range(at.start, set_until):
                held[slot] = min(255, held[slot] + amount)
