"""The correction of stated confidence: held back where little is known, never bold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.calibration.fit import LEAST_DAYS, RAISES_FROM_DAYS, fit_trust
from curewindow.trust import Trust
from tests.cases import cases


def drawn(seed: int, days: int, a_day: int, true: float, slope: float = 1.0):
    """Chances told, and outcomes whose log odds are slope times those told, plus `true`."""
    rng = np.random.default_rng(seed)
    day = np.repeat(np.arange(days), a_day)
    told = rng.uniform(0.5, 0.97, day.size)
    odds = true + slope * np.log(told / (1.0 - told))
    came = rng.random(day.size) < 1.0 / (1.0 + np.exp(-odds))
    return told, came, np.full(day.size, 24.0), day.astype(float)


def test_too_few_days_are_no_ground() -> None:
    assert fit_trust(*drawn(1, LEAST_DAYS - 1, 20, -2.0)) is None
    nothing = np.array([])
    assert fit_trust(nothing, nothing.astype(bool), nothing, nothing) is None


def test_what_is_right_is_mostly_left_alone() -> None:
    changed = [fit_trust(*drawn(seed, 60, 3, 0.0)) is not None for seed in range(60)]
    assert sum(changed) <= 6


def test_what_is_too_high_is_found_and_lowered() -> None:
    """Odds a third of those told, e^-1.1: 90 % told is 75 % true, by 1 / (1 + e^1.1 / 9)."""
    found = [fit_trust(*drawn(seed, 150, 3, -1.1)) for seed in range(20)]
    assert all(trust is not None for trust in found)
    lowered = [trust.corrected(0.9, 24.0) for trust in found if trust is not None]
    assert np.mean(lowered) == pytest.approx(0.75, abs=0.02)
    assert np.std(lowered) < 0.05


def test_nothing_is_raised_before_many_days() -> None:
    few = fit_trust(*drawn(3, RAISES_FROM_DAYS - 10, 4, 1.5))
    assert few is not None
    assert few.corrected(0.6, 24.0) == 0.6
    many = fit_trust(*drawn(3, 400, 4, 1.5))
    assert many is not None
    raised = many.corrected(0.6, 24.0)
    true = 1.0 / (1.0 + np.exp(-(1.5 + np.log(1.5))))
    assert 0.6 < raised < true  # by what is beyond doubt, and no more


def test_cases_of_one_day_weigh_as_one() -> None:
    told, came, lead, day = drawn(5, 80, 1, -1.5)
    once = fit_trust(told, came, lead, day)
    often = fit_trust(*(np.repeat(each, 10) for each in (told, came, lead, day)))
    assert once is not None
    assert often is not None
    assert often.base == pytest.approx(once.base, abs=1e-3)
    assert often.low_base == pytest.approx(once.low_base, abs=1e-3)


@cases(80)
@given(
    st.floats(-3.0, 3.0),
    st.floats(0.1, 2.0),
    st.floats(0.1, 2.0),
    st.floats(-0.3, 0.3),
    st.floats(0.0, 2.0),
    st.booleans(),
    st.floats(0.0, 300.0),
)
def test_a_surer_window_stays_the_surer_one(
    base: float,
    slope: float,
    steep: float,
    per_day: float,
    doubt: float,
    may_raise: bool,
    lead_h: float,
) -> None:
    trust = Trust(
        base, slope, steep, per_day, base - doubt, slope, steep, 0.1, 2.0, 100, 50, may_raise
    )
    told = np.linspace(0.0, 1.0, 101)
    shown = np.array([trust.corrected(float(p), lead_h) for p in told])
    assert (np.diff(shown) >= -1e-9).all()
    assert ((shown >= 0.0) & (shown <= 1.0)).all()
    if not may_raise:
        assert (shown[2:] <= told[2:] + 1e-9).all()
