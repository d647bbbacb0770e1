"""The shapes of a heating plan. JSON output is exactly these models.

Times are aware UTC and temperatures °C in every field.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer, Margin
from curewindow.boat.schema import Ventilation
from curewindow.findings import Finding

HeatPurpose = Literal["begin", "harden"]
HeatStatus = Literal["possible", "cannot", "refused", "waits", "no weather"]
AlternativeKind = Literal[
    "later start", "smaller space", "dehumidifier", "more power", "insulation", "cover"
]


class FuelUse(Answer):
    """Heat, and what it takes."""

    energy_kwh: float = Field(description="heat into the space")
    fuel: str = Field(description="'diesel', 'LPG', 'paraffin', 'wood' or 'electricity'")
    amount: float = Field(description="fuel in 'unit', by the heater's efficiency")
    unit: Literal["L", "kg", "kWh"]
    cost: float | None = Field(None, description="in the money fuel_price is given in")


class Airing(Answer):
    """Outside air that solvent vapour asks for, from the first stroke until it is touch dry."""

    begins: datetime
    ends: datetime
    flow_m3_h: float
    air_changes_h: float = Field(description="the space's own leakage comes on top")
    known: bool = Field(description="False: sheet or job lack a figure, a usual one is taken")


class Outage(Answer):
    """What happens if the heater goes out in the night."""

    at: datetime = Field(description="02:00 by the boat's clock")
    breaks: Margin | None = Field(description="the limit that breaks first; None: none does")
    set_at: datetime | None = Field(description="when the milestone is reached without heat")
    said: Finding


class OneMoreCoat(Answer):
    """The plan with one more coat behind this one, heat held on in between."""

    start: datetime | None = Field(None, description="None: it cannot be done this way")
    hold_until: datetime | None = None
    more_h: float | None = Field(None, description="hours the heat is held on for longer")
    more: FuelUse | None = Field(None, description="what comes on top")
    said: Finding


class Missing(Answer):
    """What the heater lacks."""

    power_w: float | None = Field(None, description="power that would do, all of it")
    more_power_w: float | None = Field(None, description="that much more than there is")
    panel: str | None = Field(None, description="the coldest panel")
    foam_mm: float | None = Field(
        None, description="foam (0.034 W/mK) on that panel with which the heater would do"
    )
    outside: bool = Field(False, description="the foam lies outside: inside the coat goes on")
    u_value: float | None = Field(None, description="of the panel with it, W/m²K")


class Alternative(Answer):
    """Another way, ranked: what works comes first, of that the least energy."""

    kind: AlternativeKind
    works: bool
    said: Finding
    light_at: datetime | None = None
    start: datetime | None = None
    setpoint_c: float | None = None
    use: FuelUse | None = None


class HeatPlan(Answer):
    """What heat would open a start for a job, or why it cannot."""

    job: str
    where: str
    space: str = Field(description="the space it is in, or 'outdoors'")
    status: HeatStatus
    verdict: Finding = Field(description="what to do, or why nothing helps")
    purpose: HeatPurpose = Field(
        "begin",
        description="'begin': the step begins and sets in the warmth; 'harden': the films below it "
        "harden sooner, it begins afterwards",
    )
    setpoint_c: float | None = None
    reached_c: float | None = Field(
        None, description="what the air gets to while it is held, in half of the forecasts"
    )
    lowest_c: float | None = Field(
        None,
        description="the coldest air from the first stroke to the milestone, in half of the "
        "forecasts; well below setpoint_c the heater gives all it has, as while it is aired",
    )
    light_at: datetime | None = None
    latest_light_at: datetime | None = Field(
        None, description="last lighting that still works, while someone is aboard"
    )
    start: datetime | None = Field(None, description="first stroke, or the step begins")
    applied: datetime | None = Field(None, description="last stroke, or hands off")
    hold_until: datetime | None = None
    milestone: str | None = Field(
        None, description="reached by the film at hold_until, on the slow side"
    )
    ventilation: Ventilation | None = None
    air_changes_h: float | None = Field(None, description="before and after airing")
    airing: Airing | None = None
    use: FuelUse | None = None
    routine_kwh: float = Field(0.0, description="of that heat, what the usual routine gives anyway")
    peak_w: float | None = None
    power_w: float | None = Field(None, description="the heater's")
    tightest: Margin | None = None
    confidence: float | None = Field(None, ge=0, le=1)
    outage: Outage | None = Field(None, description="None: no night falls into it")
    one_more_coat: OneMoreCoat | None = None
    missing: Missing | None = None
    alternatives: list[Alternative] = Field(default_factory=list)
    cautions: list[Finding] = Field(default_factory=list)
    notes: list[Finding] = Field(default_factory=list)


class HeatPlans(Answer):
    """Heating plans of a boat."""

    boat: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    plans: list[HeatPlan]
    notes: list[Finding] = Field(default_factory=list)
