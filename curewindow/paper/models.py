"""The answer: a row a day, ready to be read where there is no screen."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer


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
    typical_weather: bool = Field(False, description="beyond the forecast")
    lines: list[Line] = Field(default_factory=list)


class Paper(Answer):
    """The planned days on paper."""

    boat: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime = Field(description="when this was made")
    plan_made: datetime
    warnings: list[str] = Field(
        default_factory=list, description="to be read first: the plan is not to be trusted"
    )
    days: list[Day]
    notes: list[str] = Field(default_factory=list)
    file: str | None = None
