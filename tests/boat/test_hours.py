"""Hours aboard by the clock on the wall, on ordinary days and when the clocks change.

Clock changes: IANA time zone database, Europe/London and America/New_York 2025.
"""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.boat.hours import hours_mask, local_clock, next_hours_text
from curewindow.boat.schema import Boat
from tests.cases import cases


def _boat(zone: str = "Europe/London", hours: list[dict[str, object]] | None = None) -> Boat:
    return Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 50.9, "longitude": -1.4, "time_zone": zone},
            "hours": hours if hours is not None else [],
        }
    )


EVERY_DAY = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
NINE_TO_FIVE = [{"days": EVERY_DAY, "from": "09:00", "until": "17:00"}]


def _grid(start: str, stop: str) -> np.ndarray:
    return np.arange(start, stop, np.timedelta64(10, "m"), dtype="datetime64[s]")


@pytest.mark.parametrize(
    ("zone", "day", "first", "last"),
    [
        ("Europe/London", "2025-01-15", "2025-01-15T09:00", "2025-01-15T17:00"),
        # Spring forward on 30 March 2025 at 01:00 UTC: 09:00 BST is 08:00 UTC.
        ("Europe/London", "2025-03-29", "2025-03-29T09:00", "2025-03-29T17:00"),
        ("Europe/London", "2025-03-30", "2025-03-30T08:00", "2025-03-30T16:00"),
        # Back on 26 October 2025 at 01:00 UTC.
        ("Europe/London", "2025-10-25", "2025-10-25T08:00", "2025-10-25T16:00"),
        ("Europe/London", "2025-10-26", "2025-10-26T09:00", "2025-10-26T17:00"),
        # 9 March and 2 November 2025, 02:00 local.
        ("America/New_York", "2025-03-08", "2025-03-08T14:00", "2025-03-08T22:00"),
        ("America/New_York", "2025-03-09", "2025-03-09T13:00", "2025-03-09T21:00"),
        ("America/New_York", "2025-11-02", "2025-11-02T14:00", "2025-11-02T22:00"),
    ],
)
def test_nine_to_five_is_by_the_wall_clock(zone: str, day: str, first: str, last: str) -> None:
    start = np.datetime64(day, "s")
    times = _grid(str(start), str(start + np.timedelta64(1, "D")))
    inside = times[hours_mask(_boat(zone, NINE_TO_FIVE), times)]
    assert inside[0] == np.datetime64(first)
    assert inside[-1] == np.datetime64(last)


def test_a_night_shift_of_the_clocks_has_its_own_length() -> None:
    """00:00 to 04:00 by the wall is three hours in spring and five in autumn."""
    boat = _boat(hours=[{"days": ["Sun"], "from": "00:00", "until": "04:00"}])
    spring = _grid("2025-03-29T12:00", "2025-03-30T12:00")
    autumn = _grid("2025-10-25T12:00", "2025-10-26T12:00")
    assert hours_mask(boat, spring).sum() == 3 * 6 + 1
    assert hours_mask(boat, autumn).sum() == 5 * 6 + 1


def test_days_are_local_days() -> None:
    """Saturday morning in Auckland is still Friday in UTC."""
    boat = _boat("Pacific/Auckland", [{"days": ["Sat"], "from": "08:00", "until": "10:00"}])
    times = _grid("2025-01-10T00:00", "2025-01-12T00:00")
    inside = times[hours_mask(boat, times)]
    assert inside[0] == np.datetime64("2025-01-10T19:00")


def test_until_midnight() -> None:
    boat = _boat("UTC", [{"days": ["Fri"], "from": "20:00", "until": "00:00"}])
    inside = _grid("2025-01-10T00:00", "2025-01-12T00:00")
    inside = inside[hours_mask(boat, inside)]
    assert inside[0] == np.datetime64("2025-01-10T20:00")
    assert inside[-1] == np.datetime64("2025-01-10T23:50")


def test_without_hours_any_time_counts() -> None:
    times = _grid("2025-01-10T00:00", "2025-01-11T00:00")
    assert hours_mask(_boat(), times).all()


@cases(60)
@given(
    st.sampled_from(
        ["Europe/London", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"]
    ),
    st.datetimes(datetime(1995, 1, 1), datetime(2035, 1, 1)),  # noqa: DTZ001
)
def test_local_clock_agrees_with_the_zone_database(zone: str, start: datetime) -> None:
    times = np.datetime64(start, "s") + np.arange(0, 3 * 86400, 1234).astype("timedelta64[s]")
    day, second = local_clock(times, zone)
    for instant, got_day, got_second in zip(times, day, second, strict=True):
        wall = datetime.fromtimestamp(int(instant.astype(np.int64)), UTC).astimezone(ZoneInfo(zone))
        assert np.datetime64(int(got_day), "D") == np.datetime64(wall.date())
        assert got_second == wall.hour * 3600 + wall.minute * 60 + wall.second


@pytest.mark.parametrize(
    ("now", "text"),
    [
        (datetime(2025, 1, 15, 10, tzinfo=UTC), "aboard now until 17:00"),
        (datetime(2025, 1, 15, 6, tzinfo=UTC), "next aboard today 09:00-17:00"),
        (datetime(2025, 1, 15, 18, tzinfo=UTC), "next aboard Thu 09:00-17:00"),
    ],
)
def test_next_hours_in_words(now: datetime, text: str) -> None:
    assert next_hours_text(_boat(hours=NINE_TO_FIVE), now) == text
