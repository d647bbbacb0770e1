"""The shape of a reminder: what is told, from when, until when, and how urgent it is."""

from __future__ import annotations

from datetime import datetime

from pydantic import Field

from curewindow.answers import Answer
from curewindow.boat.service import LEVELS, Level
from curewindow.findings import Finding
from curewindow.findings.kinds.notices import NoticeKind


class Reminder(Answer):
    """One thing to be told, once.

    ``key`` says which piece of news it is: the same key is never told twice, however
    often it is worked out anew and however its time or text moves until it is told.
    """

    key: str = Field(min_length=1)
    kind: NoticeKind
    about: str = Field("", description="the job, space or thing it is about")
    level: Level
    due: datetime = Field(description="told from then on, aware UTC")
    expires: datetime = Field(description="no use after that: dropped, and recorded as dropped")
    told: tuple[Finding, ...] = Field(
        (), description="what it tells: the title's first; empty where no day sheet can be made"
    )
    title: str = Field(min_length=1, description="one line of a phone")
    body: str = Field("", description="a few lines")
    only_after: str | None = Field(
        None,
        description="key of another one, or how it begins: told only if such a one was, "
        "and kept once it was",
    )


class SettingBounds(Answer):
    """The air something wet in a space needs until it has set; None where no limit is named."""

    space: str
    until: datetime
    air_low_c: float | None = None
    air_high_c: float | None = None
    rh_low_pct: float | None = None
    rh_high_pct: float | None = None


__all__ = ["LEVELS", "Level", "Reminder", "SettingBounds"]
