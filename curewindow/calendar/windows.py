"""Windows as events: when a coat, bead or bond may be started, and when the work would be over."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curewindow.answers import NextStep, Window
from curewindow.calendar.happening import Alarm, Happening
from curewindow.daysheet.models import DaySheet, JobAhead, WindowsAhead
from curewindow.rules.chance import worth_saying
from curewindow.voice.calendar import LOOK_FIRST, window_lines, window_soon, window_title
from curewindow.voice.cautions import care_lines
from curewindow.wording import Wording


def windows_of(
    sheet: DaySheet,
    ahead: WindowsAhead,
    words: Wording,
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
    words: Wording,
    before_window: timedelta,
) -> Happening:
    title = window_title(job.job, ahead, window, words)
    ends = window.closes + timedelta(hours=ahead.tail_h)
    lines = [
        *window_lines(ahead, window, words),
        *care_lines(job.cautions, words),
        LOOK_FIRST,
    ]
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
        certain=not worth_saying(window.confidence),
        alarms=[Alarm(minutes=minutes, says=window_soon(title))],
    )
