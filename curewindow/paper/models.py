"""The answer: a row a day, ready to be read where there is no screen."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer
from curewindow.findings import Finding


class Line(Answer):
    """One line of a day."""

    kind: Literal["step", "heat on", "heat off", "deadline", "ready"]
    at: datetime
    clock: str = Field(description="as the boat's clock shows it: '09:00', '09:00-10:15'")
    text: str
    under: list[str] = Field(
        default_factory=list, description="what to wait for, by when, what to mind"
    )
    tick: bool = Field(description="something to do, with a box to tick")


class Day(Answer):
    """A day on paper."""

    day: date
    title: str
    lines: list[Line] = Field(default_factory=list)


class LaterWeek(Answer):
    """A week beyond the forecast: what is planned in it, without day or clock."""

    week: date | None = Field(description="its Monday; None: no week can be told")
    title: str
    steps: int
    lines: list[str] = Field(description="a line a job")


class Paper(Answer):
    """The planned days on paper."""

    boat: str
    title: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime = Field(description="when this was made")
    plan_made: datetime
    warnings: list[str] = Field(
        default_factory=list, description="to be read first: the plan is not to be trusted"
    )
    days: list[Day] = Field(description="as far as the forecast reaches, no further")
    weeks: list[LaterWeek] = Field(
        default_factory=list, description="beyond the forecast: by the week alone"
    )
    cautions: list[Finding] = Field(
        default_factory=list, description="of the steps of these days, gravest first"
    )
    later_cautions: list[Finding] = Field(
        default_factory=list, description="dangers that only later steps have"
    )
    notes: list[str] = Field(default_factory=list)
    file: str | None = None
