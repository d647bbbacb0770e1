"""Sunrise and sunset of a day by the clock, against the NREL algorithm."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from curewindow.boat.schema import Place
from curewindow.boat.sun import sun_times


# Reda and Andreas, Solar Position Algorithm, NREL/TP-560-34302 (2008), by pvlib's
# sun_rise_set_transit_spa; the places and days of tests/published/test_daylight.py.
@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "day", "rise", "set_"),
    [
        (51.4779, 0.0, "Europe/London", "2024-06-20", "2024-06-20 03:42", "2024-06-20 20:20"),
        (51.4779, 0.0, "Europe/London", "2024-12-21", "2024-12-21 08:03", "2024-12-21 15:53"),
        (56.41, -5.47, "Europe/London", "2024-12-21", "2024-12-21 08:54", "2024-12-21 15:45"),
        # West and east of Greenwich the local day lies over two UTC days.
        (
            47.61,
            -122.33,
            "America/Los_Angeles",
            "2024-12-21",
            "2024-12-21 15:55",
            "2024-12-22 00:20",
        ),
        (-33.87, 151.21, "Australia/Sydney", "2024-06-20", "2024-06-19 21:00", "2024-06-20 06:53"),
    ],
)
def test_by_the_clock_of_the_place(
    latitude: float, longitude: float, zone: str, day: str, rise: str, set_: str
) -> None:
    place = Place(latitude=latitude, longitude=longitude, time_zone=zone)
    found = sun_times(place, date.fromisoformat(day))
    for got, want in zip(found, (rise, set_), strict=True):
        assert got is not None
        expected = datetime.fromisoformat(want).replace(tzinfo=UTC)
        assert abs(got - expected) <= timedelta(minutes=2)


def test_polar_day_and_night() -> None:
    """Tromsø, 69.65° N: the sun neither rises nor sets in June and in December (same source)."""
    place = Place(latitude=69.65, longitude=18.96, time_zone="Europe/Oslo")
    assert sun_times(place, date(2024, 6, 20)) == (None, None)
    assert sun_times(place, date(2024, 12, 21)) == (None, None)


def test_the_day_the_clocks_go_back() -> None:
    place = Place(latitude=52.0, longitude=5.0, time_zone="Europe/Amsterdam")
    before, after = (sun_times(place, date(2026, 10, day)) for day in (24, 25))
    assert before[0] is not None
    assert after[0] is not None
    assert timedelta(hours=23, minutes=58) < after[0] - before[0] < timedelta(hours=24, minutes=4)
