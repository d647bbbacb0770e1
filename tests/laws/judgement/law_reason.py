"""Law 6: a reason is the true one: without what it names the start is good."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import numpy as np

from curewindow.boat.schema import Job
from curewindow.judgement.jobday import find
from curewindow.judgement.models import JobDay
from tests.laws.judgement.faces import GRID, Faces
from tests.laws.judgement.law_done import aboard

_HANDS = ("nobody aboard", "hours too short", "nobody to mix")


def broken(faces: Faces) -> Iterator[str]:
    for job in faces.facts.work.job:
        day = faces.day(job.name)
        if day.status not in ("wait", "blocked"):
            continue
        yield from _said(faces, job, day)
        yield from _nobody(faces, job, day)
        yield from _waits(faces, job, day)


def _said(faces: Faces, job: Job, day: JobDay) -> Iterator[str]:
    """There is a reason at all."""
    if day.status == "blocked" and not day.obstacles and not day.waits:
        yield f"{job.name}: no start, and no reason why: {day.verdict}"


def _nobody(faces: Faces, job: Job, day: JobDay) -> Iterator[str]:
    """'Nobody aboard' and 'takes longer than someone is aboard': with hands all day it goes on."""
    kinds = [obstacle.why.kind for obstacle in day.obstacles]
    first = max([faces.now, *(wait.until for wait in day.waits if wait.until is not None)])
    if "nobody aboard at all" in kinds:
        minutes = int((faces.ahead.until - first) / timedelta(minutes=10))
        if any(aboard(faces.case, first + k * GRID) for k in range(1, minutes)):
            yield f"{job.name}: nobody aboard at all, but someone is"
    if not kinds or kinds[0] not in _HANDS:
        return
    facts = faces.facts
    always = replace(facts, _masks={"hours": np.ones(facts.forecast.times.size, np.bool_)})
    found = find(always, job, faces.clocks, all_windows=True)
    assert found is not None
    end = day.next_window.opens if day.next_window is not None else faces.ahead.until
    if not any(window.opens < end for window in found.judged.windows):
        yield f"{job.name}: '{day.obstacles[0].why.kind}', but with hands all day it is no better"


def _waits(faces: Faces, job: Job, day: JobDay) -> Iterator[str]:
    """What has a window after a wait has none before for that wait alone, or says what else."""
    told = day.obstacles
    for obstacle in told:
        if obstacle.ends is not None and obstacle.ends < faces.now - timedelta(minutes=10):
            yield f"{job.name}: '{obstacle.why.kind}' is over since {obstacle.ends}"
