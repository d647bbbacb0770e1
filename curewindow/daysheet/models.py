"""The day sheet: one object, the single source for terminal, page, notices and JSON.

Times are aware UTC and temperatures °C in every field; only the sentences are
in the boat's own zone and degrees.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import (
    Answer,
    Clock,
    Daylight,
    NextStep,
    Obstacle,
    PlanNow,
    SpaceNow,
    Wait,
    Window,
)
from curewindow.cautions import Grade
from curewindow.changes.models import Change
from curewindow.findings import Finding
from curewindow.judgement.models import JobDay, Status


class DayCaution(Answer):
    """One danger, and the jobs it belongs to."""

    danger: Finding
    grade: Grade = Field(description="'refused': no start of these jobs is called go")
    jobs: list[str] = Field(description="empty where a heater is lit in a space without work")
    later: bool = Field(False, description="only of work after today")


class Provenance(Answer):
    """What all of it rests on."""

    weather: str
    attribution: str
    issued_at: datetime | None
    fetched_at: datetime
    weather_age_h: float
    weather_until: datetime
    last_reading: datetime | None
    typical_sheets: list[str] = Field(description="generic sheets: check the tin")
    own_sheets: list[str]
    weather_name: str = Field("", description="another one as soon as the forecast is")
    members: int = Field(1, description="forecasts the windows are held against")
    spread: Finding | None = Field(
        None, description="how they came about where the feed gives one, and the errors taken"
    )
    weather_notes: list[Finding] = Field(
        default_factory=list, description="stale, holes, estimated: always to be said"
    )
    notes: list[Finding] = Field(
        default_factory=list, description="what was taken for granted of the boat"
    )


class DaySheet(Answer):
    """Everything about today, for one boat."""

    boat: str
    place: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    day: date
    done_by: date | None = None
    jobs: list[JobDay]
    clocks: list[Clock] = Field(description="coats that are not cured yet, next deadline first")
    spaces: list[SpaceNow]
    outdoors: SpaceNow | None
    daylight: Daylight | None = None
    cautions: list[DayCaution]
    provenance: Provenance
    changes: list[Change] = Field(
        default_factory=list,
        description="what is news since the plan told by the forecast before, the worse first",
    )
    plan: PlanNow | None = Field(
        None, description="the order of work kept by 'curewindow plan'; None: none was made"
    )
    notes: list[Finding] = Field(default_factory=list)


class JobAhead(Answer):
    """The windows of a job in the days asked about; where there is none, the next one after."""

    job: str
    where: str
    space: str = Field(description="the space it is in, or 'outdoors'")
    status: Status
    verdict: Finding = Field(description="as on the day sheet")
    next: NextStep | None = Field(None, description="None where the job is done")
    windows: list[Window] = Field(default_factory=list)
    if_wiped: Window | None = Field(
        None, description="the first one once the water on the surface is wiped off and logged"
    )
    obstacles: list[Obstacle] = Field(default_factory=list)
    waits: list[Wait] = Field(default_factory=list)
    cautions: list[Finding] = Field(default_factory=list, description="as on the day sheet")
    notes: list[Finding] = Field(default_factory=list)


class WindowsAhead(Answer):
    """The windows of all jobs, or of one, for some days."""

    boat: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    until: datetime
    jobs: list[JobAhead]
    provenance: Provenance
    notes: list[Finding] = Field(default_factory=list)
