"""The shapes of the answer to 'what if it were warmer, or aired?'."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer, Window
from curewindow.findings import Finding
from curewindow.judgement.models import Status


class Course(Answer):
    """How a space and a surface fare over the hours looked at."""

    surface_c: float | None = Field(description="lowest temperature of the surface")
    surface_at: datetime | None
    above_dew_k: float | None = Field(
        description="least height of the surface above the dew point; negative: it is wet"
    )
    above_dew_at: datetime | None
    wet_h: float = Field(description="hours with dew forming on it")
    frost_h: float = Field(description="hours with frost forming on it")
    air_lowest_c: float | None
    air_highest_c: float | None
    rh_highest_pct: float | None
    rh_mean_pct: float | None
    heat_kwh: float | None = Field(description="heat of the heater; null: not known")


class Lying(Answer):
    """Most that lies on a panel in the hours looked at, in the weather as told; null: not known."""

    panel: str
    water_before_g_m2: float | None = Field(description="liquid, as it is")
    frost_before_g_m2: float | None = Field(description="frost, as it is")
    water_after_g_m2: float | None = Field(description="liquid, then")
    frost_after_g_m2: float | None = Field(description="frost, then")


class JobThen(Answer):
    """The windows of a job, one way or the other."""

    status: Status
    verdict: Finding
    windows: list[Window]


class JobCompared(Answer):
    """A job as things are, and as they would be."""

    job: str
    before: JobThen
    after: JobThen


class WhatIf(Answer):
    """A space as things are, and as they would be."""

    boat: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    space: str
    surface: str = Field(description="the surface looked at, such as 'locker side'")
    change: Finding
    start: datetime
    until: datetime = Field(description="end of the hours looked at, and of the change if it ends")
    before: Course
    after: Course
    lying: list[Lying] = Field(
        default_factory=list, description="panels with a gram or more on a square metre"
    )
    jobs: list[JobCompared]
    cautions: list[Finding] = Field(default_factory=list)
    notes: list[Finding] = Field(default_factory=list)
    attribution: str = ""
