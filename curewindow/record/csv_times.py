"""Times as loggers write them, to UTC: formats, day and month, the clock changes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from typing import Generic, Literal, TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from curewindow.errors import QuantityError

_FIRST_YEAR, _LAST_YEAR = 1900, 2200
DateOrder = Literal["day first", "month first"]

_OFFSET = re.compile(r"^(?:UTC|GMT)?\s*([+\-−])\s*(\d{1,2})(?::?(\d{2}))?$", re.I)
_WRITTEN = re.compile(
    r"^(?P<a>\d{1,4})(?P<mark>[-/.])(?P<b>\d{1,2})(?P=mark)(?P<c>\d{1,4})"
    r"(?:[T ,]\s*(?P<hour>\d{1,2})[:.](?P<minute>\d{2})(?:[:.](?P<second>\d{2})(?:[.,]\d+)?)?"
    r"\s*(?:(?P<half>[AaPp])\.?[Mm]\.?)?\s*(?P<offset>Z|UTC|GMT|[+\-−]\d{1,2}(?::?\d{2})?)?)?$"
)


def read_zone(text: str) -> tzinfo:
    """Read a time zone: 'Europe/Amsterdam', 'UTC', 'UTC+1', '+05:30'.

    Raises
    ------
    QuantityError
        It is none.
    """
    written = text.strip()
    if written.upper() in ("Z", "UTC", "GMT"):
        return UTC
    match = _OFFSET.match(written)
    if match is not None:
        ahead = timedelta(hours=int(match[2]), minutes=int(match[3] or 0))
        if ahead < timedelta(hours=24):
            return timezone(ahead if match[1] == "+" else -ahead)
    try:
        return ZoneInfo(written)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise QuantityError(
            f"'{text}' is not a time zone; write one like 'Europe/Amsterdam' or 'UTC+1'"
        ) from None


def date_order(texts: Iterable[str]) -> DateOrder | None:
    """Which of day and month comes first, where that can be seen.

    Parameters
    ----------
    texts : iterable of str
        All times of a file.

    Returns
    -------
    'day first', 'month first' or None
        None: either could be; 'day first' also where nothing depends on it.

    Raises
    ------
    QuantityError
        Some can only be the one, some only the other.
    """
    day_first = month_first = unclear = False
    for text in texts:
        match = _WRITTEN.match(text)
        if match is None or len(match["a"]) == 4:
            continue
        first, second = int(match["a"]), int(match["b"])
        day_first |= first > 12
        month_first |= second > 12
        # dates with dots are written day first wherever they are written
        unclear |= match["mark"] != "." and first != second
    if day_first and month_first:
        raise QuantityError("some dates have the day first and some the month")
    if month_first:
        return "month first"
    return "day first" if day_first or not unclear else None


def read_time(text: str, order: DateOrder) -> datetime | None:
    """Read one time.

    Parameters
    ----------
    text : str
        ISO 8601, '25.01.2026 08:00', '1/25/2026 8:00 AM', or seconds or milliseconds
        since 1970.
    order : 'day first' or 'month first'
        For dates that do not begin with the year.

    Returns
    -------
    datetime or None
        Aware where the text says its offset, else as the logger's clock showed it;
        None where it is no time.
    """
    if text.isascii() and text.isdigit():
        # 9 to 10 digits are seconds since 1973, 12 to 13 milliseconds
        if len(text) in (9, 10, 12, 13):
            return datetime.fromtimestamp(int(text) / (1000 if len(text) > 10 else 1), UTC)
        return None
    if text[4:5] == "-":
        try:
            return datetime.fromisoformat(text)
        except ValueError:
            pass
    match = _WRITTEN.match(text)
    if match is None:
        return None
    first, second, third = int(match["a"]), int(match["b"]), int(match["c"])
    if len(match["a"]) == 4:
        year, month, day = first, second, third
    elif len(match["a"]) <= 2 and len(match["c"]) in (2, 4):
        day, month = (first, second) if order == "day first" else (second, first)
        year = third if third >= 100 else 2000 + third
    else:
        return None
    hour = int(match["hour"] or 0)
    if match["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match["half"] in "Pp" else 0)
    zone = read_zone(match["offset"]) if match["offset"] else None
    try:
        return datetime(
            year,
            month,
            day,
            hour,
            int(match["minute"] or 0),
            int(match["second"] or 0),
            tzinfo=zone,
        )
    except ValueError:
        return None


CarriedT = TypeVar("CarriedT")


class LoggerClock(Generic[CarriedT]):
    """Turns times of one logger, in the order of its file, into UTC.

    In autumn the clock shows an hour twice. Where the times step back once within
    such an hour, those before the step are the first pass and those after it the
    second; where they do not, the hour is left open. Only that hour is waited for.

    Parameters
    ----------
    zone : tzinfo
        Where the logger's clock is set to.
    backwards : bool
        Its file has the newest first.
    """

    def __init__(self, zone: tzinfo, *, backwards: bool):
        self._zone, self._backwards = zone, backwards
        self._twice: list[tuple[CarriedT, datetime]] = []

    def take(self, carried: CarriedT, at: datetime) -> Iterator[tuple[CarriedT, datetime | str]]:
        """Take the next time in.

        Parameters
        ----------
        carried : object
            What it belongs to.
        at : datetime
            Naive: the clock in its zone; aware: only turned.

        Yields
        ------
        object, datetime or str
            What is settled by now: aware UTC, or why it cannot be told.
        """
        if not _FIRST_YEAR <= at.year <= _LAST_YEAR:  # beyond them no zone is defined
            yield carried, f"{at:%Y-%m-%d %H:%M} is no time of a logger"
            return
        if at.tzinfo is not None:
            yield carried, at.astimezone(UTC)
            return
        first = at.replace(tzinfo=self._zone, fold=0)
        ahead, later = first.utcoffset(), first.replace(fold=1).utcoffset()
        assert ahead is not None
        assert later is not None
        if later < ahead:
            self._twice.append((carried, at))
            return
        yield from self.rest()
        if later > ahead:
            yield (
                carried,
                f"{at:%Y-%m-%d %H:%M} does not exist in {self._zone}: the clock was put forward; "
                "if the logger keeps winter time all year, give its zone like UTC+1",
            )
        else:
            yield carried, first.astimezone(UTC)

    def rest(self) -> Iterator[tuple[CarriedT, datetime | str]]:
        """What still waits."""
        run, self._twice = self._twice, []
        if self._backwards:
            run.reverse()
        steps = [k for k in range(1, len(run)) if run[k][1] <= run[k - 1][1]]
        for k, (carried, at) in enumerate(run):
            if len(steps) == 1:
                second = at.replace(tzinfo=self._zone, fold=int(k >= steps[0]))
                yield carried, second.astimezone(UTC)
            else:
                yield (
                    carried,
                    f"{at:%Y-%m-%d %H:%M} came twice in {self._zone} when the clock was put "
                    "back, and the file does not show which; give the logger's zone like UTC+1",
                )
