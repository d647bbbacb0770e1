"""The shapes of answers: windows, margins, clocks. JSON output is exactly these models.

Times are aware UTC; temperatures °C; the command line turns both into the
boat's own.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field


class Answer(BaseModel):
    """Base of everything that is answered: frozen, no unknown fields."""

    # Built when first used: a command makes few of them.
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class Margin(Answer):
    """How far a limit is kept (positive) or broken (negative), and where and when."""

    limit: str = Field(description="such as 'surface above dew point' or 'air temperature'")
    phase: Literal["applying", "setting"]
    bound: Literal["min", "max"]
    value: float
    limit_value: float
    by: float = Field(description="margin in 'unit', negative where broken")
    unit: str = Field(description="'°C', 'K', '%', 'm/s', 'mm/h', 'W/m²'")
    where: str = Field(description="such as 'saloon, hull side'")
    at: datetime


class After(Answer):
    """What follows a coat put on at a given start; None: not known, or not on its sheet."""

    start: datetime
    applied: datetime = Field(description="end of the hands-on time")
    touch_dry: datetime | None = None
    recoat_from: datetime | None = None
    recoat_until: datetime | None = None
    recoat_after: Literal["sand", "never", "as is"] | None = None
    closed_up: datetime | None = None
    full_cure: datetime | None = None
    extrapolated: bool = Field(False, description="outside the sheet's own table somewhere")
    beyond_forecast: list[str] = Field(
        default_factory=list, description="milestones later than the weather known"
    )


class Window(Answer):
    """A stretch of time in which a coat may be started."""

    opens: datetime
    closes: datetime = Field(description="last start that still keeps every limit")
    opens_because: str
    closes_because: str
    tightest: Margin | None = Field(description="the tightest margin of any start in the window")
    best_start: datetime
    confidence: float = Field(ge=0, le=1, description="chance that the best start holds")
    stated: float | None = Field(
        None,
        ge=0,
        le=1,
        description="that chance before what came of earlier windows corrected it; "
        "null: nothing corrects it",
    )
    after: After = Field(description="what follows the best start")
    notes: list[str] = Field(default_factory=list)


class Obstacle(Answer):
    """What stands in the way at a moment, and when that ends (None: not within what is known)."""

    reason: str
    margin: Margin | None = None
    ends: datetime | None = None


class Clock(Answer):
    """Where the last coat of a job stands."""

    job: str
    step: int
    coat: int
    of_coats: int
    sheet: str
    applied: datetime
    state: Literal[
        "wet", "touch dry", "recoat open", "sand first", "never again", "cured", "unknown"
    ]
    touch_dry: datetime | None
    recoat_from: datetime | None
    recoat_until: datetime | None
    recoat_after: Literal["sand", "never", "as is"] | None
    closed_up: datetime | None
    full_cure: datetime | None
    next_deadline: datetime | None = Field(description="the next moment that must not be missed")
    deadline_for: str
    measured_share: float = Field(description="share of the hours so far covered by readings")
    basis: str = Field(description="in words: from readings, the model, or held values")
    extrapolated: bool
    limits_broken: list[Margin] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)
