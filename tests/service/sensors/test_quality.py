"""Readings that are not believed: sun, wrong degrees, standstill, drift. Never silently used."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from curewindow_service.sensors import quality
from curewindow_service.sensors.drift import drifts
from curewindow_service.sensors.heard import Expected, Heard
from curewindow_service.sensors.inrecord import drifts_by_sensor, save
from curewindow_service.sensors.one import CheckedMessage, One
from curewindow_service.sensors.payload import Payload

from curewindow.boat.sensors import Sensor
from curewindow.fitting import suspects
from curewindow.record.doubted import doubted_in
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from curewindow.rules import readings

START = datetime(2026, 11, 25, 8, tzinfo=UTC)


def _one(**more: Any) -> One:
    return One(Sensor.model_validate({"name": "meter", "space": "saloon", "topic": "a", **more}))


def _send(
    one: One,
    minutes: float,
    temp_c: float,
    rh_pct: float | None = 70.0,
    expected: Expected = Expected(),  # noqa: B008 - frozen
    *,
    others: list[float] | None = None,
    by_hand: list[float] | None = None,
    sun_up: bool = False,
    heated: bool = False,
) -> CheckedMessage:
    now = START + timedelta(minutes=minutes)
    assert one.hear(Heard("meter", Payload(temp_c, rh_pct)), now) == ""
    reading = one.ready()
    assert reading is not None
    return one.judge(
        reading,
        expected,
        others or [],
        now,
        read_by_others=lambda: by_hand or [],
        sun_may_shine=lambda: sun_up,
        heated=heated,
    )


def test_bounds_are_those_of_the_one_rule() -> None:
    for name in ("SUN_W_M2", "SUN_K", "STUCK_COUNT", "STUCK_H", "STUCK_K", "STUCK_PCT"):
        bound = getattr(readings, name)
        assert getattr(quality, name) is bound
        assert getattr(suspects, name) is bound
    assert quality.is_fahrenheit is readings.is_fahrenheit is suspects.is_fahrenheit


def test_sun_on_the_sensor_is_set_aside() -> None:
    one = _one()
    assert _send(one, 0, 9.0, 80.0, Expected(9.2, 80.0, 300.0)).keep is not None
    lit = _send(one, 20, 16.5, 50.0, Expected(9.5, 79.0, 350.0))
    assert lit.keep is None
    assert lit.aside is not None
    assert (lit.aside.why, lit.aside.expected) == ("sun", 9.5)
    assert one.doubt.startswith("sun: 16.5 °C where 9.5")
    # over: believed again
    assert _send(one, 60, 9.9, 78.0, Expected(9.8, 78.0, 300.0)).keep is not None
    assert one.doubt == ""


@pytest.mark.parametrize(
    "why_not",
    [
        {"expected": Expected(9.5, 79.0, 20.0)},  # no sunshine: somebody lit the heater
        {"expected": Expected(9.5, 79.0, 350.0), "others": [15.8]},  # another sensor agrees
        {"expected": Expected(9.5, 79.0, 350.0), "by_hand": [16.0]},  # so does a person
        {"heated": True, "sun_up": True},  # nothing known, and there is a heater
        {"sun_up": False},  # night
    ],
)
def test_warmth_that_is_not_the_sun(why_not: dict[str, Any]) -> None:
    one = _one()
    _send(one, 0, 9.0, 80.0)
    assert _send(one, 20, 16.5, 50.0, **why_not).keep is not None


def test_with_nothing_to_compare_a_rise_in_daylight_is_doubted() -> None:
    one = _one()
    _send(one, 0, 5.0, 85.0)
    assert _send(one, 20, 12.0, 60.0, sun_up=True).aside is not None
    assert _send(one, 120, 14.5, 60.0, sun_up=True).aside is not None  # as long as it lasts
    assert _send(one, 240, 6.0, 82.0, sun_up=True).keep is not None


def test_fahrenheit_taken_for_celsius() -> None:
    judged = _send(_one(), 0, 41.0, 80.0, Expected(5.2, 80.0, 0.0))
    assert judged.aside is not None
    assert judged.aside.why == "°F as °C"


def test_a_jump_is_believed_when_it_stays() -> None:
    one = _one()
    _send(one, 0, 12.0)
    glitch = _send(one, 2, 44.0)
    assert glitch.aside is not None
    assert glitch.aside.why == "jump"
    assert _send(one, 10, 12.1).keep is not None  # it was nothing
    # a heater was lit beside it
    assert _send(one, 20, 23.0).aside is not None
    assert _send(one, 25, 24.0).keep is None
    assert _send(one, 31, 24.5).keep is not None
    assert one.doubt == ""
    # after hours of silence nothing is known of how quick it was
    assert _send(one, 600, 8.0).keep is not None


def test_a_sensor_that_stands_still() -> None:
    one = _one()
    for hour in range(15):
        judged = _send(one, 60 * hour, 7.0, 70.0, Expected(5.0 + 0.3 * hour, 70.0, 0.0))
    assert judged.aside is not None
    assert judged.aside.why == "stuck"
    quiet = _one()
    for hour in range(15):
        judged = _send(quiet, 60 * hour, 7.0, 70.0, Expected(7.0, 70.0, 0.0))
    assert judged.aside is None


def test_a_value_that_cannot_be_is_refused() -> None:
    """85 °C: what a common one-wire thermometer sends before its first conversion."""
    one = _one()
    judged = _send(one, 0, 85.0)
    assert (judged.keep, judged.aside) == (None, None)
    assert "not likely" in one.refused_because


def test_on_a_panel_it_reads_the_surface() -> None:
    judged = _send(_one(panel="panelled side"), 0, 6.0, 95.0)
    assert judged.keep is not None
    assert (judged.keep.surface_c, judged.keep.air_c, judged.keep.rh_pct) == (6.0, None, None)
    assert judged.keep.panel == "panelled side"


def test_a_clock_that_was_ahead_does_not_silence_a_sensor() -> None:
    one = _one()
    assert _send(one, 600, 8.0).keep is not None
    assert _send(one, 0, 8.0).keep is not None


def test_temperature_and_humidity_apart_are_one_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    from curewindow_service.sensors import one as module

    ticks = [0.0]
    monkeypatch.setattr(module.time, "monotonic", lambda: ticks[0])
    one = _one(humidity_topic="a/h")
    one.hear(Heard("meter", Payload(temp_c=8.0)), START)
    assert one.ready() is None
    ticks[0] = 4.0
    one.hear(Heard("meter", Payload(rh_pct=66.0)), START + timedelta(seconds=4))
    reading = one.ready()
    assert reading is not None
    assert (reading.air_c, reading.rh_pct) == (8.0, 66.0)
    # the humidity's battery is flat: the temperature is not held up for ever
    one.hear(Heard("meter", Payload(temp_c=9.0)), START + timedelta(minutes=30))
    assert one.ready() is None
    ticks[0] = 15.0
    reading = one.ready()
    assert reading is not None
    assert (reading.air_c, reading.rh_pct) == (9.0, None)


# ---- drift -----------------------------------------------------------------------------


def _course(
    source: str, days: float, off: Callable[[float], float], rh_off: Callable[[float], float]
) -> list[Reading]:
    """Readings every half hour of a cabin that swings by the day, with a sensor's noise."""
    noise = random.Random(source)
    found = []
    for k in range(int(days * 48)):
        day = k / 48.0
        swing = 3.0 * ((day % 1.0) - 0.5)
        found.append(
            Reading(
                "saloon",
                START + timedelta(days=day),
                air_c=round(9.0 + swing + off(day) + noise.gauss(0, 0.2), 2),
                rh_pct=round(70.0 - 2 * swing + rh_off(day) + noise.gauss(0, 1.0), 1),
                source=source,
            )
        )
    return found


