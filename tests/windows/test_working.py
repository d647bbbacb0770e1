"""Pot life, wait after mixing, open time and clamps, read off printed tables."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from curewindow.windows import find_obstacles, find_windows, judge
from curewindow.windows.working import waits_after_mixing, working_findings
from curewindow.wording import Wording
from tests.voiced import said

WORKING = {
    "temps": ["5 °C", "10 °C", "20 °C"],
    "pot_life": ["3 h", "2 h", "1 h"],
    "pot_life_mass": "1 kg",
    "induction": ["30 min", "20 min", "10 min"],
}
GLUE = {
    "temps": ["10 °C", "20 °C"],
    "open_time": ["40 min", "20 min"],
    "clamp": ["8 h", "4 h"],
}


@pytest.fixture
def words(start) -> Wording:
    return Wording(ZoneInfo("UTC"), start)


def days(series) -> np.ndarray:
    """Someone aboard from 08:00 to 18:00, both ends in."""
    hour = np.arange(len(series.times)) / 6.0 % 24.0
    return (hour >= 8.0) & (hour <= 18.0)


def judged(series, of, hands_on_h: float, **more):
    return judge(
        series,
        of,
        hands_on_h,
        hours_ok=days(series),
        mixing=waits_after_mixing(of, series),
        **more,
    )


def test_the_first_start_of_a_day_waits_for_mixing(cabin, sheet, words, start) -> None:
    """Aboard at 08:00, mixed then, 20 min at 10 °C by the table."""
    series, of = cabin(), sheet(working=WORKING)
    windows = find_windows(judged(series, of, 1.0))
    assert windows[0].opens == start + timedelta(hours=8, minutes=20)
    assert said(windows[0].opens_because, words) == "aboard and mixed from 08:00"
    assert windows[0].closes == start + timedelta(hours=17)
    assert "mix, wait 20 min" in said(windows[0].notes, words)
    verdict = judged(series, of, 1.0)
    (obstacle,) = find_obstacles(verdict, start + timedelta(hours=8))
    assert "to mix it" in said(obstacle.why)
    assert obstacle.ends == windows[0].opens


def test_nothing_is_mixed_before_now(cabin, sheet, words, start) -> None:
    series, of = cabin(), sheet(working=WORKING)
    now = start + timedelta(hours=10)
    verdict = judged(series, of, 1.0, earliest=now, mixed_from=now)
    first = find_windows(verdict)[0]
    assert first.opens == now + timedelta(minutes=20)
    (obstacle,) = find_obstacles(verdict, now)
    assert obstacle.ends == first.opens


@pytest.mark.parametrize(
    ("hands_on_h", "wanted"),
    [
        (1.0, "can be worked for 1.75 h"),
        (2.0, "work in 2 batches"),
        (4.0, "3 batches"),
    ],
)
def test_what_is_left_of_the_pot_life(cabin, sheet, words, hands_on_h: float, wanted: str) -> None:
    """Two hours at 10 °C less the 20 min it waits: 100 min for hands."""
    notes = said(working_findings(judged(cabin(), sheet(working=WORKING), hands_on_h), 60), words)
    assert any(wanted in note for note in notes), notes


def test_open_time_and_clamps_of_a_glue(cabin, sheet, words, start) -> None:
    """40 min open at 10 °C; put on by 11:00, clamped for 8 h."""
    notes = said(working_findings(judged(cabin(), sheet(working=GLUE), 1.0), 60), words)
    assert any(note.startswith("work in 2 batches") for note in notes)
    assert "keep the joint clamped until today 19:00" in notes


def test_the_warmest_counts_for_what_runs_out_the_coldest_for_what_is_waited_for(
    cabin, sheet, words
) -> None:
    air = np.full(96 * 6 + 1, 10.0)
    air[63] = 20.0
    notes = said(working_findings(judged(cabin(air_c=air), sheet(working=WORKING), 1.0), 60), words)
    assert any("can be worked for 40 min" in note for note in notes)
    assert "mix, wait 20 min" in notes


def test_sheets_without_such_times_say_nothing(cabin, sheet, words) -> None:
    assert working_findings(judged(cabin(), sheet(), 1.0), 60) == []


@pytest.mark.parametrize(("open_time", "mass_told"), [("3 h", True), ("15 min", False)])
def test_the_batch_a_pot_life_goes_by_is_told_where_the_pot_life_is_the_shorter(
    cabin, sheet, open_time: str, mass_told: bool
) -> None:
    working = WORKING | {"open_time": [open_time] * 3}
    verdict = judged(cabin(), sheet(working=working), 4.0)
    (found,) = [each for each in working_findings(verdict, 60) if each.kind == "batches"]
    assert (found.maybe("value") is not None) == mass_told


@pytest.mark.parametrize(("hands_on_h", "batches"), [(2.0, 2), (3.0, 3), (3.01, 4)])
def test_work_that_fills_its_batches_to_the_minute_needs_no_further_one(
    cabin, sheet, hands_on_h: float, batches: int
) -> None:
    working = {"temps": ["10 °C"], "pot_life": ["1 h"]}
    verdict = judged(cabin(), sheet(working=working), hands_on_h)
    (found,) = [each for each in working_findings(verdict, 60) if each.kind == "batches"]
    assert found.number("count") == batches
