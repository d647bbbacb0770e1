"""The order of work as an answer: what to do when, why then, and what holds it up.

Times are aware UTC and temperatures °C in every field; only the sentences are in the
boat's own zone and degrees.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import AllDone, Answer, WorkStep, ZoneName
from curewindow.findings import Finding
from curewindow.heating.models import HeatPlan

WaitKind = Literal["conditions", "cure", "delivery", "hands", "dust", "work before", "choice"]


class WaitsFor(Answer):
    """What a step had to wait for, and until when."""

    kind: WaitKind
    what: Finding
    until: datetime


class PartStep(WorkStep):
    """One coat, or one sitting of other work."""

    sitting: int = 1
    of_sittings: int = 1
    first: list[Finding] = Field(
        default_factory=list, description="what is done to what is below before it"
    )
    note: str = Field("", description="the step's note in work.toml")


class PlannedStep(PartStep):
    """One coat, or one sitting of other work, where the plan has it."""

    start: datetime
    end: datetime = Field(description="the hands are free again")
    hard: datetime = Field(description="hard enough to be worked over and used")
    setpoint_c: float | None = Field(None, description="heat held for it; None: as things are")
    heat_from: datetime | None = None
    heat_until: datetime | None = None
    heat: HeatPlan | None = Field(
        None, description="its heater run as far as the forecast carries, as 'heat' tells it"
    )
    heat_before: HeatPlan | None = Field(
        None,
        description="the heater run before it by which the films it waits for harden sooner",
    )
    sanded_for: int | None = Field(None, description="the coat such sanding comes before")
    must_by: datetime | None = Field(None, description="the coat below asks for it by then")
    waits_for: list[WaitsFor] = Field(default_factory=list)
    why: Finding = Field(description="why then")
    slack_h: float | None = Field(
        None, description="it could begin so much later, other jobs aside; None: not to be told"
    )
    critical: bool = Field(False, description="the date moves with it")
    fixed: bool = Field(False, description="held there by the owner")
    wipe_first: bool = Field(False, description="dew or rain is likely to lie on it")


class LaterStep(PartStep):
    """One coat or one sitting beyond the forecast: the weeks it probably falls in, no time."""

    week: date | None = Field(
        None, description="Monday of the week by whose end half of the seasons have begun it"
    )
    chance_pct: float | None = Field(None, description="begun by the end of that week")
    sure_week: date | None = Field(
        None, description="Monday of the week by whose end 9 in 10 have; None: later than looked at"
    )
    within_pct: float | None = Field(None, description="begun within the time looked at")
    held: datetime | None = Field(None, description="held there by the owner")
    below: int | None = Field(None, description="the coat under it")
    within_h: float | None = Field(None, description="after the coat under it, or it is sanded")


class JobOutlook(Answer):
    """One job: when it is done, of all seasons."""

    job: str
    chance_pct: float | None = Field(description="of being done by the date")
    middle: date | None = Field(description="half of the seasons; None: later than looked at")
    late: date | None = Field(description="19 in 20 seasons are sooner")


class SetsEnd(Answer):
    """One job: in how many seasons the end hangs on it, and on what it waits then."""

    job: str
    share_pct: float = Field(description="of the seasons run")
    kind: WaitKind = Field(description="what it waits for most")
    days: float = Field(description="so long, on average of the seasons in which it decides")


class ChainLink(Answer):
    """A link of what holds everything up."""

    key: str
    said: Finding
    kind: WaitKind
    begins: datetime
    ends: datetime
    days: float


class JobSlack(Answer):
    """How long a job could be put off, other jobs aside."""

    job: str
    first: datetime
    last: datetime = Field(description="its last step is hard enough")
    slack_days: float


class Suggestion(Answer):
    """Something to do otherwise, and what it brings: found by planning again.

    Beyond the forecast by the same seasons as the date of the plan: same years, same samples.
    """

    text: str
    variation: Finding = Field(description="what is done otherwise")
    saves_days: int = Field(
        description="by so many the middle of the seasons is sooner, or the finish"
    )
    at_least: bool = Field(False, description="as it is, half of the seasons end later than looked")
    chance_before_pct: float | None = Field(
        None, description="of being done by the date, as it is; None: no date or no seasons"
    )
    chance_pct: float | None = Field(None, description="the same then")
    fuel_cost: float | None = Field(
        None, description="more for heat, on average of the seasons; None: no fuel has a price"
    )
    makes_possible: list[str] = Field(
        default_factory=list, description="jobs that cannot be planned as things are"
    )
    finish: datetime | None = Field(None, description="None: beyond the forecast")
    cautions: list[Finding] = Field(default_factory=list)


class Conflict(Answer):
    """The smallest set of things found that cannot all be kept."""

    sentences: list[str]


class Reached(Answer):
    """How far an aim was brought."""

    aim: Literal["date", "cost", "calm"]
    value: int = Field(
        description="days from today, 0.01 kWh of heat with what waiting, sanding and other days "
        "than before are worth in heat, points of calm"
    )
    bound: int
    proven: bool


class Plan(Answer):
    """An order of work."""

    boat: str
    time_zone: ZoneName
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    made_at: datetime
    done_by: date | None = None
    all_done: AllDone | None = Field(
        None, description="by the seasons; None: they were not run, as all is within the forecast"
    )
    finish: datetime | None = Field(
        None, description="None: no order was found, or it ends beyond the forecast"
    )
    days_in_hand: int | None = Field(
        None, description="from the finish, else from the middle of the seasons; negative: late"
    )
    steps: list[PlannedStep] = Field(
        default_factory=list, description="as far as the forecast carries"
    )
    later: list[LaterStep] = Field(default_factory=list, description="beyond the forecast")
    chain: list[ChainLink] = Field(
        default_factory=list, description="what sets the end, where that is within the forecast"
    )
    sets_end: list[SetsEnd] = Field(
        default_factory=list, description="the same beyond it, the most often first"
    )
    jobs: list[JobSlack] = Field(
        default_factory=list, description="where the end is within the forecast"
    )
    jobs_by: list[JobOutlook] = Field(
        default_factory=list, description="the same beyond it, the least certain first"
    )
    left_out: dict[str, str] = Field(
        default_factory=dict, description="jobs that cannot be planned as things are, and why"
    )
    conflict: Conflict | None = None
    suggestions: list[Suggestion] = Field(
        default_factory=list, description="at most three, the most gained for its price first"
    )
    more_suggestions: int = Field(0, description="others that help, too")
    decide_now: list[Finding] = Field(
        default_factory=list, description="what the date hangs on and has to be seen to today"
    )
    heat_kwh: float = 0.0
    fuel_amount: float = 0.0
    fuel_unit: str = ""
    reached: list[Reached] = Field(default_factory=list)
    verified: bool = Field(False, description="the second look found nothing against it")
    faults: list[str] = Field(default_factory=list)
    known_until: datetime | None = Field(None, description="end of the forecast")
    seconds: float = 0.0
    notes: list[str] = Field(default_factory=list)

    def every(self) -> list[PlannedStep | LaterStep]:
        """Its steps near and far."""
        return [*self.steps, *self.later]
