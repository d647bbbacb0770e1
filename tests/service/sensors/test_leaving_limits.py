"""A sensor tells that something wet gets too cold: a notice comes within minutes."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from curewindow_service.app import Service
from curewindow_service.channels import Destination, Message, Outcome
from curewindow_service.look import look_here
from curewindow_service.sensing import sensor_part
from curewindow_service.watching import Watch

from curewindow.record.entries import Coat, Reading
from curewindow.record.store import Record
from curewindow.reminders import SettingBounds

START = datetime(2026, 5, 11, 7, 0, tzinfo=UTC)  # Monday 09:00 in Amsterdam

BOAT = """
name = "test boat"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "Europe/Amsterdam"
water_temp = "12 °C"
[weather]
feed = "file"
file = "weather.csv"
[service]
refresh = "3 h"
morning = 07:00:00
[[channel]]
name = "by test"
address_env = "TEST_HOOK"
[mqtt]
host = "127.0.0.1"
port = PORT
[[sensor]]
name = "cabin meter"
topic = "aboard/cabin"
space = "cabin"
[[space]]
name = "cabin"
volume = "20 m³"
air_change = "2 /h"
[[space.panel]]
name = "side"
area = "10 m²"
layers = [{ material = "plywood", thickness = "12 mm" }]
[space.heating]
kind = "diesel"
power = "4 kW"
vented = true
open_flame = false
routine = [{ from = 00:00:00, setpoint = "16 °C" }]
"""
# Made up for this test: not below 10 °C until it may be handled, a day after.
SHEET = """
name = "Test varnish"
kind = "varnish"
chemistry = "oxidation"
basis = "made up for a test"
[applying]
air = { min = "8 °C" }
[setting]
air = { min = "10 °C" }
until = "handling"
[cure]
temps = ["10 °C", "20 °C"]
touch_dry = ["3 h", "2 h"]
handling = ["24 h", "20 h"]
full_cure = ["72 h", "60 h"]
"""
WORK = """
[[job]]
name = "table"
space = "cabin"
area = "2 m²"
[[job.step]]
do = "coat"
sheet = "test-varnish"
coats = 1
hands_on = "1 h"
"""


class Clock:
    """Stands still but for what it is moved on by."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        return self.now

    def on(self, **span: float) -> None:
        self.now += timedelta(**span)


@pytest.fixture
def wet_boat(tmp_path: Path, broker: Any) -> Path:
    """A cabin whose table was varnished an hour ago."""
    folder = tmp_path / "boat"
    (folder / "sheets").mkdir(parents=True)
    (folder / "sheets" / "test-varnish.toml").write_text(SHEET, "utf-8")
    (folder / "boat.toml").write_text(BOAT.replace("PORT", str(broker.port)), "utf-8")
    (folder / "work.toml").write_text(WORK, "utf-8")
    rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    first = START - timedelta(days=2)
    rows += [f"{first + timedelta(hours=n):%Y-%m-%dT%H:%M}Z,12,2,2,0,100,0" for n in range(120)]
    (folder / "weather.csv").write_text("\n".join(rows) + "\n", "utf-8")
    with Record(folder / "record.db", now=lambda: START) as record:
        record.add_coat(
            Coat(
                "table",
                1,
                1,
                START - timedelta(hours=2),
                START - timedelta(hours=1),
                "test-varnish",
            )
        )
    return folder


@pytest.fixture
def listening(wet_boat: Path) -> Iterator[tuple[Service, Clock, list[Message]]]:
    """A service with its sensors, driven by hand."""
    got: list[Message] = []

    def send(way: Destination, message: Message, handing_over: Callable[[], None]) -> Outcome:
        handing_over()
        got.append(message)
        return Outcome("sent", "")

    clock = Clock()
    service = Service(
        wet_boat,
        clock=clock,
        look=look_here,
        send=send,
        environ={"TEST_HOOK": "http://127.0.0.1:9/hook"},
    )
    loop, stop = asyncio.new_event_loop(), asyncio.Event()
    thread = threading.Thread(target=loop.run_until_complete, args=(sensor_part(service)(stop),))
    thread.start()
    try:
        yield service, clock, got
    finally:
        loop.call_soon_threadsafe(stop.set)
        thread.join(20)
        loop.close()
        service.close()


