"""Quiet hours and the morning's time, by the clock on the wall and across its changes."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.boat.service import ServiceSettings
from curewindow.reminders.daily import morning_of
from curewindow.reminders.quiet import quiet_stretch, sent_at
from tests.cases import cases

ZONE = ZoneInfo("Europe/Amsterdam")
USUAL = ServiceSettings()  # quiet from 22:00 until 07:00


def wall(text: str, day: int = 25, month: int = 11) -> datetime:
    hour, minute = text.split(":")
    return datetime(2026, month, day, int(hour), int(minute), tzinfo=ZONE).astimezone(UTC)


@pytest.mark.parametrize(
    ("due", "told"),
    [("12:00", "12:00"), ("22:00", "07:00+1"), ("06:59", "07:00"), ("07:00", "07:00")],
)
def test_what_can_wait_waits_for_the_morning(due: str, told: str) -> None:
    clock, _, later = told.partition("+")
    expected = wall(clock, 25 + int(later or 0))
    assert sent_at(wall(due), "normal", USUAL, ZONE, wall("05:00")) == expected


def test_what_is_urgent_wakes_unless_the_owner_said_no() -> None:
    at = wall("03:00")
    assert sent_at(at, "urgent", USUAL, ZONE, at) == at
    asleep = ServiceSettings(wake_for_urgent=False)
    assert sent_at(at, "urgent", asleep, ZONE, at) == wall("07:00")


def test_what_cannot_wait_for_the_morning_comes_before_bed() -> None:
    due, latest = wall("03:00", 26), wall("06:00", 26)
    early = sent_at(due, "normal", USUAL, ZONE, wall("18:00"), latest=latest)
    assert early == wall("21:30")
    # in the night itself there is no evening left
    night = sent_at(due, "normal", USUAL, ZONE, wall("02:00", 26), latest=latest)
    assert night == wall("07:00", 26)


def test_never_quiet() -> None:
    never = ServiceSettings(quiet_from=time(7), quiet_until=time(7))
    assert quiet_stretch(wall("03:00"), never, ZONE) is None


def test_the_nights_the_clocks_change() -> None:
    """29 March has an hour less, 25 October one more; quiet ends at 07:00 by the wall."""
    for day, month, hours in ((29, 3, 8), (25, 10, 10)):
        stretch = quiet_stretch(wall("05:00", day, month), USUAL, ZONE)
        assert stretch is not None
        assert stretch[1] - stretch[0] == timedelta(hours=hours)
        assert stretch[1] == wall("07:00", day, month)


@cases(60)
@given(
    at=st.integers(0, 366 * 24 * 60).map(
        lambda minutes: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    ),
    quiet_from=st.times(),
    quiet_until=st.times(),
)
def test_told_never_in_the_quiet_hours(at: datetime, quiet_from: time, quiet_until: time) -> None:
    owner = ServiceSettings(quiet_from=quiet_from, quiet_until=quiet_until)
    told = sent_at(at, "normal", owner, ZONE, at)
    assert told >= at
    assert told - at <= timedelta(hours=25)
    assert quiet_stretch(told, owner, ZONE) is None


@pytest.mark.parametrize(
    ("day", "at", "expected"),
    [
        # 02:30 does not exist on 29 March (an hour later then) and is there twice on 25 October
        (date(2026, 3, 29), time(2, 30), datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),
        (date(2026, 10, 25), time(2, 30), datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        (date(2026, 11, 25), time(7, 30), datetime(2026, 11, 25, 6, 30, tzinfo=UTC)),
    ],
)
def test_the_mornings_time(day: date, at: time, expected: datetime) -> None:
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    assert morning_of(noon, at, ZONE) == expected
