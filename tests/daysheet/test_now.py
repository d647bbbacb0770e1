"""What stands under NOW is how it is now: to the minute, and as it was read a moment ago."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from curewindow.daysheet import DaySheet, day_sheet
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from tests.daysheet.conftest import NOW, SAND, job

Make = Callable[..., DaySheet]


@pytest.mark.slow
@pytest.mark.parametrize("minute", [1, 5, 9])
@pytest.mark.parametrize("age", [0, 20, 240])
def test_a_reading_of_a_moment_ago_is_shown(
    make: Make, folder: Path, minute: int, age: int
) -> None:
    make(job("shelf"))
    now = NOW + timedelta(minutes=minute)
    read = Reading("cabin", now - timedelta(seconds=age), air_c=21.4, rh_pct=43.0)
    with Record(folder / "record.db", now=lambda: now) as record:
        record.add_readings([read], what="test")
    shown = next(s for s in day_sheet(folder, now).spaces if s.where == "cabin")
    assert shown.measured
    assert shown.air_c == pytest.approx(21.4, abs=0.2)  # what it changes by in minutes
    assert shown.rh_pct == pytest.approx(43.0, abs=1.0)


def test_nothing_jumps_where_nothing_happens(make: Make, folder: Path) -> None:
    make(job("shelf"))

    def air(now: datetime) -> float:
        shown = next(s for s in day_sheet(folder, now).spaces if s.where == "cabin")
        assert shown.air_c is not None
        return shown.air_c

    courses = [air(NOW + timedelta(seconds=each)) for each in (0, 299, 599, 600, 601)]
    assert max(courses) - min(courses) <= 0.2


@pytest.mark.parametrize("seconds", [-601, -599, -300, -1])
def test_work_by_hand_may_begin_until_its_window_closes(
    make: Make, folder: Path, seconds: int
) -> None:
    made = make(job("shelf", SAND))
    [window] = next(day for day in made.jobs if day.job == "shelf").windows_today
    then = window.closes + timedelta(seconds=seconds)
    [left] = next(day for day in day_sheet(folder, then).jobs if day.job == "shelf").windows_today
    assert (left.opens, left.closes) == (then, window.closes)


def test_a_time_without_a_zone_is_refused(make: Make, folder: Path) -> None:
    make(job("shelf"))
    with pytest.raises(ValueError, match="aware"):
        day_sheet(folder, NOW.replace(tzinfo=None))


def test_a_reading_leaves_open_what_it_finds_good(make: Make, folder: Path) -> None:
    """Between two points of the grid as well: to log one never costs the minutes till the next."""
    made = make(job("shelf"))
    cabin = next(s for s in made.spaces if s.where == "cabin")
    assert cabin.air_c is not None
    assert cabin.rh_pct is not None
    then = NOW + timedelta(minutes=3)
    read = Reading("cabin", then, air_c=cabin.air_c, rh_pct=cabin.rh_pct)
    with Record(folder / "record.db", now=lambda: then) as record:
        record.add_readings([read], what="test")
    for now in (then, then + timedelta(minutes=4)):
        day = next(day for day in day_sheet(folder, now).jobs if day.job == "shelf")
        assert day.windows_today[0].opens == now
