"""Notices as lines for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from zoneinfo import ZoneInfo

from curewindow.wording import MONTHS, WEEKDAYS
from curewindow_service.notices import Notice, Sending


def listed_notices(notices: Iterable[Notice], zone: ZoneInfo) -> Iterator[str]:
    """Each notice with its time, what became of it, and how it went out."""
    any_told = False
    for notice in notices:
        any_told = True
        due = notice.due.astimezone(zone)
        when = f"{WEEKDAYS[due.weekday()]} {due.day} {MONTHS[due.month - 1]} {due:%H:%M}"
        mark = "!" if notice.level == "urgent" else " "
        yield f"{when:<16} {mark} {notice.title}"
        state = "acknowledged" if notice.acknowledged_at is not None else notice.state
        parts = [f"{state} ({notice.id})", *(_destination(each) for each in notice.sendings)]
        yield f"{'':18} {'; '.join(parts)}"
    if not any_told:
        yield "nothing told and nothing waiting"


def _destination(sending: Sending) -> str:
    said = f" ({sending.result})" if sending.result and sending.state != "sent" else ""
    again = f", attempt {sending.attempts}" if sending.attempts > 1 else ""
    return f"{sending.channel}: {sending.state}{again}{said}"
