"""Times, temperatures and spans in the boat's own words: its zone, its degrees.

Everything below works in aware UTC and °C; sentences for people are written
through one :class:`Wording`, so that zone and unit are decided in one place.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal, Protocol
from zoneinfo import ZoneInfo

from curewindow.errors import QuantityError

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_CLOCK = re.compile(r"(\d{1,2})[:.](\d{2})(?::(\d{2}))?")
_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTH_NAMES = (
    *("January", "February", "March", "April", "May", "June", "July", "August"),
    *("September", "October", "November", "December"),
)
_DAYS = {"today": 0, "tomorrow": 1, "yesterday": -1}
# The space between a number and its unit, or a sign and a number: no line ends there.
_WITH_UNIT = re.compile(
    r"(?<=\d) (?=(?:°[CF]|%|m³|m²|g/m²|mm|mm/h|m/s|h|d|min|L|K|kW|kWh|in 10)(?![\w²³]))"
    r"|(?<=\d in) (?=10\b)|(?<=[≥≤+]) (?=[\d−])"
)


@dataclass(frozen=True, slots=True)
class Wording:
    """How times and temperatures are written.

    Attributes
    ----------
    zone : ZoneInfo
        The boat's time zone.
    now : datetime
        Aware; 'today' and 'tomorrow' count from it.
    fahrenheit : bool
        Write °F instead of °C.
    days : {'relative', 'weekday', 'date'}
        How a day is named: 'today' and 'tomorrow' where it is read at once; 'Thu' in what is
        read within the week; 'Thu 3 Dec' in what is kept.
    commands : bool
        Is there a command line? On a page and in a notice nothing can be typed.
    for_engineers : bool
        Say figures too that nobody measures by hand, such as kJ/K.
    known_until : datetime or None
        What lies behind the end of the forecast is told by its week: nobody knows the day.
    """

    zone: ZoneInfo
    now: datetime
    fahrenheit: bool = False
    days: Literal["relative", "weekday", "date"] = "relative"
    commands: bool = True
    for_engineers: bool = False
    known_until: datetime | None = None

    def by_command(self, typed: str, otherwise: str = "") -> str:
        """What to type, where the reader has a command line before them; else the other."""
        return typed if self.commands else otherwise

    def local(self, at: datetime) -> datetime:
        """The moment on the boat's clock."""
        return at.astimezone(self.zone)

    def midnight_after(self, at: datetime) -> datetime:
        """The midnight that ends the boat's day of a moment, aware UTC."""
        tomorrow = self.local(at).date() + timedelta(days=1)
        return datetime.combine(tomorrow, time(0), self.zone).astimezone(UTC)

    def clock(self, at: datetime) -> str:
        """'17:10'; where the clock shows the hour twice, with the zone's name."""
        here = self.local(at)
        twice = here.replace(fold=0).utcoffset() != here.replace(fold=1).utcoffset()
        return f"{here:%H:%M} {here.tzname()}" if twice else f"{here:%H:%M}"

    def day(self, at: datetime) -> str:
        """'today', 'tomorrow', 'yesterday', 'Thu' within six days, else 'Thu 3 Dec'.

        'the week of 8 Feb' behind the end of the forecast.
        """
        if self.far(at):
            return f"the week of {self.monday(at)}"
        here = self.local(at).date()
        away = (here - self.local(self.now).date()).days
        if self.days == "weekday" and abs(away) <= 1:
            return WEEKDAYS[here.weekday()]
        if self.days == "date":
            return f"{WEEKDAYS[here.weekday()]} {here.day} {MONTHS[here.month - 1]}"
        named = {0: "today", 1: "tomorrow", -1: "yesterday"}.get(away)
        if named:
            return named
        weekday = WEEKDAYS[here.weekday()]
        if abs(away) <= 6 and away > 0:
            return weekday
        year = "" if here.year == self.local(self.now).year else f" {here.year}"
        return f"{weekday} {here.day} {MONTHS[here.month - 1]}{year}"

    def when(self, at: datetime) -> str:
        """'today 17:10', 'tomorrow 08:00', 'Thu 3 Dec 08:00'; far away its week alone."""
        return self.day(at) if self.far(at) else f"{self.day(at)} {self.clock(at)}"

    def far(self, at: datetime) -> bool:
        """Is it told by its week, as the weather of its day is not known?"""
        return self.known_until is not None and at >= self.known_until

    def monday(self, at: datetime) -> str:
        """The day its week begins with: '8 Feb', '8 Feb 2027' in another year."""
        here = self.local(at).date()
        first = here - timedelta(days=here.weekday())
        year = "" if first.year == self.local(self.now).year else f" {first.year}"
        return f"{first.day} {MONTHS[first.month - 1]}{year}"

    def near(self, at: datetime) -> str:
        """'08:00' today, else as :meth:`when`."""
        same = self.local(at).date() == self.local(self.now).date()
        return self.clock(at) if same and self.days == "relative" else self.when(at)

    def date(self, at: datetime) -> str:
        """'Wed 25 Nov 2026'."""
        here = self.local(at)
        return f"{WEEKDAYS[here.weekday()]} {here.day} {MONTHS[here.month - 1]} {here.year}"

    def from_to(self, start: datetime, end: datetime) -> str:
        """'today 10:20 until 13:40', 'today 10:20 until tomorrow 09:00'."""
        same = self.local(start).date() == self.local(end).date()
        return f"{self.when(start)} until {self.clock(end) if same else self.when(end)}"

    def temp(self, temp_c: float) -> str:
        """A temperature: '4.2 °C', '39.6 °F'."""
        return f"{figure(temp_c * 1.8 + 32.0)} °F" if self.fahrenheit else f"{figure(temp_c)} °C"

    def degrees(self, temp_c: float) -> str:
        """A temperature without its unit, to be changed in a field: '21', '4.2', '−3.5'."""
        return figure(temp_c * 1.8 + 32.0 if self.fahrenheit else temp_c)

    @property
    def unit(self) -> str:
        """'°C' or '°F'."""
        return "°F" if self.fahrenheit else "°C"

    def difference(self, kelvin: float) -> str:
        """A temperature difference: '3.0 °C', '5.4 °F'; it has no zero point to shift."""
        return f"{figure(kelvin * 1.8)} °F" if self.fahrenheit else f"{figure(kelvin)} °C"

    def amount(self, value: float, unit: str) -> str:
        """A value of an answer in its unit ('°C' and 'K' become the boat's degrees)."""
        if unit == "°C":
            return self.temp(value)
        if unit == "K":
            return self.difference(value)
        if unit == "%":
            return f"{value:.0f} %"
        return f"{figure(value)} {unit}"

    def limit(self, value: float, unit: str) -> str:
        """A bound as a sheet prints it: '8 °C', '46.4 °F'; a difference in the boat's degrees."""
        if unit == "°C":
            return self.temp(value)
        return self.difference(value) if unit == "K" else f"{figure(value)} {unit}"

    def chance(self, share: float) -> str:
        """A chance, in the one form it has: '8 in 10'."""
        tenths = round(share * 10.0)
        if tenths < 1:
            return "under 1 in 10"
        return "over 9 in 10" if tenths > 9 else f"{tenths} in 10"


