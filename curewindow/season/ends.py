"""Where each task is in each season, and what the end hangs on: the critical chain of each run.

The criticality index of a job is the share of the runs in which it lies on the critical chain
(Van Slyke, R. M. (1963), Monte Carlo methods and the PERT problem, Operations Research 11,
839-860, from memory).
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from curewindow.order.critical_chain import Kind, kind_of
from curewindow.order.problem import Task
from curewindow.season.prepared import Prepared
from curewindow.season.run import Season
from curewindow.season.schedule import InSeason, places
from curewindow.series import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Decides:
    """A job whose work or waits set the end in some of the seasons.

    Attributes
    ----------
    job : str
    share : float
        Of the seasons, 0 to 1.
    kind : str
        What it waits for most.
    days : float
        So long, on average of the seasons in which it is on the chain.
    """

    job: str
    share: float
    kind: Kind
    days: float


@dataclass(frozen=True, slots=True, eq=False)
class Tracked:
    """Tasks by their keys, those that are always done, with where they are in each season.

    Attributes
    ----------
    tasks : dict of str to Task
        In the order of the work; of the first year that has each.
    begun_d : dict of str to ndarray, shape (S,)
        Days from now until it is begun, by season; infinite: not within the time looked at.
    decides : list of Decides
        The most often first.
    """

    tasks: dict[str, Task]
    begun_d: dict[str, FloatArray]
    decides: list[Decides]


def tracked(season: Season) -> Tracked:
    """Where each task is in each season, and what the end hangs on.

    Parameters
    ----------
    season : Season
    """
    count = sum(len(row) for row in season.sampled)
    tasks: dict[str, Task] = {}
    for each in season.ready:
        for task in each.problem.tasks:
            if not task.optional:
                tasks.setdefault(task.key, task)
    begun = {key: np.full(count, np.inf) for key in tasks}
    job_chain: dict[str, int] = defaultdict(int)
    waited: dict[str, dict[Kind, float]] = defaultdict(lambda: defaultdict(float))
    number = 0
    for ready, samples in zip(season.ready, season.sampled, strict=True):
        problem = ready.problem
        days = problem.slots.hours / 24.0
        # What has no start in a year at all is not done in it, and so the end hangs on it.
        gone = {job for job, rows in season.not_in.items() if _row(season, ready) in rows}
        for sample in samples:
            at = places(ready, sample)
            links = list(chain_of(ready, at))
            for row, place in at.items():
                if problem.tasks[row].key in begun:
                    begun[problem.tasks[row].key][number] = place.start * days
            for job in {problem.tasks[row].job for row, _, _ in links} | gone:
                job_chain[job] += 1
            for row, kind, slots in links:
                waited[problem.tasks[row].job][kind] += slots * days
            for job in gone:
                waited[job]["conditions"] += problem.slots.count * days
            number += 1
    decides = [_decides(job, times, count, waited[job]) for job, times in job_chain.items()]
    return Tracked(
        tasks,
        begun,
        sorted(decides, key=lambda each: (-each.share, -each.days, each.job)),
    )


def _row(season: Season, ready: Prepared) -> int:
    return next(row for row, each in enumerate(season.ready) if each is ready)


def _decides(job: str, times: int, count: int, waited: dict[Kind, float]) -> Decides:
    if not waited:
        return Decides(job, times / count, "choice", 0.0)
    kind = max(waited, key=lambda each: waited[each])
    return Decides(job, times / count, kind, waited[kind] / times)


def chain_of(ready: Prepared, at: dict[int, InSeason]) -> Iterator[tuple[int, Kind, int]]:
    """From the last task back: each of the chain, what it waits for, and how many slots.

    Where some task is never done, the end hangs on the first such task of each job.

    Parameters
    ----------
    ready : Prepared
    at : dict of int to InSeason
    """
    problem = ready.problem
    never = [task for task in problem.tasks if not task.optional and task.number not in at]
    if never:
        for task in never:
            before = [link.before for link in ready.into[task.number]]
            if all(number in at or problem.tasks[number].optional for number in before):
                _, since, _ = _ready(ready, at, task)
                yield task.number, "conditions", problem.slots.count - since
        return
    if not at:
        return
    here: int | None = max(at, key=lambda number: (at[number].hard, at[number].start))
    seen: set[int] = set()
    while here is not None and here not in seen:
        seen.add(here)
        task, start = problem.tasks[here], at[here].start
        kind, since, behind = _ready(ready, at, task)
        first = _first_allowed(ready, task, at[here], since)
        if first > since and any(problem.slots.aboard[since:first]):
            yield here, "conditions", first - since
        other = _in_the_way(at, here, first, start) if start > first else None
        if other is not None:
            yield here, "hands", start - first
            here = other
            continue
        ends = 0 if behind is None else at[behind].end
        yield here, kind, since - ends
        here = behind


def _ready(ready: Prepared, at: dict[int, InSeason], task: Task) -> tuple[Kind, int, int | None]:
    """What a task is ready for last: of which kind that is, when, and the task that is."""
    found: tuple[Kind, int, int | None] = ("work before", 0, None)
    for bound in task.bounds:
        if bound.slot > found[1]:
            found = kind_of(bound), bound.slot, None
    for link in ready.into[task.number]:
        before = at.get(link.before)
        if before is None:
            continue
        opens = before.end if before.k < 0 else max(before.end, link.opens[before.mode][before.k])
        if opens > found[1]:
            found = "cure" if opens > before.end else "work before", opens, link.before
    here = at.get(task.number)
    # A delivery may be there sooner than at the latest: never after the task itself.
    return found[0], found[1] if here is None else min(found[1], here.start), found[2]


def _first_allowed(ready: Prepared, task: Task, place: InSeason, since: int) -> int:
    """The first start its conditions allow in the mode it is done in, the others aside."""
    if place.k >= 0:
        starts = ready.modes[task.number][place.mode].starts
        return starts[bisect_left(starts, since)]
    away, hands = ready.away[task.number], place.end - place.start
    start = since
    while start < place.start:
        found = away.rfind(b"\1", start, start + hands)
        if found < 0:
            break
        start = found + 1
    return min(start, place.start)


def _in_the_way(at: dict[int, InSeason], here: int, first: int, start: int) -> int | None:
    """The task begun last of those that kept it from starting sooner; None: none did."""
    before = [number for number, place in at.items() if number != here and place.start < start]
    busy = [number for number in before if at[number].end > first]
    wet = [number for number in before if at[number].hard > first]
    return max(busy or wet, key=lambda number: (at[number].start, number), default=None)
