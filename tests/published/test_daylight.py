"""Sunrise and sunset against the NREL solar position algorithm.

Expected times: Reda and Andreas, Solar Position Algorithm for Solar Radiation
Applications, NREL/TP-560-34302 (2008), as computed by the pvlib library
(sun_rise_set_transit_spa). The algorithm's own uncertainty is far below a second
in the sun's place; the horizon it uses (0.8333° below) is the almanacs' own.
"""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.boat.hours import daylight_mask
from curewindow.boat.schema import Place

# place, latitude, longitude, sunrise and sunset in UTC
TIMES = [
    ("Greenwich", 51.4779, 0.0, "2024-03-20 06:01:47", "2024-03-20 18:13:50"),
    ("Greenwich", 51.4779, 0.0, "2024-06-20 03:42:37", "2024-06-20 20:20:47"),
    ("Greenwich", 51.4779, 0.0, "2024-12-21 08:03:18", "2024-12-21 15:53:16"),
    ("Southampton", 50.9, -1.4, "2025-01-15 08:01:44", "2025-01-15 16:28:51"),
    ("Oban", 56.41, -5.47, "2024-06-20 03:31:42", "2024-06-20 21:15:01"),
    ("Oban", 56.41, -5.47, "2024-12-21 08:54:34", "2024-12-21 15:45:46"),
    ("Seattle", 47.61, -122.33, "2024-12-21 15:55:02", "2024-12-22 00:20:01"),
    ("Tromso", 69.65, 18.96, "2024-03-20 04:41:41", "2024-03-20 17:03:27"),
    ("Sydney", -33.87, 151.21, "2024-06-19 21:00:03", "2024-06-20 06:53:42"),
    ("Sydney", -33.87, 151.21, "2024-12-20 18:41:20", "2024-12-21 09:05:38"),
    ("Equator", 0.0, 0.0, "2024-09-22 05:49:16", "2024-09-22 17:55:46"),
]
TOLERANCE = np.timedelta64(120, "s")


def _place(latitude: float, longitude: float) -> Place:
    return Place(latitude=latitude, longitude=longitude, time_zone="UTC")


@pytest.mark.parametrize(("name", "latitude", "longitude", "rise", "set_"), TIMES)
def test_sunrise_and_sunset(
    name: str, latitude: float, longitude: float, rise: str, set_: str
) -> None:
    sunrise, sunset = np.datetime64(rise, "s"), np.datetime64(set_, "s")
    times = np.arange(
        sunrise - np.timedelta64(3, "h"), sunset + np.timedelta64(3, "h"), np.timedelta64(10, "s")
    )
    light = times[daylight_mask(_place(latitude, longitude), times)]
    assert abs(light[0] - sunrise) < TOLERANCE
    assert abs(light[-1] - sunset) < TOLERANCE


@pytest.mark.parametrize(
    ("date", "light"),
    [("2024-06-20", True), ("2024-12-21", False)],
    ids=["polar day", "polar night"],
)
def test_polar_day_and_night(date: str, light: bool) -> None:
    """Tromsø, 69.65° N: no sunset in June, no sunrise in December (same source)."""
    times = np.datetime64(date, "s") + np.arange(0, 86400, 300).astype("timedelta64[s]")
    mask = daylight_mask(_place(69.65, 18.96), times)
    assert mask.all() if light else not mask.any()
