"""Starts to come: windows that open or close, and the heater that opens one."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from curewindow.answers import Window
from curewindow.boat.folder import job_by_name
from curewindow.findings import finding
from curewindow.judgement.models import JobDay
from curewindow.record.entries import Heat
from curewindow.reminders.coats import ready_at
from curewindow.reminders.known import Known, of_step
from curewindow.reminders.models import Reminder
from curewindow.reminders.wet import lit_by_log, still_setting, turn_down

# A start that comes again within this time is no loss to miss.
_SOON_AGAIN = timedelta(hours=20)
# The grid's step, and a little.
_SAME = timedelta(minutes=12)
_AHEAD = timedelta(hours=36)
_BEFORE_LIGHTING = timedelta(minutes=15)


def start_reminders(known: Known) -> Iterator[Reminder]:
    """Windows that open and close, heaters to be lit and turned down."""
    for day in known.sheet.jobs:
        if day.next is None:
            continue
        if day.status != "refused" and day.next.sheet is not None:
            yield from _windows(known, day)
        yield from _heater(known, day)
    yield from _lit(known)


def _windows(known: Known, day: JobDay) -> Iterator[Reminder]:
    windows = [*day.windows_today, *([day.next_window] if day.next_window else [])]
    for number, window in enumerate(windows):
        if window.opens > known.now + _AHEAD:
            continue
        behind = windows[number + 1] if number + 1 < len(windows) else None
        # The morning notice tells of what opens only because someone comes aboard.
        if window.opens_because.kind != "aboard":
            yield from _opening(known, day, window)
        if number < len(day.windows_today) and (
            behind is None or behind.opens - window.closes > _SOON_AGAIN
        ):
            yield from _closing(known, day, window, behind)


def _which(known: Known, day: JobDay, at: datetime) -> str:
    assert day.next is not None
    return f"{day.job}|{day.next.step}.{day.next.coat}|{known.words.local(at).date()}"


def _opening(known: Known, day: JobDay, window: Window) -> Iterator[Reminder]:
    if window.opens <= known.now + _SAME:
        return  # it is open; what changed since the morning is told as a change
    ready = [ready_at(clock, day) for clock in known.clocks if clock.job == day.job]
    if any(at is not None and abs(at - window.opens) <= 3 * _SAME for at in ready):
        return  # it opens because the coat below is ready: that is told by its own name
    assert day.next is not None
    ends = window.closes + timedelta(hours=day.next.tail_h)
    yield known.reminder(
        "window opens",
        _which(known, day, window.opens),
        about=day.job,
        level="normal",
        due=window.opens - timedelta(hours=known.settings.before_window),
        expires=window.closes,
        head=of_step("window opens", day, begins=window.opens, chance=window.confidence),
        body=[
            finding("work until", until=ends, last_start=window.closes),
            finding("opened by", because=[window.opens_because]),
        ],
        care=day.cautions,
    )


def _closing(
    known: Known, day: JobDay, window: Window, behind: Window | None
) -> Iterator[Reminder]:
    lead = timedelta(hours=known.settings.before_window)
    if window.closes <= known.now or window.closes - window.opens < 2 * lead:
        return
    yield known.reminder(
        "window closes",
        _which(known, day, window.closes),
        about=day.job,
        level="normal",
        due=window.closes - lead,
        latest=window.closes,
        expires=window.closes,
        head=of_step("last start soon", day, last_start=window.closes),
        body=[
            finding("next start", begins=None if behind is None else behind.opens),
            finding("closed by", because=[window.closes_because]),
        ],
        care=day.cautions,
    )


def _heater(known: Known, day: JobDay) -> Iterator[Reminder]:
    plan, words = day.heat, known.words
    assert day.next is not None
    coat = f"{day.job}|{day.next.step}.{day.next.coat}"
    if (
        plan is None
        or plan.status != "possible"
        or plan.light_at is None
        or plan.hold_until is None
        or plan.start is None
        or plan.setpoint_c is None
        or plan.light_at > known.now + _AHEAD
    ):
        return
    latest = plan.latest_light_at or plan.light_at  # told later, it could not be done
    told = known.reminder(
        "light heater",
        f"{coat}|{words.local(plan.light_at).date()}",
        about=day.job,
        level="normal",
        due=plan.light_at - _BEFORE_LIGHTING,
        latest=latest,
        expires=latest,
        head=finding("heater to light", space=plan.space, light_at=plan.light_at),
        body=[
            plan.verdict,
            finding("coat then", job=day.job, begins=plan.start),
            finding("log heater lit"),
        ],
        care=plan.cautions,
    )
    if told.expires <= latest:  # behind the quiet hours it could be too late
        yield told


def _lit(known: Known) -> Iterator[Reminder]:
    """Heaters lit by the log, once their time is over; with a film there it is told by that."""
    words = known.words
    for space in known.facts.boat.space:
        lit = lit_by_log(known, space.name)
        if lit is None or any(each.job.space == space.name for each in still_setting(known)):
            continue
        yield turn_down(
            known,
            _heated_for(known, space.name, lit) or f"{space.name}|{words.local(lit.until).date()}",
            about=space.name,
            where=space.name,
            due=lit.until,
            body=[finding("heater held until", until=lit.until), finding("log held longer")],
        )


def _heated_for(known: Known, space: str, lit: Heat) -> str:
    """The coat that has a window while it is lit, as its heating plan's reminders name it."""
    for day in known.sheet.jobs:
        if day.next is None or job_by_name(known.facts.work, day.job).space != space:
            continue
        windows = [*day.windows_today, *filter(None, [day.next_window, day.if_wiped])]
        if any(lit.at <= window.opens < lit.until for window in windows):
            return f"{day.job}|{day.next.step}.{day.next.coat}"
    return ""
