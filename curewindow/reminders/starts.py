"""Starts to come: windows that open or close, and the heater that opens one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from curewindow.answers import Window
from curewindow.boat.folder import job_by_name
from curewindow.daysheet.models import JobDay
from curewindow.record.entries import Heat
from curewindow.reminders.coats import ready_at
from curewindow.reminders.known import Known
from curewindow.reminders.models import Reminder
from curewindow.reminders.saying import when
from curewindow.reminders.wet import lit_by_log, still_setting, turn_down
from curewindow.rules.chance import worth_saying
from curewindow.voice import act, full
from curewindow.windows.grid import last_at_or_before

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
        if not _by_hours(known, day, window.opens):
            yield from _opening(known, day, window)
        if number < len(day.windows_today) and (
            behind is None or behind.opens - window.closes > _SOON_AGAIN
        ):
            yield from _closing(known, day, window, behind)


def _by_hours(known: Known, day: JobDay, opens: datetime) -> bool:
    """Does it open only because someone comes aboard? The morning notice tells of that."""
    series = known.facts.series(job_by_name(known.facts.work, day.job))
    before = last_at_or_before(series, opens - timedelta(minutes=1))
    return before < 0 or not bool(known.facts.hours_ok(series)[before])


def _which(known: Known, day: JobDay, at: datetime) -> str:
    assert day.next is not None
    return f"{day.job}|{day.next.step}.{day.next.coat}|{known.words.local(at).date()}"


def _what(day: JobDay) -> str:
    assert day.next is not None
    if day.next.do == "coat":
        return f"coat {day.next.coat} of {day.next.of_coats}"
    return str(day.next.do)


def _opening(known: Known, day: JobDay, window: Window) -> Iterator[Reminder]:
    if window.opens <= known.now + _SAME:
        return  # it is open; what changed since the morning is told as a change
    ready = [ready_at(clock, day) for clock in known.clocks if clock.job == day.job]
    if any(at is not None and abs(at - window.opens) <= 3 * _SAME for at in ready):
        return  # it opens because the coat below is ready: that is told by its own name
    words = known.words
    assert day.next is not None
    ends = window.closes + timedelta(hours=day.next.hands_on_h)
    yield known.reminder(
        "window opens",
        _which(known, day, window.opens),
        about=day.job,
        level="normal",
        due=window.opens - timedelta(hours=known.settings.before_window),
        expires=window.closes,
        title=f"{day.job}: {_what(day)} from {when(window.opens, words)}",
        body=[
            f"To {when(ends, words)}, last start {words.clock(window.closes)}.",
            f"Why then: {full(window.opens_because, known.dated)}.",
            f"{words.chance(window.confidence)}." if worth_saying(window.confidence) else "",
        ],
        care=day.cautions,
    )


def _closing(
    known: Known, day: JobDay, window: Window, behind: Window | None
) -> Iterator[Reminder]:
    lead = timedelta(hours=known.settings.before_window)
    if window.closes <= known.now or window.closes - window.opens < 2 * lead:
        return
    words = known.words
    again = "none is seen after it" if behind is None else f"next {when(behind.opens, words)}"
    yield known.reminder(
        "window closes",
        _which(known, day, window.closes),
        about=day.job,
        level="normal",
        due=window.closes - lead,
        latest=window.closes,
        expires=window.closes,
        title=f"{day.job}: last start {when(window.closes, words)}",
        body=[
            f"{_what(day).capitalize()}; {again}.",
            f"Then: {full(window.closes_because, known.dated)}.",
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
    latest = plan.latest_light_at or plan.light_at + timedelta(hours=1)
    yield known.reminder(
        "light heater",
        f"{coat}|{words.local(plan.light_at).date()}",
        about=day.job,
        level="normal",
        due=plan.light_at - _BEFORE_LIGHTING,
        latest=latest,
        expires=max(latest, plan.light_at + timedelta(minutes=30)),
        title=f"Light the heater by {when(plan.light_at, words)}: {plan.space}",
        body=[
            f"{_capital(act(plan.verdict, replace(words, days='weekday')))}.",
            f"Then {day.job} can be started {when(plan.start, words)}.",
            "Log it once it is lit: windows and clocks then go by it.",
        ],
        care=plan.cautions,
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


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
            body=[
                f"Logged as held to {when(lit.until, words)}; nothing there is setting.",
                "Held longer? Log that: windows and clocks go by it.",
            ],
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
