"""Heaters, charges and dehumidifiers as described: figures by hand and from outside."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from cabin import LINED, NOW, boat, heating, saloon, weather

from curewindow.boat.schema import Heating
from curewindow.conditions import space_conditions
from curewindow.conditions.routine import charges_w, setpoints_c
from curewindow.physics.air import saturation_pressure
from tests.voiced import said

DRY = [{"name": "panelled side", "area": "20 m²", "sky": False, "layers": LINED}]


def conditions(forecast: Any, **changes: Any) -> Any:
    described = boat([saloon(**changes)])
    return space_conditions(described, described.space[0], forecast, (), NOW)


def test_water_of_a_gas_flame() -> None:
    """Propane and butane half and half: 1.634 and 1.550 kg of water a kg at 46.33 and 45.72 MJ/kg
    (chemistry; ISO 6976): 0.1245 kg/kWh. At 20 m³ and 3 changes an hour the vapour stands
    above outside by w R T / 60 m³/h."""
    found = conditions(
        weather(0.0, days=8.0),
        panel=DRY,
        air_change="3 /h",
        moisture="0 g/h",
        heating=heating(kind="gas", vented=False),
    )
    water = 0.1245 * found.heat_w[0, -2] / 1000.0
    vapour = 0.85 * 611.2 + water * 461.5 * (18.0 + 273.15) / 60.0
    assert saturation_pressure(found.dew_point_c[0, -1]) == pytest.approx(vapour, rel=0.02)
    assert water > 0.05


def test_a_flue_takes_the_water_out() -> None:
    wet, dry = (
        conditions(weather(0.0), heating=heating(kind="paraffin", vented=vented))
        for vented in (False, True)
    )
    assert wet.dew_point_c[0, -1] > dry.dew_point_c[0, -1] + 1.0


def test_a_heater_that_cannot_go_low_goes_on_and_off() -> None:
    """Needed on the mean: well below the 3 kW it burns at least."""
    forecast = weather(0.0, step_min=10)
    cycles = conditions(forecast, heating=heating(min_power="3 kW", swing="3 K"))
    even = conditions(forecast, heating=heating())
    heat = cycles.heat_w[0, :-1]
    # Nothing, or at least so much once it is warm (the first steps are below it).
    assert ((heat == 0.0) | (heat >= 500.0)).all()
    assert (heat == 0.0).any()
    assert np.ptp(cycles.air_c[0, -144:]) > 2.0
    assert np.ptp(even.air_c[0, -144:]) < 0.1
    assert heat[-144:].mean() == pytest.approx(even.heat_w[0, -145:-1].mean(), rel=0.15)


def test_a_charge_of_wood_gives_its_heat_and_no_more() -> None:
    """Air-dry wood: 0.8 18.9 - 0.2 2.443 = 14.6 MJ/kg (EN ISO 18125), 65 % of it stays: 3 kg give
    7.93 kWh."""
    stove = Heating.model_validate(
        {
            "kind": "solid fuel",
            "power": "4 kW",
            "vented": True,
            "open_flame": True,
            "days": ["Wed", "Fri"],
            "routine": [{"from": "07:10:00", "charge": "3 kg"}],
        }
    )
    # From Friday noon, 10 January 2025, to Saturday the 18th.
    forecast = weather(0.0, step_min=30, days=3.0)
    given = charges_w(stove, boat(), forecast.times)
    assert given.sum() * 0.5 / 1000.0 == pytest.approx(2 * 7.93, rel=0.01)  # Wednesday, Friday
    lit = forecast.times[np.flatnonzero(given > 0.0)[0]]
    assert str(lit) == "2025-01-15T07:00:00"  # the step in which it is lit
    assert np.isnan(setpoints_c(stove, boat(), forecast.times)).all()


def test_a_charge_warms_and_dies_down() -> None:
    routine = [{"from": "07:00:00", "charge": "4 kg"}]
    found = conditions(weather(0.0), heating=heating(kind="solid fuel", routine=routine))
    cold = conditions(weather(0.0))
    warmer = found.air_c[0] - cold.air_c[0]
    assert warmer.max() > 5.0
    assert warmer[-145:].min() < 0.35 * warmer[-145:].max()


def drier(**more: Any) -> dict[str, Any]:
    return {"kind": "desiccant", "rated": "8 L/d", **more}


def test_a_dehumidifier_holds_what_it_is_set_to() -> None:
    found = conditions(
        weather(4.0), panel=DRY, heating=heating("15 °C"), dehumidifier=drier(humidity="45 %")
    )
    damp = conditions(weather(4.0), panel=DRY, heating=heating("15 °C"))
    assert found.rh_pct[0, -48:] == pytest.approx(45.0, abs=0.5)
    assert damp.rh_pct[0, -1] > 60.0


def test_one_that_is_off_is_none() -> None:
    off = conditions(weather(4.0), dehumidifier=drier(running=False))
    none = conditions(weather(4.0))
    np.testing.assert_array_equal(off.dew_point_c, none.dew_point_c)
    assert "saloon: dehumidifier taken as off" in said(off.notes)


def test_in_the_cold_only_a_desiccant_one_works() -> None:
    """A condensing one's coil ices up: nothing below 5 °C (makers' manuals)."""
    at = weather(1.0)
    none = conditions(at)
    ices = conditions(at, dehumidifier=drier(kind="condensing", rated="20 L/d"))
    soaks = conditions(at, dehumidifier=drier())
    assert ices.dew_point_c[0, -1] == pytest.approx(none.dew_point_c[0, -1], abs=0.3)
    assert soaks.dew_point_c[0, -1] < none.dew_point_c[0, -1] - 3.0


def test_frost_lies_on_the_locker_side_and_thaws() -> None:
    """Two nights of frost, then 6 °C: frost on bare steel, none on the panelled side.

    What gathers in a cold hour: the Lewis relation (Incropera and DeWitt) with 2.59 W/m²K,
    2.59 / (1.247 1006 461.5 283 0.897) kg/(m² s Pa), over ice (WMO-No. 8).
    """
    forecast = weather(lambda h: np.where(np.abs(h + 24.0) < 24.0, -8.0, 6.0))
    found = conditions(forecast, panel=saloon()["panel"], heating=heating("8 °C"))
    frost = found.frost_kg_m2["locker side"][0]
    assert frost.max() > 0.02
    assert found.frost_kg_m2["panelled side"][0].max() == 0.0
    assert frost[-1] == 0.0
    lying = found.lying_kg_m2["locker side"][0]
    assert (frost <= lying + 1e-12).all()
    # Two hours well within the cold, all of it frost.
    begin = int(np.searchsorted(forecast.times, np.datetime64("2025-01-14T12:00:00")))
    span = slice(begin, begin + 5)
    beta = 2.59 / (1.247 * 1006.0 * 461.5 * 283.15 * 0.85 ** (2 / 3))
    over = saturation_pressure(found.dew_point_c[0, span]) - saturation_pressure(
        np.minimum(found.surface_c["locker side"][0, span], 0.0), "ice"
    )
    gathered = beta * 7200.0 * float(over[1:].mean())
    assert lying[begin + 4] - lying[begin] == pytest.approx(gathered, rel=0.1)
    assert found.surface_c["locker side"][0, begin] < 0.0


def test_members_tell_frost_by_the_cold() -> None:
    forecast = weather(-6.0, members=3)
    found = conditions(forecast, heating=heating("8 °C"))
    bare = found.surface_c["locker side"]
    frost, lying = found.frost_kg_m2["locker side"], found.lying_kg_m2["locker side"]
    np.testing.assert_array_equal(frost, np.where(bare < 0.0, lying, 0.0))
    assert frost.max() > 0.01
