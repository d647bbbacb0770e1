"""Law 3: what is told can be done: someone is there, the heater reaches it, a step asks for it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta

from curewindow.boat.hours import sun_altitude
from curewindow.judgement.models import JobDay
from tests.laws.judgement.boats import Case
from tests.laws.judgement.faces import GRID, Faces

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MINUTE = timedelta(minutes=1)
_HORIZON_DEG = -0.9  # the sun's upper edge, with refraction, and a little


def aboard(case: Case, at: datetime) -> bool:
    """Is someone aboard, by the boat's own clock? Written apart from the boat's mask."""
    hours = case.boat.get("hours")
    if not hours:
        return True
    here = at.astimezone(case.zone)
    return any(
        _DAYS[here.weekday()] in each["days"]
        and each["from"] <= here.time()
        and (each["until"] == time(0) or here.time() <= each["until"])
        for each in hours
    )


def broken(faces: Faces) -> Iterator[str]:
    for job in faces.facts.work.job:
        day = faces.day(job.name)
        yield from _windows(faces, day, outdoors=job.outdoors)
        yield from _heat(faces, day)
        yield from _before(faces, day)
    yield from _deadlines(faces)
    yield from _calls(faces)


def _windows(faces: Faces, day: JobDay, *, outdoors: bool) -> Iterator[str]:
    """Someone is aboard from the first stroke to the last, in daylight outdoors."""
    if day.next is None:
        if faces.windows(day.job):
            yield f"{day.job}: windows of a job that is done"
        return
    hands = timedelta(hours=day.next.hands_on_h if day.next.sheet is not None else 0.0)
    place = faces.facts.boat.place
    for window in faces.windows(day.job):
        if window.opens < faces.now:
            yield f"{day.job}: opens {window.opens}, before now"
        if not window.opens <= window.best_start <= window.closes:
            yield f"{day.job}: best start {window.best_start} outside of its window"
        for start in (window.opens, window.closes, window.best_start):
            for at in (start, start + hands / 2, start + hands):
                if not aboard(faces.case, at):
                    yield f"{day.job}: started {start} nobody is aboard at {at}"
                if outdoors and _dark(place.latitude, place.longitude, at):
                    yield f"{day.job}: started {start} it is dark at {at}"


def _dark(latitude: float, longitude: float, at: datetime) -> bool:
    import numpy as np

    times = np.array([at.replace(tzinfo=None)], "datetime64[s]")
    return float(sun_altitude(latitude, longitude, times)[0]) < _HORIZON_DEG - 0.1


def _heat(faces: Faces, day: JobDay) -> Iterator[str]:
    """A heater there, in order, lit in time, and a start while someone is aboard."""
    plan = day.heat
    if plan is None or plan.status != "possible":
        return
    own = next(j for j in faces.facts.work.job if j.name == day.job)
    space = faces.facts.boat.find_space(own.space or "")
    if space is None or space.heating is None:
        yield f"{day.job}: heat where there is no heater"
        return
    assert plan.light_at is not None
    assert plan.start is not None
    assert plan.hold_until is not None
    if plan.light_at < faces.now - GRID:
        yield f"{day.job}: light the heater {plan.light_at}, {faces.now - plan.light_at} ago"
    if not plan.light_at <= plan.start <= plan.hold_until:
        yield f"{day.job}: lit {plan.light_at}, started {plan.start}, held to {plan.hold_until}"
    if not aboard(faces.case, plan.light_at):
        yield f"{day.job}: nobody is aboard to light the heater {plan.light_at}"
    assert day.next is not None
    for at in (plan.start, plan.start + timedelta(hours=day.next.hands_on_h)):
        if not aboard(faces.case, at):
            yield f"{day.job}: started with heat {plan.start} nobody is aboard at {at}"
    for out in space.heating.out_of_order:
        begins, ends = (x.replace(tzinfo=faces.case.zone) for x in (out.from_, out.until))
        if plan.light_at < ends and begins < plan.hold_until:
            yield f"{day.job}: heater lit {plan.light_at}, out of order {begins} to {ends}"


def _before(faces: Faces, day: JobDay) -> Iterator[str]:
    """No start before what has to come first."""
    for wait in day.waits:
        for window in [*day.windows_today, *filter(None, [day.next_window, day.if_wiped])]:
            if wait.until is None or window.opens < wait.until:
                yield f"{day.job}: opens {window.opens}, but waits for {wait.about} {wait.until}"


def _deadlines(faces: Faces) -> Iterator[str]:
    """A deadline is of a coat that is to come, and can still come before it."""
    for clock in faces.sheet.clocks:
        if clock.next_deadline is None:
            continue
        day = faces.day(clock.job)
        if day.next is None or not _coat_to_come(faces, clock.job):
            yield f"{clock.job}: recoat by {clock.next_deadline}, but no coat follows"
        late = [
            w for w in day.waits if w.kind != "recoat" and w.until and w.until > clock.next_deadline
        ]
        if late:
            yield f"{clock.job}: recoat by {clock.next_deadline}, but waits for {late[0]}"
        if clock.next_deadline <= faces.now:
            yield f"{clock.job}: the deadline {clock.next_deadline} is over"


def _coat_to_come(faces: Faces, name: str) -> bool:
    job = next(job for job in faces.facts.work.job if job.name == name)
    day = faces.day(name)
    assert day.next is not None
    return any(step.sheet is not None for step in job.step[day.next.step - 1 :])


def _calls(faces: Faces) -> Iterator[str]:
    """A call to begin comes while someone is there, and a start can follow it."""
    for each in faces.reminders:
        if each.kind == "light heater":
            plan = faces.day(each.about).heat
            latest = None if plan is None else plan.latest_light_at or plan.light_at
            if latest is None or each.expires > latest:
                yield f"'{each.title}' is told until {each.expires}, lit by {latest}"
        if each.due <= faces.now:
            continue
        if each.kind == "recoat opens" and not aboard(faces.case, each.due):
            yield f"'{each.title}' is told {each.due}, when nobody is aboard"
        if each.kind == "recoat closes" and each.title.startswith("Last call"):
            day = faces.day(each.about)
            heated = [] if day.heat is None else [day.heat.start]
            windows = [*day.windows_today, *filter(None, [day.next_window, day.if_wiped])]
            starts = [*(window.opens for window in windows), *filter(None, heated)]
            if not any(start <= each.expires for start in starts):
                yield f"'{each.title}': no start before that, first {min(starts, default=None)}"
