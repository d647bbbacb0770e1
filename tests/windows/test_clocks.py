"""Clocks of recorded coats, in plain cases whose answer can be worked out on paper.

The varnish of conftest.py at 10 °C, its printed column: touch dry 6 h, recoat 12 h to
48 h, full cure 90 h; the band of a data sheet divides or multiplies by 1.1.
"""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from curewindow.clocks import NextCoat, clock_for, latest_coats, next_coat_bounds, sort_clocks
from curewindow.clocks.past import stretched_over
from curewindow.record.entries import Coat, Inspection
from curewindow.windows.grid import position
from curewindow.wording import Wording
from tests.voiced import said

HOUR = 6


@pytest.fixture
def coat(start):
    def made(begin_h: float = 0.0, number: int = 1, job: str = "coachroof", step: int = 1) -> Coat:
        begin = start + timedelta(hours=begin_h)
        return Coat(job, step, number, begin, begin + timedelta(hours=1), "test-varnish")

    return made


def test_a_coat_goes_from_wet_to_recoat_to_sanding(cabin, sheet, coat, start) -> None:
    made, series = sheet(), cabin(hours=160)
    states = [
        (hours, clock_for(coat(), made, None, series, start + timedelta(hours=hours), 3).state)
        for hours in (0.5, 7.5, 8, 14, 14.5, 43, 44, 150)
    ]
    assert states == [
        (0.5, "wet"),
        (7.5, "wet"),  # 1 h of work and 6.6 h
        (8, "touch dry"),
        (14, "touch dry"),
        (14.5, "recoat open"),  # 1 h and 13.2 h
        (43, "recoat open"),
        (44, "sand first"),  # 43.6 h from the first stroke
        (150, "sand first"),
    ]


def test_times_and_deadline(cabin, sheet, coat, start) -> None:
    now = start + timedelta(hours=2)
    clock = clock_for(coat(), sheet(), None, cabin(hours=160), now, 3)
    assert clock.touch_dry == start + timedelta(hours=7, minutes=40)
    assert clock.recoat_from == start + timedelta(hours=14, minutes=20)
    assert clock.recoat_until == start + timedelta(hours=43, minutes=30)
    assert clock.next_deadline == clock.recoat_until
    assert clock.deadline_for == "last moment for the next coat without sanding"
    assert clock.full_cure == start + timedelta(hours=100)
    bounds = next_coat_bounds(clock)
    assert (bounds.allowed, bounds.earliest, bounds.latest) == (True, clock.recoat_from, None)
    assert bounds.sand_after == clock.recoat_until
    assert next_coat_bounds(clock, hot_coat=True).latest == clock.recoat_until


def test_a_deadline_is_told_until_it_comes(cabin, sheet, coat, start) -> None:
    ends = start + timedelta(hours=43, minutes=30)
    for early, told in ((timedelta(seconds=1), ends), (timedelta(0), None)):
        clock = clock_for(coat(), sheet(), None, cabin(hours=160), ends - early, 3)
        assert (clock.recoat_until, clock.next_deadline) == (ends, told)


def test_a_hot_coat_wants_an_interval_that_is_open_for_a_moment_at_least(
    cabin, sheet, coat, start
) -> None:
    clock = clock_for(coat(), sheet(), None, cabin(hours=160), start + timedelta(hours=2), 3)
    assert clock.recoat_from is not None
    for later, allowed in ((timedelta(0), True), (-timedelta(minutes=1), False)):
        closes = clock.model_copy(update={"recoat_until": clock.recoat_from + later})
        assert next_coat_bounds(closes, hot_coat=True).allowed is allowed


def test_never_again(cabin, sheet, coat, start) -> None:
    made = sheet(recoat=[{"from": ["12 h"], "until": ["48 h"], "after": "never"}])
    series = cabin(hours=160)
    before = clock_for(coat(), made, None, series, start + timedelta(hours=20), 2)
    assert next_coat_bounds(before).latest == before.recoat_until
    assert before.deadline_for == "last moment for the next coat at all"
    after = clock_for(coat(), made, None, series, start + timedelta(hours=50), 2)
    assert after.state == "never again"
    assert after.next_deadline is None
    assert not next_coat_bounds(after).allowed


def test_the_last_coat_has_no_deadline_and_cures(cabin, sheet, coat, start) -> None:
    series = cabin(hours=160)
    clock = clock_for(coat(number=3), sheet(), None, series, start + timedelta(hours=20), 3)
    assert (clock.state, clock.next_deadline) == ("touch dry", None)
    cured = clock_for(coat(number=3), sheet(), None, series, start + timedelta(hours=101), 3)
    assert cured.state == "cured"


