"""One job's windows held against what was told of them before.

What counts as news (our choice): half an hour for a window of the day ahead, an hour for
one within three days, two hours further off; a quarter of certainty. A window further
off than three days that comes or goes counts only where two chances in three were told:
below that it was a hope, not a plan.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from curewindow.changes.models import Change, StatedJob, StatedWindow
from curewindow.findings import Finding, finding
from curewindow.wording import Wording

NEWS: Final[tuple[tuple[timedelta, timedelta], ...]] = (
    (timedelta(hours=24), timedelta(minutes=30)),
    (timedelta(hours=72), timedelta(hours=1)),
    (timedelta.max, timedelta(hours=2)),
)
"""How far off a window is, and the shift from which on it is news."""
NEAR: Final = timedelta(hours=72)
PLANNED_ON: Final = 2.0 / 3.0
DOUBT: Final = 0.25


def compare(
    was: StatedJob,
    told_at: datetime,
    now: StatedJob,
    words: Wording,
    why_not: Callable[[datetime], list[Finding]],
) -> Change | None:
    """What is news about a job.

    Parameters
    ----------
    was, now : Told
        Told before, and true now.
    told_at : datetime
        When `was` was told, aware.
    words : Wording
        Its `now` is the present: windows that are over are no news.
    why_not : callable
        What stands in the way of a start at a moment.

    Returns
    -------
    Change or None
        None where nothing worth telling has changed, or the job has gone on since.
    """
    at = words.now
    if (was.step, was.coat) != (now.step, now.coat):
        return None
    old = [window for window in was.windows if window.closes > at]
    if was.windows and not old:
        return None  # what was told is over
    new = now.windows
    if not old:
        return _new(now, new[0], told_at) if new and _counts(new[0], at) else None
    first = old[0]
    match = next((window for window in new if _same(first, window, words)), None)
    if match is None:
        if _counts(first, at):
            return _lost(now, first, new, told_at, at, why_not)
    elif change := _moved(now, first, match, told_at, at):
        return change
    sooner = new[0] if new else None
    if (
        sooner is not None
        and sooner is not match
        and sooner.closes < first.opens
        and _counts(sooner, at)
    ):
        return _new(now, sooner, told_at)
    return None


def _same(was: StatedWindow, now: StatedWindow, words: Wording) -> bool:
    overlap = now.opens <= was.closes and was.opens <= now.closes
    return overlap or words.local(was.opens).date() == words.local(now.opens).date()


def _counts(window: StatedWindow, at: datetime) -> bool:
    return window.opens - at <= NEAR or window.confidence >= PLANNED_ON


def _news(window: StatedWindow, at: datetime) -> timedelta:
    away = window.opens - at
    return next(shift for limit, shift in NEWS if away <= limit)


def _ends(told: StatedJob, window: StatedWindow) -> datetime:
    """End of the work begun at a window's last start."""
    return window.closes + timedelta(hours=told.hands_on_h)


def _new(told: StatedJob, window: StatedWindow, told_at: datetime) -> Change:
    why = [window.opens_because]
    return Change(
        job=told.job,
        kind="new",
        told_at=told_at,
        now=window,
        worse=False,
        why=why,
        said=finding(
            "window new",
            begins=window.opens,
            until=_ends(told, window),
            chance=window.confidence,
            because=why,
        ),
    )


def _lost(
    told: StatedJob,
    was: StatedWindow,
    new: list[StatedWindow],
    told_at: datetime,
    at: datetime,
    why_not: Callable[[datetime], list[Finding]],
) -> Change:
    # In the middle of what was told: its ends may have been bad all along.
    opens = max(was.opens, at)
    why = why_not(opens + (was.closes - opens) / 2)
    following = [
        finding(
            "window ahead",
            begins=window.opens,
            until=_ends(told, window),
            chance=window.confidence,
        )
        for window in new[:1]
    ]
    return Change(
        job=told.job,
        kind="lost",
        told_at=told_at,
        was=was,
        now=new[0] if new else None,
        worse=True,
        why=why,
        said=finding(
            "window lost",
            begins=was.opens,
            until=_ends(told, was),
            because=[*why, *following],
        ),
    )


def _moved(
    told: StatedJob, was: StatedWindow, now: StatedWindow, told_at: datetime, at: datetime
) -> Change | None:
    opens = max(now.opens, at) - max(was.opens, at)
    closes = now.closes - was.closes
    least = _news(was, at)
    opened, closed = abs(opens) >= least, abs(closes) >= least
    if not opened and not closed:
        return _confidence_news(told, was, now, told_at)
    why = [
        *([now.opens_because] if opened else []),
        *([now.closes_because] if closed else []),
    ]
    why = list(dict.fromkeys(why))
    return Change(
        job=told.job,
        kind="moved",
        told_at=told_at,
        was=was,
        now=now,
        opens_later_h=_hours(opens),
        closes_later_h=_hours(closes),
        worse=opens >= least or closes <= -least,
        why=why,
        said=finding(
            "window moved",
            begins=now.opens if opened else None,
            last_start=now.closes if closed else None,
            hours=_hours(opens) if opened else None,
            other_hours=_hours(closes) if closed else None,
            because=why,
        ),
    )


def _confidence_news(
    told: StatedJob, was: StatedWindow, now: StatedWindow, told_at: datetime
) -> Change | None:
    if abs(now.confidence - was.confidence) < DOUBT:
        return None
    return Change(
        job=told.job,
        kind="doubt",
        told_at=told_at,
        was=was,
        now=now,
        worse=now.confidence < was.confidence,
        said=finding(
            "window doubted",
            begins=now.opens,
            until=_ends(told, now),
            chance=now.confidence,
            other_chance=was.confidence,
        ),
    )


def _hours(shift: timedelta) -> float:
    return round(shift / timedelta(hours=1), 2)
