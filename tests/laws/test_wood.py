"""Laws of moisture in wood."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.physics import wood
from tests.cases import cases

FEW = cases(50)
PERCENT = st.floats(3.0, 30.0)


@FEW
@given(st.floats(-40.0, 100.0), st.floats(0.0, 99.0), st.floats(0.05, 1.0))
def test_damper_air_makes_damper_wood(temp_c, rh_pct, more):
    low = wood.equilibrium_moisture(temp_c, rh_pct)
    assert 0.0 <= low < wood.equilibrium_moisture(temp_c, rh_pct + more) < 35.0


def test_dry_air_makes_dry_wood():
    assert wood.equilibrium_moisture(20.0, 0.0) == 0.0


def test_cold_never_makes_wood_seem_drier():
    temps = np.linspace(-40.0, 20.0, 121)
    moisture = wood.equilibrium_moisture(temps, 80.0)
    assert np.all(moisture > wood.equilibrium_moisture(25.0, 80.0))


@FEW
@given(PERCENT, st.lists(PERCENT, min_size=2, max_size=12), st.floats(0.003, 0.06))
def test_wood_stays_between_what_it_was_and_what_the_air_asks(start, emc, thickness):
    times = 12.0 * np.arange(len(emc))
    moisture = wood.moisture_over_time(times, emc, start, thickness)
    assert np.all(moisture <= max(start, *emc) + 1e-9)
    assert np.all(moisture >= min(start, *emc) - 1e-9)


@FEW
@given(PERCENT, PERCENT, PERCENT, st.integers(2, 40))
def test_finer_steps_change_nothing(start, first, last, parts):
    """Exact for straight lines: one step or forty end at the same moisture."""
    coarse = wood.moisture_over_time([0.0, 90.0], [first, last], start, 0.02, temp_c=8.0)
    fine = wood.moisture_over_time(
        np.linspace(0.0, 90.0, parts + 1),
        np.linspace(first, last, parts + 1),
        start,
        0.02,
        temp_c=8.0,
    )
    assert fine[-1] == pytest.approx(coarse[-1], abs=1e-9)


def test_small_steps_keep_their_digits():
    times = np.linspace(0.0, 1e-4, 101)
    moisture = wood.moisture_over_time(times, 10.0, 20.0, 0.05)
    rate = -10.0 / wood.response_time(0.05)
    assert moisture[-1] - 20.0 == pytest.approx(rate * 1e-4, rel=1e-4)


def test_thick_cold_and_one_sided_wood_is_slow():
    assert wood.response_time(0.04) == pytest.approx(4.0 * wood.response_time(0.02))
    assert wood.response_time(0.02, exposed_faces=1) == pytest.approx(wood.response_time(0.04))
    assert wood.response_time(0.02, 0.0) > 2.0 * wood.response_time(0.02, 20.0)


def test_members_side_by_side():
    times = np.arange(5.0)
    emc = np.array([[12.0] * 5, [18.0] * 5, [12.0, 12.0, np.nan, 12.0, 12.0]])
    out = wood.moisture_over_time(times, emc, [15.0, 15.0, 15.0], 0.01)
    assert out.shape == (3, 5)
    assert np.all(np.diff(out[0]) < 0.0)
    assert np.all(np.diff(out[1]) > 0.0)
    assert np.isfinite(out[2, :2]).all()
    assert np.isnan(out[2, 2:]).all()


def test_scalars_arrays_and_unknowns():
    assert type(wood.equilibrium_moisture(20, 65)) is float
    assert type(wood.response_time(0.02)) is float
    out = wood.equilibrium_moisture([[10.0], [np.nan]], [40.0, 60.0])
    assert out.shape == (2, 2)
    assert np.isfinite(out[0]).all()
    assert np.isnan(out[1]).all()


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: wood.equilibrium_moisture(20.0, 101.0), "relative humidity is 101 %"),
        (lambda: wood.equilibrium_moisture(200.0, 50.0), "temperature is 200 °C"),
        (lambda: wood.response_time(19.0), "thickness is 19 m"),
        (lambda: wood.response_time(0.02, exposed_faces=3), "must be 1 or 2"),
        (lambda: wood.response_time(0.02, diffusivity_20c_m2_s=0.0), "must be above 0"),
        (lambda: wood.moisture_over_time([0.0, 0.0], 10.0, 10.0, 0.02), "rising times"),
        (lambda: wood.moisture_over_time([0.0, 1.0], -1.0, 10.0, 0.02), "is -1 %"),
    ],
)
def test_out_of_range_is_an_error_that_says_so(call, text):
    with pytest.raises(ValueError, match=text):
        call()
