"""The day sheet: one object, the single source for terminal, page, notices and JSON.

Times are aware UTC and temperatures °C in every field; only the sentences are
in the boat's own zone and degrees.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer, Clock, Obstacle, Window
from curewindow.cautions.caution import Urgency
from curewindow.changes.models import Change
from curewindow.heating.models import HeatPlan

Status = Literal["go", "wait", "blocked", "refused", "done"]
# The order in which people want to read them.
STATUSES: tuple[Status, ...] = ("go", "wait", "blocked", "refused", "done")


class NextStep(Answer):
    """What has to be done next in a job."""

    step: int = Field(description="counts the job's steps from 1")
    of_steps: int
    do: Literal["prepare", "coat", "sand", "bond", "seal", "fit"]
    sheet: str | None = Field(None, description="file name of the sheet, for coat, bond and seal")
    product: str | None = Field(None, description="what the sheet calls itself")
    coat: int | None = Field(None, description="number of the coat that is next")
    of_coats: int | None = None
    hands_on_h: float
    sand_first: bool = Field(False, description="the last coat has to be sanded first")
    note: str = ""


class Wait(Answer):
    """Something other than the weather that has to come first."""

    what: str = Field(description="in words, such as 'slats to arrive'")
    about: str = Field(description="the job or the thing it is about, such as 'slats'")
    kind: Literal["job", "cured", "delivery", "recoat", "dust", "drying"]
    until: datetime | None = Field(None, description="None: nobody can tell yet")


class Dewfall(Answer):
    """When a surface outdoors gets wet by itself."""

    at: datetime = Field(description="from here on in one member of the forecast in five or more")
    frost: bool = Field(description="frost rather than dew")


class Daylight(Answer):
    """Sunrise and sunset of a day; null where the sun does neither."""

    sunrise: datetime | None
    sunset: datetime | None


class JobDay(Answer):
    """A job on this day."""

    job: str
    where: str
    space: str = Field(description="the space it is in, or 'outdoors'")
    surface: str = Field("", description="a panel, 'joinery', or outdoors what it is of")
    status: Status
    sentence: str = Field(description="the one line to go by, in the boat's zone and degrees")
    next: NextStep | None = Field(None, description="None where the job is done")
    windows_today: list[Window] = Field(default_factory=list)
    next_window: Window | None = Field(None, description="the first one after today")
    if_wiped: Window | None = Field(
        None, description="the first window once water that lies on the surface is wiped off"
    )
    obstacles: list[Obstacle] = Field(default_factory=list)
    waits: list[Wait] = Field(default_factory=list)
    heat: HeatPlan | None = Field(
        None, description="what heat would open a start, where nothing else does; looked at quickly"
    )
    dewfall: Dewfall | None = Field(
        None,
        description="outdoors: the first dew or frost on it from its next window, or from now, to "
        "noon of the day after",
    )
    typical_sheet: bool = Field(False, description="goes by a generic sheet: check your tin")
    notes: list[str] = Field(default_factory=list)


class SpaceNow(Answer):
    """How a space, or the open air, stands at this moment."""

    where: str
    air_c: float | None = None
    rh_pct: float | None = None
    dew_point_c: float | None = None
    coldest: str | None = Field(None, description="the coldest surface")
    coldest_c: float | None = None
    coldest_above_dew_k: float | None = Field(
        None, description="its height above the dew point; negative: it is wet"
    )
    measured: bool = Field(False, description="carried by a reading of the last hours")
    reading_age_h: float | None = Field(None, description="age of the last reading")
    heater_until: datetime | None = Field(
        None, description="its heater is lit, or off, by the log up to then; None: its routine"
    )
    heater_out_c: float | None = Field(
        None, description="lit by the log, but this was read: taken as out"
    )
    heater_c: float | None = Field(None, description="with heater_until: held so; None: off")
    wind_ms: float | None = None
    rain_mm_h: float | None = None
    notes: list[str] = Field(default_factory=list)


class DayCaution(Answer):
    """One caution, and the jobs of today it belongs to."""

    topic: str
    short: str = Field(description="what to do, in one line of a phone or two")
    text: str = Field(description="all of it")
    urgency: Urgency = Field(description="'refused': no start of these jobs is called go")
    jobs: list[str]


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
    spread: str = Field(
        "", description="how they came about where the feed gives one, and the errors taken"
    )
    weather_notes: list[str] = Field(
        default_factory=list, description="stale, holes, estimated: always to be said"
    )
    notes: list[str] = Field(default_factory=list, description="what was assumed of the boat")


class PlannedStart(Answer):
    """A step where the kept order of work has it."""

    key: str = Field(description="what 'curewindow plan --fix' knows it by")
    part: str = Field(description="the same within its job")
    job: str
    where: str
    space: str = Field(description="the space it is in, or 'outdoors'")
    step: int
    do: Literal["prepare", "coat", "sand", "bond", "seal", "fit"]
    product: str | None = None
    coat: int | None = None
    of_coats: int | None = None
    start: datetime
    end: datetime
    must_by: datetime | None = Field(None, description="the coat below asks for it by then")
    why: str = Field("", description="what it waited for last; empty: it could have come before")
    setpoint_c: float | None = Field(None, description="heat held for it; None: as things are")
    heat_from: datetime | None = None
    heat_until: datetime | None = None
    wipe_first: bool = False
    allowed: bool | None = Field(
        None, description="by the windows of this day sheet; None: what comes first is not done"
    )
    note: str = Field("", description="why not, or how long still")


class PlanNow(Answer):
    """The kept order of work, as far as it concerns these days."""

    as_of: datetime = Field(description="when it was made for")
    fresh: bool
    note: str = Field("", description="why it may not hold any more")
    finish: datetime | None
    overdue: list[PlannedStart] = Field(description="planned before today, and not logged")
    today: list[PlannedStart] = Field(description="in this order")
    coming: list[PlannedStart] = Field(description="of the six days after")


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
    notes: list[str] = Field(default_factory=list)


class JobAhead(Answer):
    """The windows of a job in the days asked about; where there is none, the next one after."""

    job: str
    where: str
    space: str = Field(description="the space it is in, or 'outdoors'")
    status: Status
    sentence: str = Field(description="as on the day sheet")
    next: NextStep | None = Field(None, description="None where the job is done")
    windows: list[Window] = Field(default_factory=list)
    if_wiped: Window | None = Field(
        None, description="the first one once the water on the surface is wiped off and logged"
    )
    obstacles: list[Obstacle] = Field(default_factory=list)
    waits: list[Wait] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)


class WindowsAhead(Answer):
    """The windows of all jobs, or of one, for some days."""

    boat: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    until: datetime
    jobs: list[JobAhead]
    provenance: Provenance
    notes: list[str] = Field(default_factory=list)
