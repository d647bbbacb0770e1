"""What is missing to know: a reading, fresh weather."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curewindow.boat.folder import job_by_name
from curewindow.findings import finding
from curewindow.reminders.keys import stamp
from curewindow.reminders.known import Known
from curewindow.reminders.models import Reminder

_WEATHER_OLD_H = 18.0
_NO_FEED = ("file", "by-hand")


def watch_reminders(known: Known) -> Iterator[Reminder]:
    """Readings overdue where a coat cures, weather that has not been renewed."""
    yield from _readings(known)
    yield from _weather(known)


def _readings(known: Known) -> Iterator[Reminder]:
    waiting: dict[str, list[str]] = {}
    for clock in known.clocks:
        space = job_by_name(known.facts.work, clock.job).space
        if space is not None and clock.state != "cured":
            waiting.setdefault(space, []).append(clock.job)
    every = timedelta(hours=known.settings.reading_every)
    for space, jobs in waiting.items():
        last = max((r.at for r in known.facts.readings if r.space == space), default=None)
        due = known.now if last is None else last + every
        yield known.reminder(
            "reading overdue",
            f"{space}|{'none' if last is None else stamp(last)}",
            about=space,
            level="low",
            due=due,
            expires=max(due, known.now) + timedelta(hours=24),
            head=finding("reading due", space=space),
            body=[finding("last read", at=last), finding("clocks go by it", names=tuple(jobs))],
        )


def _weather(known: Known) -> Iterator[Reminder]:
    basis = known.sheet.provenance
    old = basis.weather_age_h
    if known.facts.boat.weather.feed in _NO_FEED or old < _WEATHER_OLD_H:
        return
    made = basis.issued_at or basis.fetched_at
    yield known.reminder(
        "weather old",
        stamp(made),
        about=basis.weather,
        level="low",
        due=known.now,
        expires=known.now + timedelta(hours=12),
        head=finding("forecast old", hours=old),
        body=[finding("none newer"), *basis.weather_notes[:2]],
    )
