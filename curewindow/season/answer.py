"""The outlook over the season as an answer: exactly what --json prints."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import AllDone, Answer, ZoneName
from curewindow.order.plan import JobOutlook, SetsEnd


class DateFor(Answer):
    """The date by which all is done with a given chance."""

    chance_pct: int
    on: date | None = Field(description="None: later than the time looked at")


class YearOutcome(Answer):
    """One past year: when the work would have been done in its weather."""

    year: str
    early: date | None = Field(description="with everything going well: one in ten is sooner")
    middle: date | None
    late: date | None = Field(description="one in ten is later; None: later than looked at")


class StepOutlook(Answer):
    """One coat or sitting: in how many seasons it is begun, week by week."""

    key: str = Field(description="as in a plan")
    part: str
    job: str
    step: int
    coat: int | None
    sitting: int
    of_sittings: int
    begun_pct: list[float] = Field(description="by the end of each week of ``mondays``")


class Saving(Answer):
    """What one hindrance costs: days sooner without it, on average."""

    without: Literal["bad weather", "waiting for deliveries", "only one pair of hands"]
    days: float
    chance_pct: float | None = Field(description="of the date without it")
    at_least: bool = Field(
        False, description="in some seasons nothing was done in the time looked at: it is more"
    )


class WorkableWeeks(Answer):
    """Hours a week in which a coat of a product could be begun in a place."""

    product: str
    place: str
    jobs: list[str]
    hours_as_is: list[float] = Field(description="mean over the years, week by week from now")
    hours_warmed: list[float] = Field(description="the same with the space kept warm as well")
    poor_year_hours: list[float] = Field(description="kept warm as well; one year in ten has less")


class Outlook(Answer):
    """The chance of being done by the date, from past years' weather."""

    boat: str
    time_zone: ZoneName
    as_of: datetime
    made_at: datetime
    until: datetime = Field(description="how far was looked")
    done_by: date | None
    all_done: AllDone = Field(description="what the plan says of it as well")
    chance_pct: float | None = Field(description="of being done by the date; None: no date is set")
    chance_low_pct: float | None = Field(description="what so few years leave open: from ...")
    chance_high_pct: float | None = Field(description="... to, 9 in 10")
    dates: list[DateFor] = Field(description="for 50, 80 and 95 %")
    curve_on: list[date] = Field(description="days from now on, for the curve of finish dates")
    curve_pct: list[float] = Field(description="chance of being done by the end of that day")
    years: list[YearOutcome]
    jobs: list[JobOutlook] = Field(description="the least certain first")
    chance_rest_pct: float | None = Field(
        description="of the date, the least certain job left out of account"
    )
    sets_end: list[SetsEnd] = Field(description="the most often first")
    mondays: list[date] = Field(description="the weeks of ``steps``, from the running one on")
    steps: list[StepOutlook]
    savings: list[Saving]
    weeks_from: list[date]
    aboard_hours: list[float] = Field(description="hours a week someone is aboard")
    workable: list[WorkableWeeks]
    seasons: int = Field(description="seasons run: years times Monte Carlo runs")
    words: list[str] = Field(description="the same in sentences")
    hours_words: list[str] = Field(description="the workable hours in sentences")
    notes: list[str]
    key: str = Field("", description="of what it was made from")