def keep_together(text: str) -> str:
    """Figures joined to their units, so that no line ends between them."""
    return _WITH_UNIT.sub("\u00a0", text)


class InPlace(Protocol):
    """An answer of a boat: it has its zone, its degrees and its moment."""

    @property
    def time_zone(self) -> str: ...

    @property
    def as_of(self) -> datetime: ...

    @property
    def temperature_unit(self) -> str: ...


def wording_of(answer: InPlace) -> Wording:
    """How an answer of a boat is written: in its zone and degrees, as of its moment."""
    return Wording(ZoneInfo(answer.time_zone), answer.as_of, answer.temperature_unit == "°F")


def counted(count: float, noun: str) -> str:
    """'1 window', '3 windows'."""
    return f"{count:.0f} {noun}{'' if round(count) == 1 else 's'}"


def span(hours: float) -> str:
    """A span of time: '20 min', '1.25 h', '5 h', '3 d'."""
    if hours < 0.96:
        return f"{max(round(hours * 60.0), 0)} min"
    if hours < 3.0:
        return f"{round(hours * 4.0) / 4.0:g} h"
    if hours < 47.5:
        half = round(hours * 2.0) / 2.0 if hours < 10 else float(round(hours))
        return f"{half:g} h"
    return f"{round(hours / 24.0)} d"


