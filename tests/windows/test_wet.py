"""Water that dew or rain left on a surface: how long it lies, and that nothing goes on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from curewindow.windows import find_obstacles, find_windows, judge
from curewindow.windows.wet import water_lying
from curewindow.wording import Wording
from tests.voiced import said

POINTS = 96 * 6 + 1
OUTDOORS = {"outdoors": True, "space": "outdoors", "surface": "", "wind_ms": 3.0, "sun_w_m2": 0.0}


@pytest.fixture
def words(start) -> Wording:
    return Wording(ZoneInfo("UTC"), start)


def always(series) -> np.ndarray:
    return np.ones(len(series.times), np.bool_)


def showers(until_h: float) -> np.ndarray:
    rain = np.zeros(POINTS)
    rain[: round(until_h * 6)] = 0.4
    return rain


def test_a_tenth_of_a_millimetre_dries_as_the_psychrometer_has_it(cabin) -> None:
    """h (t - t') = L times the rate: 10 °C, 70 %, wet bulb 7.5 °C (psychrometric tables),
    L = 2.483 MJ/kg, h = 4 + 4 x 0.6 x 3 m/s = 11.2 W/m²K (ISO 6946, annex C)."""
    dew = 4.78  # of 10 °C and 70 % (WMO-No. 8, annex 4.B)
    series = cabin(dew_point_c=dew, rain_mm_h=showers(3.0), **OUTDOORS)
    lying = water_lying(series)[0]
    assert lying[3 * 6] == pytest.approx(0.1, rel=0.02)  # no more than stays
    takes_h = 0.1 / (11.2 * (10.0 - 7.5) / 2.483e6) / 3600.0
    dry_h = (np.flatnonzero(lying[18:] <= 1e-4)[0]) / 6.0
    assert dry_h == pytest.approx(takes_h, rel=0.2)


def test_dry_weather_leaves_nothing(cabin) -> None:
    assert not water_lying(cabin()).any()


def test_in_saturated_air_it_does_not_dry(cabin) -> None:
    series = cabin(dew_point_c=10.0, rain_mm_h=showers(1.0), **OUTDOORS)
    assert (water_lying(series)[0, 6:] >= 0.05).all()


def test_more_wind_and_drier_air_dry_it_sooner(cabin) -> None:
    def hours(dew: float, wind: float) -> float:
        fields = OUTDOORS | {"wind_ms": wind}
        series = cabin(dew_point_c=dew, rain_mm_h=showers(2.0), **fields)
        return float((water_lying(series)[0] > 1e-4).sum())

    assert hours(2.0, 6.0) < hours(2.0, 1.0)
    assert hours(2.0, 3.0) < hours(6.0, 3.0)


def test_hours_nothing_is_known_of_dry_nothing(cabin) -> None:
    air = np.full(POINTS, 10.0)
    air[20:60] = np.nan
    series = cabin(surface_c=air, rain_mm_h=showers(3.0), **OUTDOORS)
    lying = water_lying(series)[0]
    assert np.isfinite(lying).all()
    assert lying[59] == lying[21]


@pytest.mark.parametrize("members", [1, 3])
def test_wiped_is_dry_until_the_next_water(cabin, start, members: int) -> None:
    rain = showers(1.0)
    rain[10 * 6 : 11 * 6] = 0.4
    series = cabin(dew_point_c=9.0, rain_mm_h=rain, members=members, **OUTDOORS)
    lying = water_lying(series, [start + timedelta(hours=2, minutes=3)])
    assert (lying[:, 7] > 0.05).all()
    assert (lying[:, 13 : 10 * 6] == 0.0).all()
    assert (lying[:, 11 * 6] > 0.05).all()


def test_no_start_on_it_and_the_sentence_says_so(cabin, sheet, words, start) -> None:
    series = cabin(rain_mm_h=showers(3.0), **OUTDOORS)
    wet = replace(series, lying_kg_m2=water_lying(series))
    verdict = judge(wet, sheet(), 1.0, hours_ok=always(wet))
    first = find_windows(verdict)[0]
    assert first.opens > start + timedelta(hours=4)
    assert said(first.opens_because, words) == "the surface has dried"
    (obstacle,) = find_obstacles(verdict, start + timedelta(hours=4))
    assert said(obstacle.why) == "surface still wet"
    assert obstacle.ends == first.opens
    wiped = replace(
        series, lying_kg_m2=water_lying(series, [start + timedelta(hours=3, minutes=30)])
    )
    again = find_windows(judge(wiped, sheet(), 1.0, hours_ok=always(wiped)))[0]
    assert again.opens == start + timedelta(hours=3, minutes=30)


def test_frost_lies_until_it_has_gone(cabin) -> None:
    """At -3 °C under a dew point of -4 °C, whose frost point is -3.5 °C: nothing forms; under
    -2.5 °C it does, and stays while it is as cold."""
    dew = np.full(POINTS, -4.0)
    bare = cabin(surface_c=-3.0, air_c=0.0, dew_point_c=dew)
    assert not water_lying(bare).any()
    dew[:12] = -2.5
    lying = water_lying(cabin(surface_c=-3.0, air_c=0.0, dew_point_c=dew))[0]
    assert lying[12] > 1e-4
    assert (np.diff(lying[13:]) <= 0.0).all()


@pytest.mark.parametrize(("lying_g_m2", "dry"), [(0.095, True), (0.105, False)])
def test_less_than_a_tenth_of_a_gram_is_none(cabin, sheet, lying_g_m2: float, dry: bool) -> None:
    series = cabin(hours=24.0)
    lying = np.full(series.surface_c.shape, lying_g_m2 / 1000.0)
    verdict = judge(replace(series, lying_kg_m2=lying), sheet(), 1.0, hours_ok=always(series))
    assert bool(verdict.ok.any()) is dry
