"""The morning notice's time and frame; what is in it stands in `morning.py`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from curewindow.reminders.models import Reminder
from curewindow.reminders.quiet import on_clock

# Looked at so early that it is there in time.
EARLY = timedelta(minutes=10)
_OF_USE = timedelta(hours=10)


def morning_of(now: datetime, at: time, zone: ZoneInfo) -> datetime:
    """This local day's morning time, UTC."""
    return on_clock(now.astimezone(zone).date(), at, zone)


def morning_key(due: datetime, zone: ZoneInfo) -> str:
    """One notice a local day."""
    return f"morning|{due.astimezone(zone).date()}"


def morning_notice(due: datetime, zone: ZoneInfo, title: str, lines: Sequence[str]) -> Reminder:
    """A day's notice; the service writes one itself where no day sheet can be made."""
    day = due.astimezone(zone).date()
    end = on_clock(day + timedelta(days=1), time(0), zone)
    return Reminder(
        key=morning_key(due, zone),
        kind="morning",
        level="normal",
        due=due,
        expires=max(min(due + _OF_USE, end), due + timedelta(minutes=30)),
        title=title,
        body="\n".join(lines),
    )
