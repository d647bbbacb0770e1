"""What was told of a job, and what of it holds no more: notices, page and JSON share it."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer
from curewindow.findings import Finding

ChangeKind = Literal["moved", "lost", "new", "doubt"]


class StatedWindow(Answer):
    """A window as it was told."""

    opens: datetime
    closes: datetime = Field(description="the last start")
    confidence: float = Field(ge=0, le=1)
    opens_because: Finding
    closes_because: Finding


class StatedJob(Answer):
    """What was told of a job: its next step and the windows it may be done in."""

    job: str
    step: int
    coat: int | None = None
    hands_on_h: float
    windows: list[StatedWindow] = Field(default_factory=list, description="in order of time")


class Change(Answer):
    """A window that is no longer what was told."""

    job: str
    kind: ChangeKind = Field(
        description="'moved': it opens or closes at another time; 'lost': no start then any "
        "more; 'new': a start where there was none; 'doubt': as sure as before no longer, or surer"
    )
    told_at: datetime = Field(description="when the old one was told")
    was: StatedWindow | None = None
    now: StatedWindow | None = None
    opens_later_h: float = Field(0.0, description="of a moved one; negative: earlier")
    closes_later_h: float = Field(0.0, description="of a moved one; negative: earlier")
    worse: bool = Field(description="less time, later, or less sure than was told")
    why: list[Finding] = Field(default_factory=list, description="what moves it")
    said: Finding = Field(description="all of it, for a line")