def test_another_product_next_has_its_own_table(cabin, sheet, coat, start) -> None:
    made = sheet(recoat=[{"from": ["12 h"]}, {"next": "hard-enamel", "from": ["24 h"]}])
    next_coat = NextCoat("hard-enamel", "paint")
    clock = clock_for(coat(number=3), made, next_coat, cabin(), start, 3)
    assert clock.recoat_from == start + timedelta(hours=27, minutes=30)  # 1 h and 26.4 h


def test_a_sheet_silent_about_the_next_coat_waits_for_full_cure(cabin, sheet, coat, start) -> None:
    series = cabin(hours=160)
    clock = clock_for(coat(), sheet(recoat=[]), None, series, start + timedelta(hours=20), 2)
    assert clock.recoat_from == clock.full_cure
    assert "the sheet does not say when the next coat may go on: once cured, and sanded" in said(
        clock.notes
    )


def test_covering_jobs_wait_for_closed_up(cabin, sheet, coat, start) -> None:
    series = cabin(hours=160)
    words = Wording(ZoneInfo("UTC"), start + timedelta(hours=2))
    clock = clock_for(coat(), sheet(), None, series, words.now, 1, covering=["headlining"])
    assert clock.closed_up == start + timedelta(hours=67)
    assert "'headlining' may close it up from Wed 19:00" in said(clock.notes, words)


def test_readings_and_model_are_told_apart(cabin, sheet, coat, start) -> None:
    hour = np.arange(96 * HOUR + 1) / HOUR
    series = cabin(measured=hour < 14)
    clock = clock_for(coat(), sheet(), None, series, start + timedelta(hours=20), 2)
    assert said(clock.basis) == "readings for 14 h of 20 h, the rest from the model"
    assert clock.measured_share == pytest.approx(0.7, abs=0.01)


def test_unknown_hours_count_nothing_and_everything(cabin, sheet, coat, start) -> None:
    """Six unknown hours put 'from' off by six hours and cannot put 'until' off at all."""
    surface = np.full(160 * HOUR + 1, 10.0)
    surface[4 * HOUR + 1 : 10 * HOUR] = np.nan
    series = cabin(hours=160, surface_c=surface)
    clock = clock_for(coat(), sheet(), None, series, start + timedelta(hours=11), 2)
    assert clock.recoat_from == start + timedelta(hours=20, minutes=20)
    assert clock.recoat_until == start + timedelta(hours=43, minutes=30)
    assert clock.state == "unknown"  # 4 h or 10 h of 6.6 h
    assert "nothing known of 6 h" in said(clock.basis)
    later = clock_for(coat(), sheet(), None, series, start + timedelta(hours=21), 2)
    assert later.state == "recoat open"  # whatever these hours were like


def test_a_coat_older_than_the_series(cabin, sheet, coat, start) -> None:
    clock = clock_for(coat(-30.0), sheet(), None, cabin(), start + timedelta(hours=1), 2)
    assert clock.state == "unknown"
    assert clock.applied == start - timedelta(hours=29)
    assert clock.recoat_from == start + timedelta(hours=13, minutes=20)
    assert clock.recoat_until is not None
    assert clock.recoat_until <= start + timedelta(hours=13, minutes=40)


def test_a_coat_newer_than_the_series(cabin, sheet, coat, start) -> None:
    """No weather for two days: everything is open, nothing is claimed."""
    clock = clock_for(coat(2.0), sheet(), None, cabin(hours=1), start + timedelta(hours=50), 2)
    assert clock.state == "unknown"
    assert clock.recoat_from is None
    assert clock.recoat_until == start + timedelta(hours=45, minutes=30)
    assert not next_coat_bounds(clock).allowed


def test_limits_broken_while_setting_are_told(cabin, sheet, coat, start) -> None:
    hour = np.arange(96 * HOUR + 1) / HOUR
    words = Wording(ZoneInfo("UTC"), start)
    surface = np.where((hour >= 3) & (hour < 6), 3.5, 10.0)
    clock = clock_for(
        coat(), sheet(), None, cabin(surface_c=surface), start + timedelta(hours=20), 2
    )
    (margin,) = clock.limits_broken
    assert (margin.limit, margin.phase, margin.by) == ("surface temperature", "setting", -1.5)
    assert "hull side below 5 °C for 3 h while setting (worst 3.5 °C, today 03:00)" in said(
        clock.notes, words
    )
    ahead = clock_for(
        coat(), sheet(), None, cabin(surface_c=surface), start + timedelta(hours=2), 2
    )
    assert ahead.limits_broken == []
    assert "expected while still setting: hull side below 5 °C from today 03:00" in said(
        ahead.notes, words
    )


