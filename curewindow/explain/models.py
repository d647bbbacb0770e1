"""The shapes of the answer to 'why not then?'."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer, Margin, NextStep, Window
from curewindow.findings import Finding

State = Literal["broken", "doubtful", "unknown", "kept"]
# The order in which people want to read them.
STATES: tuple[State, ...] = ("broken", "unknown", "doubtful", "kept")
Wet = Literal["dry", "dew", "frost", "unknown"]


class LimitAt(Answer):
    """One limit, held against the whole span in which it must be kept."""

    limit: str = Field(description="such as 'surface above dew point' or 'air temperature'")
    phase: Literal["applying", "setting"]
    bound: Literal["min", "max"]
    limit_value: float
    unit: str
    state: State = Field(description="'doubtful': broken in a few members of the forecast only")
    worst: Margin | None = Field(description="the worst moment of the span; null: not known")
    holds_in: float = Field(description="share of the forecast's members in which it is kept")
    margin: Finding = Field(description="what is asked for and how far off it is")
    why: Finding | None = Field(None, description="where broken or not known: what it is like")


class Rule(Answer):
    """Something other than a limit that decides whether work may start."""

    rule: Literal[
        "aboard", "daylight", "rain", "recoat", "first", "air", "caution", "night", "weather"
    ]
    state: State
    why: Finding
    ends: datetime | None = Field(None, description="where broken: when it is so no longer")


class SurfaceThen(Answer):
    """The surface at the start, and the first water on it while it must stay dry."""

    air_c: float | None
    rh_pct: float | None
    dew_point_c: float | None
    surface_c: float | None
    state: Wet
    wet_at: datetime | None = Field(
        None, description="first moment of the span at which dew or frost forms"
    )
    wet_as: Literal["dew", "frost"] | None = None


class Why(Answer):
    """Why a job may, or may not, be started at a moment."""

    boat: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    job: str
    where: str
    next: NextStep | None = Field(description="null where the job is done")
    start: datetime = Field(description="the moment asked about, on the grid of the weather")
    applied: datetime | None = Field(None, description="end of the hands-on time")
    set_until: str = Field("", description="milestone until which the setting limits hold")
    set_by: datetime | None = Field(None, description="null: beyond the weather known")
    allowed: bool
    verdict: Finding
    surface: SurfaceThen
    limits: list[LimitAt] = Field(default_factory=list, description="broken ones first")
    rules: list[Rule] = Field(default_factory=list, description="broken ones first")
    next_allowed: datetime | None = Field(None, description="null: not within what is known")
    next_window: Window | None = None
    if_wiped: Window | None = Field(
        None,
        description="one that is sooner once the water on the surface is wiped off and logged",
    )
    cautions: list[Finding] = Field(
        default_factory=list, description="what to take care of in this step, gravest first"
    )
    notes: list[Finding] = Field(default_factory=list)
    attribution: str = ""