def heard_by(service: Service) -> list[Reading]:
    """What the service was told of, once it knows what to make of it."""
    heard: list[Reading] = []
    told = service.heard

    def hear(reading: Reading) -> None:
        told(reading)
        heard.append(reading)

    service.heard = hear  # type: ignore[method-assign]
    return heard


def tick(service: Service) -> None:
    service.tick()
    while service.senders.busy():
        time.sleep(0.001)


def test_a_heater_that_goes_out_is_told_within_minutes(
    listening: tuple[Service, Clock, list[Message]],
    broker: Any,
    mqtt: Any,
    until: Callable[..., None],
) -> None:
    service, clock, got = listening
    until(lambda: service.sensors is not None)
    assert service.sensors is not None
    status = service.sensors
    until(lambda: any(link.connected for link in status().links))
    publisher, heard = mqtt.Publisher(broker.port), heard_by(service)
    try:
        tick(service)
        looked = service.status().looked_at
        for sent, temp in enumerate((13.0, 12.0, 11.5), 1):
            clock.on(minutes=20)
            publisher.send("aboard/cabin", f'{{"temperature": {temp}, "humidity": 55}}')
            until(lambda sent=sent: len(heard) == sent)
            tick(service)
        # what stays well inside its limits waits for the regular look
        assert service.status().looked_at == looked
        assert not [message for message in got if message.kind == "limits"]

        clock.on(minutes=20)
        publisher.send("aboard/cabin", '{"temperature": 10.6, "humidity": 55}')
        until(lambda: len(heard) == 4)
        tick(service)
        (near,) = [message for message in got if message.kind == "limits"]
        assert near.title == "cabin: is the heater out? 10.6 °C and falling, limit 10 °C"
        assert near.level == "urgent"

        clock.on(minutes=1)  # a look was just made: the next one waits until two minutes are over
        publisher.send("aboard/cabin", '{"temperature": 8.2, "humidity": 55}')
        until(lambda: len(heard) == 5)
        tick(service)
        assert len([message for message in got if message.kind == "limits"]) == 1
        clock.on(minutes=1)
        tick(service)
        left = [message for message in got if message.kind == "limits"][1]
        assert left.title == "cabin: is the heater out? 8.2 °C and falling, limit 10 °C"
        assert left.due - clock() <= timedelta(minutes=2)

        looked = service.status().looked_at
        clock.on(minutes=10)
        publisher.send("aboard/cabin", '{"temperature": 7.5, "humidity": 55}')
        until(lambda: len(heard) == 6)
        tick(service)
        assert service.status().looked_at == looked, "told already"
    finally:
        publisher.close()


def test_each_limit_is_news_once_until_it_was_kept_again() -> None:
    watch = Watch()
    bounds = SettingBounds(
        space="cabin", until=START + timedelta(hours=5), air_low_c=10.0, rh_high_pct=80.0
    )
    watch.know([bounds])

    def read(air_c: float, rh_pct: float = 50.0, space: str = "cabin", hours: float = 0.0) -> bool:
        at = START + timedelta(hours=hours)
        return watch.is_news(Reading(space, at, air_c=air_c, rh_pct=rh_pct), at)

    assert [read(c) for c in (14.0, 10.9, 10.8, 9.9, 9.0, 10.4)] == [
        False,
        True,
        False,
        True,
        False,
        False,
    ]
    assert [read(c) for c in (11.5, 10.5)] == [False, False], "about the edge: no news"
    assert [read(c) for c in (13.0, 10.5)] == [False, True], "kept again, and left again"
    assert read(15.0, rh_pct=77.0)
    assert read(15.0, rh_pct=81.0)
    assert not read(2.0, space="forepeak")
    assert not read(2.0, hours=6.0), "it has set"
