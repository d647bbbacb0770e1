"""The plan as it was told, and what of it holds no more.

What counts as news of a window, and how it is said, is :mod:`curewindow.changes`: a notice
tells the same :class:`~curewindow.changes.Change` as the day sheet, the page and the JSON
interface, held against what was last told by a notice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from curewindow.answers import Answer
from curewindow.boat.service import Level
from curewindow.changes import Change, StatedJob, compare
from curewindow.changes.kept import keep, load
from curewindow.daysheet.changed import stated_of
from curewindow.daysheet.models import DaySheet
from curewindow.findings import Finding, finding
from curewindow.judgement.models import JobDay
from curewindow.readback import of_form
from curewindow.reminders.keys import stamp
from curewindow.reminders.known import Known
from curewindow.reminders.models import Reminder

# A deadline sooner by less than this is no change of plan.
_WORTH_TELLING = timedelta(hours=1)
_SOON = timedelta(hours=3)
# A window further off than this is for the morning notice: nobody gets up for it.
_LOOKED_AHEAD = timedelta(hours=36)
_MATTERS_FOR = timedelta(hours=12)


class _PlannedJob(Answer):
    """A job as :func:`plan_of` tells it; an older version told less of it."""

    next: str
    opens: datetime | None = None
    closes: datetime | None = None
    until: datetime | None = None
    told: StatedJob | None = None
    at: datetime | None = None
    weather: str = ""
    changed: bool = False


def plan_of(sheet: DaySheet) -> dict[str, Any]:
    """What of a day sheet someone plans by, ready for JSON.

    Returns
    -------
    dict
        By job: its next step, the first start it may have and the last, the deadline of
        the coat below, and all that is told of it (:class:`~curewindow.changes.Told`), when
        and by which forecast. Times in ISO 8601, UTC.
    """
    ends = {clock.job: clock.next_deadline for clock in sheet.clocks}
    news = {change.job for change in sheet.changes}
    plan: dict[str, Any] = {}
    for day in sheet.jobs:
        told = stated_of(day)
        if day.next is None or told is None:
            continue
        windows = [*day.windows_today, *([day.next_window] if day.next_window else [])]
        deadline = ends.get(day.job)
        plan[day.job] = {
            "next": f"{day.next.step}.{day.next.coat}",
            "opens": windows[0].opens.isoformat() if windows else None,
            "closes": windows[0].closes.isoformat() if windows else None,
            "until": None if deadline is None else deadline.isoformat(),
            "told": told.model_dump(mode="json"),
            "at": sheet.as_of.isoformat(),
            "weather": sheet.provenance.weather_name,
            "changed": day.job in news,
        }
    return plan


def keep_stated_plan(folder: Path, plan: Mapping[str, Any]) -> None:
    """Have the day sheets to come hold theirs against a plan that a notice told.

    Parameters
    ----------
    folder : Path
        The boat folder. What was told there later, by whatever program, stands.
    plan : mapping
        See :func:`plan_of`; one of an older version says too little and is passed over.
    """
    read = [was for was in map(_read, plan.values()) if was is not None]
    known = [(was, was.told) for was in read if was.told is not None]
    if not known:
        return
    at, kept = known[0][0].at, load(folder)
    if at is None or any(job.now_at >= at for job in kept.jobs.values()):
        return
    changed = [told.job for was, told in known if was.changed]
    keep(folder, known[0][0].weather, [told for _, told in known], changed, at)


def changed_reminders(known: Known) -> Iterator[Reminder]:
    """One a job whose plan is no longer what was told."""
    if known.plan is None:
        return
    plan = plan_of(known.sheet)
    for day in known.sheet.jobs:
        was = _read(known.plan.get(day.job))
        now = _read(plan.get(day.job))
        if was is None or now is None or was.next != now.next:
            continue  # the owner went on, or wrote another list
        found = _sooner(known, day, was, now) or _moved(known, day, was)
        if found is None:
            continue
        which, head, body, level, expires = found
        yield known.reminder(
            "plan changed",
            f"{day.job}|{now.next}|{known.words.local(known.now).date()}|{which}",
            about=day.job,
            level=level,
            due=known.now,
            latest=expires,
            expires=expires,
            head=head,
            body=[*body, known.stands(day)],
            care=day.cautions,
        )


_Found = tuple[str, Finding, list[Finding], Level, datetime]


def _sooner(known: Known, day: JobDay, was: _PlannedJob, now: _PlannedJob) -> _Found | None:
    """The coat below has to be followed sooner."""
    ended, ends = was.until, now.until
    if ended is None or ends is None or not known.now < ends < ended - _WORTH_TELLING:
        return None
    head = finding("recoat sooner", job=day.job, until=ends)
    level: Level = "urgent" if ends < known.now + 2 * _SOON else "normal"
    return f"sooner than {stamp(ended)}", head, [], level, ends


def _moved(known: Known, day: JobDay, was: _PlannedJob) -> _Found | None:
    """A window is another one than was told."""
    before, told_at, now = was.told, was.at, stated_of(day)
    if before is None or told_at is None or now is None:
        return None

    def why_not(_: datetime) -> list[Finding]:
        shown = next((c for c in known.sheet.changes if c.job == day.job and c.why), None)
        if shown is not None:
            return shown.why
        return [wait.why for wait in day.waits] or [each.why for each in day.obstacles[:1]]

    change = compare(before, told_at, now, known.words, why_not)
    if change is None or change.kind == "doubt" or not _near(known, change):
        return None
    said = _all_of(day.verdict)
    why = [each for each in change.why if each not in said and each.kind != "open already"]
    body = [finding("moved by", because=why)] if why else []
    head = finding("plan changed", job=day.job, because=[change.said])
    last = max((w.closes for w in (change.was, change.now) if w is not None), default=known.now)
    expires = max(last, known.now + _MATTERS_FOR) if change.worse else last
    # once for what was told, however it goes on moving until that is told again
    return f"{change.kind}|{stamp(told_at)}", head, body, "normal", expires


def _all_of(found: Finding) -> list[Finding]:
    """A finding and all it follows from."""
    return [found, *(each for part in found.because for each in _all_of(part))]


def _near(known: Known, change: Change) -> bool:
    windows = [window for window in (change.was, change.now) if window is not None]
    return any(window.opens <= known.now + _LOOKED_AHEAD for window in windows)


def _read(data: Any) -> _PlannedJob | None:
    try:
        return of_form(data, _PlannedJob)
    except ValueError:
        return None  # not there, or damaged