def moment(
    text: str,
    zone: ZoneInfo,
    now: datetime,
    *,
    after: datetime | None = None,
    before: datetime | None = None,
) -> datetime:
    """Read a time as the boat's owner writes it, and as :class:`Wording` prints it.

    Parameters
    ----------
    text : str
        '2026-11-25 08:00', '2026-11-25T08:00+01:00', '8:00', 'tomorrow 8:00',
        'yesterday 16:30', 'Thu 17:10', 'Thu 3 Dec 12:20', '3 Dec 2027 12:20', 'now'. '24:00'
        is the end of the day; 'CET' behind a clock that shows the hour twice says which.
    zone : ZoneInfo
        The boat's zone; holds where the text names none.
    now : datetime
        Aware; what 'today' means.
    after : datetime, optional
        Something to come is asked for: of several days that could be meant, by a clock alone,
        a weekday or a date without its year, the first from this minute on.
    before : datetime, optional
        Something that is over is asked for: of several weekdays or years the last up to then.
        A clock alone is today's.

    Returns
    -------
    datetime
        Aware UTC. Without ``after`` or ``before`` a clock alone is today's, a weekday the
        coming one, today included. Where the clock shows the hour twice in autumn, the first.

    Raises
    ------
    QuantityError
        Not a time, one the clock skips in spring, or centuries away.
    """
    written = text.strip().removeprefix("~")
    if written.lower() == "now":
        return now.astimezone(UTC)
    try:
        read = _with_offset(written) or _read_moment(written, zone, now, after, before)
    except (OverflowError, ValueError) as bad:
        if isinstance(bad, QuantityError):
            raise
        raise _not_a_time(text) from None
    if not 1900 <= read.year <= 2200:
        raise QuantityError(f"'{text}': nothing is known of times so far away")
    return read


def _read_moment(
    text: str, zone: ZoneInfo, now: datetime, after: datetime | None, before: datetime | None
) -> datetime:
    """The moment a text names; OverflowError where it has no UTC, ValueError where it is none."""
    words = re.sub(r"(?<=\d)T(?=\d)", " ", text).replace(",", " ").split()
    if not words:
        raise _not_a_time(text)
    today = now.astimezone(zone).date()
    if after is not None and len(words) <= 2 and _CLOCK.fullmatch(words[0]) is not None:
        today = max(today, after.astimezone(zone).date())
    days = _days(words, today, text, after=after is not None, before=before is not None)
    clock = _CLOCK.fullmatch(words[0]) if words else None
    if clock is not None:
        words.pop(0)
    hour, minute, second = (int(part or 0) for part in clock.groups()) if clock else (0, 0, 0)
    if (
        (clock is None and words)
        or (hour, minute, second) > (24, 0, 0)
        or minute > 59
        or second > 59
    ):
        raise _not_a_time(text)
    named = words.pop(0) if words else None
    if words:
        raise _not_a_time(text)
    found = []
    for day in days:
        begins = day + timedelta(days=hour == 24)
        local = datetime.combine(begins, time(hour % 24, minute, second), zone)
        found += _on_clock(local, named)
    if not found:
        why = "the clock skips that hour" if named is None else f"no clock shows {named} then"
        raise QuantityError(f"'{text}': {why} in {zone.key}; write an hour earlier or later")
    first = found[0] if before is None else found[-1]
    if after is not None:
        start = after.replace(second=0, microsecond=0)
        return next((at for at in found if at >= start), first)
    if before is not None:
        return next((at for at in reversed(found) if at <= before), first)
    return first


