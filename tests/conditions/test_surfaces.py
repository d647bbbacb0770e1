"""Surfaces outdoors, joinery, spaces known by readings alone, bare wood.

Common practice, no source, unless one is named.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from cabin import NOW, at, boat, heating, job, saloon, weather

from curewindow.conditions import boat_conditions, surface_series
from curewindow.errors import NotFoundError
from curewindow.record.entries import Reading
from curewindow.sheets.schema import Sheet
from tests.voiced import said


def test_clear_night_cools_a_surface_below_the_air_and_dew_falls_first_on_it() -> None:
    clear = weather(4.0, 85.0, wind_ms=1.0, cloud_frac=0.0)
    series = surface_series(boat(), job(outdoors=True), None, clear, (), NOW)
    assert series.outdoors
    night = at(clear, 12.0)
    assert series.surface_c[0, night] < series.air_c[0, night] - 2.0
    assert series.surface_c[0, night] < series.dew_point_c[0, night]
    assert series.dew_point_c[0, night] < series.air_c[0, night]


def test_wind_and_cloud_keep_it_near_the_air() -> None:
    dull = weather(4.0, 85.0, wind_ms=10.0, cloud_frac=1.0)
    series = surface_series(boat(), job(outdoors=True), None, dull, (), NOW)
    assert series.surface_c == pytest.approx(series.air_c, abs=0.7)


def test_sun_warms_it() -> None:
    sunny = weather(8.0, sun_w_m2=400.0)
    series = surface_series(boat(), job(outdoors=True), None, sunny, (), NOW)
    assert series.surface_c[0, -1] > series.air_c[0, -1] + 2.0


def test_outdoors_is_named_and_carries_wind_rain_and_sun() -> None:
    forecast = weather()
    series = surface_series(boat(), job(substrate="gelcoat"), None, forecast, (), NOW)
    assert series.where == "outdoors, gelcoat"
    assert series.wind_ms is forecast.wind_ms
    assert series.rain_mm_h is forecast.rain_mm_h
    assert series.sun_w_m2 is forecast.sun_w_m2


def test_readings_outdoors_draw_the_weather() -> None:
    forecast = weather(4.0)
    reading = Reading("outdoors", NOW, 2.0, 95.0)
    series = surface_series(boat(), job(), None, forecast, [reading], NOW)
    assert series.air_c[0, at(forecast, 0.0)] == pytest.approx(2.0)
    assert series.measured[at(forecast, 0.0)]


def test_joinery_is_the_cooler_of_air_and_mass() -> None:
    forecast = weather(0.0, step_min=10)
    described = boat(
        [
            saloon(
                heating=heating(routine=[{"from": "14:00", "setpoint": "18 °C"}, {"from": "22:00"}])
            )
        ]
    )
    series = surface_series(described, job(space="saloon"), None, forecast, (), NOW)
    assert series.where == "saloon, joinery"
    warming = at(forecast, 2.5)
    assert series.surface_c[0, warming] < series.air_c[0, warming] - 1.0
    assert (series.surface_c <= series.air_c + 1e-9).all()


def test_a_panel_is_looked_up_by_its_name() -> None:
    forecast = weather(0.0)
    described = boat([saloon(heating=heating())])
    spaces = boat_conditions(described, forecast, (), NOW)
    series = surface_series(
        described, job(space="saloon", panel="locker side"), None, forecast, (), NOW, spaces=spaces
    )
    assert series.where == "saloon, locker side"
    assert series.surface_c is spaces["saloon"].surface_c["locker side"]
    with pytest.raises(NotFoundError, match="did you mean 'locker side'"):
        surface_series(described, job(space="saloon", panel="lockerside"), None, forecast, (), NOW)
    with pytest.raises(NotFoundError, match="no space 'salon'; did you mean 'saloon'"):
        surface_series(described, job(space="salon"), None, forecast, (), NOW)


# --- spaces known by readings alone -----------------------------------------

LOGGED = [{"name": "forepeak", "logged_only": True}]


def _forepeak(readings: list[Reading], forecast, panel: str | None = None):
    return surface_series(
        boat(LOGGED), job(space="forepeak", panel=panel), None, forecast, readings, NOW
    )


def test_logged_only_without_a_reading_is_unknown() -> None:
    series = _forepeak([], weather())
    assert np.isnan(series.air_c).all()
    assert np.isnan(series.surface_c).all()
    assert any("nothing is known without readings" in note for note in said(series.notes))


def test_logged_only_holds_the_last_reading_with_care() -> None:
    forecast = weather(2.0, 80.0)
    readings = [
        Reading("forepeak", NOW - timedelta(hours=2), 12.0, 60.0),
        Reading("forepeak", NOW, 14.0, 60.0),
    ]
    series = _forepeak(readings, forecast)
    now = at(forecast, 0.0)
    assert series.air_c[0, at(forecast, -1.0)] == pytest.approx(13.0)
    assert series.air_c[0, now] == pytest.approx(14.0)
    # Towards the colder of the day outside (2 °C) and the readings' mean.
    assert series.air_c[0, -1] == pytest.approx(2.0, abs=0.1)
    assert np.all(np.diff(series.air_c[0, now:]) <= 0.0)
    # The rest is damp: the humidity rises as the dew point does not fall with the air.
    assert series.rh_pct[0, -1] > 95.0
    assert series.lead_h[at(forecast, 10.0)] == pytest.approx(10.0)
    assert not series.measured[now + 1 :].any()
    assert np.isnan(series.air_c[0, : at(forecast, -2.5)]).all()
    assert any("readings alone" in note for note in said(series.notes))


def test_logged_only_lead_counts_from_the_reading_not_from_now() -> None:
    forecast = weather(2.0)
    series = _forepeak([Reading("forepeak", NOW - timedelta(hours=30), 8.0, 70.0)], forecast)
    assert series.lead_h[at(forecast, 0.0)] == pytest.approx(30.0)


def test_logged_only_old_readings_say_nothing() -> None:
    series = _forepeak(
        [Reading("forepeak", NOW - timedelta(days=4, hours=12), 8.0, 70.0)],
        weather(2.0, days=12.0),
    )
    assert np.isfinite(series.air_c[0, at(weather(2.0, days=12.0), 24.0)])
    assert np.isnan(series.air_c[0, -1])


def test_logged_only_surface_is_colder_than_the_air() -> None:
    forecast = weather(-3.0)
    series = _forepeak([Reading("forepeak", NOW, 10.0, 60.0)], forecast, "hull side")
    now = at(forecast, 0.0)
    # ISO 6946 resistances of a bare skin: 0.04/(0.13 + 0.04) = 0.24 of the way in.
    assert series.surface_c[0, now] == pytest.approx(-3.0 + 0.24 * 13.0, abs=0.1)
    assert any("surface never read" in note for note in said(series.notes))


def test_logged_only_surface_keeps_the_depth_it_was_read_at() -> None:
    forecast = weather(-3.0)
    reading = Reading("forepeak", NOW, 10.0, 60.0, surface_c=7.5, panel="hull side")
    series = _forepeak([reading], forecast, "hull side")
    assert (series.air_c - series.surface_c)[0, at(forecast, 6.0)] == pytest.approx(2.5)
    assert any("2.5 °C" in note for note in said(series.notes))


def test_logged_only_readings_days_apart_say_little_of_the_days_between() -> None:
    """16 °C on both days: nobody knows that it was heated in between, with 0 °C outside."""
    forecast = weather(0.0, past_days=12.0)
    readings = [Reading("forepeak", NOW - timedelta(days=d), 16.0, 60.0) for d in (10, 0)]
    series = _forepeak(readings, forecast)
    assert series.air_c[0, at(forecast, -120.0)] < 1.0
    assert series.air_c[0, at(forecast, -240.0)] == pytest.approx(16.0)
    assert series.air_c[0, at(forecast, 0.0)] == pytest.approx(16.0)
    assert not series.measured[at(forecast, -120.0)]


def test_logged_only_skin_read_on_a_mild_day_is_colder_in_frost() -> None:
    """11 °C outside and 12 °C inside tell nothing of a skin; at -3 °C outside it is a bare one."""
    forecast = weather(lambda h: np.where(h < -24.0, 11.0, -3.0))
    mild = Reading(
        "forepeak", NOW - timedelta(hours=48), 12.0, 70.0, surface_c=11.8, panel="hull side"
    )
    series = _forepeak([mild, Reading("forepeak", NOW, 12.0, 60.0)], forecast, "hull side")
    # ISO 6946 resistances of a bare skin: 0.24 of the way in.
    assert series.surface_c[0, at(forecast, 0.0)] == pytest.approx(-3.0 + 0.24 * 15.0, abs=0.1)


def test_logged_only_skin_read_in_the_cold_is_scaled_to_more_cold() -> None:
    """2 K of 10 K below the air (f_Rsi 0.8, ISO 13788) are 4 K of 20 K."""
    forecast = weather(lambda h: np.where(h < -24.0, 2.0, -8.0))
    then = NOW - timedelta(hours=48)
    cold = Reading("forepeak", then, 12.0, 50.0, surface_c=10.0, panel="hull side")
    series = _forepeak([cold, Reading("forepeak", NOW, 12.0, 50.0)], forecast, "hull side")
    assert series.surface_c[0, at(forecast, 0.0)] == pytest.approx(8.0, abs=0.1)


# --- bare wood ---------------------------------------------------------------


def test_wood_moisture_settles_where_the_handbook_has_it() -> None:
    """USDA Wood Handbook FPL-GTR-282, table 4-2: 21.1 °C and 65 % give 12.0 %."""
    forecast = weather(21.1, 65.0, past_days=40.0)
    series = surface_series(
        boat(), job(bare_wood=True, wood_thickness="5 mm"), None, forecast, (), NOW
    )
    assert series.wood_moisture_pct is not None
    # The surface under the sky is a little colder than the air, so a little damper.
    assert 12.0 <= series.wood_moisture_pct[0, -1] <= 13.5


def test_wood_goes_on_from_what_was_read() -> None:
    forecast = weather(18.0, 50.0)
    readings = [Reading("outdoors", NOW, wood_moisture_pct=22.0)]
    wood = job(bare_wood=True, wood_thickness="20 mm")
    series = surface_series(boat(), wood, None, forecast, readings, NOW)
    course = series.wood_moisture_pct
    assert course is not None
    assert course[0, at(forecast, 0.0)] == pytest.approx(22.0)
    assert np.all(np.diff(course[0, at(forecast, 0.0) :]) < 0.0)
    # Twenty millimetres take weeks: common practice, no source.
    assert course[0, at(forecast, 24.0)] > 20.0


def test_an_old_reading_of_wood_does_not_stand_still() -> None:
    """Ninety days in damp air: 6 mm of wood is in balance with it long before."""
    forecast = weather(8.0, 90.0, past_days=2.0)
    wood = job(space="saloon", bare_wood=True, wood_thickness="6 mm")
    old = Reading("saloon", NOW - timedelta(days=90), wood_moisture_pct=10.0)
    never = surface_series(boat(), wood, None, forecast, (), NOW)
    series = surface_series(boat(), wood, None, forecast, [old], NOW)
    assert series.wood_moisture_pct is not None
    assert never.wood_moisture_pct is not None
    now = at(forecast, 0.0)
    assert series.wood_moisture_pct[0, now] == pytest.approx(
        float(never.wood_moisture_pct[0, now]), abs=0.5
    )
    assert any("last read 90 d ago" in note for note in said(series.notes))


def test_wood_read_on_another_piece_says_nothing_of_this_one() -> None:
    forecast = weather(8.0, 90.0)
    readings = [Reading("saloon", NOW, wood_moisture_pct=9.0, panel="panelled side")]
    joinery = surface_series(
        boat(), job(space="saloon", bare_wood=True), None, forecast, readings, NOW
    )
    assert joinery.wood_moisture_pct is not None
    assert joinery.wood_moisture_pct[0, at(forecast, 0.0)] > 15.0
    assert any("never read" in note for note in said(joinery.notes))
    own = surface_series(
        boat(),
        job(space="saloon", panel="panelled side", bare_wood=True),
        None,
        forecast,
        readings,
        NOW,
    )
    assert own.wood_moisture_pct is not None
    assert own.wood_moisture_pct[0, at(forecast, 0.0)] == pytest.approx(9.0)


def test_wood_moisture_only_where_it_matters() -> None:
    def sheet(**limits: object) -> Sheet:
        return Sheet.model_validate(
            {
                "name": "x",
                "kind": "varnish",
                "chemistry": "oxidation",
                "basis": "typical of the kind",
                "applying": limits,
                "setting": {},
                "cure": {"temps": ["20 °C"]},
            }
        )

    forecast = weather()
    limited = sheet(wood_moisture={"max": "16 %"})
    assert surface_series(boat(), job(), limited, forecast, (), NOW).wood_moisture_pct is None
    wood = job(bare_wood=True)
    assert surface_series(boat(), wood, sheet(), forecast, (), NOW).wood_moisture_pct is None
    assert surface_series(boat(), wood, limited, forecast, (), NOW).wood_moisture_pct is not None
