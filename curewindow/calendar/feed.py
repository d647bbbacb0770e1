"""The calendar as a file or a feed (iCalendar, RFC 5545 and RFC 7986)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final

from curewindow.boat.folder import RECORD_FILE
from curewindow.calendar.coats import coats_of, heat_of
from curewindow.calendar.happening import Alarm, Happening
from curewindow.calendar.memory import Published, brought_up_to_date, known_in, remember, shown
from curewindow.calendar.planned import planned_of
from curewindow.calendar.windows import windows_of
from curewindow.wording import wording_of

if TYPE_CHECKING:
    from icalendar import Calendar, Component, Event

    from curewindow.daysheet.models import DaySheet, WindowsAhead

DAYS: Final = 7.0
"""So far ahead windows are told [d]: the same wherever a calendar is made, or the windows beyond
would be called off by one and told again by the other."""
REFRESH: Final = timedelta(minutes=30)
BEFORE_WINDOW_H: Final = 1.0
_CATEGORY: Final = {
    "window": "Window",
    "heat": "Heat",
    "recoat opens": "Recoat",
    "recoat closes": "Recoat",
    "milestone": "Milestone",
    "plan": "Work",
}
_URGENT: Final = 1  # RFC 5545, 3.8.1.9: the highest priority


def happenings(
    sheet: DaySheet,
    windows: WindowsAhead | None = None,
    *,
    before_window_h: float = BEFORE_WINDOW_H,
) -> list[Happening]:
    """What a day sheet and the windows ahead hold for a calendar.

    Parameters
    ----------
    sheet : DaySheet
        Heater times, deadlines and milestones come from it.
    windows : WindowsAhead, optional
        Those of the next :data:`DAYS` days are told, or the first after them; without it none.
    before_window_h : float
        How long before a window opens the alarm sounds [h].
    """
    words = replace(wording_of(sheet), days="date")
    found = [*heat_of(sheet, words), *coats_of(sheet, words), *planned_of(sheet, words)]
    if windows is not None:
        found += windows_of(
            sheet, windows, words, timedelta(hours=before_window_h), timedelta(days=DAYS)
        )
    return found


def events_of(
    sheet: DaySheet,
    windows: WindowsAhead | None = None,
    *,
    known: Sequence[Published] = (),
    more: Iterable[Happening] = (),
    before_window_h: float = BEFORE_WINDOW_H,
) -> list[Published]:
    """The events of a boat's calendar; remembers nothing.

    Parameters
    ----------
    sheet, windows, before_window_h
        See :func:`happenings`.
    known : sequence of Published
        What calendars were given before: what is the same keeps its UID.
    more : iterable of Happening
        From elsewhere, such as an order of work (kind 'plan').
    """
    found = [*happenings(sheet, windows, before_window_h=before_window_h), *more]
    return shown(brought_up_to_date(sheet.boat, found, known, sheet.as_of), sheet.as_of)


def remembered_events(
    folder: Path,
    sheet: DaySheet,
    windows: WindowsAhead | None = None,
    *,
    more: Iterable[Happening] = (),
    before_window_h: float = BEFORE_WINDOW_H,
) -> list[Published]:
    """The events of a boat's calendar, remembered in its record; see :func:`events_of`.

    Raises
    ------
    RecordError
        The record cannot be written.
    """
    found = [*happenings(sheet, windows, before_window_h=before_window_h), *more]
    return shown(remember(folder / RECORD_FILE, sheet.boat, found, sheet.as_of), sheet.as_of)


def calendar_of(
    sheet: DaySheet,
    windows: WindowsAhead | None = None,
    *,
    known: Sequence[Published] = (),
    more: Iterable[Happening] = (),
    before_window_h: float = BEFORE_WINDOW_H,
) -> bytes:
    """Write the calendar of a boat; remembers nothing. See :func:`events_of`.

    Returns
    -------
    bytes
        An iCalendar object: UTF-8, lines folded at 75 octets and ended by CR LF.
    """
    events = events_of(sheet, windows, known=known, more=more, before_window_h=before_window_h)
    return written(sheet.boat, events)


def publish(
    folder: Path,
    sheet: DaySheet,
    windows: WindowsAhead | None = None,
    *,
    more: Iterable[Happening] = (),
    before_window_h: float = BEFORE_WINDOW_H,
) -> bytes:
    """Write the calendar of a boat and remember what it was given.

    While nothing changes the bytes stay the same. See :func:`remembered_events`.
    """
    events = remembered_events(folder, sheet, windows, more=more, before_window_h=before_window_h)
    return written(sheet.boat, events)


def known_aboard(folder: Path) -> list[Published]:
    """What calendars were given before, to be handed to :func:`calendar_of`."""
    return known_in(folder / RECORD_FILE)


def written(boat: str, published: Iterable[Published]) -> bytes:
    """Write events as an iCalendar object.

    Times are UTC: each is one moment worked out for that day, none recurs, so a time zone's
    rules would add nothing but a chance to be read wrongly. Calendars show them in the zone
    of whoever looks; the texts name the boat's own clock.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//curewindow//calendar//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    _rfc7986(calendar, boat)
    for each in published:
        calendar.add_component(_event(each))
    ical: bytes = calendar.to_ical()
    return ical


def _rfc7986(calendar: Calendar, boat: str) -> None:
    calendar.add("name", f"{boat}: work aboard")
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})


def _event(published: Published) -> Event:
    from icalendar import Event

    happening = published.happening
    cancelled = published.cancelled_at is not None
    event = Event()
    event.add("uid", published.uid)
    # without a METHOD these two are the same moment (RFC 5545, 3.8.7.2)
    event.add("dtstamp", published.modified)
    event.add("last-modified", published.modified)
    event.add("sequence", published.sequence)
    event.add("dtstart", _utc(happening.begins))
    event.add("dtend", _utc(happening.ends))
    event.add("summary", happening.title)
    if happening.body:
        event.add("description", happening.body)
    if happening.where:
        event.add("location", happening.where)
    event.add("categories", [_CATEGORY[happening.kind]])
    status = "CONFIRMED" if happening.certain else "TENTATIVE"
    event.add("status", "CANCELLED" if cancelled else status)
    event.add("transp", "OPAQUE" if happening.busy and not cancelled else "TRANSPARENT")
    if happening.kind == "recoat closes":
        event.add("priority", _URGENT)
    for alarm in () if cancelled else happening.alarms:
        event.add_component(_alarm(alarm))
    return event


def _alarm(alarm: Alarm) -> Component:
    from icalendar import Alarm as AlarmComponent

    component = AlarmComponent()
    component.add("action", "DISPLAY")
    component.add("description", alarm.says)
    related = {"RELATED": "END"} if alarm.before == "ends" else {}
    component.add("trigger", -timedelta(minutes=alarm.minutes), parameters=related)
    return component


def _utc(at: datetime) -> datetime:
    return at.astimezone(UTC).replace(microsecond=0)
