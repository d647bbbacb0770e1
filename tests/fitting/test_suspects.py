"""Readings that are wrong in the ways readings are wrong: each is named for what it is.

The kinds are common practice, no source: a sensor left in the sun, one that has died, the
wrong degrees, a slip of the pen.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from trial import make

from curewindow.fitting.cabin import cabin_for
from curewindow.fitting.data import AIR, blurred, data_of, usable
from curewindow.fitting.lesson import fit_with_uncertainty
from curewindow.fitting.suspects import clock_off_h
from curewindow.fitting.unknowns import values_at

pytestmark = pytest.mark.slow

TRIAL = make(2)


def _fit(readings):
    """Cabin, data, solution, suspects and what stays."""
    cabin = cabin_for(
        TRIAL.boat, TRIAL.space, TRIAL.forecast, readings, TRIAL.now, readings[0].at, {}
    )
    plain = cabin.courses(np.zeros((1, len(cabin.unknowns))))
    data = blurred(data_of(cabin, usable(cabin, readings)), plain)
    return cabin, data, *fit_with_uncertainty(cabin, data)


def _sun(reading) -> float:
    moment = np.datetime64(reading.at.replace(tzinfo=None), "s")
    seconds = (TRIAL.forecast.times - TRIAL.forecast.times[0]).astype(float)
    since = float((moment - TRIAL.forecast.times[0]) / np.timedelta64(1, "s"))
    return float(np.interp(since, seconds, TRIAL.forecast.sun_w_m2[0]))


@pytest.fixture(scope="module")
def spoilt():
    """Four readings spoilt, each in its own way, and what was made of them."""
    readings = list(TRIAL.readings)
    bright = max(range(len(readings)), key=lambda i: _sun(readings[i]))
    nights = [i for i, r in enumerate(readings) if r.at.hour in (6, 7)]
    spoils = {
        bright: {"air_c": readings[bright].air_c + 9.0},
        nights[1]: {"air_c": round(readings[nights[1]].air_c * 1.8 + 32.0, 1)},
        nights[3]: {"rh_pct": 0.0},
        nights[4]: {"air_c": readings[nights[4]].air_c + 8.0},
    }
    for index, change in spoils.items():
        readings[index] = replace(readings[index], **change)
    return [readings[i] for i in (bright, nights[1], nights[3], nights[4])], _fit(readings)


def test_each_is_named_for_what_it_is(spoilt) -> None:
    (sun, fahrenheit, dead, odd), (_, _, _, suspects, _) = spoilt
    why = {(s.reading.at, s.value): s.why for s in suspects}
    assert why[sun.at, "air"] == "sun"
    assert why[fahrenheit.at, "air"] == "°F as °C"
    assert why[dead.at, "humidity"] == "out of range"
    assert why[odd.at, "air"] == "odd"
    assert len(why) <= 5


def test_none_of_them_is_used(spoilt) -> None:
    wrong, (_, data, _, _, stays) = spoilt
    used = {data.readings[i].at for i in data.owner[stays & (data.kind == AIR)]}
    assert not used & {reading.at for reading in wrong if reading.rh_pct != 0.0}


@pytest.mark.slow
def test_they_leave_the_values_as_they_would_have_been(spoilt) -> None:
    cabin, _, solution, _, _ = spoilt[1]
    _, _, clean, suspects, _ = _fit(TRIAL.readings)
    assert len(suspects) <= 1
    found, expected = (values_at(cabin.unknowns, s.place) for s in (solution, clean))
    for index, unknown in enumerate(cabin.unknowns):
        spread = unknown.log_spread * float(np.sqrt(clean.covariance[index, index]))
        assert abs(np.log(found[unknown.key] / expected[unknown.key])) < 2.0 * spread


@pytest.mark.slow
def test_a_stuck_sensor() -> None:
    readings = list(TRIAL.readings)
    for index in range(18, 27):
        readings[index] = replace(readings[index], air_c=readings[18].air_c, rh_pct=61.0)
    _, _, _, suspects, _ = _fit(readings)
    stuck = {s.reading.at for s in suspects if s.value == "air"}
    assert stuck >= {readings[i].at for i in range(18, 27)}
    assert sum(s.why == "stuck" for s in suspects) >= 9


@pytest.mark.slow
def test_a_heater_holding_its_setpoint_is_no_stuck_sensor() -> None:
    """The same figure hours on end is what a thermostat is for."""
    readings = [
        replace(reading, air_c=15.0) if 10 <= reading.at.hour <= 15 else reading
        for reading in TRIAL.readings
    ]
    assert not any(suspect.why == "stuck" for suspect in _fit(readings)[3])


@pytest.mark.slow
def test_a_clock_in_another_zone_is_told() -> None:
    late = [replace(r, at=r.at - timedelta(hours=2)) for r in TRIAL.readings]
    _, data, solution, _, _ = _fit(late)
    assert clock_off_h(data, solution.courses) == 2.0
