"""`curewindow calendar`: the days ahead as an iCalendar file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from curewindow.cli.common import at_option, boat_option, go_aboard, json_option, print_json

if TYPE_CHECKING:
    from curewindow.calendar import Published
    from curewindow.calendar.happening import CalendarEvents
    from curewindow.daysheet.models import DaySheet


@click.command(name="calendar")
@click.option(
    "--to",
    "--out",
    "out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write to FILE, such as boat.ics; else the calendar is printed.",
)
@boat_option
@at_option
@json_option
def command(out: Path | None, boat: Path | None, at: str | None, as_json: bool) -> None:
    """Windows, heater times, recoat deadlines and milestones for your calendar.

    Written again, events that have moved keep their identity: a calendar that reads the file
    anew moves them and doubles none. What it was given is noted in the record; with --at it
    is not.
    """
    from curewindow.calendar import DAYS, events_of, known_aboard, remembered_events, written
    from curewindow.daysheet import day_sheet, windows_ahead

    aboard = go_aboard(boat, at)
    if out is not None and not out.absolute().parent.is_dir():
        raise click.UsageError(f"there is no folder {out.absolute().parent} to write {out.name} to")
    sheet = day_sheet(aboard.folder, aboard.now)
    windows = windows_ahead(aboard.folder, aboard.now, days=DAYS)
    before = aboard.boat.service.before_window
    if at is None:
        events = remembered_events(aboard.folder, sheet, windows, before_window_h=before)
    else:
        known = known_aboard(aboard.folder)
        events = events_of(sheet, windows, known=known, before_window_h=before)
    ical = written(sheet.boat, events)
    if out is not None:
        _write(out, ical)
    if as_json:
        print_json(_answer(sheet, events, out))
    elif out is None:
        sys.stdout.buffer.write(ical)
        sys.stdout.buffer.flush()
    else:
        called_off = sum(event.cancelled_at is not None for event in events)
        more = f", {called_off} of them called off" if called_off else ""
        click.echo(f"{len(events)} events written to {out}{more}")


def _answer(sheet: DaySheet, events: list[Published], out: Path | None) -> CalendarEvents:
    from curewindow.calendar.happening import CalendarEvent, CalendarEvents

    return CalendarEvents(
        boat=sheet.boat,
        time_zone=sheet.time_zone,
        as_of=sheet.as_of,
        file=None if out is None else str(out),
        events=[
            CalendarEvent(
                uid=event.uid,
                sequence=event.sequence,
                modified=event.modified,
                cancelled_at=event.cancelled_at,
                happening=event.happening,
            )
            for event in events
        ],
    )


def _write(out: Path, ical: bytes) -> None:
    """Whole or not at all: a calendar may be reading it just now."""
    from curewindow.files import write_whole

    try:
        write_whole(out, ical)
    except OSError as bad:
        raise click.UsageError(f"{out} cannot be written: {bad.strerror}") from None
