"""Sensors by a real MQTT broker on localhost."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

SENSOR = """
[[sensor]]
name = "saloon meter"
topic = "aboard/saloon"
space = "saloon"
"""


def _mqtt(port: int, more: str = "") -> str:
    return f'\n[mqtt]\nhost = "127.0.0.1"\nport = {port}\n{more}\n{SENSOR}'


@pytest.fixture
def sensor(broker: Any, mqtt: Any) -> Iterator[Any]:
    publisher = mqtt.Publisher(broker.port)
    yield publisher
    publisher.close()


def test_a_message_becomes_a_reading(
    aboard: Any, broker: Any, sensor: Any, until: Callable[..., None]
) -> None:
    aboard.describe(_mqtt(broker.port))
    aboard.listen()
    until(lambda: aboard.connected)
    sensor.send("aboard/saloon", '{"temperature": 12.5, "humidity": 71, "battery": 88}')
    until(lambda: aboard.said("kept"))
    assert aboard.readings() == [("saloon", 12.5, 71.0, "saloon meter")]
    status = aboard.listener.status().sensors[0]
    assert (status.messages, status.readings, status.refused, status.overdue) == (1, 1, 0, False)
    aboard.clock.on(timedelta(hours=3))
    assert aboard.listener.status().sensors[0].overdue


def test_thinned_but_not_when_it_changes(
    aboard: Any, broker: Any, sensor: Any, until: Callable[..., None]
) -> None:
    aboard.describe(_mqtt(broker.port))
    aboard.listen()
    until(lambda: aboard.connected)

    def send(minutes: float, temp_c: float) -> None:
        seen = len(aboard.told)
        aboard.clock.on(timedelta(minutes=minutes))
        sensor.send("aboard/saloon", f'{{"temperature": {temp_c}, "humidity": 70}}')
        until(lambda: len(aboard.told) > seen)

    for _ in range(12):  # an hour of messages every five minutes
        send(5, 12.0)
    assert len(aboard.readings()) == 6
    send(2, 13.0)  # the heater was lit
    assert len(aboard.readings()) == 7
    assert aboard.readings()[-1][1] == 13.0


def test_a_retained_message_is_of_unknown_age(
    aboard: Any, broker: Any, sensor: Any, until: Callable[..., None]
) -> None:
    sensor.send("aboard/saloon", '{"temperature": 3.0, "humidity": 90}', retain=True)
    aboard.describe(_mqtt(broker.port))
    aboard.listen()
    until(lambda: aboard.said("refused"))
    assert "unknown age" in aboard.said("refused")[0].said
    assert aboard.readings() == []
    sensor.send("aboard/saloon", '{"temperature": 4.0, "humidity": 88}', retain=True)
    until(lambda: aboard.said("kept"))
    assert [reading[1] for reading in aboard.readings()] == [4.0]


def test_a_retained_message_with_its_time_counts_at_that_time(
    aboard: Any, broker: Any, sensor: Any, until: Callable[..., None]
) -> None:
    at = aboard.clock() - timedelta(minutes=40)
    said = f'{{"temperature": 6.5, "humidity": 80, "last_seen": "{at.isoformat()}"}}'
    sensor.send("aboard/saloon", said, retain=True)
    aboard.describe(_mqtt(broker.port))
    aboard.listen()
    until(lambda: aboard.said("kept"))
    assert aboard.said("kept")[0].reading.at == at
    # a restart meets the same retained message again, and writes nothing twice
    aboard.stop()
    aboard.told.clear()
    aboard.listen()
    until(lambda: sum(each.messages for each in aboard.listener.status().sensors) >= 1)
    aboard.stop()
    assert len(aboard.readings()) == 1


def test_the_broker_comes_back(
    aboard: Any, mqtt: Any, until: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    port = mqtt.free_port()
    aboard.describe(_mqtt(port))
    aboard.listen()
    until(lambda: aboard.said("link"))
    assert "nobody answers" in aboard.listener.status().links[0].said
    for temp_c in (11.0, 14.0):
        running = mqtt.RealBroker(port)
        until(lambda: aboard.connected, 20)
        publisher = mqtt.Publisher(port)
        kept = len(aboard.said("kept"))
        aboard.clock.on(timedelta(minutes=30))
        publisher.send("aboard/saloon", f'{{"temp": {temp_c}, "hum": 60}}')
        until(lambda before=kept: len(aboard.said("kept")) > before)
        publisher.close()
        running.stop()
        until(lambda: not aboard.connected, 20)
    assert [reading[1] for reading in aboard.readings()] == [11.0, 14.0]


def test_last_wills_both_ways(
    aboard: Any, broker: Any, mqtt: Any, sensor: Any, until: Callable[..., None]
) -> None:
    """Ours says that nobody listens; the sensor's says that it is gone."""
    described = _mqtt(broker.port, 'state_topic = "curewindow/state"')
    aboard.describe(described + 'availability_topic = "aboard/saloon/there"\n')
    aboard.listen()
    sensor.follow("curewindow/state")
    until(lambda: ("curewindow/state", b"online") in [each[:2] for each in sensor.heard])
    meter = mqtt.Publisher(broker.port, will="aboard/saloon/there")
    meter.send("aboard/saloon/there", "online")
    until(lambda: aboard.listener.status().sensors[0].online is True)
    meter.vanish()
    until(lambda: aboard.listener.status().sensors[0].online is False)
    aboard.stop()
    until(lambda: sensor.heard[-1][:2] == ("curewindow/state", b"offline"))


