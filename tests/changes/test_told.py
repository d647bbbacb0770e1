"""The plan kept from forecast to forecast, and the day sheet that tells what changed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from curewindow.changes import StatedJob, StatedWindow
from curewindow.changes.kept import TOLD_FILE, keep, load
from curewindow.daysheet import DaySheet, day_sheet
from curewindow.daysheet.changed import remember
from curewindow.findings import finding
from curewindow.record.entries import Coat
from curewindow.record.store import Record
from tests.voiced import said

NOW = datetime(2026, 5, 11, 7, 0, tzinfo=UTC)  # Monday 08:00 in London
SHEET = "waterborne-acrylic-varnish"
BOAT = """
name = "test boat"
tins_kept = "home"
[place]
latitude = 51.5
longitude = 0.0
time_zone = "Europe/London"
[weather]
feed = "file"
file = "weather.csv"
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = 08:00:00
until = 18:00:00
"""
WORK = f"""
[[job]]
name = "rail"
outdoors = true
area = "1 m²"
[[job.step]]
do = "coat"
sheet = "{SHEET}"
coats = 3
hands_on = "1 h"
between = "sand"
"""


@pytest.fixture
def boat(tmp_path: Path) -> Path:
    (tmp_path / "boat.toml").write_text(BOAT, encoding="utf-8")
    (tmp_path / "work.toml").write_text(WORK, encoding="utf-8")
    with Record(tmp_path / "record.db"):
        pass
    return tmp_path


Tell = Callable[..., DaySheet]


@pytest.fixture
def tell(boat: Path) -> Tell:
    """Write a forecast that is mild but for what `cold` says, and tell the day by it."""

    def told(now: datetime = NOW, cold: Callable[[datetime], bool] = lambda at: False) -> DaySheet:
        first = datetime(2026, 5, 7, tzinfo=UTC)
        rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
        for hour in range(14 * 24):
            at = first + timedelta(hours=hour)
            temp = -3 if cold(at) else 15
            rows.append(f"{at:%Y-%m-%dT%H:%M}Z,{temp},{temp - 9},2,0,100,0")
        (boat / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
        sheet = day_sheet(boat, now)
        remember(boat, sheet)
        return sheet

    return told


def cold_after(first: datetime) -> Callable[[datetime], bool]:
    return lambda at: at >= first


def test_the_same_forecast_twice_is_no_news(tell: Tell) -> None:
    assert tell().changes == []
    assert tell().changes == []
    assert tell(NOW + timedelta(minutes=40)).changes == []
    assert tell(NOW + timedelta(days=1)).changes == []


def test_a_window_lost_says_why(tell: Tell) -> None:
    tell()
    sheet = tell(cold=cold_after(datetime(2026, 5, 11, 0, tzinfo=UTC)))
    (change,) = sheet.changes
    assert (change.job, change.kind, change.worse) == ("rail", "lost", True)
    assert change.said.kind == "window lost"
    assert change.why
    assert any("below" in text for text in said(change.why))
    assert change.told_at == NOW


def test_news_is_told_until_the_next_forecast(tell: Tell) -> None:
    tell()
    cold = cold_after(datetime(2026, 5, 11, 0, tzinfo=UTC))
    first = tell(NOW + timedelta(hours=1), cold)
    again = tell(NOW + timedelta(hours=1, minutes=20), cold)
    assert first.changes
    assert [c.kind for c in again.changes] == [c.kind for c in first.changes]
    # A next forecast that says the same: no news any more.
    tell(NOW + timedelta(hours=2), cold_after(datetime(2026, 5, 10, 23, tzinfo=UTC)))
    later = tell(NOW + timedelta(hours=3), cold_after(datetime(2026, 5, 10, 22, tzinfo=UTC)))
    assert later.changes == []


def test_a_window_moved_by_cold(tell: Tell) -> None:
    tell()
    sheet = tell(cold=lambda at: at.date() == NOW.date() and at.hour < 12)
    (change,) = sheet.changes
    assert change.kind == "moved"
    assert change.opens_later_h > 3.0
    assert "later" in said(change.said)


def test_a_window_that_opens(tell: Tell) -> None:
    tell(cold=cold_after(datetime(2026, 5, 11, 0, tzinfo=UTC)))
    (change,) = tell().changes
    assert (change.kind, change.worse) == ("new", False)


def test_a_job_logged_in_between_is_no_news(tell: Tell, boat: Path) -> None:
    tell()
    later = NOW + timedelta(hours=3)
    with Record(boat / "record.db", now=lambda: later) as record:
        record.add_coat(Coat("rail", 1, 1, NOW, NOW + timedelta(hours=1), SHEET))
    sheet = tell(later, cold_after(datetime(2026, 5, 11, 12, tzinfo=UTC)))
    assert sheet.changes == []


def test_json_carries_it(tell: Tell) -> None:
    tell()
    sheet = tell(cold=cold_after(datetime(2026, 5, 11, 0, tzinfo=UTC)))
    back = DaySheet.model_validate_json(sheet.model_dump_json())
    assert back.changes == sheet.changes


def test_a_broken_file_is_a_warning(
    tell: Tell, boat: Path, caplog: pytest.LogCaptureFixture
) -> None:
    tell()
    for text in ("{", "[]", '{"format": 9}', '{"format": 1, "weather": "x", "jobs": {"rail": 3}}'):
        (boat / TOLD_FILE).write_text(text)
        caplog.clear()
        assert day_sheet(boat, NOW).changes == []
        assert len(caplog.records) == 1


def plan(minutes_less: float) -> StatedJob:
    opens = NOW + timedelta(hours=2)
    closes = opens + timedelta(minutes=300 - minutes_less)
    return StatedJob(
        job="rail",
        step=1,
        coat=1,
        hands_on_h=1.0,
        windows=[
            StatedWindow(
                opens=opens,
                closes=closes,
                confidence=0.9,
                opens_because=finding("open already"),
                closes_because=finding("forecast ends"),
            )
        ],
    )


def test_little_by_little_is_held_against_what_was_told(tmp_path: Path) -> None:
    for number, less in enumerate((0, 20, 40)):
        keep(tmp_path, f"forecast {number}", [plan(less)], [], NOW + timedelta(minutes=number))
    before, told_at = load(tmp_path).before("forecast 3")["rail"]
    assert before == plan(0)
    assert told_at == NOW
    # Once told as news, that is what the next one is held against.
    keep(tmp_path, "forecast 3", [plan(60)], ["rail"], NOW + timedelta(minutes=9))
    assert load(tmp_path).before("forecast 3")["rail"][0] == plan(0)
    assert load(tmp_path).before("forecast 4")["rail"][0] == plan(60)


def test_the_same_doubts_for_the_next_forecast(tell: Tell, boat: Path) -> None:
    """Members drawn anew each time would move windows that no forecast has moved."""
    from curewindow.situation import read_situation

    tell()
    first = read_situation(boat, NOW).forecast
    later = read_situation(boat, NOW + timedelta(hours=5)).forecast
    off, again = (one.temp_c[1:] - one.temp_c[0] for one in (first, later))
    # Five hours less of lead time: errors a little smaller, of the same shape.
    ahead = first.times > np.datetime64("2026-05-12T00:00:00")
    assert np.corrcoef(off[:, ahead].ravel(), again[:, ahead].ravel())[0, 1] > 0.999
