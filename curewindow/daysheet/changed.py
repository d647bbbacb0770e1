"""What the day sheet has to say anew: its windows held against those told before."""

from __future__ import annotations

import hashlib
from datetime import datetime
from pathlib import Path

from curewindow.answers import Window
from curewindow.changes import Change, StatedJob, StatedWindow, compare
from curewindow.changes.kept import keep, keep_missed, load
from curewindow.daysheet.models import DaySheet
from curewindow.daysheet.plannedsteps import missed_key
from curewindow.findings import Finding, finding
from curewindow.judgement.jobday import Found
from curewindow.judgement.models import JobDay
from curewindow.rules.limits import WET
from curewindow.situation import Situation
from curewindow.windows import find_obstacles


def changes_of(
    facts: Situation, days: list[JobDay], found: dict[str, Found | None], weather: str
) -> list[Change]:
    """What is news since the plan told by the forecast before.

    Parameters
    ----------
    facts : Situation
    days : list of JobDay
    found : dict of str to Found or None
        What the days were made from, by job.
    weather : str
        Names the forecast (:func:`weather_name`).

    Returns
    -------
    list of Change
        What is worse first.
    """
    before = load(facts.folder).before(weather)
    changes: list[Change] = []
    for day in days:
        now, was = stated_of(day), before.get(day.job)
        if now is None or was is None:
            continue

        def why_not(at: datetime, day: JobDay = day) -> list[Finding]:
            return _why_not(day, found.get(day.job), at)

        change = compare(*was, now, facts.words, why_not)
        if change is not None:
            changes.append(change)
    return sorted(changes, key=lambda change: not change.worse)


def stated_of(day: JobDay) -> StatedJob | None:
    """What a day sheet tells of a job; None where it is done."""
    if day.next is None:
        return None
    ahead = [*day.windows_today, day.next_window]
    windows = [window for window in ahead if window is not None]
    if not windows and day.if_wiped is not None:
        windows = [day.if_wiped]  # planned on as well, once the surface is wiped
    return StatedJob(
        job=day.job,
        step=day.next.step,
        coat=day.next.coat,
        hands_on_h=day.next.tail_h,
        windows=[_stated(window) for window in windows],
    )


def remember(folder: Path, sheet: DaySheet) -> None:
    """Keep what a day sheet tells, once it has been told to someone."""
    told = [one for day in sheet.jobs if (one := stated_of(day)) is not None]
    changed = [change.job for change in sheet.changes]
    keep(folder, sheet.provenance.weather_name, told, changed, sheet.as_of)
    remember_missed(folder, sheet)


def remember_missed(folder: Path, sheet: DaySheet) -> None:
    """Keep which planned steps a day sheet tells as missed: it does so for that day alone."""
    if sheet.plan is not None:
        missed = [missed_key(step.key, step.start) for step in sheet.plan.overdue]
        keep_missed(folder, missed, sheet.as_of)


def weather_name(facts: Situation) -> str:
    """A name that is another one as soon as the forecast is.

    A feed's answer goes by when it was made. What comes from a file, or by hand, is read
    anew each time: it goes by its figures.
    """
    forecast = facts.forecast
    name = hashlib.sha256(forecast.source.encode())
    if facts.boat.weather.feed in ("file", "by-hand"):
        for values in (forecast.times, forecast.temp_c[0], forecast.vapour_pa[0]):
            name.update(values.tobytes())
    else:
        name.update((forecast.issued_at or forecast.fetched_at).isoformat().encode())
    return name.hexdigest()[:16]


def _stated(window: Window) -> StatedWindow:
    return StatedWindow(
        opens=window.opens,
        closes=window.closes,
        confidence=window.confidence,
        opens_because=window.opens_because,
        closes_because=window.closes_because,
    )


def _why_not(day: JobDay, found: Found | None, at: datetime) -> list[Finding]:
    """What stands in the way of a start at a moment that was told as good."""
    if found is not None and found.refusal is not None:
        return [found.refusal]
    held = [wait for wait in day.waits if wait.until is None or wait.until > at]
    if held:
        return [wait.why for wait in held]
    verdict = None if found is None else found.judged.verdict
    obstacles = [] if verdict is None else find_obstacles(verdict, at)
    # What was to be wiped off when it was told is no news beside anything else.
    new = [o for o in obstacles if o.margin is None or o.margin.limit != WET.name]
    reasons = list(dict.fromkeys(obstacle.why for obstacle in new or obstacles))
    return reasons[:2] or [finding("nobody aboard")]
