"""Laws of solvent vapour in a well-mixed space."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.physics import vapour
from tests.cases import cases

FEW = cases(60)
RATE = st.floats(0.01, 3.0)
LITRE = st.floats(0.1, 0.6)
LEL = st.floats(0.6, 8.0)
SHARE = st.floats(0.02, 1.0)


@FEW
@given(RATE, LITRE, LEL, SHARE, st.floats(3.0, 60.0))
def test_the_dilution_airflow_holds_the_share(rate, litre, lel, share, volume):
    """The rule's (100 - LEL)/share lets the box settle at share·100/(100 - LEL)."""
    flow = vapour.dilution_airflow(rate, litre, lel, share)
    times = np.linspace(0.0, 40.0 * volume / flow, 50)
    run = vapour.vapour_concentration(times, rate, litre, lel, volume, flow / volume)
    settled = share * 100.0 / (100.0 - lel)
    assert np.all(run <= settled * (1.0 + 1e-9))
    assert run[-1] == pytest.approx(settled, rel=1e-6)


@FEW
@given(RATE, LITRE, LEL, st.floats(3.0, 60.0), st.floats(0.1, 5.0))
def test_a_closed_space_keeps_it_all(rate, litre, lel, volume, hours):
    run = vapour.vapour_concentration([0.0, hours], rate, litre, lel, volume, 0.0)
    assert run[-1] == pytest.approx(rate * hours * litre / volume * 100.0 / lel)


@FEW
@given(RATE, st.floats(0.0, 20.0), st.integers(2, 30), st.floats(0.0, 2.0))
def test_finer_steps_change_nothing(rate, changes, parts, start):
    space = {"vapour_m3_per_l": 0.2, "lel_pct": 1.0, "volume_m3": 12.0}
    coarse = vapour.vapour_concentration(
        [0.0, 1.5], rate, **space, air_changes_h=changes, start_share=start
    )
    fine = vapour.vapour_concentration(
        np.linspace(0.0, 1.5, parts + 1), rate, **space, air_changes_h=changes, start_share=start
    )
    assert fine[-1] == pytest.approx(coarse[-1], rel=1e-9, abs=1e-12)


@FEW
@given(RATE, LITRE, LEL, SHARE)
def test_more_solvent_or_a_lower_share_asks_for_more_air(rate, litre, lel, share):
    flow = vapour.dilution_airflow(rate, litre, lel, share)
    assert vapour.dilution_airflow(2.0 * rate, litre, lel, share) == pytest.approx(2.0 * flow)
    assert vapour.dilution_airflow(rate, litre, lel, 0.5 * share) == pytest.approx(2.0 * flow)
    assert vapour.dilution_airflow(rate, litre, 0.5 * lel, share) > 2.0 * flow
    assert vapour.dilution_airflow(rate, litre, lel, share, 5.0) == pytest.approx(5.0 * flow)


def test_no_solvent_needs_no_air():
    assert vapour.dilution_airflow(0.0, 0.2, 1.0) == 0.0


def test_the_solvent_table_is_sane():
    for name, solvent in vapour.SOLVENTS.items():
        assert 0.1 < solvent.vapour_m3_per_l < 0.7, name
        assert 0.5 < solvent.lel_pct < 8.0, name
        assert solvent.source, name


def test_scalars_arrays_and_unknowns():
    assert type(vapour.dilution_airflow(1, 0.2, 1)) is float
    assert type(vapour.dilution_volume(0.2, 1.0)) is float
    assert vapour.dilution_airflow([0.5, 1.0], [[0.2], [0.3]], 1.0).shape == (2, 2)
    assert np.isnan(vapour.dilution_airflow(np.nan, 0.2, 1.0))
    run = vapour.vapour_concentration(
        np.arange(4.0), [[1.0] * 4, [1.0, np.nan, 1.0, 1.0]], 0.2, 1.0, 10.0, [3.0, 0.0, 3.0, 0.0]
    )
    assert run.shape == (2, 4)
    assert np.isfinite(run[0]).all()
    assert np.isnan(run[1, 2:]).all()
    unknown = vapour.vapour_concentration([0.0, 1.0], 1.0, 0.2, 1.0, 10.0, np.nan)
    assert np.isnan(unknown[1])


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: vapour.dilution_airflow(-1.0, 0.2, 1.0), "solvent evaporating is -1 l/h"),
        (lambda: vapour.dilution_airflow(1.0, 0.2, 0.0), "lower explosive limit is 0 %"),
        (lambda: vapour.dilution_airflow(1.0, 0.2, 1.0, 25.0), "share of the explosive limit is"),
        (lambda: vapour.dilution_airflow(1.0, 0.2, 1.0, 0.25, 0.5), "mixing factor is 0.5"),
        (
            lambda: vapour.vapour_concentration([1.0, 0.0], 1.0, 0.2, 1.0, 10.0, 1.0),
            "rising times",
        ),
        (
            lambda: vapour.vapour_concentration([0.0, 1.0], 1.0, 0.2, 1.0, 0.0, 1.0),
            "volume of the space is 0 m³",
        ),
    ],
)
def test_out_of_range_is_an_error_that_says_so(call, text):
    with pytest.raises(ValueError, match=text):
        call()
