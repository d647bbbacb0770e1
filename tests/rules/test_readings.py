"""Readings that lie are seen, and what only looks odd is believed."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.physics.air import dew_point
from curewindow.rules.readings import OutsideCourse, ReadCourse, Surroundings, doubted
from tests.cases import cases

HOURS = np.arange(0.0, 120.0)


def course(
    hours: Sequence[float], temp_c: Sequence[float], rh_pct: Sequence[float] = (), **more: object
) -> ReadCourse:
    dew = dew_point(np.array(temp_c), np.array(rh_pct)).tolist() if len(rh_pct) else ()
    return ReadCourse(list(hours), list(temp_c), list(rh_pct), dew, **more)  # type: ignore[arg-type]


def outside(
    temp: Callable[[np.ndarray], np.ndarray] = lambda h: 5.0 + 3.0 * np.sin(h * math.pi / 12.0),
    rh: float = 85.0,
    sun: float = 0.0,
) -> OutsideCourse:
    temp_c = temp(HOURS)
    dew = dew_point(temp_c, np.full(HOURS.size, rh))
    return OutsideCourse(
        HOURS.tolist(), temp_c.tolist(), dew.tolist(), np.full(HOURS.size, sun).tolist()
    )


def told(read: ReadCourse, around: Surroundings) -> dict[int, tuple[str, str]]:
    return {each.index: (each.value, each.why) for each in doubted(read, around)}


def wave(hours: np.ndarray, mean: float, swing: float) -> np.ndarray:
    return mean + swing * np.sin(hours * math.pi / 12.0)


COLD = Surroundings(outside(), heated=False, dried=False)
MODEL = Surroundings(outside(), expected_c=lambda h: 10.0, heated=True, dried=False)


# ---- what lies ------------------------------------------------------------------------------


@pytest.mark.parametrize("mean", [2.0, 5.0, 7.0])
def test_fahrenheit_for_celsius(mean: float) -> None:
    """A whole import in °F, cold enough that each value could be one in °C."""
    hours = np.arange(48.0, 72.0)
    true = wave(hours, mean, 2.0)
    read = course(hours, true * 1.8 + 32.0, np.full(24, 75.0))
    around = Surroundings(outside(lambda h: wave(h, mean, 2.5)), heated=False, dried=False)
    found = told(read, around)
    assert set(found) == set(range(24))
    assert {why for _, why in found.values()} == {"°F as °C"}
    assert not told(course(hours, true, np.full(24, 75.0)), around)


def test_columns_swapped() -> None:
    hours = np.arange(48.0, 60.0)
    temp, rh = wave(hours, 9.0, 1.0), np.full(12, 40.0) + hours % 3
    found = told(course(hours, rh, temp), MODEL)
    assert set(found.values()) == {("air", "swapped")}
    assert len(found) == 12
    assert not told(course(hours, temp, rh + 30.0), MODEL)


def test_both_frozen_while_the_weather_moved() -> None:
    hours = np.arange(24.0, 72.0)
    read = course(hours, np.full(48, 11.3), np.full(48, 71.4))
    assert len(told(read, COLD)) == 48
    heated = Surroundings(outside(lambda h: wave(h, 4.0, 5.0)), heated=True)
    assert len(told(read, heated)) == 48


@pytest.mark.parametrize("value", [55.0, 40.2, 71.0])
def test_humidity_stuck_while_the_air_warmed_and_cooled(value: float) -> None:
    hours = np.arange(0.0, 48.0)
    read = course(hours, wave(hours, 12.0, 3.0), np.full(48, value))
    for around in (Surroundings(), COLD, MODEL):
        found = {k: v for k, v in told(read, around).items() if v == ("humidity", "stuck")}
        assert len(found) == 48, around


def test_two_readings_ten_minutes_and_13_k_apart() -> None:
    """Nothing speaks for either: neither is believed. A third shows which it was."""
    for pair in ((12.0, 25.0), (25.0, 12.0)):
        found = told(course([50.0, 50.17], pair, [70.0, 70.0]), Surroundings())
        assert found == {0: ("air", "jump"), 1: ("air", "jump")}
        third = told(course([50.0, 50.17, 50.4], [*pair, pair[1]], [70.0] * 3), Surroundings())
        assert third == found
    # where the ones before speak for one of them, it is the other
    read = course([45.0, 48.0, 50.0, 50.17], [12.1, 12.2, 12.0, 25.0], [70.0] * 4)
    assert told(read, Surroundings()) == {3: ("air", "jump")}
    # and so does the model
    assert told(course([50.0, 50.17], [10.5, 24.0], [70.0] * 2), MODEL) == {1: ("air", "jump")}
    assert told(course([50.0, 50.17], [24.0, 10.5], [70.0] * 2), MODEL) == {0: ("air", "jump")}


def test_the_sun_on_the_sensor() -> None:
    sunny = Surroundings(outside(sun=400.0), expected_c=lambda h: 10.0)
    assert told(course([60.0], [16.0], [50.0]), sunny) == {0: ("air", "sun")}
    deck = Surroundings(outside(sun=400.0), outdoors=True)
    assert told(course([60.0], [14.0], [50.0]), deck) == {0: ("air", "sun")}
    assert not told(course([60.0], [7.0], [50.0]), deck)


def test_a_sensor_carried_to_another_cabin() -> None:
    hours = np.arange(48.0, 60.0, 0.25)
    forepeak, saloon = wave(hours, 6.0, 0.3), wave(hours, 19.0, 0.3)
    rh_fore, rh_saloon = (
        np.full(hours.size, 80.0) + hours % 1,
        np.full(hours.size, 45.0) + hours % 1,
    )
    moved = hours >= 54.0
    read = course(hours, np.where(moved, saloon, forepeak), np.where(moved, rh_saloon, rh_fore))
    other = course(hours, saloon + 0.2, rh_saloon)
    found = told(read, Surroundings(elsewhere=(other,)))
    assert set(found) == set(np.flatnonzero(moved).tolist())
    assert set(found.values()) == {("air", "carried")}
    back = course(hours, np.where(moved & (hours < 56.0), saloon, forepeak),
                  np.where(moved & (hours < 56.0), rh_saloon, rh_fore))  # fmt: skip
    inside = np.flatnonzero(moved & (hours < 56.0)).tolist()
    assert set(told(back, Surroundings(elsewhere=(other,)))) == set(inside)


def test_colder_warmer_or_drier_than_anything_around() -> None:
    assert told(course([60.0], [-6.0], [80.0]), COLD) == {0: ("air", "colder than around")}
    assert told(course([60.0], [36.0], [40.0]), COLD)[0][0] == "air"
    # 22 % at 8 °C: no air outside was ever so dry
    assert told(course([60.0], [8.0], [22.0]), COLD) == {0: ("humidity", "too dry")}


# ---- what is true, however odd it looks ------------------------------------------------------


def _control(name: str) -> tuple[ReadCourse, Surroundings]:
    rng = np.random.default_rng(3)
    ten = np.arange(60.0, 84.0, 1.0 / 6.0)
    if name == "a real cold snap":
        # 14 K down in a day outside; the unheated cabin follows, its dew point too
        snap = outside(lambda h: np.interp(h, [0, 60, 84, 120], [6, 6, -8, -9]))
        inside = np.interp(ten, [60, 63, 84], [7, 7, -4])
        return course(ten, inside, np.full(ten.size, 80.0) + ten % 2), Surroundings(
            snap, heated=False, dried=False
        )
    if name == "a heater just lit":
        inside = np.interp(ten, [60, 66, 67, 67.5, 84], [8, 8, 18, 20, 20])
        rh = np.interp(ten, [60, 66, 67, 84], [75, 75, 42, 40])
        return course(ten, inside, rh + ten % 1), MODEL
    if name == "a hatch opened":
        inside = np.interp(ten, [60, 70, 70.34, 84], [17, 17, 8, 7])
        rh = np.interp(ten, [60, 70, 70.34, 84], [50, 50, 78, 80])
        return course(ten, inside, rh + ten % 1), MODEL
    if name == "a bath of steam":
        rh = np.interp(ten, [60, 70, 70.2, 71, 73, 84], [60, 60, 99, 99, 60, 60])
        return course(ten, np.interp(ten, [60, 70, 70.5, 73, 84], [19, 19, 22, 19, 19]), rh), MODEL
    if name == "a quiet night behind insulation":
        inside = np.round(15.0 + 0.04 * rng.standard_normal(60), 1)
        rh = np.round(58.0 + 0.3 * rng.standard_normal(60))
        return course(np.arange(60.0, 70.0, 1.0 / 6.0), inside, rh), MODEL
    if name == "a sensor of whole degrees":
        slow = 16.0 + 0.9 * np.sin((ten - 60) * math.pi / 24)
        return course(ten, np.round(slow), np.round(55.0 - 2.0 * (slow - 16.0))), Surroundings(
            outside(), heated=True, dried=False
        )
    if name == "a thermostat for two days":
        hours = np.arange(48.0, 96.0)
        rh = np.round(50.0 + 3.0 * np.sin(hours / 9.0))
        return course(hours, np.full(48, 18.0), rh), Surroundings(outside(), heated=True)
    if name == "fog outdoors":
        hours = np.arange(60.0, 84.0)
        return course(hours, wave(hours, 5.0, 3.0), np.full(24, 100.0)), Surroundings(
            outside(rh=100.0), outdoors=True
        )
    assert name == "read by hand twice a day"
    return course([48.0, 58.0, 72.0, 82.0], [6.0, 15.0, 7.0, 14.0], [70.0] * 4), COLD


@pytest.mark.parametrize(
    "name",
    [
        "a real cold snap",
        "a heater just lit",
        "a hatch opened",
        "a bath of steam",
        "a quiet night behind insulation",
        "a sensor of whole degrees",
        "a thermostat for two days",
        "fog outdoors",
        "read by hand twice a day",
    ],
)
def test_what_is_true_is_believed(name: str) -> None:
    read, around = _control(name)
    assert told(read, around) == {}


def test_a_heater_of_ten_kelvin_an_hour_is_believed_by_who_knows_nothing() -> None:
    read, _ = _control("a heater just lit")
    assert told(read, Surroundings()) == {}


@cases(40)
@given(
    seed=st.integers(0, 10**6),
    step=st.sampled_from([0.1, 0.5, 1.0]),
    every=st.sampled_from([1.0 / 6.0, 0.5, 1.0]),
    heated=st.booleans(),
)
def test_no_made_up_cabin_is_doubted(seed: int, step: float, every: float, heated: bool) -> None:
    """An RC cabin with a buffer of water in its wood, as the weather goes, by any sensor."""
    rng = np.random.default_rng(seed)
    hours = np.arange(0.0, 120.0, every)
    air_out = np.interp(hours, HOURS, outside().temp_c) + 2.0 * np.sin(hours / 17.0 + seed)
    dew_out = air_out - 2.5
    tau, warm = rng.uniform(2.0, 12.0), rng.uniform(8.0, 14.0) if heated else 0.5
    temp, rh = np.empty(hours.size), np.empty(hours.size)
    now, vapour_lag = air_out[0] + 1.0, dew_out[0]
    for k, at in enumerate(hours):
        on = warm if heated and 7.0 <= at % 24.0 <= 22.0 else 0.5
        now += every / tau * (air_out[k] + on - now)
        vapour_lag += every / 5.0 * (dew_out[k] + 2.0 - vapour_lag)
        dew = min(vapour_lag + 0.2 * rng.standard_normal(), now - 0.3)
        temp[k] = now
        rh[k] = 100.0 * math.exp(17.62 * dew / (243.12 + dew) - 17.62 * now / (243.12 + now))
    read = course(hours, np.round(temp / step) * step, np.clip(np.round(rh / step) * step, 1, 100))
    weather = OutsideCourse(hours.tolist(), air_out.tolist(), dew_out.tolist())
    assert told(read, Surroundings(weather, heated=heated, dried=False)) == {}


def test_what_somebody_is_sure_of_is_believed() -> None:
    pair = course([50.0, 50.17], [12.0, 25.0], [70.0, 70.0], sure=[False, True])
    assert 1 not in told(pair, Surroundings())
