"""What may not be heated over, what a heater lacks, and what fuel it takes."""

from __future__ import annotations

from typing import Any

import pytest
from cold_boat import SOLVENT, WORDS, boat, heater, job, made, sheet, weather

from curewindow.boat.schema import Boat, Heating
from curewindow.heating import HeatPlan
from curewindow.heating.compose import look_closer, plan_heating
from curewindow.heating.fuel import fuel_use, kwh_per_unit, least_power_w
from curewindow.heating.search import ROUGH, search
from curewindow.voice import full
from curewindow.voice.cautions import topic


def plan_for(on: Boat, forecast: Any, *args: Any, **changes: Any) -> HeatPlan:
    other_ways = changes.pop("other_ways", False)
    space, task, room = made(on, forecast, *args, **changes)
    found = plan_heating(on, space, task, room)
    return look_closer(task, room, found, other_ways=other_ways)


@pytest.mark.parametrize(
    "danger",
    [
        {"open_flame": True},
        {"kind": "gas", "vented": False},
        {"kind": "paraffin", "vented": False},
        {"kind": "electric", "open_flame": True},
    ],
    ids=["pilot light", "gas without flue", "paraffin without flue", "glowing element"],
)
@pytest.mark.parametrize("where", ["here", "next door"])
def test_no_flame_or_spark_over_solvent(danger: dict[str, Any], where: str) -> None:
    """Common practice of the trade and of every safety data sheet of a flammable product."""
    on = boat(heater(**danger) if where == "here" else heater())
    if where == "next door":
        other = on.space[0].model_copy(
            update={
                "name": "galley",
                "connected_to": ["cabin"],
                "heating": Heating.model_validate(heater(**danger)),
            }
        )
        on = on.model_copy(update={"space": [*on.space, other]})
    plan = plan_for(on, weather(), sheet(**SOLVENT))
    assert plan.status == "refused"
    assert plan.setpoint_c is None
    assert plan.light_at is None
    assert plan.use is None
    assert "usual instead" in full(plan.verdict, WORDS)
    assert not plan.alternatives


def test_the_same_flame_over_a_product_without_solvent_is_warned_of() -> None:
    cure = {"temps": ["10 °C", "20 °C"], "touch_dry": ["1 h", "30 min"], "handling": ["2 h", "1 h"]}
    on = boat(heater(kind="gas", vented=False, open_flame=True))
    plan = plan_for(on, weather(), sheet(cure=cure))
    assert plan.status != "refused"
    assert "carbon monoxide" in {topic(each) for each in plan.cautions}


def test_cautions_come_with_every_plan() -> None:
    hazards = {"hazards": [*SOLVENT["hazards"], "isocyanate"]}
    on = boat(heater(), slept_in=True)
    plan = plan_for(on, weather(), sheet(**(SOLVENT | hazards)), job=job(area="1 m²"))
    topics = {topic(each) for each in plan.cautions}
    assert {"fire", "vapour", "isocyanate", "sleeping", "carbon monoxide"} <= topics


def test_heating_with_nobody_there_is_warned_of() -> None:
    slow = {
        "cure": {
            "temps": ["10 °C", "20 °C"],
            "touch_dry": ["9 h", "6 h"],
            "handling": ["30 h", "20 h"],
        }
    }
    plan = plan_for(boat(heater()), weather(), sheet(**slow))
    assert plan.status == "possible"
    assert "unattended heating" in {topic(each) for each in plan.cautions}


def test_vapour_asks_for_heat() -> None:
    """Air drawn through for the vapour has to be warmed: the same coat takes more."""
    still = plan_for(boat(heater()), weather(), job=job(area="1 m²"))
    aired = plan_for(boat(heater()), weather(), sheet(**SOLVENT), job=job(area="1 m²"))
    assert aired.airing is not None
    assert aired.use.energy_kwh > still.use.energy_kwh


def test_without_a_heater_it_says_which_would_do() -> None:
    on = boat()
    space, task, room = made(on, weather())
    found = plan_heating(on, space, task, room)
    plan = look_closer(task, room, found, other_ways=False)
    assert plan.status == "cannot"
    power = plan.missing.power_w
    assert power > 0.0
    assert f"{power:.0f} W" in full(plan.verdict, WORDS)
    assert search(task, room, power_w=power, effort=ROUGH) is not None
    assert search(task, room, power_w=0.8 * power, effort=ROUGH) is None


def test_a_weak_heater_lacks_power_or_foam() -> None:
    on = boat(heater(kind="electric", power="250 W"))
    plan = plan_for(on, weather(temp_c=-2.0, dew_point_c=-4.0), other_ways=True)
    assert plan.status == "cannot"
    assert plan.missing.panel == "locker side"
    assert plan.missing.more_power_w == pytest.approx(plan.missing.power_w - 250.0)
    ranked = [way.works for way in plan.alternatives]
    assert ranked == sorted(ranked, reverse=True)
    assert "more power" in {way.kind for way in plan.alternatives}


def test_a_milder_day_ahead_is_told() -> None:
    """Ten degrees warmer from the fifth day on."""
    on = boat(heater(kind="electric", power="250 W"))

    def temp(hours: Any) -> Any:
        return -3.0 + 10.0 * (hours > 100.0)

    plan = plan_for(on, weather(temp, dew_point_c=-4.0, days=12.0), other_ways=True)
    assert plan.status == "cannot"
    later = next(way for way in plan.alternatives if way.kind == "later start")
    assert later.works
    assert (later.start - task_now()).total_seconds() / 3600.0 > 96.0


def task_now() -> Any:
    from cold_boat import NOW

    return NOW


# Net calorific values by volume and mass: Directive (EU) 2018/2001 (RED II), annex III,
# from memory: diesel 43 MJ/kg, 36 MJ/L; LPG 46 MJ/kg, 24 MJ/L.
@pytest.mark.parametrize(
    ("kind", "mj", "unit"), [("diesel", 36.0, "L"), ("gas", 46.0, "kg")], ids=["diesel", "LPG"]
)
def test_fuel_for_heat(kind: str, mj: float, unit: str) -> None:
    described = Heating.model_validate(heater(kind=kind, efficiency="80 %", fuel_price=2.0))
    use = fuel_use(10.0, described)
    assert use.unit == unit
    assert use.amount == pytest.approx(10.0 / (0.8 * mj / 3.6), rel=0.02)
    assert use.cost == pytest.approx(2.0 * use.amount, abs=0.01)


def test_defaults_of_a_heater() -> None:
    diesel = Heating.model_validate(heater())
    assert least_power_w(diesel) == pytest.approx(750.0)
    assert fuel_use(1.0, diesel).cost is None
    open_burning = Heating.model_validate(heater(kind="gas", vented=False))
    assert kwh_per_unit(open_burning) == pytest.approx(46.0 / 3.6, rel=0.02)
    electric = Heating.model_validate(heater(kind="electric", fuel_price=0.3))
    assert fuel_use(2.0, electric).amount == 2.0
    assert fuel_use(2.0, electric).cost == 0.6
    assert fuel_use(2.0, None).unit == "kWh"