def _on_clock(local: datetime, named: str | None) -> list[datetime]:
    """When the boat's clock shows this: never, once or twice; of two the one of that name."""
    found = []
    for fold in (0, 1):
        here = local.replace(fold=fold)
        there = here.astimezone(UTC)
        if there.astimezone(local.tzinfo).replace(tzinfo=None) != local.replace(tzinfo=None):
            continue
        if there not in found and (named is None or named == here.tzname()):
            found.append(there)
    return found


def _days(words: list[str], today: date, text: str, *, after: bool, before: bool) -> list[date]:
    """The days the first words may mean, in order; they are taken off ``words``."""
    if not words or _CLOCK.fullmatch(words[0]):
        return [today, today + timedelta(days=1)] if after and words else [today]
    first = words.pop(0)
    if _ISO_DATE.fullmatch(first):
        return [date.fromisoformat(first)]
    if first.lower() in _DAYS:
        return [today + timedelta(days=_DAYS[first.lower()])]
    weekday = None
    if not first.isdecimal():
        weekday = _named(first, WEEKDAYS, _WEEKDAY_NAMES, text)
        if not (words and words[0].isdecimal()):
            coming = today + timedelta(days=(weekday - today.weekday()) % 7)
            earlier = [coming - timedelta(days=7)] if before else []
            return [*earlier, coming, *([coming + timedelta(days=7)] if after else [])]
        first = words.pop(0)
    if not words:
        raise _not_a_time(text)
    month = _named(words.pop(0), MONTHS, _MONTH_NAMES, text) + 1
    given = words.pop(0) if words and re.fullmatch(r"\d{4}", words[0]) else None
    near = (
        1 if weekday is not None else 4
    )  # a weekday and a date agree in none of three years twice
    years = range(today.year - near, today.year + near + 1) if given is None else [int(given)]
    found = [day for year in years if (day := _date(year, month, int(first))) is not None]
    if not found:
        raise _not_a_time(text)
    if weekday is not None:
        named = [day for day in found if day.weekday() == weekday]
        if not named:
            usual = next((day for day in found if day.year == today.year), found[0])
            raise QuantityError(
                f"'{text}': {usual.day} {MONTHS[month - 1]} {usual.year} is a "
                f"{WEEKDAYS[usual.weekday()]}"
            )
        return named
    if given is None and not after and not before:
        return [day for day in found if day.year == today.year] or found[:1]
    return found


def _named(word: str, short: Sequence[str], whole: Sequence[str], text: str) -> int:
    """The place of a name in its list, written short or whole."""
    for names in (short, whole):
        if word.title() in names:
            return names.index(word.title())
    raise _not_a_time(text)


def _date(year: int, month: int, day: int) -> date | None:
    """That date, or None where the year has none such."""
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _with_offset(written: str) -> datetime | None:
    try:
        read = datetime.fromisoformat(written)
    except ValueError:
        return None
    return read.astimezone(UTC) if read.tzinfo is not None else None


def _not_a_time(text: str) -> QuantityError:
    return QuantityError(
        f"'{text}' is not a time; write '2026-11-25 08:00', '08:00', 'tomorrow 8:00' or 'Thu 17:10'"
    )


def figure(value: float) -> str:
    """A figure for hands: '24', '23.5'."""
    shown = f"{round(value, 1) + 0.0:.1f}"
    return (shown[:-2] if shown[-2:] == ".0" else shown).replace("-", "−")
