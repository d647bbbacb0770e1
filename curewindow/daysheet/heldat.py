"""When a step is to be held, as it is typed: as the plan prints its times, and no other way."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Final

from curewindow.errors import QuantityError
from curewindow.wording import Wording, moment

_WEEK: Final = re.compile(r"(the\s+)?week\s+of\b", re.IGNORECASE)
_RANGE: Final = re.compile(r"(\d{1,2}[:.]\d{2})\s*[-–]\s*\d{1,2}[:.]\d{2}$")
_CLOCK: Final = re.compile(r"\d[:.]\d\d")
# a plan lays its steps on a grid: what was printed for now may be some minutes ago
_GRID: Final = timedelta(minutes=30)


def held_at(text: str, words: Wording) -> datetime:
    """Read when a step is to be held.

    Parameters
    ----------
    text : str
        'Sat 12 Dec 10:00', 'today 20:00', 'SAT 10:00-10:30': a day with a clock, or the clock
        alone; of a stretch its beginning.
    words : Wording
        At the moment it is typed.

    Returns
    -------
    datetime
        Aware UTC.

    Raises
    ------
    QuantityError
        A week, a day without a clock, not a time, or one that is over.
    """
    if _WEEK.match(text.strip()):
        raise QuantityError(
            f"'{text}': a step is held at a day and a clock, and beyond the forecast the plan has "
            "neither; hold it once the forecast reaches it"
        )
    written = _RANGE.sub(r"\1", text.strip())
    at = moment(written, words.zone, words.now, after=words.now - _GRID)
    if not _CLOCK.search(written) and written.casefold() != "now":
        raise QuantityError(f"'{text}' has no clock; write '{text} 10:00'")
    if at < words.now - _GRID:
        raise QuantityError(
            f"'{text}' is over (it is {words.when(words.now)}); a step is held at a time to come"
        )
    return at
