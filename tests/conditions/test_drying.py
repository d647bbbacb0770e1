"""Water of coats that dry: how much, how soon, and where it goes."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from cabin import LINED, NOW, boat, heating, saloon, weather

from curewindow.boat.amount import water_g_l
from curewindow.boat.schema import Work
from curewindow.conditions import DryingCoat, boat_conditions, drying_coats
from curewindow.conditions.drying import given_off_kg_h
from curewindow.physics.air import saturation_pressure
from curewindow.record.entries import Coat, Reading
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import get_sheet

VARNISH, SOLVENT = "waterborne-acrylic-varnish", "one-part-urethane-varnish"


def sheet_of(stem: str) -> Sheet:
    return get_sheet(stem, None).sheet


def work(**job: Any) -> Work:
    made = {
        "name": "table",
        "space": "saloon",
        "area": "1.4 m²",
        "step": [{"do": "coat", "sheet": VARNISH, "coats": 4}],
        **job,
    }
    return Work.model_validate({"job": [made]})


def coat(hours: float = -2.0, **more: Any) -> Coat:
    start = NOW + timedelta(hours=hours)
    made: dict[str, Any] = {"job": "table", "step": 1, "coat": 1, "sheet": VARNISH, **more}
    return Coat(start=start, end=start + timedelta(minutes=30), **made)


def test_as_much_as_the_sheet_says() -> None:
    """1.4 m² at 9.5 m²/L are 0.147 L, at 580 g/L 85.5 g, by hand."""
    (drying,) = drying_coats(work(), [coat()], sheet_of, (), NOW)["saloon"]
    assert drying.water_kg == pytest.approx(0.0855, abs=1e-4)
    (half,) = drying_coats(work(), [coat(area_m2=0.7)], sheet_of, (), NOW)["saloon"]
    assert half.water_kg == pytest.approx(0.0427, abs=1e-4)


def test_water_that_no_sheet_says_is_what_is_left() -> None:
    """34 % solids, 80 g/L solvent: 1000 - 340 - 80 g; a solvent varnish gives off none."""
    told = sheet_of(VARNISH)
    amounts = told.amounts.model_copy(update={"water": None})
    assert water_g_l(told.model_copy(update={"amounts": amounts})) == pytest.approx(580.0)
    assert water_g_l(sheet_of(SOLVENT)) == 0.0
    assert drying_coats(work(), [coat(sheet=SOLVENT)], sheet_of, (), NOW) == {}


@pytest.mark.parametrize(
    ("job", "hours"),
    [({"space": None, "outdoors": True}, -2.0), ({}, -24.0 * 11), ({}, 1.0), ({"name": "x"}, -1.0)],
)
def test_nothing_of_coats_outdoors_long_ago_or_of_no_job(job: dict[str, Any], hours: float) -> None:
    assert drying_coats(work(**job), [coat(hours)], sheet_of, (), NOW) == {}


def test_all_of_it_leaves_and_most_by_touch_dry() -> None:
    """Touch dry at 10 °C: 1.5 h on the sheet. Put on in a moment, 95 % is gone by then."""
    cold = [Reading("saloon", NOW, air_c=10.0)]
    (drying,) = drying_coats(work(), [coat()], sheet_of, cold, NOW)["saloon"]
    assert drying.touch_dry_h == pytest.approx(1.5)
    times = np.datetime64("2025-01-15T09:00:00") + np.arange(600) * np.timedelta64(600, "s")
    rate = given_off_kg_h([drying], times)
    assert rate.sum() / 6.0 == pytest.approx(drying.water_kg, rel=1e-9)
    assert (rate >= 0.0).all()
    at_once = DryingCoat(NOW, NOW, 1.0, 1.5)
    later = given_off_kg_h([at_once], times)
    begin = int(np.searchsorted(times, np.datetime64("2025-01-15T12:00:00")))
    assert not later[:begin].any()
    assert later[begin : begin + 9].sum() / 6.0 == pytest.approx(0.95, abs=0.015)


def test_two_coats_give_off_what_each_does() -> None:
    times = np.datetime64("2025-01-15T09:00:00") + np.arange(200) * np.timedelta64(600, "s")
    one, other = DryingCoat(NOW, NOW, 0.2, 2.0), DryingCoat(NOW + timedelta(hours=3), NOW, 0.1, 1.0)
    both = given_off_kg_h([one, other], times)
    alone = given_off_kg_h([one], times) + given_off_kg_h([other], times)
    np.testing.assert_allclose(both, alone, atol=1e-15)


def test_the_space_gets_it_and_airs_it_out() -> None:
    """Half a kilo in 20 m³ at 0.4 changes an hour: what is aired out above the dry run, 8 m³/h
    of (p - p') / R T, is the half kilo (mass balance; nothing condenses on the lined sides)."""
    lined = [{"name": "panelled side", "area": "20 m²", "sky": False, "layers": LINED}]
    described = boat([saloon(panel=lined, heating=heating())])
    forecast = weather(0.0, days=12.0)
    wet = {"saloon": [DryingCoat(NOW, NOW + timedelta(hours=1), 0.5, 2.0)]}
    plain = boat_conditions(described, forecast, (), NOW)["saloon"]
    damp = boat_conditions(described, forecast, (), NOW, drying=wet)["saloon"]
    more = saturation_pressure(damp.dew_point_c[0]) - saturation_pressure(plain.dew_point_c[0])
    assert more.max() > 100.0
    aired = 8.0 * (more / (461.5 * (plain.air_c[0] + 273.15))).sum() * 0.5
    assert aired == pytest.approx(0.5, rel=0.03)
    np.testing.assert_allclose(damp.air_c, plain.air_c, atol=0.02)
