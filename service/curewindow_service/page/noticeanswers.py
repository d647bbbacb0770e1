"""Reminders as answers: the models the JSON interface sends, read out of the outbox."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from pydantic import Field

from curewindow.answers import Answer
from curewindow.boat.folder import RECORD_FILE
from curewindow.findings.kinds.notices import NoticeKind
from curewindow.reminders import Level
from curewindow_service.notices import NoticeState, SendingState
from curewindow_service.outbox import Outbox
from curewindow_service.page.site import Site

BACK = timedelta(days=7)
"""So far back told reminders are shown."""


class SendingLine(Answer):
    """How far a reminder has come on one way out."""

    channel: str
    state: SendingState
    attempts: int
    doubt: bool = Field(description="an earlier attempt was cut off: it may have come twice")
    settled_at: datetime | None
    result: str


class ReminderLine(Answer):
    """A reminder in the outbox."""

    id: int
    key: str
    kind: NoticeKind
    about: str
    level: Level
    due: datetime
    expires: datetime
    title: str
    body: str
    state: NoticeState = Field(description="'told': it went out, or is shown on the page alone")
    settled_at: datetime | None
    snoozed_until: datetime | None
    acknowledged_at: datetime | None
    sendings: list[SendingLine]


class ReminderList(Answer):
    """Reminders of the last days and those still to come, by the time they are due."""

    as_of: datetime
    reminders: list[ReminderLine]


def reminder_list(site: Site) -> ReminderList:
    """Read the outbox."""
    now = site.clock()
    with Outbox(_path(site.folder), clock=site.clock) as outbox:
        found = outbox.notices(since=now - BACK)
    lines = [ReminderLine.model_validate(each, from_attributes=True) for each in found]
    return ReminderList(as_of=now, reminders=lines)


def acknowledge(site: Site, id: int) -> None:
    """Take note of one: it goes out no more.

    Raises
    ------
    NotFoundError
        There is no such reminder.
    """
    with Outbox(_path(site.folder), clock=site.clock) as outbox:
        outbox.acknowledge(id)


def snooze(site: Site, id: int, hours: float) -> datetime:
    """Have one told again so many hours from now; returns when.

    Raises
    ------
    NotFoundError
        There is no such reminder.
    """
    until = site.clock() + timedelta(hours=hours)
    with Outbox(_path(site.folder), clock=site.clock) as outbox:
        outbox.snooze(id, until)
    return until


def _path(folder: Path) -> Path:
    return folder / RECORD_FILE
