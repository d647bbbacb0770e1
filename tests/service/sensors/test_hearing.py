"""`curewindow-service listen`, and what boat.toml says wrong about sensors."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from curewindow_service.hearing import hear

from curewindow.boat.folder import load_boat
from curewindow.errors import BoatError

WEATHER = '\n[weather]\nfeed = "file"\nfile = "none.csv"\n'
SENSOR = '\n[[sensor]]\nname = "meter"\nspace = "saloon"\n'


def test_messages_are_shown_as_they_come(
    aboard: Any, broker: Any, mqtt: Any, until: Callable[..., None]
) -> None:
    (aboard.folder / "work.toml").write_text("format = 1\n", encoding="utf-8")
    there = f'\n[mqtt]\nhost = "127.0.0.1"\nport = {broker.port}\n'
    aboard.describe(WEATHER + there + SENSOR + 'topic = "aboard/saloon"\n')
    lines: list[str] = []
    stop = threading.Event()
    ended: list[Any] = []

    def run() -> None:
        ended.append(hear(aboard.folder, lines.append, stop=stop, clock=aboard.clock))

    thread = threading.Thread(target=run)
    thread.start()
    until(lambda: any("connected" in line for line in lines))
    publisher = mqtt.Publisher(broker.port)
    publisher.send("aboard/saloon", '{"temperature": 12.5, "humidity": 71}')
    until(lambda: "12.5" in lines[-1])
    publisher.send("aboard/saloon", '{"humidity": 0.7}')
    until(lambda: "ratio" in lines[-1])
    publisher.close()
    stop.set()
    thread.join(20)
    assert lines[0].startswith("1 sensor; readings go into ")
    assert lines[1].startswith("judged without what is expected aboard: ")
    assert lines[3] == "09:00 meter: 12.5 °C, 71 %, kept"
    assert lines[4].startswith("09:00 meter: not used: humidity 0.7 looks like a share of one")
    assert ended[0].sensors[0].messages == 2


def test_no_sensor_yet(aboard: Any) -> None:
    aboard.describe("")
    with pytest.raises(BoatError, match=r"boat\.toml: sensor: there is no \[\[sensor\]\] yet"):
        hear(aboard.folder, print, stop=threading.Event())


@pytest.mark.parametrize(
    ("text", "key", "says"),
    [
        (SENSOR, "sensor[1]", "needs a topic (MQTT) or a path (Signal K), has neither"),
        (SENSOR + 'topic = "a"\npath = "b.c"\n', "sensor[1]", "has both"),
        (SENSOR + 'tpic = "a"\n', "sensor[1].tpic", "did you mean 'topic'?"),
        (SENSOR.replace("saloon", "salon") + 'topic = "a"\n', "sensor[1].space", "'saloon'?"),
        (SENSOR + 'topic = "a/+"\n', "sensor[1].topic", "without '+' and '#'"),
        (SENSOR + 'path = "environment/inside"\n', "sensor[1].path", "write it with dots"),
        (SENSOR + 'topic = "a"\nsource = "b"\n', "sensor[1].source", "goes with a path"),
        (SENSOR + 'topic = "a"\nevery = "1 s"\n', "sensor[1].every", "'10 min' suits a cabin"),
        (SENSOR + 'topic = "a"\ntemperature_unit = "Celsius"\n', "sensor[1].temperature_unit", "K"),
        ((SENSOR + 'topic = "a"\n') * 2, "sensor[2].name", "is there twice"),
        ('[mqtt]\nhst = "x"\n', "mqtt.hst", "did you mean 'host'?"),
        ('[mqtt]\nhost = "mqtt://x"\n', "mqtt.host", "a name or an address alone"),
        ('[mqtt]\nport = 99999\n', "mqtt.port", "65535"),
        ('[mqtt]\nca_file = "x"\n', "mqtt.ca_file", "tls = true"),
        ('[mqtt]\nlogin_env = "A"\nlogin_file = "b"\n', "mqtt.login_file", "not both"),
        ('[signal_k]\naddress = "boat.test:80"\n', "signal_k.address", "'http://localhost:3000'"),
        ('[signal_k]\naddress = "http://me:pw@boat.test"\n', "signal_k.address", "token_file"),
    ],
)  # fmt: skip
def test_settings_that_cannot_be(aboard: Any, text: str, key: str, says: str) -> None:
    """One line: the file, the key, what would be right."""
    aboard.describe(text if text.startswith("\n") else f"\n{text}")
    with pytest.raises(BoatError) as told:
        load_boat(aboard.folder)
    assert told.value.key == key
    assert says in str(told.value)
    assert "\n" not in str(told.value)
    assert "pw" not in str(told.value)


def test_ipv6_and_plain_hosts_are_hosts(aboard: Any, tmp_path: Path) -> None:
    for host in ("localhost", "10.20.30.40", "::1", "fd00:1::12", "boat.local"):
        aboard.describe(f'\n[mqtt]\nhost = "{host}"\n')
        assert load_boat(aboard.folder).mqtt.host == host
