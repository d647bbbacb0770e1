"""A door between two spaces: heat and water that go through it, against balances by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from cabin import LINED, NOW, boat, heating, saloon, weather

from curewindow.boat.schema import Boat, Door
from curewindow.conditions import Changed, boat_conditions
from curewindow.conditions import inputs as inputs_module
from tests.voiced import said

SIDE = {"name": "panelled side", "area": "10 m²", "sky": False, "layers": LINED}


def pair(door: dict[str, Any] | None, **changes: Any) -> Boat:
    """A heated saloon and a forepeak without a heater, all of it lined."""
    fore = {
        "name": "forepeak",
        "volume": "6 m³",
        "air_change": "0.5 /h",
        "interior_mass": "60 kJ/K",
        "panel": [SIDE],
    }
    spaces = [saloon(panel=[SIDE], heating=heating(), connected_to=["forepeak"], **changes), fore]
    doors = [] if door is None else [{"between": ["saloon", "forepeak"], **door}]
    return boat(spaces).model_copy(update={"door": [Door.model_validate(each) for each in doors]})


def by_hand(width_m: float, height_m: float, loss_w_k: float, one_c: float, beyond_c: float):
    """Temperature behind a doorway, by halving: what comes in by warmth is what is lost.

    Brown and Solvason (1962): q = 0.6/3 W sqrt(g H^3 dT / T) m3/s; air 1200 J/m3K (ISO 13789).
    """
    low, high = beyond_c, one_c
    for _ in range(60):
        at = (low + high) / 2.0
        kelvin = (one_c + at) / 2.0 + 273.15
        flow = 0.2 * width_m * np.sqrt(9.80665 * height_m**3 * (one_c - at) / kelvin)
        low, high = (
            (at, high)
            if 1200.0 * flow * (one_c - at) > loss_w_k * (at - beyond_c)
            else (
                low,
                at,
            )
        )
    return at


def test_the_cold_space_is_as_warm_as_what_comes_through_the_door() -> None:
    """Panelled side as in test_spaces (ISO 6946): 0.678 W/m²K on 10 m², and 3 m³/h of air: 7.8 W/K.

    Airflows stand for all within 15 %, which moves the answer by up to 0.2 K.
    """
    found = boat_conditions(pair({"open": True}), weather(0.0), (), NOW)
    expected = by_hand(0.6, 1.7, 6.78 + 3.0 * 1200.0 / 3600.0, 18.0, 0.0)
    assert found["saloon"].air_c[0, -1] == pytest.approx(18.0, abs=0.05)
    assert found["forepeak"].air_c[0, -1] == pytest.approx(expected, abs=0.25)
    assert expected > 15.0


def test_water_given_off_in_one_leaves_through_both() -> None:
    """60 g/h leave with 8 + 3 m³/h of air: p - p_out = 0.06 461.5 T / 11 Pa, at 290 K 730 Pa.

    Ideal gas; outside 0 °C, 85 %: 519 Pa (WMO-No. 8). 1249 Pa is a dew point of 10.2 °C.
    Nothing condenses: the lined sides are above 14 °C.
    """
    found = boat_conditions(pair({"open": True}), weather(0.0, days=8.0), (), NOW)
    for name in ("saloon", "forepeak"):
        assert found[name].dew_point_c[0, -1] == pytest.approx(10.2, abs=0.4)
        assert max(float(v.max()) for v in found[name].lying_kg_m2.values()) < 0.05


def test_a_narrower_door_warms_less() -> None:
    courses = [
        boat_conditions(pair(door), weather(0.0), (), NOW)["forepeak"].air_c[0, -1]
        for door in (None, {"open": True, "width": "0.1 m"}, {"open": True})
    ]
    assert courses[0] + 3.0 < courses[1] < courses[2] - 1.0


def test_a_shut_door_is_none() -> None:
    shut, none = (
        boat_conditions(pair(door), weather(), (), NOW)["forepeak"]
        for door in ({"open": False}, None)
    )
    np.testing.assert_array_equal(shut.air_c, none.air_c)
    np.testing.assert_array_equal(shut.dew_point_c, none.dew_point_c)
    assert "forepeak: door to saloon taken as shut" in said(shut.notes)


def test_open_from_a_moment_on() -> None:
    forecast = weather(0.0)
    mask = forecast.times > np.datetime64(NOW.replace(tzinfo=None), "s")
    change = Changed(doors={"forepeak": np.where(mask, 1.0, np.nan)})
    shut = boat_conditions(pair(None), forecast, (), NOW)["forepeak"]
    found = boat_conditions(pair(None), forecast, (), NOW, changed={"saloon": change})
    opened = found["forepeak"]
    np.testing.assert_allclose(opened.air_c[0, ~mask][:-1], shut.air_c[0, ~mask][:-1], atol=1e-6)
    assert opened.air_c[0, -1] > shut.air_c[0, -1] + 8.0
    assert "saloon: door to forepeak taken as open" in said(found["saloon"].notes)


def test_one_space_asked_for_counts_with_the_one_behind_the_door() -> None:
    described = pair({"open": True})
    all_of_it = boat_conditions(described, weather(0.0), (), NOW)
    one = boat_conditions(described, weather(0.0), (), NOW, only=["forepeak"])
    np.testing.assert_allclose(one["forepeak"].air_c, all_of_it["forepeak"].air_c, atol=0.2)
    assert set(one) == {"forepeak"}


def test_turns_and_runs_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []
    real = inputs_module.run_space

    def counted(*given: Any, **more: Any) -> Any:
        made.append(1)
        return real(*given, **more)

    monkeypatch.setattr(inputs_module, "run_space", counted)
    boat_conditions(pair({"open": True}), weather(), (), NOW)
    first = len(made)
    boat_conditions(pair({"open": True}), weather(), (), NOW)
    assert len(made) == first
    boat_conditions(pair({"open": True, "width": "0.7 m"}), weather(), (), NOW)
    assert len(made) > first


def test_several_members_go_each_their_own_way() -> None:
    forecast = weather(0.0, members=2)
    forecast.temp_c[1] -= 6.0
    found = boat_conditions(pair({"open": True}), forecast, (), NOW)["forepeak"]
    loss = 6.78 + 3.0 * 1200.0 / 3600.0
    for member, beyond_c in enumerate((0.0, -6.0)):
        expected = by_hand(0.6, 1.7, loss, 18.0, beyond_c)
        assert found.air_c[member, -1] == pytest.approx(expected, abs=0.3)
