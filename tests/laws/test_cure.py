"""What must hold of cure progress whatever the weather."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from curewindow.physics.cure import (
    RateTable,
    banded_rate,
    cumulative,
    cure_depth_mm,
    drying_factor,
    equivalent_age,
    exposure_for_depth_h,
    milestone_index,
    milestone_index_from,
    moisture_factor,
    table_rate,
)
from tests.cases import cases

SIDES = ("slow", "typical", "quick")
temps = st.floats(-15.0, 45.0)
series = arrays(np.float64, st.integers(3, 60), elements=temps)


@st.composite
def tables(draw: st.DrawFn) -> RateTable:
    count = draw(st.integers(1, 5))
    rows = sorted(draw(st.sets(st.integers(-5, 40), min_size=count, max_size=count)))
    hours = sorted(draw(st.lists(st.floats(0.5, 200.0), min_size=count, max_size=count)))[::-1]
    return RateTable(
        np.array(rows, dtype=float),
        np.array(hours),
        draw(st.floats(20e3, 90e3)),
        draw(st.floats(-20.0, 8.0)),
    )


@cases(60)
@given(table=tables(), side=st.sampled_from(SIDES))
def test_a_row_gives_exactly_its_own_time(table: RateTable, side: str) -> None:
    rate, extrapolated = table_rate(table.temps_c, table, side)
    runs = table.temps_c >= table.stop_below_c
    assert np.array_equal(rate[runs], 1.0 / table.hours[runs])
    assert np.all(rate[~runs] == 0.0)
    assert not extrapolated.any()


@cases(60)
@given(table=tables(), low=temps, rise=st.floats(0.0, 20.0), side=st.sampled_from(SIDES))
def test_warmer_is_never_slower(table: RateTable, low: float, rise: float, side: str) -> None:
    cool, _ = table_rate(low, table, side)
    warm, _ = table_rate(low + rise, table, side)
    assert warm >= cool * (1 - 1e-12)


@cases(60)
@given(table=tables(), temp=temps, basis=st.sampled_from(["data sheet", "typical of the kind"]))
def test_the_slow_side_is_slower(table: RateTable, temp: float, basis: str) -> None:
    rates = []
    for side in SIDES:
        rate, extrapolated = table_rate(temp, table, side)
        rates.append(float(banded_rate(rate, extrapolated, basis=basis, side=side)))
    assert rates[0] <= rates[1] <= rates[2]
    if rates[1] > 0:
        assert rates[0] < rates[1] < rates[2]


@cases(60)
@given(temp=series, cut=st.integers(1, 58), side=st.sampled_from(SIDES))
def test_splitting_an_interval_changes_nothing(temp: np.ndarray, cut: int, side: str) -> None:
    assume(cut < temp.size - 1)
    table = RateTable(np.array([5.0, 20.0]), np.array([40.0, 12.0]), 50e3, 5.0)
    rate, _ = table_rate(temp, table)
    whole = cumulative(rate, 0.5, side)
    parts = cumulative(rate[: cut + 1], 0.5, side)[-1] + cumulative(rate[cut:], 0.5, side)[-1]
    assert parts == pytest.approx(whole[-1], rel=1e-12, abs=1e-12)
    age = equivalent_age(temp, 0.5, 20.0, 50e3)
    split = equivalent_age(temp[:cut], 0.5, 20.0, 50e3) + equivalent_age(
        temp[cut:], 0.5, 20.0, 50e3
    )
    assert age == pytest.approx(split)


@cases(40)
@given(temp=series, seed=st.integers(0, 2**31))
def test_the_slow_side_never_runs_ahead_of_the_truth(temp: np.ndarray, seed: int) -> None:
    """Truth: any temperature that is monotone between the grid points."""
    table = RateTable(np.array([5.0, 20.0]), np.array([40.0, 12.0]), 50e3, 5.0)
    fine = 8
    share = np.random.default_rng(seed).random((temp.size - 1, fine - 1))
    share = np.concatenate(
        [np.zeros((temp.size - 1, 1)), np.sort(share, axis=1), np.ones((temp.size - 1, 1))], axis=1
    )
    truth = temp[:-1, None] + share * np.diff(temp)[:, None]
    true_rate, _ = table_rate(truth, table)
    # Upper and lower sums bracket the truth's own integral over each step.
    upper = np.maximum(true_rate[:, :-1], true_rate[:, 1:]).sum(axis=1) / fine
    lower = np.minimum(true_rate[:, :-1], true_rate[:, 1:]).sum(axis=1) / fine
    rate, _ = table_rate(temp, table)
    assert np.all(np.diff(cumulative(rate, 1.0, "slow")) <= lower + 1e-12)
    assert np.all(np.diff(cumulative(rate, 1.0, "quick")) >= upper - 1e-12)


@cases(60)
@given(temp=series, at=st.integers(0, 50), drop=st.floats(0.0, 25.0))
def test_a_cold_night_only_delays(temp: np.ndarray, at: int, drop: float) -> None:
    table = RateTable(np.array([0.0, 20.0]), np.array([10.0, 3.0]), 50e3, -2.0)
    colder = temp.copy()
    colder[at : at + 6] -= drop
    for side in SIDES:
        plain = milestone_index(cumulative(table_rate(temp, table)[0], 1.0, side))
        cold = milestone_index(cumulative(table_rate(colder, table)[0], 1.0, side))
        # Not reached within the horizon counts as later than anything.
        assert np.all(np.nan_to_num(cold, nan=np.inf) >= np.nan_to_num(plain, nan=np.inf) - 1e-6)


@cases(60)
@given(
    rate=arrays(
        np.float64, st.tuples(st.integers(1, 3), st.integers(4, 50)), elements=st.floats(0.0, 2.0)
    )
)
def test_a_milestone_is_where_the_progress_says(rate: np.ndarray) -> None:
    progress = cumulative(rate, 0.5)
    reached = milestone_index(progress)
    index = np.arange(rate.shape[1])
    for m in range(rate.shape[0]):
        for k in range(rate.shape[1]):
            if np.isnan(reached[m, k]):
                assert progress[m, -1] < progress[m, k] + 1.0
            else:
                assert reached[m, k] > k
                there = np.interp(reached[m, k], index, progress[m])
                assert there == pytest.approx(progress[m, k] + 1.0, abs=1e-8)


@cases(60)
@given(
    rate=arrays(np.float64, st.integers(6, 50), elements=st.floats(0.0, 1.0)),
    gaps=st.sets(st.integers(0, 49), max_size=3),
)
def test_no_finite_time_ever_spans_a_gap(rate: np.ndarray, gaps: set[int]) -> None:
    broken = rate.copy()
    broken[[g for g in gaps if g < rate.size]] = np.nan
    reached = milestone_index(cumulative(broken, 1.0))
    whole = milestone_index(cumulative(rate, 1.0))
    for k in range(rate.size):
        if np.isfinite(reached[k]):
            touched = broken[k : int(np.ceil(reached[k])) + 1]
            assert np.isfinite(touched).all()
            assert reached[k] == pytest.approx(whole[k], abs=1e-6)
        elif np.isfinite(whole[k]):
            assert np.isnan(broken[k : int(np.ceil(whole[k])) + 1]).any()


@cases(40)
@given(
    rate=arrays(
        np.float64, st.tuples(st.just(3), st.integers(10, 40)), elements=st.floats(0.05, 1.0)
    )
)
def test_starts_between_points_and_coat_after_coat(rate: np.ndarray) -> None:
    progress = cumulative(rate, 1.0)
    points = np.arange(rate.shape[1], dtype=float)
    every = milestone_index(progress)
    np.testing.assert_allclose(milestone_index_from(progress, points), every)
    # One coat and then another is the same as twice the progress at once.
    twice = milestone_index_from(progress, every)
    straight = milestone_index(progress, 2.0)
    both = np.isfinite(twice) & np.isfinite(straight)
    np.testing.assert_allclose(twice[both], straight[both], atol=1e-6)
    # A later start is never done sooner.
    half = milestone_index_from(progress, points[:-1] + 0.5)
    assert np.all((half >= every[:, :-1] - 1e-9) | np.isnan(half))


@cases(40)
@given(
    rate=arrays(
        np.float64,
        st.tuples(st.just(3), st.integers(10, 40)),
        elements=st.one_of(st.floats(0.0, 1.0), st.just(0.0), st.just(np.nan)),
    ),
    start=st.floats(0.0, 9.0),
)
def test_a_start_alone_is_done_when_it_is_among_others(rate: np.ndarray, start: float) -> None:
    """Hours that count nothing and hours that are not known among them."""
    progress = cumulative(rate, 1.0)
    alone = milestone_index_from(progress, np.full((3, 1), start))
    others = np.full((3, 3), start)
    others[:, 1] = 2.0
    together = milestone_index_from(progress, others)
    np.testing.assert_array_equal(alone, together[:, :1])
    np.testing.assert_array_equal(alone, together[:, 2:])


def test_a_start_before_a_gap_does_not_spoil_those_behind_it() -> None:
    rate = np.full(20, 0.5)
    rate[5] = np.nan
    reached = milestone_index(cumulative(rate, 1.0))
    assert reached[2] == 4.0
    assert np.isnan(reached[3:6]).all()
    assert reached[6] == 8.0
    assert np.isnan(milestone_index_from(cumulative(rate, 1.0), [4.5, np.nan, -1.0, 25.0])).all()


def test_a_start_within_the_last_step_may_still_reach_its_target_there() -> None:
    # one a step: begun a quarter into the last of two steps, half of it takes half a step
    assert milestone_index_from([0.0, 1.0, 2.0], [1.25], 0.5) == pytest.approx([1.75])


def test_reaching_the_target_at_dusk_counts_at_dusk() -> None:
    # Ten steps of a tenth do not sum to one in floating point; the night must not decide.
    rate = np.concatenate([np.full(11, 0.1), np.zeros(50), np.full(11, 0.1)])
    assert milestone_index(cumulative(rate, 1.0, "slow"))[0] == pytest.approx(10.0)


@cases(40)
@given(temp=st.floats(-5.0, 35.0), rh=st.floats(5.0, 95.0), more=st.floats(0.0, 5.0))
def test_water_in_the_air_helps_sealant_and_hinders_waterborne(
    temp: float, rh: float, more: float
) -> None:
    assert moisture_factor(temp, rh + more, 23.0, 50.0) >= moisture_factor(temp, rh, 23.0, 50.0)
    for side in SIDES:
        damp = drying_factor(temp, 500.0 + 10 * more, 50.0, side)
        assert damp <= drying_factor(temp, 500.0, 50.0, side)
    assert drying_factor(temp, 0.0, 50.0, "slow") <= 1.0


@cases(40)
@given(depth=st.floats(0.1, 20.0), sheet=st.floats(1.0, 5.0), hours=st.floats(12.0, 48.0))
def test_depth_and_exposure_are_inverse(depth: float, sheet: float, hours: float) -> None:
    exposure = exposure_for_depth_h(depth, sheet, hours)
    assert cure_depth_mm(exposure, sheet, hours) == pytest.approx(depth)


def test_unknown_stays_unknown() -> None:
    table = RateTable(np.array([5.0, 20.0]), np.array([40.0, 12.0]), 50e3, 5.0)
    for side in SIDES:
        rate, extrapolated = table_rate(np.array([np.nan, 10.0]), table, side)
        assert np.isnan(rate[0])
        assert np.isfinite(rate[1])
        assert np.isnan(banded_rate(rate, extrapolated, "data sheet", side)[0])
    assert np.isnan(equivalent_age([10.0, np.nan], 1.0, 20.0, 50e3))
    assert np.isnan(drying_factor(np.nan, 800.0, 50.0, "slow"))
    assert np.isnan(moisture_factor(10.0, np.nan, 23.0, 50.0))


@pytest.mark.parametrize(
    ("temps_c", "hours", "energy", "stop", "says"),
    [
        ([10.0, 5.0], [10.0, 20.0], 50e3, 0.0, "increase"),
        ([5.0, 10.0], [10.0, 20.0], 50e3, 0.0, "warmer row must not take longer"),
        ([5.0, 10.0], [20.0], 50e3, 0.0, "as many times"),
        ([], [], 50e3, 0.0, "as many times"),
        ([5.0], [0.0], 50e3, 0.0, "above 0 h"),
        ([5.0], [np.nan], 50e3, 0.0, "finite"),
        ([5.0], [4.0], 0.0, 0.0, "above 0 J/mol"),
        ([5.0], [4.0], 50e3, np.nan, "stop_below_c"),
        ([-300.0], [4.0], 50e3, 0.0, "above -273.15"),
    ],
)
def test_impossible_tables_are_refused(temps_c, hours, energy, stop, says) -> None:
    with pytest.raises(ValueError, match=says):
        RateTable(np.array(temps_c), np.array(hours), energy, stop)


def test_impossible_values_are_refused() -> None:
    with pytest.raises(ValueError, match="not negative"):
        cumulative([0.1, -0.1], 1.0)
    with pytest.raises(ValueError, match="above 0 h"):
        cumulative([0.1, 0.1], 0.0)
    with pytest.raises(ValueError, match="above 0"):
        milestone_index([0.0, 1.0], 0.0)
    with pytest.raises(ValueError, match="rows of starts"):
        milestone_index_from(np.zeros((2, 5)), np.zeros((3, 1)))
    for table_rh in (-0.1, 100.0):
        with pytest.raises(ValueError, match="table_rh_pct"):
            drying_factor(10.0, 500.0, table_rh)
    assert drying_factor(10.0, 0.0, 0.0) == 1.0  # dry air is an air to make a table in
    with pytest.raises(ValueError, match="depth"):
        cure_depth_mm(10.0, 0.0)
