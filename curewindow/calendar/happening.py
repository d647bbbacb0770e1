"""What a calendar shows: one thing that happens, and what makes it the same thing tomorrow."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Final, Literal

from pydantic import Field

from curewindow.answers import Answer

Kind = Literal["window", "heat", "recoat opens", "recoat closes", "milestone", "plan"]

# Ours, made once; the UID of an event is a UUID of version 5 in it (RFC 7986, 5.3, asks for UUIDs).
_NAMESPACE: Final = uuid.UUID("5d0c9a3e-6f0b-4c59-9f3e-0a1b3a7c1e64")


class Alarm(Answer):
    """A signal some minutes before a happening begins or ends."""

    minutes: int = Field(ge=0, description="before")
    before: Literal["begins", "ends"] = "begins"
    says: str


class Happening(Answer):
    """One event of the calendar.

    Job, step, coat, kind, ``what`` and ``serial`` make it the same event however it moves.
    """

    kind: Kind
    job: str
    step: int
    coat: int | None = None
    what: str = Field("", description="which milestone, or which part of a plan")
    serial: int = Field(1, description="which of several alike, such as windows")
    begins: datetime
    ends: datetime
    title: str
    body: str = ""
    where: str = ""
    certain: bool = Field(True, description="False: tentative, the weather may well change it")
    busy: bool = Field(False, description="takes the person's time, where others look it up")
    alarms: list[Alarm] = Field(default_factory=list)

    def alike(self) -> tuple[str, int, int | None, str, str]:
        """What it shares with others of its sort."""
        return (self.job, self.step, self.coat, self.kind, self.what)


def uid_of(boat: str, happening: Happening) -> str:
    """The UID of an event: the same for as long as it is the same thing."""
    parts = (boat, *map(str, happening.alike()), str(happening.serial))
    return str(uuid.uuid5(_NAMESPACE, "\x1f".join(parts)))


def significant(happening: Happening) -> tuple[object, ...]:
    """What raises SEQUENCE when it changes: when, where, what it is called, how sure it is.

    RFC 5546, 2.1.4, asks so for the times; what the text below the title says is no reason.
    """
    return (
        happening.begins,
        happening.ends,
        happening.title,
        happening.where,
        happening.certain,
    )


class CalendarEvent(Answer):
    """An event as calendars are given it."""

    uid: str
    sequence: int = Field(description="raised whenever it moves, is renamed or called off")
    modified: datetime
    cancelled_at: datetime | None = None
    happening: Happening


class CalendarEvents(Answer):
    """The events of a boat's calendar; times aware UTC."""

    boat: str
    time_zone: str
    as_of: datetime
    file: str | None = Field(None, description="where the iCalendar file was written")
    events: list[CalendarEvent]
