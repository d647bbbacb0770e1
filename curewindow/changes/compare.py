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

from curewindow.changes.models import Change, Told, ToldWindow
from curewindow.wording import Wording, span

NEWS: Final[tuple[tuple[timedelta, timedelta], ...]] = (
    (timedelta(hours=24), timedelta(minutes=30)),
    (timedelta(hours=72), timedelta(hours=1)),
    (timedelta.max, timedelta(hours=2)),
)
"""How far off a window is, and the shift from which on it is news."""
NEAR: Final = timedelta(hours=72)
PLANNED_ON: Final = 2.0 / 3.0
DOUBT: Final = 0.25
_WORTH_SAYING = 0.8


def compare(
    was: Told,
    told_at: datetime,
    now: Told,
    words: Wording,
    why_not: Callable[[datetime], str],
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
        In words, what stands in the way of a start at a moment.

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
        return _new(now, new[0], told_at, words) if new and _counts(new[0], at) else None
    first = old[0]
    match = next((window for window in new if _same(first, window, words)), None)
    if match is None:
        if _counts(first, at):
            return _lost(now, first, new, told_at, words, why_not)
    elif change := _moved(now, first, match, told_at, words):
        return change
    sooner = new[0] if new else None
    if (
        sooner is not None
        and sooner is not match
        and sooner.closes < first.opens
        and _counts(sooner, at)
    ):
        return _new(now, sooner, told_at, words)
    return None


def _same(was: ToldWindow, now: ToldWindow, words: Wording) -> bool:
    overlap = now.opens <= was.closes and was.opens <= now.closes
    return overlap or words.local(was.opens).date() == words.local(now.opens).date()


def _counts(window: ToldWindow, at: datetime) -> bool:
    return window.opens - at <= NEAR or window.confidence >= PLANNED_ON


def _news(window: ToldWindow, at: datetime) -> timedelta:
    away = window.opens - at
    return next(shift for limit, shift in NEWS if away <= limit)


def _range(told: Told, window: ToldWindow, words: Wording) -> str:
    return words.from_to(window.opens, window.closes + timedelta(hours=told.hands_on_h))


def _sure(window: ToldWindow) -> str:
    sure = window.confidence
    return f", {round(sure * 100)} % sure" if sure < _WORTH_SAYING else ""


def _new(told: Told, window: ToldWindow, told_at: datetime, words: Wording) -> Change:
    why = words.sentence(window.opens_because)
    return Change(
        job=told.job,
        kind="new",
        told_at=told_at,
        now=window,
        worse=False,
        why=why,
        sentence=f"now a start {_range(told, window, words)}{_sure(window)}: {why}",
    )


def _lost(
    told: Told,
    was: ToldWindow,
    new: list[ToldWindow],
    told_at: datetime,
    words: Wording,
    why_not: Callable[[datetime], str],
) -> Change:
    # In the middle of what was told: its ends may have been bad all along.
    opens = max(was.opens, words.now)
    why = words.sentence(why_not(opens + (was.closes - opens) / 2))
    sentence = f"no start {_range(told, was, words)} any more: {why}"
    if new:
        sentence += f"; next {_range(told, new[0], words)}{_sure(new[0])}"
    return Change(
        job=told.job,
        kind="lost",
        told_at=told_at,
        was=was,
        now=new[0] if new else None,
        worse=True,
        why=why,
        sentence=sentence,
    )


def _moved(
    told: Told, was: ToldWindow, now: ToldWindow, told_at: datetime, words: Wording
) -> Change | None:
    at = words.now
    opens = max(now.opens, at) - max(was.opens, at)
    closes = now.closes - was.closes
    least = _news(was, at)
    said: list[str] = []
    why: list[str] = []
    if abs(opens) >= least:
        said.append(f"opens {words.when(now.opens)}, {_by(opens)}")
        why.append(now.opens_because)
    if abs(closes) >= least:
        same_day = said and words.local(now.opens).date() == words.local(now.closes).date()
        last = words.clock(now.closes) if same_day else words.when(now.closes)
        said.append(f"last start {last}, {_by(closes)}")
        why.append(now.closes_because)
    kind = "moved"
    if not said:
        if abs(now.confidence - was.confidence) < DOUBT:
            return None
        kind = "doubt"
        before, after = (round(window.confidence * 100) for window in (was, now))
        said = [f"{_range(told, now, words)}: {after} % sure, told as {before} %"]
    reason = words.sentence("; ".join(dict.fromkeys(why)))
    return Change(
        job=told.job,
        kind="moved" if kind == "moved" else "doubt",
        told_at=told_at,
        was=was,
        now=now,
        opens_later_h=_hours(opens) if kind == "moved" else 0.0,
        closes_later_h=_hours(closes) if kind == "moved" else 0.0,
        worse=opens >= least or closes <= -least
        if kind == "moved"
        else now.confidence < was.confidence,
        why=reason,
        sentence="; ".join(said) + (f": {reason}" if reason else ""),
    )


def _by(shift: timedelta) -> str:
    way = "later" if shift > timedelta(0) else "earlier"
    return f"{span(abs(shift) / timedelta(hours=1))} {way}"


def _hours(shift: timedelta) -> float:
    return round(shift / timedelta(hours=1), 2)
