"""The shapes of answers: windows, margins, clocks. JSON output is exactly these models.

Times are aware UTC; temperatures °C; the command line turns both into the
boat's own.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from curewindow.findings import Finding


class Answer(BaseModel):
    """Base of everything that is answered: frozen, no unknown fields."""

    # Built when first used: a command makes few of them.
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise ValueError(f"'{name}' is no time zone") from None
    return name


ZoneName = Annotated[str, AfterValidator(_known_zone)]
"""The boat's time zone in an answer that is kept, and read back later."""


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
    opens_because: Finding
    closes_because: Finding
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
    notes: list[Finding] = Field(default_factory=list, description="what is told with it")


class Obstacle(Answer):
    """What stands in the way at a moment, and when that ends (None: not within what is known)."""

    why: Finding
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
    basis: Finding = Field(description="what its hours so far go by")
    extrapolated: bool
    limits_broken: list[Margin] = Field(default_factory=list)
    to_check: list[Margin] = Field(
        default_factory=list,
        description="of these, what nobody has looked at the coat since: 'log look' answers it",
    )
    found: Literal["sound", "dull", "sanded", "spoilt"] | None = Field(
        None, description="what was found, or done, when somebody last looked at the coat"
    )
    found_at: datetime | None = None
    notes: list[Finding] = Field(default_factory=list)


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

    @property
    def tail_h(self) -> float:
        """Hours from a window's last start to the end of the work begun then.

        Work without a product may be left and gone on with: its window is the work itself.
        """
        return self.hands_on_h if self.sheet is not None else 0.0

    def may_start(self, window: Window, at: datetime) -> bool:
        """Does a start at a moment lie in a window?

        Work without a product has no last start: its window closes as the work has to stop.
        """
        return window.opens <= at < window.closes or (
            self.sheet is not None and at == window.closes
        )


class Wait(Answer):
    """Something other than the weather that has to come first."""

    why: Finding
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
    heater_broken_from: datetime | None = Field(
        None, description="out of order from then, by boat.toml; past: it is now"
    )
    heater_broken_until: datetime | None = None
    wind_ms: float | None = None
    rain_mm_h: float | None = None
    notes: list[str] = Field(default_factory=list)


class WorkStep(Answer):
    """One coat or one sitting of a job: what it is, whenever it is."""

    key: str = Field(description="what --fix and --free of 'curewindow plan' know it by")
    part: str = Field(description="the same within its job")
    job: str
    where: str
    space: str = Field(description="the space it is in, or 'outdoors'")
    step: int
    do: Literal["prepare", "coat", "sand", "bond", "seal", "fit"]
    product: str | None = None
    coat: int | None = None
    of_coats: int | None = None
    sanding_for_missed: bool = Field(False, description="a recoat interval passes before it")
    spoilt: bool = Field(False, description="such sanding takes off a coat that is spoilt")
    cautions: list[Finding] = Field(default_factory=list, description="gravest first")


class RunBefore(Answer):
    """A heater run before a step, by which the films it waits for harden sooner."""

    said: Finding = Field(description="lit when, how warm, until when, what for")
    ventilation: Literal["closed", "normal", "open"] | None
    light_at: datetime


class PlannedStart(WorkStep):
    """A step where the kept order of work has it."""

    start: datetime
    end: datetime
    must_by: datetime | None = Field(None, description="the coat below asks for it by then")
    why: Finding | None = Field(
        None, description="what it waited for last; null: it could have come before"
    )
    setpoint_c: float | None = Field(None, description="heat held for it; None: as things are")
    heat_from: datetime | None = None
    heat_until: datetime | None = None
    heat_before: RunBefore | None = Field(
        None, description="the heater run the plan has over a film that is on"
    )
    wipe_first: bool = False
    allowed: bool | None = Field(
        None, description="by the windows of this day sheet; None: what comes first is not done"
    )
    note: Finding | None = Field(None, description="why not, or how long still")
    step_note: str = Field("", description="the step's note in work.toml")


class AllDone(Answer):
    """By when everything is done, by the work run through past years: one for every face."""

    middle: date | None = Field(description="half of the seasons; None: later than looked at")
    late: date | None = Field(description="9 in 10 seasons; None: later than looked at")
    done_by: date | None
    chance_pct: float | None = Field(
        description="of being done by the date; None: no date is set, or it lies beyond"
    )
    until: date = Field(description="how far was looked")
    years: int
    seasons: int
    without: list[str] = Field(default_factory=list, description="jobs no season lets be planned")


class HeaterHeld(Answer):
    """A stretch in which a space is held at one temperature for all that asks for it."""

    space: str
    setpoint_c: float
    begins: datetime
    ends: datetime
    vents: Literal["closed", "normal", "open"] = "normal"
    jobs: list[str] = Field(default_factory=list, description="that ask for it")
    turned: bool = Field(False, description="it follows another at once")


class PlanNow(Answer):
    """The kept order of work, as far as it concerns these days."""

    as_of: datetime = Field(description="when it was made for")
    fresh: bool
    note: Finding | None = Field(None, description="why it may not hold any more")
    finish: datetime | None
    overdue: list[PlannedStart] = Field(
        description="planned before today, and not logged; told for one day and not again"
    )
    today: list[PlannedStart] = Field(description="in this order")
    coming: list[PlannedStart] = Field(description="of the six days after")
    heaters: list[HeaterHeld] = Field(
        default_factory=list, description="for its steps, one stretch after the other"
    )
