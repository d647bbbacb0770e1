"""What the outbox holds, as it is read back: notices and how far each has come on each way out."""

from __future__ import annotations

import hashlib
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal

from curewindow.findings.kinds.notices import NoticeKind
from curewindow.record.trouble import damaged
from curewindow.reminders import LEVELS, Level, Reminder

NoticeState = Literal["waiting", "told", "expired", "withdrawn", "known already"]
SendingState = Literal["waiting", "sending", "handing over", "sent", "failed", "expired"]


@dataclass(frozen=True, slots=True)
class Sending:
    """One notice on one way out.

    Attributes
    ----------
    id, notice : int
        Its own number and its notice's.
    channel : str
        Name of the channel in boat.toml.
    state : str
        'sending': begun, nothing given away yet; 'handing over': the other side may have it.
    attempts : int
        How often it was begun.
    doubt : bool
        An earlier attempt was cut off while handing over: it may have arrived already.
    next_try : datetime
        Not before then.
    message_id : str
        The same for every attempt: what the other side can tell a second copy by.
    settled_at : datetime or None
        When it was sent, failed or expired.
    result : str
        What the other side said, or what went wrong; holds no secret.
    """

    id: int
    notice: int
    channel: str
    state: SendingState
    attempts: int
    doubt: bool
    next_try: datetime
    message_id: str
    settled_at: datetime | None
    result: str


@dataclass(frozen=True, slots=True)
class Notice:
    """One reminder in the outbox.

    Attributes
    ----------
    id : int
        What the page acknowledges and snoozes by.
    key, kind, about, level, due, expires, title, body, only_after
        As in :class:`curewindow.reminders.Reminder`.
    state : str
        'told': it was due and went to the ways out it is for (see ``sendings``; none: it is
        shown on the page alone). 'known already': the same words had gone out within a day.
    made_at : datetime
        When it was first worked out.
    settled_at : datetime or None
        When it left 'waiting'.
    snoozed_until, acknowledged_at : datetime or None
    sendings : tuple of Sending
        By channel, the latest round alone.
    """

    id: int
    key: str
    kind: NoticeKind
    about: str
    level: Level
    due: datetime
    expires: datetime
    title: str
    body: str
    only_after: str | None
    state: NoticeState
    made_at: datetime
    settled_at: datetime | None
    snoozed_until: datetime | None
    acknowledged_at: datetime | None
    sendings: tuple[Sending, ...] = ()


def seconds(at: datetime) -> int:
    """Whole seconds since 1970 UTC, as times are stored."""
    return int(at.timestamp())


def moment(stored: int) -> datetime:
    """A stored time as aware UTC.

    Raises
    ------
    sqlite3.DatabaseError
        It is none: the file is damaged.
    """
    try:
        return datetime.fromtimestamp(stored, UTC)
    except (OverflowError, TypeError, ValueError, OSError):
        raise damaged("a time") from None


def maybe_moment(stored: int | None) -> datetime | None:
    """A stored time that may be missing."""
    return None if stored is None else moment(stored)


def digest(reminder: Reminder) -> str:
    """What two pieces of news share when they say the same."""
    told = "\0".join((reminder.kind, reminder.about, reminder.title, reminder.body))
    return hashlib.sha256(told.encode()).hexdigest()[:32]


# What the columns hold, whichever of the tables they are of; those of text alone and the rest as
# SQLite has it.
_TIMES = ("due", "expires", "made_at", "next_try")
_MAYBE_TIMES = ("settled_at", "snoozed_until", "acknowledged_at")
_TEXTS = ("key", "kind", "about", "title", "body", "channel", "message_id", "result", "digest")


def checked_row(cursor: sqlite3.Cursor, values: tuple[Any, ...]) -> sqlite3.Row:
    """A row as the outbox reads it, for ``row_factory``.

    Raises
    ------
    sqlite3.DatabaseError
        A cell holds what is never written there: the file is damaged.
    """
    for (name, *_), value in zip(cursor.description, values, strict=True):
        if name in _TIMES or (name in _MAYBE_TIMES and value is not None):
            moment(value)
        elif (name == "level" and value not in LEVELS) or (
            name in _TEXTS and not isinstance(value, str)
        ):
            raise damaged(name)
    return sqlite3.Row(cursor, values)


def sending(row: sqlite3.Row) -> Sending:
    """Read a row of ``sendings``."""
    return Sending(
        id=row["id"],
        notice=row["notice"],
        channel=row["channel"],
        state=row["state"],
        attempts=row["attempts"],
        doubt=bool(row["doubt"]),
        next_try=moment(row["next_try"]),
        message_id=row["message_id"],
        settled_at=maybe_moment(row["settled_at"]),
        result=row["result"],
    )


def notice(row: sqlite3.Row, sendings: tuple[Sending, ...] = ()) -> Notice:
    """Read a row of ``notices``."""
    return Notice(
        id=row["id"],
        key=row["key"],
        kind=row["kind"],
        about=row["about"],
        level=row["level"],
        due=moment(row["due"]),
        expires=moment(row["expires"]),
        title=row["title"],
        body=row["body"],
        only_after=row["only_after"],
        state=row["state"],
        made_at=moment(row["made_at"]),
        settled_at=maybe_moment(row["settled_at"]),
        snoozed_until=maybe_moment(row["snoozed_until"]),
        acknowledged_at=maybe_moment(row["acknowledged_at"]),
        sendings=sendings,
    )
