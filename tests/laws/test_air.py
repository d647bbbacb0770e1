"""Laws of moist air: order, round trips, unknowns, ranges, shapes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.physics import air
from tests.cases import cases

TEMPS = st.floats(-45.0, 60.0)
HUMIDITY = st.floats(1.0, 100.0)
FEW = cases(60)


@FEW
@given(TEMPS, HUMIDITY)
def test_dew_wet_bulb_and_air_stand_in_order(temp_c, rh_pct):
    dew = air.dew_point(temp_c, rh_pct)
    assert dew <= temp_c + 1e-9
    if temp_c >= -40.0:
        bulb = air.wet_bulb(temp_c, rh_pct)
        assert dew - 0.01 <= bulb <= temp_c + 1e-6


@FEW
@given(TEMPS, HUMIDITY)
def test_there_and_back(temp_c, rh_pct):
    dew = air.dew_point(temp_c, rh_pct)
    assert air.relative_humidity(temp_c, dew) == pytest.approx(rh_pct, rel=1e-9)
    pressure = air.vapour_pressure(temp_c, rh_pct)
    assert air.dew_point_from_pressure(pressure) == pytest.approx(dew, abs=1e-8)
    assert air.relative_humidity_from_pressure(temp_c, pressure) == pytest.approx(rh_pct)
    assert air.saturation_pressure(dew) == pytest.approx(pressure, rel=1e-9)


@FEW
@given(TEMPS, HUMIDITY)
def test_deficit_and_vapour_make_saturation(temp_c, rh_pct):
    both = air.vapour_pressure(temp_c, rh_pct) + air.vapour_pressure_deficit(temp_c, rh_pct)
    assert both == pytest.approx(air.saturation_pressure(temp_c))


@FEW
@given(st.floats(-40.0, 5.0), HUMIDITY)
def test_frost_comes_before_dew_below_freezing(temp_c, rh_pct):
    dew, frost = air.dew_point(temp_c, rh_pct), air.frost_point(temp_c, rh_pct)
    if dew > 1e-6:
        assert np.isnan(frost)
    elif dew < -1e-6:
        assert dew < frost < 1e-6
        assert air.saturation_pressure(frost, over="ice") == pytest.approx(
            air.vapour_pressure(temp_c, rh_pct), rel=1e-9
        )


@FEW
@given(TEMPS, st.floats(1.0, 98.0), st.floats(0.1, 2.0))
def test_more_vapour_raises_everything(temp_c, rh_pct, more):
    assert air.dew_point(temp_c, rh_pct + more) > air.dew_point(temp_c, rh_pct)
    assert air.vapour_density(temp_c, rh_pct + more) > air.vapour_density(temp_c, rh_pct)
    if temp_c >= -40.0:
        assert air.wet_bulb(temp_c, rh_pct + more) > air.wet_bulb(temp_c, rh_pct)


def test_saturated_air_is_at_all_its_points():
    temps = np.linspace(-40.0, 60.0, 301)
    np.testing.assert_allclose(air.dew_point(temps, 100.0), temps, rtol=0.0, atol=1e-9)
    np.testing.assert_allclose(air.wet_bulb(temps, 100.0), temps, rtol=0.0, atol=1e-6)


def test_the_wet_bulb_settles_over_the_whole_domain():
    temps, humidity, pressure = np.meshgrid(
        np.linspace(-40.0, 60.0, 41), np.linspace(0.0, 100.0, 21), [5e4, 101325.0, 1.1e5]
    )
    assert np.all(np.isfinite(air.wet_bulb(temps, humidity, pressure)))


def test_scalars_give_floats_and_arrays_broadcast():
    assert type(air.dew_point(20, 50)) is float
    assert type(air.dew_point(np.float64(20.0), 50.0)) is float
    assert type(air.wet_bulb(20, 50)) is float
    assert type(air.saturation_pressure(np.array(20.0))) is float
    out = air.dew_point(np.array([[10.0], [20.0]]), [40.0, 50.0, 60.0])
    assert isinstance(out, np.ndarray)
    assert out.shape == (2, 3)
    assert out.dtype == np.float64
    assert air.wet_bulb([10.0, 20.0], 50.0).shape == (2,)
    assert air.dew_point(np.empty((0, 4)), 50.0).shape == (0, 4)


def test_what_comes_in_is_left_alone():
    temps, humidity = np.array([10.0, 20.0]), np.array([50.0, 60.0])
    for function in (air.dew_point, air.frost_point, air.wet_bulb, air.vapour_density):
        function(temps, humidity)
    assert temps.tolist() == [10.0, 20.0]
    assert humidity.tolist() == [50.0, 60.0]


@pytest.mark.parametrize(
    "function",
    [
        air.dew_point,
        air.frost_point,
        air.wet_bulb,
        air.vapour_pressure,
        air.vapour_pressure_deficit,
        air.vapour_density,
        air.relative_humidity,
        air.relative_humidity_from_pressure,
    ],
)
def test_unknown_stays_unknown(function):
    assert np.isnan(function(np.nan, 50.0))
    assert np.isnan(function(20.0, np.nan))
    out = function([np.nan, -5.0], [50.0, 50.0])
    assert np.isnan(out[0])
    assert np.isfinite(out[1])


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: air.dew_point(20.0, 100.1), "relative humidity is 100.1 %"),
        (lambda: air.dew_point([20.0, np.nan], -3.0), "relative humidity is -3 %"),
        (lambda: air.dew_point(20.0, 0.0), "no dew point"),
        (lambda: air.dew_point(293.15, 50.0), "temperature is 293.15 °C; it must lie in -100"),
        (lambda: air.frost_point(-200.0, 50.0), "temperature is -200 °C"),
        (lambda: air.dew_point_from_pressure(0.0), "no dew point"),
        (lambda: air.dew_point_from_pressure(-1.0), "vapour pressure is -1 Pa"),
        (lambda: air.saturation_pressure(5.0, over="ice"), "temperature is 5 °C"),
        (lambda: air.saturation_pressure(5.0, over="steam"), "must be 'water' or 'ice'"),
        (lambda: air.wet_bulb(20.0, 50.0, 1013.25), "air pressure is 1013.25 Pa"),
        (lambda: air.wet_bulb(70.0, 50.0), "temperature is 70 °C"),
    ],
)
def test_out_of_range_is_an_error_that_says_so(call, text):
    with pytest.raises(ValueError, match=text):
        call()
