"""Times in a notice: by weekday, since nobody knows on which day it will be read."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from curewindow.answers import Clock
from curewindow.wording import MONTHS, WEEKDAYS, Wording


def day_of(at: datetime, words: Wording) -> str:
    """'Thu', or 'Thu 3 Dec' where the weekday alone may be another one."""
    here = words.local(at)
    weekday = WEEKDAYS[here.weekday()]
    away = abs((here.date() - words.local(words.now).date()).days)
    return weekday if away <= 5 else f"{weekday} {here.day} {MONTHS[here.month - 1]}"


def when(at: datetime, words: Wording) -> str:
    """'Thu 08:50'."""
    return f"{day_of(at, words)} {words.clock(at)}"


def stamp(at: datetime) -> str:
    """A moment within a key."""
    return f"{at:%Y-%m-%dT%H:%MZ}"


def coat_key(clock: Clock) -> str:
    """What tells one recorded coat from all others."""
    return f"{clock.job}|{clock.step}.{clock.coat}|{stamp(clock.applied)}"


def listed(names: Iterable[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    each = list(dict.fromkeys(names))
    if len(each) < 2:
        return "".join(each)
    return f"{', '.join(each[:-1])} and {each[-1]}"
