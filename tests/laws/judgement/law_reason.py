"""Law 6: a reason is the true one: without what it names the start is good."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta

import numpy as np

from curewindow.boat.schema import Job
from curewindow.judgement.jobday import find
from curewindow.judgement.models import JobDay
from curewindow.rules.chance import share_needed
from curewindow.windows import Verdict
from curewindow.windows.grid import first_at_or_after
from tests.laws.judgement.faces import GRID, Faces
from tests.laws.judgement.law_done import aboard

_HANDS = ("nobody aboard", "hours too short", "nobody to mix")


def broken(faces: Faces, rng: random.Random) -> Iterator[str]:
    for job in faces.facts.work.job:
        day = faces.day(job.name)
        yield from _limits(faces, job, rng)
        if day.status not in ("wait", "blocked"):
            continue
        yield from _said(faces, job, day)
        yield from _nobody(faces, job, day)
        yield from _waits(faces, job, day)


def _limits(faces: Faces, job: Job, rng: random.Random) -> Iterator[str]:
    """A limit named refuses the start by itself; without all that are named the start is good."""
    found = faces.found[job.name]
    verdict = None if found is None else found.judged.verdict
    if verdict is None:
        return
    series = verdict.series
    ahead = (faces.ahead.until - faces.now) / timedelta(seconds=1)
    at = faces.now + timedelta(seconds=rng.uniform(0.0, max(ahead - 3600.0, 0.0)))
    answer = faces.why(job, at)
    others = [rule for rule in answer.rules if rule.state in ("broken", "unknown")]
    if answer.allowed or others:
        return
    start = first_at_or_after(series, answer.start)
    needed = float(share_needed(series.lead_h[start : start + 1])[0])
    named = {
        (limit.limit, limit.phase, limit.bound)
        for limit in answer.limits
        if limit.state in ("broken", "unknown", "doubtful")
    }
    without = _share(verdict, start, lambda key: key not in named)
    if without < needed - 1e-9:
        yield f"{job.name} {answer.start}: without {sorted(named)} still good in {without:.2f} only"
    for limit in answer.limits:
        if limit.state in ("broken", "unknown"):
            key = (limit.limit, limit.phase, limit.bound)
            alone = _share(verdict, start, key.__eq__)
            if alone >= needed - 1e-9:
                yield f"{job.name} {answer.start}: {key} refuses it, but holds in {alone:.2f}"


def _share(verdict: Verdict, start: int, counts: Callable[[tuple[str, str, str]], bool]) -> float:
    """Share of members in which those limits that count hold over a start's span."""
    good = np.ones(verdict.members, np.bool_)
    for track in verdict.tracks:
        if not counts((track.name, track.phase, track.bound)):
            continue
        ends = np.broadcast_to(verdict.span_end(track), verdict.setting_end.shape)[:, start]
        for member, end in enumerate(ends):
            inside = end < verdict.points
            kept = track.margin[member, start : end + 1] >= 0.0
            good[member] &= bool(inside and kept.all())
    return float(good.mean())


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
    if len(kinds) != 1 or kinds[0] not in _HANDS:
        return  # several that last as long are named together
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
