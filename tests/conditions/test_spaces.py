"""A cabin in winter: what every boat owner knows of it must come out.

Steady states against ISO 6946 and ISO 13788 worked by hand; the rest is common
practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from cabin import LINED, NOW, STEEL, at, boat, heating, saloon, weather

from curewindow.conditions import boat_conditions, space_conditions
from curewindow.record.entries import Reading
from tests.voiced import said


def _saloon(forecast, readings=(), now=NOW, **changes):
    described = boat([saloon(**changes)])
    return space_conditions(described, described.space[0], forecast, readings, now)


def test_steady_surface_of_a_bare_steel_side() -> None:
    """ISO 6946: Rsi 0.13, 4 mm of steel 0.00008, Rse 1/(4 + 4 v + hr) = 0.0407 at 4 m/s.

    f = 1 - 0.13/(0.13 + 0.0407 + 0.0001) = 0.239, so at 18 °C inside and -5 °C outside the
    side is at -5 + 0.239 * 23 = 0.5 °C. The wind counts in classes within 10 %.
    """
    conditions = _saloon(weather(-5.0), heating=heating())
    assert conditions.air_c[0, -1] == pytest.approx(18.0, abs=0.01)
    assert conditions.surface_c["locker side"][0, -1] == pytest.approx(0.5, abs=0.4)


def test_steady_surface_of_a_panelled_side() -> None:
    """The same with 9 mm plywood (0.0529) and 50 mm mineral wool (1.25 m²K/W):

    f = 1 - 0.13/1.474 = 0.912: -5 + 0.912 * 23 = 16.0 °C.
    """
    conditions = _saloon(weather(-5.0), heating=heating())
    assert conditions.surface_c["panelled side"][0, -1] == pytest.approx(16.0, abs=0.1)


def test_frosty_night_wets_a_bare_steel_side_in_a_damp_cabin() -> None:
    forecast = weather(lambda h: -2.0 - 5.0 * np.cos(2 * np.pi * h / 24 + np.pi))
    conditions = _saloon(forecast, heating=heating("12 °C"))
    night = at(forecast, 13.0)
    margin = conditions.surface_c["locker side"][0, night] - conditions.dew_point_c[0, night]
    assert margin < 1.0
    lined = conditions.surface_c["panelled side"][0, night] - conditions.dew_point_c[0, night]
    assert lined > 3.0


def test_heating_raises_the_surface_later_than_the_air() -> None:
    routine = [{"from": "00:00"}, {"from": "14:00", "setpoint": "18 °C"}]
    forecast = weather(2.0, step_min=10)
    conditions = _saloon(
        forecast,
        heating=heating(routine=routine),
        panel=[
            {
                "name": "deck",
                "area": "20 m²",
                "sky": False,
                "layers": [{"material": "plywood", "thickness": "25 mm"}],
            }
        ],
    )
    lit, soon, later = (at(forecast, hours) for hours in (2.0, 2.5, 9.0))

    def done(course: np.ndarray) -> float:
        """Share of the evening's rise that is there half an hour after lighting."""
        return float((course[0, soon] - course[0, lit]) / (course[0, later] - course[0, lit]))

    assert done(conditions.air_c) > 0.95
    assert done(conditions.surface_c["deck"]) < done(conditions.air_c) - 0.1
    assert done(conditions.mass_c) < done(conditions.air_c) - 0.3


def test_heater_off_leaves_the_setpoint_behind() -> None:
    """The routine's hours are kept, and the power is not passed."""
    routine = [{"from": "08:00", "setpoint": "18 °C"}, {"from": "18:00"}]
    forecast = weather(0.0)
    conditions = _saloon(forecast, heating=heating(routine=routine))
    assert conditions.air_c[0, at(forecast, 3.0)] == pytest.approx(18.0, abs=0.01)
    assert conditions.heat_w[0, at(forecast, 10.0)] == 0.0
    assert conditions.air_c[0, at(forecast, 18.0)] < 12.0
    assert np.nanmax(conditions.heat_w) <= 5000.0


def test_what_the_heater_is_taken_to_do_is_said() -> None:
    assert any(
        "by its routine" in note for note in said(_saloon(weather(), heating=heating()).notes)
    )
    off = _saloon(weather(), heating=heating(routine=[]))
    assert any("heater taken as off" in note for note in said(off.notes))


def test_a_flame_without_a_flue_wets_the_cabin() -> None:
    """Propane: about 0.13 kg of water a kWh (combustion chemistry)."""
    dry = _saloon(weather(0.0), heating=heating(kind="gas"))
    wet = _saloon(weather(0.0), heating=heating(kind="gas", vented=False))
    assert wet.dew_point_c[0, -1] > dry.dew_point_c[0, -1] + 2.0
    assert wet.air_c[0, -1] == pytest.approx(dry.air_c[0, -1], abs=0.01)


