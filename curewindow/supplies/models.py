"""The answer: what to buy, by week or by job."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer
from curewindow.findings import Finding


class Part(Answer):
    """One part of a product that is mixed."""

    parts: float = Field(description="its share, as the sheet gives it")
    by: Literal["volume", "mass"]
    amount: float | None = Field(None, description="in 'unit'; None: not known how much in all")
    unit: Literal["L", "kg"]


class Batch(Answer):
    """How much to mix at a time, so that the hands are done before it sets in the pot."""

    job: str
    pot_c: float = Field(description="temperature in the pot that is reckoned with")
    pot_life_h: float = Field(description="by the sheet at that temperature")
    usable_h: float = Field(description="of it, after the wait and with some in hand")
    area_m2: float | None = Field(None, description="the hands cover it in that time")
    litres: float | None = Field(None, description="largest batch")
    batches_a_coat: int | None = None


class Share(Answer):
    """What a job takes of a product."""

    job: str
    coats: int
    litres: float | None = Field(None, description="None: neither sheet nor job says how much")
    how: Finding = Field(description="how it was reckoned, or what is missing")
    first_needed: datetime | None = Field(
        None, description="by the near plan; None: beyond the forecast, or not planned"
    )
    last_needed: datetime | None = None


class Product(Answer):
    """A product to have in hand."""

    sheet: str
    name: str
    coats: int
    litres: float | None = Field(
        None, description="before thinning, rounded up; None: not known for any job"
    )
    incomplete: bool = Field(False, description="some job's amount is not known and not in it")
    kilograms: float | None = None
    mix: list[Part] = Field(default_factory=list)
    thinner_at_most_l: float | None = None
    thinner: str = ""
    needed_by: datetime | None = Field(None, description="by the near plan, exactly")
    from_week: date | None = Field(
        None, description="beyond the forecast: Monday of the first week it is likely needed in"
    )
    until_week: date | None = Field(None, description="and of the last")
    shares: list[Share]
    batches: list[Batch] = Field(default_factory=list)
    keeping: list[Finding] = Field(default_factory=list, description="frost, age, tins aboard")
    cautions: list[Finding] = Field(
        default_factory=list, description="of its hazards: what to have in hand for them"
    )
    notes: list[Finding] = Field(default_factory=list)


class Count(Answer):
    """A small thing, counted."""

    what: str
    count: int
    basis: str


class Group(Answer):
    """What is needed in a week, or for a job where there is no plan."""

    title: str
    week: date | None = Field(
        None, description="its Monday; None: beyond the forecast, or not planned"
    )
    products: list[Product] = Field(default_factory=list)
    counts: list[Count] = Field(default_factory=list)


class Supplies(Answer):
    """What to buy for the coming weeks."""

    boat: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    weeks: int
    known_until: datetime | None = Field(
        None, description="end of the plan's forecast: from then on weeks are told, no days"
    )
    plan_made: datetime | None = Field(None, description="None: there is no plan; by job then")
    groups: list[Group] = Field(default_factory=list)
    later: list[str] = Field(default_factory=list, description="products needed only later")
    notes: list[Finding] = Field(default_factory=list)
