"""Windows as events: when a coat, bead or bond may be started, and when the work would be over."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curewindow.answers import NextStep, Window
from curewindow.calendar.happening import Alarm, Happening
from curewindow.calendar.saying import Words
from curewindow.daysheet.models import DaySheet, JobAhead, WindowsAhead
from curewindow.rules.chance import worth_saying
from curewindow.voice import full
from curewindow.voice.cautions import care_lines
from curewindow.voice.day import step_text

_DAY_SHEET = "The weather moves: look at the day sheet before you open the tin."


def windows_of(
    sheet: DaySheet,
    ahead: WindowsAhead,
    words: Words,
    before_window: timedelta,
    so_far: timedelta,
) -> Iterator[Happening]:
    """Windows of all jobs, in order of time within each."""
    for job in ahead.jobs:
        if job.next is None or job.status == "done":
            continue
        near = [each for each in job.windows if each.opens <= sheet.as_of + so_far]
        for window in near or job.windows[:1]:
            yield _window(job, job.next, window, words, before_window)


def _window(
    job: JobAhead,
    ahead: NextStep,
    window: Window,
    words: Words,
    before_window: timedelta,
) -> Happening:
    certain = not worth_saying(window.confidence)
    chance = "" if certain else f" ({words.wording.chance(window.confidence)})"
    title = f"{job.job}: {step_text(ahead)}{chance}"
    ends = window.closes + timedelta(hours=ahead.hands_on_h)
    lines = [f"Last start {words.when(window.closes)}, done by {words.when(ends)}."]
    if window.best_start > window.opens:
        lines.append(f"Best start {words.when(window.best_start)}.")
    if ahead.sheet is not None:
        lines.append(
            f"Chance that the best start holds: {words.wording.chance(window.confidence)}."
        )
        lines += [f"Closes: {full(window.closes_because, words.dated)}."]
        if window.tightest is not None:
            lines.append(f"Tightest: {words.margin(window.tightest)}.")
        lines += words.after(window)
    lines += care_lines(job.cautions, words.dated)
    lines.append(_DAY_SHEET)
    minutes = int(before_window / timedelta(minutes=1))
    return Happening(
        kind="window",
        job=job.job,
        step=ahead.step,
        coat=ahead.coat,
        begins=window.opens,
        ends=max(ends, window.opens + timedelta(minutes=10)),
        title=title,
        body="\n".join(lines),
        where=job.where,
        certain=certain,
        alarms=[Alarm(minutes=minutes, says=f"Window opens soon: {title}")],
    )
