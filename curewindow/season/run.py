"""All years, all Monte Carlo runs: when the work is done, and what each cause costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from curewindow.order.build import build_problem
from curewindow.order.given import Given
from curewindow.order.problem import Problem
from curewindow.season.modes import SeasonModes, in_good_weather, of_year
from curewindow.season.planned import bounded
from curewindow.season.prepared import Prepared, prepare
from curewindow.season.sampling import AT_HAND, Pace, Sample, samples_of
from curewindow.season.schedule import schedule
from curewindow.series import FloatArray

SEASONS = 120
"""Seasons run in all at the least: a chance of one half is then known to 5 % at best, and
what so few years leave open is far more."""
LEAST_DRAWS = 4
SLOT_MIN = 30


@dataclass(frozen=True, slots=True, eq=False)
class Season:
    """What came of running the work through the years.

    Attributes
    ----------
    problems : tuple of Problem
        One a year.
    jobs : tuple of str
    job_d : ndarray, shape (J, Y, D)
        Days from now until each job is done and hard enough for use, by year and Monte Carlo run;
        infinite: not within the time looked at.
    good_weather_d, at_hand_d, many_hands_d : ndarray, shape (J, Y, D)
        The same with weather always good, everything delivered, as many hands as wanted.
    never : tuple of (job, reason)
        Jobs that cannot be planned in any year: left out of account.
    not_in : dict of str to list of int
        Jobs that have no start in some years, with the rows of these: not done then.
    ready, sampled
        What was scheduled, by year, and the samples of each: for who asks where each task is.
    """

    problems: tuple[Problem, ...]
    jobs: tuple[str, ...]
    job_d: FloatArray
    good_weather_d: FloatArray
    at_hand_d: FloatArray
    many_hands_d: FloatArray
    never: tuple[tuple[str, str], ...]
    not_in: dict[str, list[int]]
    ready: Sequence[Prepared] = ()
    sampled: Sequence[Sequence[Sample]] = ()

    @property
    def finish_d(self) -> FloatArray:
        """Days until everything is done, (Y, D)."""
        last: FloatArray = self.job_d.max(axis=0)
        return last


def problems_of(given: Given, years: int) -> list[Problem]:
    """What is to be put in order, in the weather of each year.

    Parameters
    ----------
    given : Given
        Its conditions have a member a year.
    years : int
    """
    return [
        build_problem(of_year(given, row), SLOT_MIN, look_up=SeasonModes) for row in range(years)
    ]


def usual_samples(years: int) -> int:
    """Monte Carlo runs a year, the more the fewer the years."""
    return max(LEAST_DRAWS, -(-SEASONS // years))


def run_season(
    given: Given,
    years: int,
    pace: Pace,
    samples: int | None = None,
    seed: int = 1,
    soonest: Mapping[str, datetime] | None = None,
) -> Season:
    """Run the work through the years.

    Parameters
    ----------
    given : Given
        Its conditions have a member a year.
    years : int
    pace : Pace
    samples : int, optional
        Monte Carlo runs a year; else as :func:`usual_samples`.
    seed : int
        The same seed gives the same answer.
    soonest : mapping of str to datetime, optional
        When steps are begun at the soonest: :func:`curewindow.season.planned.not_before`.
    """
    samples = usual_samples(years) if samples is None else samples
    problems = [bounded(each, soonest or {}) for each in problems_of(given, years)]
    left = [dict(each.left_out) for each in problems]
    never = tuple(
        (job, why) for job, why in problems[0].left_out if all(job in each for each in left)
    )
    gone = {job for job, _ in never}
    not_in: dict[str, list[int]] = {}
    for row, each in enumerate(left):
        for job in each:
            if job not in gone:
                not_in.setdefault(job, []).append(row)
    ready = [prepare(each) for each in problems]
    fine = build_problem(_without(in_good_weather(given), gone), SLOT_MIN, SeasonModes)
    good = prepare(bounded(fine, soonest or {}))
    sampled = samples_by_year(problems, pace, samples, seed)
    jobs = tuple(sorted({task.job for problem in problems for task in problem.tasks}))
    found = finishes(ready, sampled, jobs)
    here = [[replace(d, arrives=dict.fromkeys(d.arrives, AT_HAND)) for d in row] for row in sampled]
    # Whatever can be done as things are can be done with one hindrance less: never later.
    return Season(
        tuple(problems),
        jobs,
        found,
        _never_later(found, finishes([good] * years, sampled, jobs)),
        _never_later(found, finishes(ready, here, jobs)) if sampled[0][0].arrives else found,
        _never_later(found, finishes(ready, sampled, jobs, many_hands=True)),
        never,
        not_in,
        ready,
        sampled,
    )


def _never_later(known: FloatArray, found: FloatArray) -> FloatArray:
    """Of two orders of the same work the one that is done first; both can be followed."""
    better = found.max(axis=0) <= known.max(axis=0)
    return np.where(better, found, known)


def samples_by_year(
    problems: Sequence[Problem], pace: Pace, samples: int, seed: int
) -> list[list[Sample]]:
    """The samples of each year; jobs and deliveries are those of all years."""
    tasks = [task for problem in problems for task in problem.tasks]
    jobs = sorted({task.job for task in tasks})
    awaited = sorted(
        {
            (task.job, bound.name)
            for task in tasks
            for bound in task.bounds
            if bound.kind == "delivery"
        }
    )
    return [
        samples_of(jobs, awaited, pace, samples, seed * 1000 + row) for row in range(len(problems))
    ]


def finishes(
    ready: Sequence[Prepared],
    sampled: Sequence[Sequence[Sample]],
    jobs: Sequence[str],
    *,
    many_hands: bool = False,
) -> FloatArray:
    """Days until each job is done, (J, Y, D); infinite also where it is not in the problem."""
    found = np.full((len(jobs), len(ready), len(sampled[0])), np.inf)
    for row, (each, samples) in enumerate(zip(ready, sampled, strict=True)):
        for column, sample in enumerate(samples):
            done = schedule(each, sample, many_hands=many_hands)
            found[:, row, column] = [done.get(job, np.inf) for job in jobs]
    slots = ready[0].problem.slots
    return found * slots.hours / 24.0


def _without(given: Given, jobs: set[str]) -> Given:
    """Without jobs that cannot be done in any year; what waits for them has gone with them."""
    kept = [job for job in given.work.job if job.name not in jobs]
    return replace(given, work=given.work.model_copy(update={"job": kept}))