def test_setpoints_of_a_plan_replace_the_routine() -> None:
    described = boat([saloon(heating=heating())])
    forecast = weather(0.0)
    off = np.full(forecast.times.size, np.nan)
    conditions = space_conditions(described, described.space[0], forecast, (), NOW, setpoint_c=off)
    assert conditions.air_c[0, -1] < 6.0


def test_behind_a_bulkhead_of_a_heated_space_it_is_warmer() -> None:
    def fore(outside: str) -> dict[str, object]:
        panels = [
            {"name": "side", "area": "6 m²", "sky": False, "layers": LINED},
            {"name": "bulkhead", "area": "4 m²", "sky": False, "outside": outside, "layers": STEEL},
        ]
        return {"name": "forepeak", "volume": "6 m³", "panel": panels}

    beside = boat([fore("saloon"), saloon(heating=heating())])
    alone = boat([fore("air"), saloon(heating=heating())])
    forecast = weather(0.0)
    warm = boat_conditions(beside, forecast, (), NOW)["forepeak"]
    cold = boat_conditions(alone, forecast, (), NOW)["forepeak"]
    assert warm.air_c[0, -1] > cold.air_c[0, -1] + 3.0
    only = boat_conditions(beside, forecast, (), NOW, only=["forepeak"])
    np.testing.assert_allclose(only["forepeak"].air_c, warm.air_c)


def test_without_a_past_it_says_so_and_agrees_in_steady_weather() -> None:
    bare = _saloon(weather(0.0, past_days=0.0), heating=heating())
    known = _saloon(weather(0.0), heating=heating())
    assert any("little or no past weather" in note for note in said(bare.notes))
    assert not any("little or no past weather" in note for note in said(known.notes))
    assert bare.dew_point_c[0, -1] == pytest.approx(known.dew_point_c[0, -1], abs=0.2)
    assert bare.air_c[0, 0] == pytest.approx(18.0, abs=0.01)


def test_a_hole_in_the_weather_is_unknown_and_ends() -> None:
    forecast = weather(0.0)
    temp = forecast.temp_c.copy()
    hole = slice(at(forecast, -20.0), at(forecast, -18.0))
    temp[:, hole] = np.nan
    conditions = _saloon(replace(forecast, temp_c=temp))
    assert np.isnan(conditions.air_c[0, hole]).all()
    assert np.isfinite(conditions.air_c[0, at(forecast, -17.5) :]).all()
    assert any("holes" in note for note in said(conditions.notes))


def test_weather_without_sun_or_wind_is_said() -> None:
    forecast = weather(0.0)
    nothing = np.full_like(forecast.temp_c, np.nan)
    conditions = _saloon(replace(forecast, wind_ms=nothing, sun_w_m2=nothing))
    assert np.isfinite(conditions.air_c).all()
    assert any("wind" in note for note in said(conditions.notes))
    assert any("sun" in note for note in said(conditions.notes))


def test_unknown_water_is_estimated_and_said() -> None:
    bottom = {"name": "bottom", "area": "8 m²", "outside": "water", "layers": STEEL}
    described = boat([saloon(panel=[bottom])])
    conditions = space_conditions(described, described.space[0], weather(-6.0), (), NOW)
    assert any("water taken as 0 °C" in note for note in said(conditions.notes))
    assert conditions.surface_c["bottom"][0, -1] > -1.0
    measured = boat([saloon(panel=[bottom])], water_temp="7 °C")
    conditions = space_conditions(measured, measured.space[0], weather(-6.0), (), NOW)
    assert not any("water taken" in note for note in said(conditions.notes))


# --- readings ---------------------------------------------------------------


def _reading(hours: float, air_c: float, rh_pct: float = 70.0, **more) -> Reading:
    return Reading("saloon", NOW + timedelta(hours=hours), air_c, rh_pct, **more)


def test_the_course_runs_through_the_readings() -> None:
    forecast = weather(0.0, members=3)
    readings = [_reading(-4.0, 9.0), _reading(-2.0, 11.0, 60.0), _reading(0.0, 10.0, 65.0)]
    conditions = _saloon(forecast, readings)
    assert conditions.air_c[:, at(forecast, -2.0)] == pytest.approx(11.0, abs=1e-6)
    assert conditions.air_c[:, at(forecast, 0.0)] == pytest.approx(10.0, abs=1e-6)
    assert conditions.rh_pct[:, at(forecast, 0.0)] == pytest.approx(65.0, abs=1e-6)
    measured = conditions.measured
    assert measured[at(forecast, -4.0) : at(forecast, 0.0) + 1].all()
    assert not measured[at(forecast, 0.5) :].any()
    assert not measured[: at(forecast, -4.5) + 1].any()


def test_readings_far_apart_do_not_carry_the_hours_between() -> None:
    forecast = weather(0.0)
    conditions = _saloon(forecast, [_reading(-20.0, 9.0), _reading(0.0, 9.0)])
    assert not conditions.measured[at(forecast, -10.0)]
    assert conditions.measured[at(forecast, -20.0)]
    assert conditions.measured[at(forecast, 0.0)]