def _steady(day: float) -> float:
    return 0.0


NOW = START + timedelta(days=30)


def test_hygrometers_that_part_slowly() -> None:
    good = _course("good", 30, _steady, _steady)
    aged = _course("aged", 30, _steady, lambda day: 0.5 * day)
    third = _course("third", 30, lambda day: 1.5, lambda day: -4.0)  # elsewhere in the cabin
    (drift,) = drifts(aged, {"good": good, "third": third}, NOW)
    assert drift.value == "humidity"
    assert 8.0 < drift.off < 15.0
    assert drifts(good, {"aged": aged, "third": third}, NOW) == []
    assert drifts(third, {"aged": aged, "good": good}, NOW) == []


def test_of_two_that_part_neither_is_believed_until_a_hand_reading_tells() -> None:
    good = _course("good", 30, _steady, _steady)
    aged = _course("aged", 30, lambda day: 0.1 * day, _steady)
    assert [d.value for d in drifts(aged, {"good": good}, NOW)] == ["air"]
    assert [d.value for d in drifts(good, {"aged": aged}, NOW)] == ["air"]
    hand = [
        Reading("saloon", each.at, air_c=each.air_c, source="by hand") for each in good[-200::40]
    ]
    assert [d.value for d in drifts(aged, {"good": good, "by hand": hand}, NOW)] == ["air"]
    assert drifts(good, {"aged": aged, "by hand": hand}, NOW) == []


def test_a_difference_that_stays_is_no_drift() -> None:
    low = _course("by the floor", 30, lambda day: -3.0, lambda day: 9.0)
    high = _course("under the deck", 30, _steady, _steady)
    assert drifts(low, {"under the deck": high}, NOW) == []


def test_a_drifting_humidity_is_set_aside_and_the_temperature_kept(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    aged = _course("meter", 30, _steady, lambda day: 0.6 * day)
    hand = [
        Reading("saloon", each.at, air_c=each.air_c, rh_pct=70.0, source="by hand")
        for each in aged[-240::40]
    ]
    with Record(path, now=lambda: NOW) as record:
        record.add_readings([*aged, *hand])
    one = _one()
    one.drifts = drifts_by_sensor(path, [one.sensor], NOW)["meter"]
    assert [drift.value for drift in one.drifts] == ["humidity"]
    judged = _send(one, 30 * 24 * 60, 9.0, 88.0)
    assert judged.keep is not None
    assert (judged.keep.air_c, judged.keep.rh_pct) == (9.0, None)
    assert judged.aside is not None
    save(path, [judged.keep, judged.aside], lambda: NOW)
    (found,) = doubted_in(path, NOW - timedelta(hours=1))
    assert (found.why, found.reading.rh_pct, found.reading.air_c) == ("drift", 88.0, None)
    with Record(path, read_only=True) as record:
        assert record.readings(last=1)[0].rh_pct is None
    # what was set aside still tells whether the sensor has come back
    assert drifts_by_sensor(path, [one.sensor], NOW)["meter"]
