"""Law 1: two faces asked at the same moment never disagree about the same step."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import timedelta

from curewindow.boat.schema import Job
from curewindow.judgement.models import JobDay
from tests.laws.judgement.faces import GRID, Faces, may_start


def broken(faces: Faces, rng: random.Random) -> Iterator[str]:
    yield from _planned(faces)
    yield from _covered(faces)
    for job in faces.facts.work.job:
        day = faces.day(job.name)
        yield from _windows(faces, day)
        yield from _calendar(faces, day)
        yield from _deadlines(faces, day)
        yield from _heat(faces, day)
        yield from _unhurried(faces, job, day)
        if day.next is not None:
            yield from _why(faces, job, day, rng)


def _covered(faces: Faces) -> Iterator[str]:
    """A coat that may be covered is told with how the job stands that covers it."""
    for each in faces.reminders:
        names = [n for told in each.told if told.kind == "cured since" for n in told.texts("names")]
        for day in faces.sheet.jobs:
            if day.job not in names or day.status == "done":
                continue
            if not any(line.text("job") == day.job and line.because for line in each.told):
                yield f"'{each.title}' does not say how {day.job} stands: {day.verdict}"


def _unhurried(faces: Faces, job: Job, day: JobDay) -> Iterator[str]:
    """Whoever sands between coats is told no end of an interval that asks for no more than that."""
    ahead = day.next
    if ahead is None or ahead.coat is None or job.step[ahead.step - 1].between != "sand":
        return
    for window in faces.windows(day.job) if ahead.coat < (ahead.of_coats or 1) else []:
        if window.after.recoat_after == "sand" and window.after.recoat_until is not None:
            yield f"{day.job}: sanded between coats, yet recoat until {window.after.recoat_until}"


def _windows(faces: Faces, day: JobDay) -> Iterator[str]:
    """Day sheet against windows: the same status, line and windows."""
    ahead = faces.job_ahead(day.job)
    for name in ("status", "verdict", "next", "if_wiped", "waits"):
        if getattr(day, name) != getattr(ahead, name):
            yield f"{day.job}: {name} {getattr(day, name)!r}, windows has {getattr(ahead, name)!r}"
    local = faces.facts.words.local
    today = local(faces.now).date()
    now_on = [w for w in ahead.windows if local(w.opens).date() == today]
    later = next((w for w in ahead.windows if local(w.opens).date() > today), None)
    if [(w.opens, w.closes) for w in now_on] != [(w.opens, w.closes) for w in day.windows_today]:
        yield f"{day.job}: today {_spans(day.windows_today)}, windows has {_spans(now_on)}"
    elif now_on != day.windows_today:
        yield f"{day.job}: today's windows are the same in time, but not in all they say"
    if day.next_window != later:
        yield f"{day.job}: next {_spans([day.next_window])}, windows has {_spans([later])}"


def _why(faces: Faces, job: Job, day: JobDay, rng: random.Random) -> Iterator[str]:
    """Why against windows: a start is good in both or in neither, and the next one the same."""
    windows = faces.windows(job.name)
    asked = [faces.now, faces.now + timedelta(seconds=rng.randrange(2 * 86400))]
    for window in windows[:2]:
        asked += [window.opens, window.closes, window.closes + GRID]
    for at in asked:
        if not faces.now <= at < faces.ahead.until - GRID:
            continue
        answer = faces.why(job, at)
        start = answer.start
        inside = any(may_start(day, w, start) for w in windows)
        if answer.allowed != inside:
            yield f"{job.name} {start}: why says {answer.allowed}, windows {_spans(windows)}"
        ahead = (w for w in windows if w.opens > start or may_start(day, w, start))
        following = next((max(w.opens, start) for w in ahead), None)
        if answer.next_allowed != following:
            yield f"{job.name} {start}: why's next is {answer.next_allowed}, windows' {following}"
        wiped = day.if_wiped
        if wiped is None or answer.allowed or (following is not None and following <= wiped.opens):
            told = None
        else:
            told = wiped if start <= wiped.closes else answer.if_wiped
        if answer.if_wiped != told:
            yield f"{job.name} {start}: wiped, why has {_spans([answer.if_wiped])}, not {wiped}"
        states = [*(r.state for r in answer.rules), *(limit.state for limit in answer.limits)]
        if not answer.allowed and not {"broken", "unknown"} & set(states):
            yield f"{job.name} {start}: refused by why without a reason"


def _calendar(faces: Faces, day: JobDay) -> Iterator[str]:
    """Calendar against windows and clocks."""
    hands = timedelta(hours=0 if day.next is None else day.next.tail_h)
    told = {(w.opens, w.closes + hands) for w in faces.windows(day.job)}
    for event in faces.happenings:
        if event.job != day.job:
            continue
        short = event.ends <= event.begins + GRID  # shown as long as the grid's step at least
        if event.kind == "window" and not short and (event.begins, event.ends) not in told:
            yield f"{day.job}: the calendar has {event.begins} to {event.ends}: {told}"
        if event.kind == "recoat closes" and event.ends != faces.clocks[day.job].next_deadline:
            yield f"{day.job}: the calendar's deadline is {event.ends}"
        if event.kind == "heat" and (day.heat is None or day.heat.light_at != event.begins):
            yield f"{day.job}: the calendar lights at {event.begins}"


def _deadlines(faces: Faces, day: JobDay) -> Iterator[str]:
    """One deadline for one recoat: clock, windows, line and notices."""
    clock = faces.clocks.get(day.job)
    deadline = None if clock is None else clock.next_deadline
    told = [r for r in faces.reminders if r.kind == "recoat closes" and r.about == day.job]
    if told and deadline is None:
        yield f"{day.job}: '{told[0].title}' is told, the day sheet has no deadline"
    for each in told:
        if deadline is not None and each.expires != deadline.replace(microsecond=0):
            yield f"{day.job}: told by {each.expires}, the day sheet says by {deadline}"
    found = faces.found[day.job]
    sand = None if found is None else found.judged.sand_after
    # a coat that cannot go on before then has no deadline: it is sanded for in any case
    late = [w for w in day.waits if sand is not None and w.until is not None and w.until > sand]
    if sand is not None and sand > faces.now and sand != deadline and not late:
        yield f"{day.job}: sand first after {sand} by the window, deadline {deadline} by the clock"


def _planned(faces: Faces) -> Iterator[str]:
    """A kept plan's steps of today and before against the windows."""
    plan = faces.sheet.plan
    for step in [] if plan is None else [*plan.overdue, *plan.today]:
        ahead = faces.day(step.job).next
        if ahead is None or (ahead.step, ahead.coat) != (step.step, step.coat):
            continue
        start = max(step.start, faces.now)
        local = faces.facts.words.local
        wiped = faces.day(step.job).if_wiped if step.wipe_first else None
        inside = any(
            may_start(faces.day(step.job), w, start)
            for w in [*faces.windows(step.job), *filter(None, [wiped])]
            if local(w.opens).date() == local(faces.now).date()
        )
        if step.allowed is not inside:
            spans = _spans(faces.windows(step.job))
            yield f"{step.job}: planned {step.start}, allowed {step.allowed}, windows {spans}"
        clock = faces.clocks.get(step.job)
        if clock is not None and step.must_by != clock.next_deadline:
            yield f"{step.job}: by {step.must_by} in the plan, {clock.next_deadline} by its clock"


def _heat(faces: Faces, day: JobDay) -> Iterator[str]:
    """Notices against the day sheet's heat."""
    told = [r for r in faces.reminders if r.kind == "light heater" and r.about == day.job]
    if told and (day.heat is None or day.heat.light_at is None):
        yield f"{day.job}: told to light a heater, the day sheet has no plan"


def _spans(windows: list) -> str:
    return ", ".join(
        "none" if w is None else f"{w.opens:%d %H:%M}-{w.closes:%H:%M}" for w in windows
    )
