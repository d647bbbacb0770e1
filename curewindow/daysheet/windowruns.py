"""Runs of days whose windows are the same in kind, told once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from curewindow.answers import After, Margin, Window
from curewindow.findings import Finding
from curewindow.wording import Wording, span

_SAME = timedelta(minutes=30)  # nobody plans finer than this
_NOT_A_KIND = "outside table"  # the times are marked with it


@dataclass(frozen=True, slots=True)
class Run:
    """Windows of consecutive days, one a day, alike by the clock and by what binds them."""

    windows: tuple[Window, ...]

    @property
    def first(self) -> Window:
        """The window of its first day."""
        return self.windows[0]

    @property
    def weakest(self) -> Window:
        """The window least sure to hold; of equals the first."""
        return min(self.windows, key=lambda window: window.confidence)

    @property
    def tightest(self) -> Margin | None:
        """The tightest margin of the weakest window."""
        return self.weakest.tightest


def runs_of(windows: Sequence[Window], words: Wording) -> list[Run]:
    """Join windows of consecutive days that are the same in kind.

    Parameters
    ----------
    windows : sequence of Window
        In order of time.
    words : Wording
        For the boat's clock: a day is the boat's.

    Returns
    -------
    list of Run
        In order; a window unlike its neighbours, or one of several of a day, stands alone.
    """
    by_day: dict[object, int] = {}
    for window in windows:
        day = words.local(window.opens).date()
        by_day[day] = by_day.get(day, 0) + 1
    runs: list[list[Window]] = []
    for window in windows:
        alone = by_day[words.local(window.opens).date()] > 1
        if runs and not alone and _alike(runs[-1], window, by_day, words):
            runs[-1].append(window)
        else:
            runs.append([window])
    return [Run(tuple(run)) for run in runs]


def _alike(run: list[Window], window: Window, by_day: dict[object, int], words: Wording) -> bool:
    first, last = run[0], run[-1]
    day, day_before = words.local(window.opens).date(), words.local(last.opens).date()
    if day - day_before != timedelta(days=1) or by_day[day_before] > 1:
        return False
    if words.local(window.closes).date() != day or words.local(first.closes).date() != (
        words.local(first.opens).date()
    ):
        return False
    return (
        _apart(first.opens, window.opens, words) <= _SAME
        and _apart(first.closes, window.closes, words) <= _SAME
        and _kind(first.closes_because) == _kind(window.closes_because)
        and _remarks(first) == _remarks(window)
        and abs(first.confidence - window.confidence) <= 0.2
    )


def _apart(one: datetime, other: datetime, words: Wording) -> timedelta:
    """Between two times of day by the boat's clock."""
    a, b = words.local(one), words.local(other)
    return abs(timedelta(hours=a.hour - b.hour, minutes=a.minute - b.minute))


_Kind = tuple[str, str, str]


def _kind(reason: Finding) -> _Kind:
    """What a reason is, whenever and however much."""
    return reason.kind, reason.text("limit"), reason.text("bound")


def _remarks(window: Window) -> set[_Kind]:
    """What has to be told with a window: sanding, water that lay on it."""
    return {_kind(note) for note in window.notes if note.kind != _NOT_A_KIND}


def run_text(run: Run, tail_h: float, words: Wording, *, starts: bool) -> str:
    """'tomorrow until Tue, daily 08:00 until 17:55, last start 16:40, 8 in 10'.

    Of times that differ a little the later opening and the earlier end are told.

    Parameters
    ----------
    run : Run
    tail_h : float
        From the last start to the end of the work [h].
    words : Wording
    starts : bool
        Tell the last start and how sure it is, as for a step with a product.
    """
    takes = timedelta(hours=tail_h)
    opens = max(run.windows, key=lambda window: words.clock(window.opens))
    closes = min(run.windows, key=lambda window: words.clock(window.closes))
    if len(run.windows) == 1:
        text = words.from_to(run.first.opens, run.first.closes + takes)
    else:
        text = (
            f"{words.day(run.first.opens)} until {words.day(run.windows[-1].opens)}, daily "
            f"{words.clock(opens.opens)} until {words.clock(closes.closes + takes)}"
        )
    if not starts:
        return text
    return (
        f"{text}, last start {words.clock(closes.closes)}, {words.chance(run.weakest.confidence)}"
    )


def later_text(run: Run) -> str:
    """What follows a start on any day of a run: 'touch dry after ~5.5 h, next coat ~24 to 47 h'."""
    afters = [window.after for window in run.windows]
    about = "~" if any(after.extrapolated for after in afters) else ""

    def hours(name: str) -> list[float]:
        return [h for after in afters if (h := _since_start(after, name)) is not None]

    parts = []
    if dry := hours("touch_dry"):
        parts.append(f"touch dry after {about}{span(max(dry))}")
    if opens := hours("recoat_from"):
        text = f"next coat after {about}{span(max(opens))}"
        ends = hours("recoat_until")
        if ends and min(ends) > max(opens):
            text += f" until {about}{span(min(ends))}"
        parts.append(text)
    elif covered := hours("closed_up"):
        parts.append(f"may be covered after {about}{span(max(covered))}")
    return ", ".join(parts)


def _since_start(after: After, name: str) -> float | None:
    at: datetime | None = getattr(after, name)
    return None if at is None else (at - after.start) / timedelta(hours=1)
