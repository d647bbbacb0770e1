"""The same seasons for the work as it is and with one thing otherwise.

Common random numbers (Law, A. M. (2015), Simulation modeling and analysis, 5th ed., sec. 11.2,
from memory): with the same years and the same samples on both sides what differs is what
the one thing does, and a change of nothing changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from curewindow.order.build import build_problem
from curewindow.order.given import Given
from curewindow.order.problem import Problem, block_slots, warm_blocks
from curewindow.order.slots import Slots
from curewindow.season.modes import SeasonModes, of_year
from curewindow.season.planned import bounded
from curewindow.season.prepared import Prepared, prepare
from curewindow.season.run import SLOT_MIN, finishes, samples_by_year, usual_samples
from curewindow.season.sampling import Pace, Sample
from curewindow.season.schedule import places
from curewindow.series import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class PairedRun:
    """What came of the seasons.

    Attributes
    ----------
    jobs : tuple of str
    job_d : ndarray, shape (J, Y, D)
        Days from now until each job is done, by year and sample; infinite: not within the time
        looked at.
    never : dict of str to str
        Jobs that no year lets be planned, and why.
    slots : Slots
    ready, sampled
        What was scheduled, by year, and the samples of each.
    """

    jobs: tuple[str, ...]
    job_d: FloatArray
    never: dict[str, str]
    slots: Slots
    ready: tuple[Prepared, ...]
    sampled: tuple[tuple[Sample, ...], ...]

    def done_d(self, jobs: Sequence[str]) -> FloatArray:
        """Days until all of some jobs are done, (Y, D)."""
        rows = [row for row, job in enumerate(self.jobs) if job in jobs]
        last: FloatArray = self.job_d[rows].max(axis=0)
        return last

    def heat_cost(
        self, kwh: Mapping[tuple[str, float], FloatArray], per_kwh: Mapping[str, float]
    ) -> float:
        """Money that heat beyond the routine's takes, on average of the seasons.

        Parameters
        ----------
        kwh : mapping of (space, setpoint) to ndarray, shape (N,)
            Heat a slot, in a typical winter; beyond its end as on average.
        per_kwh : mapping of str to float
            Price of a kWh of heat, by space; those without one are left out.
        """
        total, count = 0.0, 0
        for ready, samples in zip(self.ready, self.sampled, strict=True):
            for sample in samples:
                total += _cost(ready, sample, kwh, per_kwh)
                count += 1
        return total / max(count, 1)


def _cost(
    ready: Prepared,
    sample: Sample,
    kwh: Mapping[tuple[str, float], FloatArray],
    per_kwh: Mapping[str, float],
) -> float:
    """A block of heat counts once, whatever it is for."""
    problem, held = ready.problem, set[tuple[str, float, int]]()
    for number, place in places(ready, sample).items():
        task = problem.tasks[number]
        if place.k < 0 or task.space is None:
            continue
        mode = task.modes[place.mode]
        if mode.level_c is None:
            continue
        first, end = warm_blocks(problem, mode, place.k)
        held |= {(task.space, mode.level_c, block) for block in range(int(first), int(end))}
    per = block_slots(problem)
    found = 0.0
    for space, level, block in held:
        price, heat = per_kwh.get(space), kwh.get((space, level))
        if price is None or heat is None or heat.size == 0:
            continue
        part = heat[block * per : (block + 1) * per]
        found += price * float(part.sum() if part.size == per else per * heat.mean())
    return found


@dataclass(slots=True, eq=False)
class Paired:
    """Runs the work as it is, and changed, through the same years with the same samples.

    Parameters
    ----------
    given : Given
        The work as it is; its conditions have a member a year.
    years : int
    pace : Pace
    soonest : mapping of str to datetime
        As of :func:`curewindow.season.planned.not_before`: what is near stays as planned,
        for the work as it is and changed.
    samples : int, optional
        Monte Carlo runs a year; else as :func:`curewindow.season.run.run_season` has them.
    seed : int
    """

    given: Given
    years: int
    pace: Pace
    soonest: Mapping[str, datetime]
    samples: int | None = None
    seed: int = 1
    _modes: list[SeasonModes] = field(default_factory=list)
    _base: PairedRun | None = None

    def base(self) -> PairedRun:
        """The work as it is; worked out once."""
        if self._base is None:
            problems = [self._problem(self.given, row, None) for row in range(self.years)]
            count = usual_samples(self.years) if self.samples is None else self.samples
            sampled = samples_by_year(problems, self.pace, count, self.seed)
            self._base = _tried(problems, sampled)
        return self._base

    def changed(self, given: Given, job: str | None) -> PairedRun:
        """The work changed.

        Parameters
        ----------
        given : Given
        job : str or None
            The job that is otherwise, all other conditions as they are; None: any may be.
        """
        base = self.base()
        problems = [self._problem(given, row, job) for row in range(self.years)]
        count = len(base.sampled[0])
        # What the work as it is has no sample of has its own; all else has the very same.
        own = samples_by_year(problems, self.pace, count, self.seed)
        sampled = [
            [
                Sample({**new.pace, **old.pace}, {**new.arrives, **old.arrives})
                for new, old in zip(news, olds, strict=True)
            ]
            for news, olds in zip(own, base.sampled, strict=True)
        ]
        return _tried(problems, sampled)

    def _problem(self, given: Given, row: int, job: str | None) -> Problem:
        """The problem of a year; what is known of jobs that are as they are is not found again."""

        def look_up(of: Given, slots: Slots) -> SeasonModes:
            found = SeasonModes(of, slots)
            if len(self._modes) <= row:
                self._modes.append(found)
            elif job is not None:
                found.take_from(self._modes[row], job)
            return found

        problem = build_problem(of_year(given, row), SLOT_MIN, look_up=look_up)
        return bounded(problem, self.soonest)


def _tried(problems: Sequence[Problem], sampled: Sequence[Sequence[Sample]]) -> PairedRun:
    left = [dict(each.left_out) for each in problems]
    never = {job: why for job, why in left[0].items() if all(job in each for each in left)}
    ready = tuple(prepare(each) for each in problems)
    jobs = tuple(sorted({task.job for problem in problems for task in problem.tasks}))
    found = finishes(ready, sampled, jobs) if jobs else np.zeros((0, len(ready), len(sampled[0])))
    return PairedRun(jobs, found, never, problems[0].slots, ready, tuple(map(tuple, sampled)))
