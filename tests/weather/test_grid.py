"""The regular grid: what is interpolated, what is held, what stays unknown."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.weather.grid import Point, RateSpans, to_grid
from tests.cases import cases

T0 = np.datetime64("2025-01-08T00:00:00", "s")


def hours(*values: float) -> np.ndarray:
    return T0 + (np.array(values) * 3600).astype("timedelta64[s]")


def at(grid_times: np.ndarray, hour: float) -> int:
    return int(np.flatnonzero(grid_times == hours(hour)[0])[0])


def spans(values: list[float], length_h: list[float]) -> RateSpans:
    length = (np.array(length_h) * 3600).astype(np.int64)
    return RateSpans(np.array(values), np.zeros_like(length), length)


def test_straight_lines_between_hourly_values() -> None:
    got = to_grid(hours(0, 1, 2), {"temp_c": Point(np.array([3.0, 9.0, 6.0]))})
    assert got.times.size == 13
    assert got.columns["temp_c"][0, :7] == pytest.approx([3, 4, 5, 6, 7, 8, 9])
    assert got.columns["temp_c"][0, 12] == 6.0
    assert (got.gap_h["temp_c"] == 1.0).all()


def test_six_hour_tail_is_bridged_and_known_as_such() -> None:
    got = to_grid(hours(0, 1, 7, 13), {"temp_c": Point(np.array([0.0, 1.0, 7.0, 1.0]))})
    assert got.columns["temp_c"][0, at(got.times, 4)] == pytest.approx(4.0)
    assert got.gap_h["temp_c"][at(got.times, 0.5)] == 1.0
    assert got.gap_h["temp_c"][at(got.times, 4)] == 6.0
    # On a source value the interval that begins there counts.
    assert got.gap_h["temp_c"][at(got.times, 1)] == 6.0


def test_a_longer_hole_stays_unknown_but_its_ends_are_known() -> None:
    got = to_grid(hours(0, 1, 8, 9), {"temp_c": Point(np.array([0.0, 1.0, 8.0, 9.0]))})
    values = got.columns["temp_c"][0]
    inside = (got.times > hours(1)[0]) & (got.times < hours(8)[0])
    assert np.isnan(values[inside]).all()
    assert values[at(got.times, 1)] == 1.0
    assert values[at(got.times, 8)] == 8.0
    assert got.gap_h["temp_c"][at(got.times, 5)] == 7.0


def test_nulls_are_bridged_by_each_column_alone() -> None:
    got = to_grid(
        hours(0, 1, 2),
        {
            "temp_c": Point(np.array([0.0, np.nan, 4.0])),
            "vapour_pa": Point(np.array([700.0, 710.0, 720.0])),
        },
    )
    assert got.columns["temp_c"][0, at(got.times, 1)] == pytest.approx(2.0)
    assert got.gap_h["temp_c"][at(got.times, 1)] == 2.0
    assert got.gap_h["vapour_pa"][at(got.times, 1)] == 1.0


def test_members_with_different_nulls() -> None:
    values = np.array([[0.0, 2.0, 4.0], [0.0, np.nan, 6.0], [np.nan] * 3])
    got = to_grid(hours(0, 1, 2), {"temp_c": Point(values)})
    assert got.columns["temp_c"][:2, at(got.times, 1)] == pytest.approx([2.0, 3.0])
    assert np.isnan(got.columns["temp_c"][2]).all()


def test_the_later_of_two_rows_wins_unless_it_is_missing() -> None:
    columns = {"a": Point(np.array([1.0, 5.0, 2.0])), "b": Point(np.array([1.0, np.nan, 2.0]))}
    got = to_grid(hours(0, 0, 1), columns)
    assert got.columns["a"][0, 0] == 5.0
    assert got.columns["b"][0, 0] == 1.0


def test_rain_is_held_over_its_span() -> None:
    got = to_grid(hours(0, 1, 2), {"rain_mm_h": spans([0.0, 3.0, 0.0], [1, 1, 1])})
    rain = got.columns["rain_mm_h"][0]
    assert rain[at(got.times, 5 / 6)] == 0.0
    assert (rain[at(got.times, 1) : at(got.times, 2)] == 3.0).all()
    assert rain[at(got.times, 2)] == 0.0


def test_rain_over_six_hours_gives_way_to_the_hours_inside_it() -> None:
    got = to_grid(hours(0, 1, 2, 6), {"rain_mm_h": spans([0.5, 2.0, 0.1, 0.0], [6, 1, 3, 6])})
    rain = got.columns["rain_mm_h"][0]
    assert rain[at(got.times, 0.5)] == 0.5
    assert rain[at(got.times, 1.5)] == 2.0
    assert rain[at(got.times, 4.5)] == 0.1
    assert rain[at(got.times, 5.5)] == 0.5  # the six hours are still running


def test_rain_beyond_its_span_is_unknown() -> None:
    got = to_grid(hours(0, 3), {"rain_mm_h": spans([0.0, 0.0], [1, 1])})
    assert np.isnan(got.columns["rain_mm_h"][0, at(got.times, 2)])


def test_a_mean_of_the_hour_before_sits_in_the_middle_of_that_hour() -> None:
    got = to_grid(hours(1, 2), {"sun_w_m2": Point(np.array([100.0, 200.0]), shift_s=-1800)})
    sun = got.columns["sun_w_m2"][0]
    assert sun[at(got.times, 1)] == pytest.approx(150.0)
    # It is a mean up to 02:00, so it reaches to there.
    assert sun[at(got.times, 2)] == 200.0


def test_grid_points_are_whole_steps_of_utc() -> None:
    got = to_grid(hours(0.11, 1.05), {"temp_c": Point(np.array([1.0, 2.0]))})
    assert got.times[0] == T0 + np.timedelta64(600, "s")
    assert got.times[-1] == T0 + np.timedelta64(3600, "s")


def test_shapes_that_do_not_fit_are_refused() -> None:
    with pytest.raises(ValueError, match="temp_c has 2 values for 3 rows"):
        to_grid(hours(0, 1, 2), {"temp_c": Point(np.array([1.0, 2.0]))})
    with pytest.raises(ValueError, match="at least one row"):
        to_grid(hours(), {})


rows = st.lists(
    st.tuples(
        st.integers(0, 60 * 72),
        st.one_of(st.just(float("nan")), st.floats(-20, 30)),
    ),
    min_size=2,
    max_size=40,
)


@cases(60)
@given(rows, st.randoms(use_true_random=False))
def test_order_of_rows_with_different_times_does_not_matter(rows, random) -> None:  # type: ignore[no-untyped-def]
    unique = list(dict(rows).items())
    mixed = unique.copy()
    random.shuffle(mixed)
    first, second = (
        to_grid(
            T0 + np.array([m for m, _ in some], dtype="timedelta64[m]"),
            {"x": Point(np.array([v for _, v in some]))},
        )
        for some in (sorted(unique), mixed)
    )
    assert np.array_equal(first.columns["x"], second.columns["x"], equal_nan=True)
    assert np.array_equal(first.gap_h["x"], second.gap_h["x"])


@cases(60)
@given(rows)
def test_never_beyond_the_values_and_never_inside_a_long_hole(rows) -> None:  # type: ignore[no-untyped-def]
    values = np.array([value for _, value in rows])
    got = to_grid(
        T0 + np.array([minute for minute, _ in rows], dtype="timedelta64[m]"), {"x": Point(values)}
    )
    out = got.columns["x"][0]
    known = np.isfinite(out)
    if known.any():
        assert out[known].min() >= np.nanmin(values) - 1e-9
        assert out[known].max() <= np.nanmax(values) + 1e-9
    source = {minute * 60 for minute, value in rows if not np.isnan(value)}
    seconds = (got.times - T0).astype(np.int64)
    for i in np.flatnonzero(known & (got.gap_h["x"] > 6.0)):
        assert int(seconds[i]) in source
