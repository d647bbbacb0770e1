"""Laws the judge must obey whatever the sheet and the weather."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from curewindow.curing import CureModel
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.windows import find_obstacles, find_windows, judge
from curewindow.windows.faults import faults_at
from curewindow.windows.grid import at_index, next_bad, span_min
from curewindow.wording import Wording
from tests.cases import cases

POINTS = 150
START = datetime(2026, 1, 12, tzinfo=UTC)
WORDS = Wording(ZoneInfo("Europe/Amsterdam"), START)
modest = cases(40)


def sheet_with(
    applying: dict[str, object] | None = None,
    setting: dict[str, object] | None = None,
    **more: object,
) -> Sheet:
    # The table reaches past every temperature drawn below: nothing is extrapolated.
    data: dict[str, object] = {
        "name": "law",
        "kind": "paint",
        "chemistry": "two-part urethane",
        "basis": "typical of the kind",
        "applying": applying or {},
        "setting": setting or {},
        "cure": {
            "temps": ["-30 °C", "5 °C", "20 °C", "60 °C"],
            "touch_dry": ["40 h", "6 h", "2 h", "0.5 h"],
            "full_cure": ["400 h", "60 h", "20 h", "5 h"],
        },
    }
    return Sheet.model_validate(data | more)


FULL = sheet_with(
    {
        "surface": {"min": "6 °C", "max": "25 °C"},
        "humidity": {"max": "85 %"},
        "above_dew_point": "3 K",
    },
    {"air": {"min": "3 °C"}, "above_dew_point": "1 K"},
)


@st.composite
def weather(draw: st.DrawFn, holes: bool = True) -> SurfaceSeries:
    """Anything between two knots every 25 steps: mostly workable, with rough edges and holes."""
    members = draw(st.integers(1, 3))
    knots = np.arange(0, POINTS + 24, 25)

    def line(low: float, high: float) -> np.ndarray:
        at = draw(arrays(np.float64, (members, len(knots)), elements=st.floats(low, high)))
        return np.stack([np.interp(np.arange(POINTS), knots, row) for row in at])

    air = line(2.0, 20.0)
    dew = air - line(0.5, 9.0)
    surface = air - line(-1.0, 3.0)
    rh = np.clip(100.0 - 5.0 * (air - dew), 1.0, 100.0)
    if holes and draw(st.booleans()):
        at = draw(st.integers(0, POINTS - 1))
        surface[:, at : at + draw(st.integers(1, 10))] = np.nan
    return SurfaceSeries(
        space="saloon",
        surface="hull side",
        times=np.datetime64("2026-01-12", "s") + np.arange(POINTS) * np.timedelta64(600, "s"),
        air_c=air,
        tin_c=air,
        rh_pct=rh,
        dew_point_c=dew,
        surface_c=surface,
        wood_moisture_pct=None,
        wind_ms=None,
        rain_mm_h=None,
        sun_w_m2=None,
        measured=np.zeros(POINTS, np.bool_),
        lead_h=np.arange(POINTS) / 6.0,
    )


masks = arrays(np.bool_, POINTS, elements=st.sampled_from([True, True, True, True, False]))
hands_on = st.floats(0.0, 5.0)
ALWAYS = np.ones(POINTS, np.bool_)


@modest
@given(weather(), st.floats(0.0, 15.0), hands_on, st.sampled_from(["applying", "setting"]))
def test_colder_never_opens_where_only_a_least_temperature_counts(
    series: SurfaceSeries, colder: float, work_h: float, phase: str
) -> None:
    sheet = sheet_with(**{phase: {"surface": {"min": "6 °C"}}})
    cold = replace(series, surface_c=series.surface_c - colder)
    warm_ok = judge(series, sheet, work_h, hours_ok=ALWAYS).ok
    cold_ok = judge(cold, sheet, work_h, hours_ok=ALWAYS).ok
    assert not np.any(cold_ok & ~warm_ok)


@modest
@given(weather(), masks, hands_on, st.floats(0.0, 4.0))
def test_longer_work_never_adds_starts(
    series: SurfaceSeries, hours: np.ndarray, work_h: float, longer: float
) -> None:
    short = judge(series, FULL, work_h, hours_ok=hours).ok
    long = judge(series, FULL, work_h + longer, hours_ok=hours).ok
    assert not np.any(long & ~short)


@modest
@given(weather(), masks, masks, hands_on)
def test_fewer_hours_aboard_never_add_starts(
    series: SurfaceSeries, hours: np.ndarray, others: np.ndarray, work_h: float
) -> None:
    more = judge(series, FULL, work_h, hours_ok=hours).ok
    fewer = judge(series, FULL, work_h, hours_ok=hours & others).ok
    assert not np.any(fewer & ~more)


@modest
@given(weather(), st.floats(0.0, 4.0), hands_on)
def test_a_stricter_limit_never_adds_starts(
    series: SurfaceSeries, stricter: float, work_h: float
) -> None:
    mild, strict = (
        judge(
            series,
            # The clock's stop is fixed, so that only the limit moves.
            sheet_with({"above_dew_point": f"{k} K"}, {"above_dew_point": f"{k} K"}),
            work_h,
            hours_ok=ALWAYS,
        ).ok
        for k in (1.0, 1.0 + stricter)
    )
    assert not np.any(strict & ~mild)


@modest
@given(weather(), st.integers(0, POINTS - 1), st.integers(1, 40), hands_on)
def test_knowing_less_never_adds_starts(
    series: SurfaceSeries, at: int, points: int, work_h: float
) -> None:
    fields = {}
    for name in ("air_c", "rh_pct", "dew_point_c", "surface_c"):
        fields[name] = getattr(series, name).copy()
        fields[name][:, at : at + points] = np.nan
    known = judge(series, FULL, work_h, hours_ok=ALWAYS).ok
    less = judge(replace(series, **fields), FULL, work_h, hours_ok=ALWAYS).ok
    assert not np.any(less & ~known)


@modest
@given(weather(), masks, hands_on)
def test_a_shorter_forecast_never_adds_starts(
    series: SurfaceSeries, hours: np.ndarray, work_h: float
) -> None:
    cut = POINTS // 2
    names = ("air_c", "rh_pct", "dew_point_c", "surface_c")
    short = replace(
        series,
        **{name: getattr(series, name)[:, :cut] for name in names},
        **{name: getattr(series, name)[:cut] for name in ("times", "measured", "lead_h")},
    )
    whole = judge(series, FULL, work_h, hours_ok=hours).ok[:, :cut]
    assert not np.any(judge(short, FULL, work_h, hours_ok=hours[:cut]).ok & ~whole)


@modest
@given(weather(), masks, hands_on)
def test_a_start_is_good_exactly_where_nothing_is_wrong_with_it(
    series: SurfaceSeries, hours: np.ndarray, work_h: float
) -> None:
    """Reasons are found another way than the verdict: they must tell the same."""
    verdict = judge(series, FULL, work_h, hours_ok=hours)
    for start in range(POINTS):
        wrong = np.zeros(verdict.members, np.bool_)
        for fault in faults_at(verdict, start):
            wrong |= fault.fails
        assert np.array_equal(~wrong, verdict.ok[:, start])
    for index in range(len(verdict.tracks)):
        assert np.all(verdict.min_margin(index)[verdict.ok] >= 0.0)
        assert np.all(verdict.first_bad(index)[verdict.ok] == POINTS)


@modest
@given(weather(), masks, hands_on)
def test_windows_hold_the_good_starts_and_no_others(
    series: SurfaceSeries, hours: np.ndarray, work_h: float
) -> None:
    verdict = judge(series, FULL, work_h, hours_ok=hours)
    windows = find_windows(verdict, threshold=0.6)
    inside = {
        at_index(series, k)
        for k in range(POINTS)
        if any(window.opens <= at_index(series, k) <= window.closes for window in windows)
    }
    good = verdict.ok.mean(axis=0) >= 0.6
    assert inside == {at_index(series, int(k)) for k in np.flatnonzero(good)}
    for window in windows:
        assert window.opens <= window.best_start <= window.closes
        assert window.opens_because
        assert window.closes_because
        assert find_obstacles(verdict, window.best_start, threshold=0.6) == []
        if verdict.members == 1:
            assert window.tightest is not None
            assert window.tightest.by >= 0.0


@modest
@given(weather(holes=False), st.sampled_from(["touch dry", "full cure"]))
def test_slow_is_never_before_typical_nor_typical_before_quick(
    series: SurfaceSeries, milestone: str
) -> None:
    model = CureModel(FULL, series)
    starts = np.arange(POINTS, dtype=np.float64)
    slow, typical, quick = (
        np.nan_to_num(model.milestone_end(milestone, starts, side), nan=1e9)  # type: ignore[arg-type]
        for side in ("slow", "typical", "quick")
    )
    assert np.all(slow >= typical)
    assert np.all(typical >= quick)
    assert np.all(np.diff(slow, axis=1) >= -1e-9)  # begun later is never there sooner


@modest
@given(
    arrays(np.float64, (2, 37), elements=st.floats(-5, 5) | st.just(np.nan)),
    st.lists(st.tuples(st.integers(0, 36), st.integers(0, 36)), min_size=1, max_size=30),
)
def test_least_of_spans_is_what_looking_at_each_point_gives(
    values: np.ndarray, pairs: list[tuple[int, int]]
) -> None:
    first = np.array([min(pair) for pair in pairs])
    last = np.array([max(pair) for pair in pairs])
    found = span_min(values, first, last)
    for k, (i, j) in enumerate(zip(first, last, strict=True)):
        for member in range(2):
            span = values[member, i : j + 1]
            expected = np.nan if np.isnan(span).any() else span.min()
            assert np.array_equal(found[member, k], expected, equal_nan=True)


@modest
@given(masks)
def test_next_bad_is_what_walking_on_gives(good: np.ndarray) -> None:
    found = next_bad(~good)
    for start in range(POINTS):
        ahead = [k for k in range(start, POINTS) if not good[k]]
        assert found[start] == (ahead[0] if ahead else POINTS)