def test_logins(
    aboard: Any, mqtt: Any, tmp_path: Path, until: Callable[..., None], monkeypatch: Any
) -> None:
    from pwdlib import PasswordHash  # what amqtt reads its password file with
    from pwdlib.hashers.argon2 import Argon2Hasher

    passwords = tmp_path / "passwords"
    passwords.write_text(
        f"keeper:{PasswordHash((Argon2Hasher(),)).hash('varnish')}\n", encoding="utf-8"
    )
    running = mqtt.RealBroker(passwords=passwords)
    try:
        login = aboard.folder / "mqtt.login"
        login.write_text("keeper:wrong\n", encoding="utf-8")
        login.chmod(0o600)
        aboard.describe(_mqtt(running.port, 'login_file = "mqtt.login"'))
        aboard.listen()
        until(lambda: aboard.said("link"))
        assert "does not take the login" in aboard.listener.status().links[0].said
        assert "wrong" not in aboard.listener.status().model_dump_json()
        aboard.stop()

        monkeypatch.setenv("KEEPER", "keeper:varnish")
        aboard.describe(_mqtt(running.port, 'login_env = "KEEPER"'))
        aboard.listen()
        until(lambda: aboard.connected)
        publisher = mqtt.Publisher(running.port, login=("keeper", "varnish"))
        publisher.send("aboard/saloon", '{"temperature": 9, "humidity": 77}')
        until(lambda: aboard.said("kept"))
        publisher.close()
    finally:
        aboard.stop()
        running.stop()


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda path: path.write_text("keeper:varnish"), "chmod 600"),
        (lambda path: None, "there is no file"),
    ],
)
def test_a_login_that_cannot_be_used_is_said(
    aboard: Any, until: Callable[..., None], make: Any, says: str
) -> None:
    path = aboard.folder / "mqtt.login"
    make(path)
    if path.exists():
        path.chmod(0o644)
    aboard.describe(_mqtt(1883, 'login_file = "mqtt.login"'))
    aboard.listen()
    until(lambda: aboard.said("trouble"))
    said = aboard.said("trouble")[0].said
    assert "mqtt.login_file" in said
    assert says in said
    assert "varnish" not in said


# paho drops the socket of a handshake that failed, and leaves it to be collected
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning")
def test_tls(aboard: Any, mqtt: Any, tmp_path: Path, until: Callable[..., None]) -> None:
    openssl = shutil.which("openssl")
    if openssl is None:
        if os.environ.get("CUREWINDOW_NOTHING_SKIPPED"):
            pytest.fail("openssl is not there to make a certificate")
        pytest.skip("openssl is not there to make a certificate")
    cert, key = tmp_path / "broker.pem", tmp_path / "broker.key"
    subprocess.run(
        (
            f"{openssl} req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 "
            f"-subj /CN=localhost -addext subjectAltName=IP:127.0.0.1,DNS:localhost "
            f"-keyout {key} -out {cert}"
        ).split(),
        check=True,
        capture_output=True,
    )
    running = mqtt.RealBroker(certificate=(cert, key))
    try:
        aboard.describe(_mqtt(running.port, "tls = true"))
        aboard.listen()
        until(lambda: aboard.said("link"))
        assert "not trusted" in aboard.listener.status().links[0].said
        aboard.stop()
        shutil.copy(cert, aboard.folder / "ca.pem")
        aboard.describe(_mqtt(running.port, 'tls = true\nca_file = "ca.pem"'))
        aboard.listen()
        until(lambda: aboard.connected)
    finally:
        aboard.stop()
        running.stop()


def test_boat_toml_changed_while_listening(
    aboard: Any, broker: Any, sensor: Any, until: Callable[..., None]
) -> None:
    aboard.describe(_mqtt(broker.port))
    aboard.listen()
    until(lambda: aboard.connected)
    aboard.describe(_mqtt(broker.port) + 'temprature_key = "t"\n')
    until(lambda: aboard.said("trouble"))
    said = aboard.said("trouble")[0].said
    assert "did you mean 'temperature_key'?" in said
    assert "listening on as before" in said
    sensor.send("aboard/saloon", '{"temperature": 9, "humidity": 77}')
    until(lambda: aboard.said("kept"))
    moved = _mqtt(broker.port).replace('space = "saloon"', 'space = "forepeak"')
    aboard.describe(moved)
    until(lambda: aboard.listener.status().sensors[0].space == "forepeak")
    until(lambda: aboard.connected)
    aboard.clock.on(timedelta(minutes=20))
    sensor.send("aboard/saloon", '{"temperature": 5, "humidity": 85}')
    until(lambda: len(aboard.said("kept")) == 2)
    assert [reading[0] for reading in aboard.readings()] == ["saloon", "forepeak"]


def test_readings_wait_while_the_record_is_locked(
    aboard: Any, broker: Any, sensor: Any, until: Callable[..., None], monkeypatch: Any
) -> None:
    import sqlite3

    from curewindow_service.sensors import listener

    from curewindow.record import store
    from curewindow.record.store import Record

    impatient = {**(store.Record.__init__.__kwdefaults__ or {}), "wait_s": 0.1}
    monkeypatch.setattr(store.Record.__init__, "__kwdefaults__", impatient)
    monkeypatch.setattr(listener, "_RETRY_S", 0.3)
    aboard.describe(_mqtt(broker.port))
    path = aboard.folder / "record.db"
    Record(path).close()
    aboard.listen()
    until(lambda: aboard.connected)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    sensor.send("aboard/saloon", '{"temperature": 9, "humidity": 77}')
    until(lambda: aboard.listener.status().unsaved == 1 and aboard.said("trouble"))
    assert "another program is writing" in aboard.listener.status().trouble
    other.execute("ROLLBACK")
    other.close()
    until(lambda: aboard.listener.status().unsaved == 0)
    assert len(aboard.readings()) == 1
    assert aboard.listener.status().trouble == ""
