"""Water from the air of past weeks."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.weather.water import water_from_air

START = np.datetime64("2025-01-01T00:00:00", "s")


def course(days: float, temp: float) -> tuple[np.ndarray, np.ndarray]:
    times = START + np.arange(round(days * 24) + 1) * np.timedelta64(3600, "s")
    return times, np.full(times.size, temp)


# Pilgrim, Fang and Stefan (1995), abstract: weekly Tw = 1.9 + 0.97 Ta (2.6 °C), monthly
# Tw = 0.7 + 1.04 Ta (1.9 °C); worked by hand.
@pytest.mark.parametrize(
    ("days", "air", "water", "error"),
    [
        (8, 10.0, 11.6, 2.6),
        (8, 5.0, 6.75, 2.6),
        (30, 10.0, 11.1, 1.9),
        (30, 20.0, 21.5, 1.9),
        (30, -8.0, 0.0, 1.9),  # fresh water freezes
        (8, -8.0, 0.0, 2.6),
    ],
)
def test_published_relation(days: float, air: float, water: float, error: float) -> None:
    times, air_c = course(days, air)
    got = water_from_air(times, air_c, times[-1])
    assert got.temp_c == pytest.approx(water)
    assert got.error_k == error


def test_only_the_past_counts_where_it_is_known() -> None:
    times, air_c = course(20, 5.0)
    air_c[times > START + np.timedelta64(10, "D")] = 30.0
    got = water_from_air(times, air_c, START + np.timedelta64(10, "D"))
    assert got.temp_c == pytest.approx(1.9 + 0.97 * 5.0)


def test_the_less_is_known_the_less_sure() -> None:
    times, air_c = course(40, 5.0)
    errors = [
        water_from_air(times, air_c, START + np.timedelta64(hours, "h")).error_k
        for hours in (0, 48, 24 * 7, 24 * 30)
    ]
    assert errors == sorted(errors, reverse=True)
    assert len(set(errors)) == 4
    assert np.isnan(water_from_air(times, air_c * np.nan, START).temp_c)


def test_sea_water_freezes_lower() -> None:
    times, air_c = course(30, -15.0)
    # Sea water of 35 g/kg freezes at -1.9 °C (UNESCO Technical Papers in Marine Science 44).
    assert water_from_air(times, air_c, times[-1], salt=True).temp_c == pytest.approx(
        -1.9, abs=0.05
    )
