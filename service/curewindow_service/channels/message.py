"""What goes out, and what came of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from curewindow.findings.kinds.notices import NoticeKind
from curewindow.reminders import Level


@dataclass(frozen=True, slots=True)
class Message:
    """A notice as it goes out one way.

    ``message_id`` is the same for every attempt; ``at`` is the time of this one, aware.
    """

    boat: str
    key: str
    kind: NoticeKind
    level: Level
    title: str
    body: str
    due: datetime
    at: datetime
    message_id: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of an attempt.

    Attributes
    ----------
    state : {'sent', 'later', 'refused'}
        Taken; to be tried again; refused for good.
    said : str
        What the other side said, or what went wrong.
    pause : timedelta or None
        With 'later': how long it asked to be left alone.
    doubt : bool
        With 'later': it may have been taken all the same.
    reachable : bool
        False: nobody there, no use trying the next notice now.
    """

    state: Literal["sent", "later", "refused"]
    said: str
    pause: timedelta | None = None
    doubt: bool = False
    reachable: bool = True


HandingOver = Callable[[], None]
"""Called once, right before the message is given away; what it raises stops the attempt."""