@pytest.mark.parametrize(("now_h", "again"), [(5.0, 0), (7.9, 0), (8.0, 1), (9.0, 1)])
def test_what_breaks_after_somebody_looked_is_to_be_checked_from_then_on(
    cabin, sheet, coat, start, now_h: float, again: int
) -> None:
    """Cold from three to five, looked at in between; cold again from eight on."""
    hour = np.arange(96 * HOUR + 1) / HOUR
    surface = np.where(((hour >= 3) & (hour < 5)) | (hour >= 8), 3.5, 10.0)
    looked = Inspection("coachroof", 1, 1, start + timedelta(hours=4), "sound")
    now = start + timedelta(hours=now_h)
    clock = clock_for(coat(), sheet(), None, cabin(surface_c=surface), now, 2, looked=looked)
    assert len(clock.limits_broken) == 1
    assert [each.at for each in clock.to_check] == [start + timedelta(hours=8)] * again


@pytest.mark.parametrize("minutes", [-61, -60, -59, -1, 0, 1])
def test_a_series_is_stretched_to_hold_both_moments(cabin, start, minutes: int) -> None:
    """By hours of which nothing is known; what was known stays as it was."""
    series = cabin(hours=2)
    first, last = start + timedelta(minutes=minutes), start + timedelta(hours=2, minutes=-minutes)
    longer = stretched_over(series, first, last)
    points = len(longer.times) - 1
    assert 0.0 <= position(longer, first) <= position(longer, last) <= points
    inside = np.isin(longer.times, series.times)
    assert np.array_equal(longer.surface_c[:, inside], series.surface_c)
    assert np.isnan(longer.surface_c[:, ~inside]).all()


def test_a_cold_spell_makes_the_interval_close_before_it_opens(cabin, sheet, coat, start) -> None:
    series = cabin(hours=400, surface_c=np.where(np.arange(400 * HOUR + 1) < 6, 10.0, 4.9))
    clock = clock_for(coat(), sheet(), None, series, start + timedelta(hours=20), 2)
    assert clock.recoat_from is None
    assert clock.recoat_until is not None
    assert any("closes before it opens" in note for note in said(clock.notes))


def test_the_latest_coat_of_each_step(coat) -> None:
    coats = [coat(0, 1), coat(30, 2), coat(5, 1, "sole"), coat(60, 1, step=2)]
    newest = latest_coats(coats)
    assert [(c.job, c.step, c.coat) for c in newest] == [
        ("coachroof", 1, 2),
        ("coachroof", 2, 1),
        ("sole", 1, 1),
    ]


def test_the_most_pressing_clock_comes_first(cabin, sheet, coat, start) -> None:
    series, now = cabin(hours=200), start + timedelta(hours=32)
    clocks = [
        clock_for(coat(20, 1, "late"), sheet(), None, series, now, 2),
        clock_for(coat(10, 2, "none"), sheet(), None, series, now, 2),
        clock_for(coat(0, 1, "soon"), sheet(), None, series, now, 2),
    ]
    assert [clock.job for clock in sort_clocks(clocks)] == ["soon", "late", "none"]


def test_a_hot_coat_keeps_to_the_interval_whatever_comes_after_it(
    cabin, sheet, coat, start
) -> None:
    made = sheet(recoat=[{"from": ["12 h"], "until": ["48 h"], "after": "as is"}])
    clock = clock_for(coat(), made, None, cabin(hours=160), start + timedelta(hours=20), 3)
    assert next_coat_bounds(clock).latest is None
    assert next_coat_bounds(clock, hot_coat=True).latest == clock.recoat_until


def test_a_hot_coat_without_an_end_on_the_sheet_is_said(cabin, sheet, coat, start) -> None:
    made = sheet(recoat=[{"from": ["12 h"]}])
    clock = clock_for(coat(), made, None, cabin(hours=160), start + timedelta(hours=20), 3)
    assert any("tacky" in note for note in said(next_coat_bounds(clock, hot_coat=True).notes))
    assert next_coat_bounds(clock).notes == ()