def test_what_the_model_missed_fades_and_sooner_to_the_good_side() -> None:
    forecast = weather(0.0)
    model = _saloon(forecast)
    now, later = at(forecast, 0.0), at(forecast, 6.0)
    warm = _saloon(forecast, [_reading(0.0, float(model.air_c[0, now]) + 6.0)])
    cold = _saloon(forecast, [_reading(0.0, float(model.air_c[0, now]) - 6.0)])
    up = warm.air_c[0, later] - model.air_c[0, later]
    down = model.air_c[0, later] - cold.air_c[0, later]
    assert up == pytest.approx(6.0 * np.exp(-6.0 / 3.0), abs=0.05)
    assert down == pytest.approx(6.0 * np.exp(-6.0 / 12.0), abs=0.05)


def test_a_bare_skin_follows_a_warmer_cabin_only_in_part() -> None:
    forecast = weather(0.0)
    model = _saloon(forecast)
    now = at(forecast, 0.0)
    warm = _saloon(forecast, [_reading(0.0, float(model.air_c[0, now]) + 8.0)])
    bare = (warm.surface_c["locker side"] - model.surface_c["locker side"])[0, now]
    lined = (warm.surface_c["panelled side"] - model.surface_c["panelled side"])[0, now]
    assert 1.0 < bare < 3.0  # ISO 13788: f about a quarter
    assert 6.5 < lined < 8.0


def test_a_surface_reading_draws_its_own_panel() -> None:
    forecast = weather(0.0)
    readings = [_reading(0.0, 8.0, surface_c=1.0, panel="locker side")]
    conditions = _saloon(forecast, readings)
    assert conditions.surface_c["locker side"][0, at(forecast, 0.0)] == pytest.approx(1.0, abs=1e-6)


def test_readings_after_the_moment_asked_about_do_not_count() -> None:
    forecast = weather(0.0)
    earlier = _saloon(forecast, [_reading(0.0, 9.0), _reading(3.0, 25.0)])
    alone = _saloon(forecast, [_reading(0.0, 9.0)])
    np.testing.assert_array_equal(earlier.air_c, alone.air_c)


def test_lead_time_grows_from_the_last_thing_known() -> None:
    forecast = replace(weather(0.0), issued_at=NOW - timedelta(hours=10))
    conditions = _saloon(forecast)
    assert conditions.lead_h[at(forecast, -12.0)] == 0.0
    assert conditions.lead_h[at(forecast, 0.0)] == pytest.approx(10.0)
    read = _saloon(forecast, [_reading(-1.0, 9.0)])
    assert read.lead_h[at(forecast, 0.0)] == pytest.approx(1.0)
    sparse = replace(forecast, gap_h=np.full(forecast.times.size, 6.0))
    assert _saloon(sparse).lead_h[at(forecast, 4.0)] == pytest.approx(19.0)


def test_dew_point_never_passes_the_air() -> None:
    forecast = weather(lambda h: 3.0 * np.sin(h / 5.0))
    conditions = _saloon(forecast, [_reading(-1.0, 4.0, 99.0)])
    assert (conditions.dew_point_c <= conditions.air_c + 1e-9).all()
    assert (conditions.rh_pct <= 100.0).all()


def test_a_reading_against_the_routine_does_not_cool_below_the_weather() -> None:
    """Read cold though the heater was due: at night nothing around it is below 4.5 °C."""
    routine = [{"from": "06:00", "setpoint": "18 °C"}, {"from": "22:00"}]
    forecast = weather(4.5)
    conditions = _saloon(forecast, [_reading(0.0, 6.0)], heating=heating(routine=routine))
    ahead = conditions.air_c[0, at(forecast, 0.0) :]
    assert ahead[0] == pytest.approx(6.0, abs=1e-6)
    assert ahead.min() >= 4.5 - 1e-9
    assert ahead[at(forecast, 2.0) - at(forecast, 0.0)] < 9.0  # not back to the routine at once


def test_a_warm_reading_does_not_add_to_a_heater_that_is_due() -> None:
    """Read warm before the heater is due: no warmer than either says."""
    routine = [{"from": "13:00", "setpoint": "18 °C"}]
    forecast = weather(2.0)
    conditions = _saloon(forecast, [_reading(0.0, 17.0)], heating=heating(routine=routine))
    assert conditions.air_c[0, at(forecast, 0.0) :].max() <= 18.0 + 1e-6


def test_a_reading_colder_than_the_forecast_is_believed() -> None:
    forecast = weather(4.5)
    conditions = _saloon(forecast, [_reading(0.0, 1.0)])
    assert conditions.air_c[0, at(forecast, 0.0)] == pytest.approx(1.0, abs=1e-6)
    assert conditions.air_c[0, at(forecast, 1.0)] < 2.0
