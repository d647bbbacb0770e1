"""Windows in plain cases whose answer can be worked out on paper."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from curewindow.curing import recoat_bounds
from curewindow.errors import SheetError
from curewindow.findings import finding
from curewindow.windows import find_obstacles, find_windows, judge
from curewindow.windows.find import _free_spans
from curewindow.wording import Wording
from tests.voiced import said

HOUR = 6  # grid points


@pytest.fixture
def words(start) -> Wording:
    return Wording(ZoneInfo("UTC"), start)


def always(series) -> np.ndarray:
    return np.ones(len(series.times), np.bool_)


def daily(series, begin: int, end: int) -> np.ndarray:
    hour = np.arange(len(series.times)) / HOUR % 24
    return (hour >= begin) & (hour <= end)


def test_a_start_needs_time_for_hands_on_and_setting(cabin, sheet, words, start) -> None:
    """1 h of work and 6 h at 1.1 of the time (band of a data sheet): 7.6 h before the end."""
    series = cabin(hours=24)
    (window,) = find_windows(judge(series, sheet(), 1.0, hours_ok=always(series)))
    assert window.opens == start
    assert window.closes == start + timedelta(hours=24 - 7, minutes=-40)
    assert said(window.opens_because, words) == "open already"
    assert said(window.closes_because, words) == (
        "the film would still be setting where the forecast ends"
    )
    assert window.after.touch_dry == window.best_start + timedelta(hours=7, minutes=40)


def test_hours_aboard_open_and_close(cabin, sheet, words, start) -> None:
    series = cabin(hours=48)
    verdict = judge(series, sheet(), 1.5, hours_ok=daily(series, 9, 17))
    first, second = find_windows(verdict)
    assert (first.opens, first.closes) == (
        start + timedelta(hours=9),
        start + timedelta(hours=15, minutes=30),
    )
    assert said(first.opens_because, words) == "aboard from 09:00"
    assert said(first.closes_because, words) == "nobody aboard after 17:00"
    assert second.opens == first.opens + timedelta(days=1)


def test_reasons_speak_the_boats_time(cabin, sheet, start) -> None:
    series = cabin(hours=48)
    verdict = judge(series, sheet(), 1.5, hours_ok=daily(series, 9, 17))
    window = find_windows(verdict)[0]
    words = Wording(ZoneInfo("Europe/Amsterdam"), start)
    assert said(window.closes_because, words) == "nobody aboard after 18:00"


def test_dew_opens_and_closes(cabin, sheet, words, start) -> None:
    """Dew point 11 °C until 8:00, 2 °C until 17:00, 11 °C after; surface 10 °C throughout."""
    hour = np.arange(24 * HOUR + 1) / HOUR
    series = cabin(hours=24, dew_point_c=np.where((hour < 8) | (hour > 17), 11.0, 2.0))
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series))
    (window,) = find_windows(verdict)
    assert window.opens == start + timedelta(hours=8)
    assert window.closes == start + timedelta(hours=16)
    assert said(window.opens_because, words) == "hull side is 3 °C above dew point"
    assert said(window.closes_because, words) == "dew on the hull side from today 17:10"


def test_a_night_below_the_setting_limit_closes_the_window(cabin, sheet, words, start) -> None:
    """Surface at 4 °C from Tuesday 03:00: a start after 19:20 on Monday still sets by then."""
    hour = np.arange(48 * HOUR + 1) / HOUR
    series = cabin(hours=48, surface_c=np.where(hour >= 27, 4.0, 10.0))
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series))
    (window,) = find_windows(verdict)
    # 7 h 40 min from the first stroke; the limit is broken at 03:00.
    assert window.closes == start + timedelta(hours=27) - timedelta(hours=7, minutes=50)
    assert said(window.closes_because, words) == (
        "hull side below 5 °C tomorrow 03:00, while it still sets"
    )


def test_the_tightest_margin_says_which_limit_where_and_when(cabin, sheet, words, start) -> None:
    surface = np.full(24 * HOUR + 1, 10.0)
    surface[13 * HOUR] = 8.25
    series = cabin(hours=24, surface_c=surface)
    (window,) = find_windows(judge(series, sheet(), 1.0, hours_ok=always(series)))
    assert window.tightest is not None
    assert window.tightest.limit == "surface temperature"
    assert window.tightest.phase == "applying"
    assert window.tightest.by == pytest.approx(0.25)
    assert window.tightest.at == start + timedelta(hours=13)
    assert window.tightest.where == "saloon, hull side"


def test_the_best_start_keeps_clear_of_the_tight_spot(cabin, sheet, words, start) -> None:
    surface = np.full(24 * HOUR + 1, 14.0)
    surface[: 6 * HOUR] = 8.1
    series = cabin(hours=24, surface_c=surface)
    (window,) = find_windows(judge(series, sheet(), 1.0, hours_ok=always(series)))
    assert window.best_start >= start + timedelta(hours=6)


def test_confidence_falls_with_lead_time(cabin, sheet, words) -> None:
    near, far = (
        find_windows(
            judge(series := cabin(hours=24, lead_h=lead), sheet(), 1.0, hours_ok=always(series))
        )[0].confidence
        for lead in (0.0, 120.0)
    )
    assert 0.5 < far < near < 1.0


def test_confidence_of_an_ensemble_is_a_little_less_than_its_share(cabin, sheet, words) -> None:
    surface = np.full((10, 24 * HOUR + 1), 10.0)
    surface[0] = 3.0
    series = cabin(hours=24, members=10, surface_c=surface)
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series))
    (window,) = find_windows(verdict)
    # Laplace's rule of succession makes 9 of 10 an expectation of 10 / 12; choosing costs more
    assert 10 / 12 - 0.05 < window.confidence < 10 / 12
    assert find_windows(verdict, threshold=0.95) == []


def test_what_is_not_known_is_never_open(cabin, sheet, words, start) -> None:
    surface = np.full(48 * HOUR + 1, 10.0)
    surface[20 * HOUR : 21 * HOUR] = np.nan
    series = cabin(hours=48, surface_c=surface)
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series))
    first, second = find_windows(verdict)
    assert said(first.closes_because, words) == "conditions are not known from today 20:00"
    assert second.opens == start + timedelta(hours=21)
    assert said(second.opens_because, words) == "conditions are known from then"


def test_a_surface_never_known_has_no_window(cabin, sheet, words, start) -> None:
    series = cabin(hours=24, surface_c=np.nan)
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series))
    assert find_windows(verdict) == []
    assert [o.ends for o in find_obstacles(verdict, start)] == [None]


def test_what_is_missing_is_named(cabin, sheet, words, start) -> None:
    made = sheet(applying={"wood_moisture": {"max": "15 %"}})
    series = cabin(hours=24)
    verdict = judge(series, made, 1.0, hours_ok=always(series), bare_wood=True)
    (obstacle,) = find_obstacles(verdict, start)
    assert (said(obstacle.why), obstacle.ends) == ("wood moisture is not known", None)


def test_small_doubts_together_are_told(cabin, sheet, words, start) -> None:
    """Each of two members in three has its own trouble; neither alone is in the way."""
    surface = np.full((3, 24 * HOUR + 1), 10.0)
    dew = np.full((3, 24 * HOUR + 1), 2.0)
    surface[0], dew[1] = 7.0, 9.0
    series = cabin(hours=24, members=3, surface_c=surface, dew_point_c=dew)
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series))
    reasons = {said(o.why) for o in find_obstacles(verdict, start, threshold=0.6)}
    assert reasons == {
        "hull side below 8 °C (7 °C)",
        "hull side less than 3 °C above dew point (1 °C)",
    }


def test_recoat_bounds_cut_the_window(cabin, sheet, words, start) -> None:
    series = cabin(hours=48)
    verdict = judge(
        series,
        sheet(),
        1.0,
        hours_ok=always(series),
        earliest=start + timedelta(hours=5, minutes=3),
        latest=start + timedelta(hours=20, minutes=7),
        earliest_because=finding("recoat opens"),
    )
    (window,) = find_windows(verdict)
    assert window.opens == start + timedelta(hours=5, minutes=10)
    assert window.closes == start + timedelta(hours=20)
    assert said(window.opens_because, words) == "the coat below may be recoated"
    assert said(window.closes_because, words) == "the recoat interval ends"


def test_after_the_recoat_interval_sand_first(cabin, sheet, words, start) -> None:
    series = cabin(hours=48)
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series))
    (window,) = find_windows(verdict, sand_after=start + timedelta(hours=10))
    assert "from 10:00 sand first: the recoat interval of the coat below ends then" in said(
        window.notes, words
    )
    assert window.best_start <= start + timedelta(hours=10)
    passed = find_windows(verdict, sand_after=start - timedelta(hours=1))
    assert "sand first: the recoat interval of the coat below is over" in said(
        passed[0].notes, words
    )


def test_sanding_is_told_of_a_window_that_outlasts_the_interval_and_of_no_other(
    cabin, sheet, start
) -> None:
    series = cabin()
    verdict = judge(series, sheet(), 1.0, hours_ok=np.ones(len(series.times), np.bool_))
    (plain,) = find_windows(verdict)
    for early, told in ((timedelta(0), False), (timedelta(minutes=10), True)):
        (window,) = find_windows(verdict, sand_after=plain.closes - early)
        assert any(note.kind == "sand first" for note in window.notes) is told


def test_what_follows_the_best_start(cabin, sheet, words) -> None:
    """10 °C throughout, the printed column: 12 h x 1.1 and 48 h / 1.1 (band of a data sheet)."""
    series = cabin(hours=96)
    made = sheet()
    verdict = judge(series, made, 1.0, hours_ok=always(series))
    window = find_windows(verdict, recoat=recoat_bounds(made))[0]
    after = window.after
    assert after.applied == after.start + timedelta(hours=1)
    assert after.recoat_from == after.applied + timedelta(hours=13, minutes=20)
    # From the first stroke, the oldest film: 43 h 38 min, down to the grid.
    assert after.recoat_until == after.start + timedelta(hours=43, minutes=30)
    assert after.recoat_after == "sand"
    assert after.closed_up == after.applied + timedelta(hours=66)
    assert after.full_cure is None
    assert after.beyond_forecast == ["full cure"]
    assert not after.extrapolated


def test_outside_the_table_is_said(cabin, sheet, words) -> None:
    series = cabin(hours=96, surface_c=12.0, air_c=12.0)
    window = find_windows(judge(series, sheet(), 1.0, hours_ok=always(series)))[0]
    assert window.after.extrapolated
    assert "times outside the sheet's own table are less certain" in said(window.notes, words)


def test_outdoors_waits_for_daylight_and_dry_weather(cabin, sheet, words, start) -> None:
    hour = np.arange(24 * HOUR + 1) / HOUR
    series = cabin(
        hours=24,
        outdoors=True,
        space="outdoors",
        surface="",
        wind_ms=3.0,
        rain_mm_h=np.where(hour < 10, 0.3, 0.0),
        sun_w_m2=0.0,
    )
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series), daylight_ok=daily(series, 8, 14))
    (window,) = find_windows(verdict)
    assert window.opens == start + timedelta(hours=10)
    assert said(window.opens_because, words) == "the rain has stopped"
    assert window.closes == start + timedelta(hours=13)
    assert said(window.closes_because, words) == "it is dark after 14:00"


def test_obstacles_say_what_stands_in_the_way_and_when_it_ends(cabin, sheet, words, start) -> None:
    hour = np.arange(48 * HOUR + 1) / HOUR
    series = cabin(
        hours=48,
        surface_c=np.where(hour < 6, 7.0, 10.0),
        dew_point_c=np.where(hour < 12, 8.0, 2.0),
    )
    verdict = judge(series, sheet(), 1.0, hours_ok=daily(series, 9, 17))
    obstacles = find_obstacles(verdict, start + timedelta(minutes=3))
    assert [(said(o.why), o.ends) for o in obstacles] == [
        ("dew on the hull side", start + timedelta(hours=12)),
        ("nobody aboard", start + timedelta(hours=9)),
        ("hull side below 8 °C (7 °C)", start + timedelta(hours=6)),
    ]
    assert obstacles[0].margin is not None
    assert obstacles[0].margin.by == pytest.approx(-4.0)
    assert find_obstacles(verdict, start + timedelta(hours=13)) == []


def test_work_too_long_for_the_hours_is_an_obstacle(cabin, sheet, words, start) -> None:
    series = cabin(hours=48)
    verdict = judge(series, sheet(), 3.0, hours_ok=daily(series, 9, 17))
    (obstacle,) = find_obstacles(verdict, start + timedelta(hours=15))
    assert said(obstacle.why, words) == "time too short: aboard until 17:00 only"
    assert obstacle.ends == start + timedelta(hours=33)


def test_a_milestone_without_a_row_is_an_error(cabin, sheet) -> None:
    series = cabin(hours=24)
    wrong = sheet(setting={"until": "handling"})
    with pytest.raises(SheetError, match="has no row 'handling'; add handling to"):
        judge(series, wrong, 1.0, hours_ok=always(series))


@pytest.mark.parametrize("hands_on_h", [-1.0, np.nan, np.inf])
def test_hands_on_time_must_be_a_time(cabin, sheet, hands_on_h: float) -> None:
    series = cabin(hours=24)
    with pytest.raises(ValueError, match="hands_on_h must be 0 h or more"):
        judge(series, sheet(), hands_on_h, hours_ok=always(series))


def test_members_that_take_turns_still_make_a_window(cabin, sheet, words) -> None:
    """No member holds from end to end, and one knows nothing of the middle."""
    hour = np.arange(48 * HOUR + 1) / HOUR
    surface = np.full((3, hour.size), 10.0)
    surface[0, hour < 10] = 3.0
    surface[1, hour > 30] = 3.0
    surface[2, hour > 12] = np.nan
    series = cabin(hours=48, members=3, surface_c=surface)
    verdict = judge(series, sheet(), 1.0, hours_ok=always(series))
    windows = find_windows(verdict, threshold=0.3)
    assert windows
    assert all(window.tightest is not None for window in windows)


def test_a_sheet_silent_on_dew_is_said_so(cabin, sheet, words, start) -> None:
    silent = sheet(applying={"surface": {"min": "8 °C"}})
    series, wet = cabin(), cabin(dew_point_c=11.0)
    found = find_windows(judge(series, silent, 1.0, hours_ok=always(series)))
    assert any("says nothing of the dew point" in note for note in said(found[0].notes, words))
    verdict = judge(wet, silent, 1.0, hours_ok=always(wet))
    assert not verdict.ok.any()
    (obstacle,) = find_obstacles(verdict, start)
    assert said(obstacle.why) == "dew on the hull side"


def test_a_span_that_ends_with_the_grid_needs_its_last_point_too() -> None:
    """Nothing is called good for a moment that is known to be bad, be it the last one known."""
    good = np.array([[True, True, True, False]])
    ends = np.array([[2, 3, 3, 4]])
    assert _free_spans(good, ends).tolist() == [[True, False, False, False]]
    assert _free_spans(np.ones((1, 4), np.bool_), ends).tolist() == [[True, True, True, False]]
