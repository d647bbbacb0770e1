"""The first starts of a plan are those the day sheet tells."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

import numpy as np

from curewindow.answers import Wait
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.jobday import find
from curewindow.judgement.judging import judge_job
from curewindow.order.problem import Mode, Problem
from curewindow.order.slots import BoolArray
from curewindow.order.without import with_starts
from curewindow.situation import Situation


@dataclass(frozen=True, slots=True)
class StatedToday:
    """Starts the day sheet tells.

    Attributes
    ----------
    until : datetime
        Aware; what begins later was not asked about.
    windows : dict of str to list of (datetime, datetime)
        First and last starts by job, of its next coat; a job that is not in it has no product
        next. None today of one that waits for other work.
    """

    until: datetime
    windows: dict[str, list[tuple[datetime, datetime]]]


def stated_soon(facts: Situation, until: datetime) -> StatedToday:
    """What the day sheet tells of the days up to a moment, surfaces wiped dry.

    It knows more of them than a plan does: all members of the weather, a finer grid, the
    outside air the vapour asks for, the water a film gives off.

    Parameters
    ----------
    facts : Situation
        With the forecast itself.
    until : datetime
        Aware: how far a plan's starts are those the judgement allows.
    """
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    words = facts.words
    day = words.local(facts.now).date() + timedelta(days=1)
    tomorrow = datetime.combine(day, time(0), words.zone).astimezone(UTC)
    found: dict[str, list[tuple[datetime, datetime]]] = {}
    for job in facts.work.job:
        told = find(facts, job, clocks)
        if told is None or told.progress.step.sheet is None:
            continue
        waits = [wait for wait in told.waits if wait.kind != "recoat"]
        judged = judge_job(
            facts,
            job,
            told.progress,
            _dated(waits),
            clocks.get(job.name),
            through=until,
            wiped=True,
        )
        windows = [] if told.refusal else judged.windows
        # What waits for other work may come once the plan has done that: not today.
        first = tomorrow if len(waits) > len(_dated(waits)) else facts.now
        found[job.name] = [
            (max(window.opens, first), window.closes) for window in windows if window.closes > first
        ]
    return StatedToday(until, found)


def _dated(waits: list[Wait]) -> list[Wait]:
    return [wait for wait in waits if wait.until is not None]


def as_stated(problem: Problem, told: StatedToday) -> Problem:
    """The problem without starts that the day sheet does not tell.

    Only those without heat: what heat opens a plan asks the judgement for by itself.
    """
    keeps: dict[int, list[BoolArray]] = {
        task.number: [np.ones(mode.starts.size, np.bool_) for mode in task.modes]
        for task in problem.tasks
    }
    seen: set[str] = set()
    for task in problem.tasks:
        if task.optional or task.job in seen or task.job not in told.windows:
            continue
        seen.add(task.job)
        if task.sheet is None:
            continue
        for mode, keep in zip(task.modes, keeps[task.number], strict=True):
            for k in np.flatnonzero(_asked_about(problem, told, mode)):
                start = problem.slots.at(int(mode.starts[k]))
                keep[k] = any(opens <= start <= closes for opens, closes in told.windows[task.job])
    return with_starts(problem, keeps)


def _asked_about(problem: Problem, told: StatedToday, mode: Mode) -> BoolArray:
    if mode.level_c is not None:
        return np.zeros(mode.starts.size, np.bool_)
    today = problem.slots.day[mode.starts] == problem.slots.day[0]
    soon = mode.starts < problem.slots.at_or_after(told.until)
    return np.asarray(today | soon, np.bool_)
