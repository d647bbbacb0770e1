"""Every face of one boat at one moment, asked once and shared by the laws."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cached_property
from pathlib import Path

from curewindow.answers import Clock, Window
from curewindow.boat.schema import Job
from curewindow.calendar import happenings
from curewindow.calendar.happening import Happening
from curewindow.daysheet import DaySheet, WindowsAhead, windows_ahead
from curewindow.daysheet.assemble import assemble
from curewindow.daysheet.models import JobAhead
from curewindow.explain.models import Why
from curewindow.explain.one_start import explained
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.jobday import Found, find
from curewindow.judgement.models import JobDay
from curewindow.reminders.derive import reminders_of
from curewindow.reminders.models import Reminder
from curewindow.situation import Situation, read_situation
from curewindow.weather.forecast import Forecast
from tests.laws.judgement.boats import Case

GRID = timedelta(minutes=10)
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Faces:
    """What each face says of a boat at a moment; asked when first looked at.

    Attributes
    ----------
    case : Case
    folder : Path
    now : datetime
    forecast : Forecast or None
        The weather at hand; else it is got as boat.toml says.
    """

    case: Case
    folder: Path
    now: datetime
    forecast: Forecast | None = None

    @cached_property
    def facts(self) -> Situation:
        return read_situation(self.folder, self.now, self.forecast)

    def still_with(self, forecast: Forecast) -> Faces:
        """The same moment, had no new run of the forecast come since this one."""
        if forecast.made == self.facts.forecast.made:
            return self
        return Faces(self.case, self.folder, self.now, forecast)

    @cached_property
    def sheet(self) -> DaySheet:
        return assemble(self.facts)

    @cached_property
    def ahead(self) -> WindowsAhead:
        return windows_ahead(self.folder, self.now, forecast=self.facts.forecast)

    @cached_property
    def clocks(self) -> dict[str, Clock]:
        return {clock.job: clock for clock in clocks_of(self.facts)}

    @cached_property
    def reminders(self) -> list[Reminder]:
        return reminders_of(self.facts, self.sheet)

    @cached_property
    def happenings(self) -> list[Happening]:
        return happenings(self.sheet, self.ahead)

    @cached_property
    def found(self) -> dict[str, Found | None]:
        return {
            job.name: find(self.facts, job, self.clocks, all_windows=True)
            for job in self.facts.work.job
        }

    def why(self, job: Job, at: datetime) -> Why:
        return explained(self.facts, job, at)

    def day(self, job: str) -> JobDay:
        return next(day for day in self.sheet.jobs if day.job == job)

    def job_ahead(self, job: str) -> JobAhead:
        return next(each for each in self.ahead.jobs if each.job == job)

    def windows(self, job: str) -> list[Window]:
        """All windows there are, by the face that shows them all."""
        return self.job_ahead(job).windows


def may_start(day: JobDay, window: Window, at: datetime) -> bool:
    """Is a start in a window? Where no product goes on its end is the end of the work."""
    first_to_last = window.opens <= at <= window.closes
    by_hand = day.next is None or day.next.sheet is None
    return first_to_last and not (by_hand and at == window.closes)


def starts_of(day: JobDay, windows: list[Window], since: datetime) -> set[datetime]:
    """The starts of windows on the grid, from a moment on."""
    found = set()
    for window in windows:
        at = window.opens + (EPOCH - window.opens) % GRID  # a window may be open since between two
        while at <= window.closes:
            if at >= since and may_start(day, window, at):
                found.add(at)
            at += GRID
    return found
