"""Sensors by Signal K: a replayed server with real sockets, and the real one if it is there."""

from __future__ import annotations

import json
import os
import subprocess
import time
import urllib.request
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from curewindow_service.sensors.heard import Heard
from curewindow_service.sensors.one import One
from curewindow_service.sensors.payload import Payload
from curewindow_service.sensors.signalk import from_delta, from_tree, subscription

from curewindow.boat.sensors import Sensor

PATH = "environment.inside.saloon"


def _described(address: str, more: str = "") -> str:
    return f'''
[signal_k]
address = "{address}"
{more}

[[sensor]]
name = "saloon meter"
path = "{PATH}"
space = "saloon"
'''


def test_values_from_rest_then_from_the_stream(
    aboard: Any, signalk: Any, until: Callable[..., None]
) -> None:
    """285.65 K is 12.5 °C; humidity is a ratio (specification, 'Data Model': SI units)."""
    server = signalk.Replay()
    try:
        at = aboard.clock() - timedelta(minutes=5)
        inside = {
            "temperature": signalk.leaf(at, 285.65),
            "relativeHumidity": signalk.leaf(at, 0.71),
        }
        server.tree = {"environment": {"inside": {"saloon": inside}}}
        aboard.describe(_described(server.address))
        aboard.listen()
        until(lambda: aboard.said("kept"))
        assert aboard.readings() == [("saloon", 12.5, 71.0, "saloon meter")]
        assert aboard.said("kept")[0].reading.at == at
        until(lambda: server.subscribed)
        until(lambda: aboard.connected)
        assert server.subscribed[0]["context"] == "vessels.self"
        assert f"{PATH}.*" in [each["path"] for each in server.subscribed[0]["subscribe"]]

        aboard.clock.on(timedelta(minutes=15))
        now = aboard.clock()
        values = {f"{PATH}.temperature": 287.15, f"{PATH}.relativeHumidity": 0.65}
        server.send("neither JSON")
        server.send([1, 2])
        server.send(signalk.delta(now, {f"{PATH}.temperature": 250.0}, "vessels.urn:mrn:imo:9"))
        server.send(signalk.delta(now, values))
        until(lambda: len(aboard.said("kept")) == 2)
        assert aboard.readings()[-1][1:3] == (14.0, 65.0)
        assert not aboard.said("refused")
    finally:
        aboard.stop()
        server.stop()


def test_the_server_comes_back(
    aboard: Any, signalk: Any, mqtt: Any, until: Callable[..., None]
) -> None:
    port = mqtt.free_port()
    aboard.describe(_described(f"http://127.0.0.1:{port}"))
    aboard.listen()
    until(lambda: aboard.said("link"))
    assert "cannot be reached" in aboard.listener.status().links[0].said
    for count in (1, 2):
        server = signalk.Replay(port=port)
        try:
            until(lambda: aboard.connected, 20)
            aboard.clock.on(timedelta(minutes=20))
            values = {f"{PATH}.temperature": 283.15, f"{PATH}.relativeHumidity": 0.8}
            server.send(signalk.delta(aboard.clock(), values))
            until(lambda count=count: len(aboard.said("kept")) == count)
        finally:
            server.stop()
        until(lambda: not aboard.connected, 20)


def test_a_token(
    aboard: Any, signalk: Any, until: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    server = signalk.Replay(token="sesame")
    try:
        aboard.describe(_described(server.address))
        aboard.listen()
        until(lambda: aboard.said("link"))
        assert "asks for a token" in aboard.listener.status().links[0].said
        aboard.stop()
        monkeypatch.setenv("SIGNALK", "sesame")
        aboard.describe(_described(server.address, 'token_env = "SIGNALK"'))
        aboard.listen()
        until(lambda: aboard.connected)
    finally:
        aboard.stop()
        server.stop()


def test_without_a_stream_it_is_asked(
    aboard: Any, signalk: Any, until: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    from curewindow_service.sensors import signalk as link

    monkeypatch.setattr(
        link.SignalKLink.__init__, "__kwdefaults__", {"first_wait_s": 0.1, "ask_every_s": 0.1}
    )
    server = signalk.Replay(stream=False)
    try:
        aboard.describe(_described(server.address))
        aboard.listen()
        until(lambda: aboard.connected)
        assert "without its stream" in aboard.listener.status().links[0].said
        now = aboard.clock()
        node = {"temperature": signalk.leaf(now, 280.15), "humidity": signalk.leaf(now, 0.9)}
        server.tree = {"environment": {"inside": {"saloon": node}}}
        until(lambda: aboard.said("kept"))
        assert aboard.readings()[0][1:3] == (7.0, 90.0)
    finally:
        aboard.stop()
        server.stop()


AT = datetime(2026, 11, 25, 8, tzinfo=UTC)


def _sensor(**more: Any) -> Sensor:
    return Sensor.model_validate({"name": "m", "space": "saloon", "path": PATH, **more})


@pytest.mark.parametrize(
    "delta",
    [
        {},
        {"updates": None},
        {"updates": [None, 3, {"values": "no"}, {"values": [None, {"path": 5, "value": 1}]}]},
        {"updates": [{"values": [{"path": f"{PATH}.temperature", "value": None}]}]},
        {"updates": [{"values": [{"path": "environment.inside.saloonX.temperature", "value": 9}]}]},
        {
            "context": "vessels.other",
            "updates": [{"values": [{"path": f"{PATH}.temperature", "value": 283.0}]}],
        },
    ],
)
def test_deltas_that_say_nothing_of_ours(delta: dict[str, Any]) -> None:
    assert list(from_delta([_sensor()], delta, "vessels.mine")) == []


def test_units_and_keys_by_boat_toml() -> None:
    sensor = _sensor(temperature_key="airTemp", temperature_unit="°C", humidity_unit="%")
    told = {
        "updates": [
            {
                "timestamp": "2026-11-25T08:00:00Z",
                "values": [
                    {"path": f"{PATH}.airTemp", "value": 11.5},
                    {"path": f"{PATH}.humidity", "value": 64},
                    {"path": f"{PATH}.temperature", "value": 999},
                ],
            }
        ]
    }
    said = [heard.said for heard in from_delta([sensor], told, None)]
    assert [(each.temp_c, each.rh_pct, each.measured_at) for each in said] == [
        (11.5, None, AT),
        (None, 64.0, AT),
    ]


def test_a_path_of_one_value() -> None:
    sensor = _sensor(path="environment.outside.temperature", space="outdoors")
    node = {"value": 275.15, "timestamp": "2026-11-25T08:00:00.123Z", "meta": {"units": "K"}}
    (heard,) = from_tree(sensor, node)
    assert (heard.said.temp_c, heard.said.measured_at) == (2.0, AT)
    paths = [each["path"] for each in subscription([sensor])["subscribe"]]
    assert "environment.outside.temperature" in paths


@pytest.mark.parametrize(
    ("named", "kept", "used", "over"),
    [
        ("", [12.5, 14.0], "i2c.0-76", ["n2k.35"]),
        ('source = "n2k.35"', [17.5, 19.0], "n2k.35", []),
    ],
)
def test_two_sources_of_one_path(
    aboard: Any,
    signalk: Any,
    until: Callable[..., None],
    named: str,
    kept: list[float],
    used: str,
    over: list[str],
) -> None:
    """Two thermometers under one path, by REST ('values' by '$source') and in the stream.

    Specification 1.7.0, 'Data Model': a value has its '$source', and 'values' where there are
    several. The first heard counts, or the one that is named; never both in turns.
    """
    server = signalk.Replay()
    try:
        at = aboard.clock() - timedelta(minutes=5)
        inside = {
            name: {
                **signalk.leaf(at, preferred),
                "$source": "i2c.0-76",
                "values": {
                    "i2c.0-76": signalk.leaf(at, preferred),
                    "n2k.35": signalk.leaf(at, other),
                },
            }
            for name, preferred, other in (
                ("temperature", 285.65, 290.65),
                ("relativeHumidity", 0.71, 0.52),
            )
        }
        server.tree = {"environment": {"inside": {"saloon": inside}}}
        aboard.describe(_described(server.address) + f"{named}\n")
        aboard.listen()
        until(lambda: server.subscribed)
        until(lambda: aboard.connected)
        until(lambda: aboard.said("kept"))
        aboard.clock.on(timedelta(minutes=15))
        now = aboard.clock()
        for source, kelvin in (("n2k.35", 292.15), ("i2c.0-76", 287.15)):
            told = {f"{PATH}.temperature": kelvin, f"{PATH}.relativeHumidity": 0.65}
            server.send(signalk.delta(now, told, source=source))
        until(lambda: len(aboard.said("kept")) == 2)
        assert [reading[1] for reading in aboard.readings()] == kept
        status = aboard.listener.status().sensors[0]
        assert status.heard_from[0] == used
        assert status.passed_over == over
    finally:
        aboard.stop()
        server.stop()


def test_a_source_that_falls_silent_gives_way_to_another() -> None:
    one = One(_sensor())

    def hear(source: str, temp_c: float, at: datetime) -> None:
        one.hear(Heard("saloon meter", Payload(temp_c=temp_c, measured_at=at), source=source), at)

    hear("one", 12.0, AT)
    hear("two", 18.0, AT + timedelta(minutes=30))
    assert one.status(AT).passed_over == ["two"]
    assert one.last_message == AT
    hear("two", 18.0, AT + timedelta(hours=2))
    assert one.last_message == AT + timedelta(hours=2)
    assert one.status(AT).heard_from == ["two"]
    assert one.status(AT).passed_over == []


def test_a_humidity_is_taken_from_where_the_temperature_is() -> None:
    one = One(_sensor())

    def hear(source: str, **said: float) -> None:
        one.hear(Heard("saloon meter", Payload(**said, measured_at=AT), source=source), AT)

    hear("one", temp_c=12.0)
    hear("two", rh_pct=40.0)  # better than none
    assert one.status(AT).heard_from == ["one", "two"]
    hear("one", rh_pct=70.0)
    hear("two", rh_pct=41.0)
    assert one.status(AT).heard_from == ["one"]
    assert one.status(AT).passed_over == ["two"]


def test_the_real_server(
    aboard: Any, mqtt: Any, tmp_path: Path, until: Callable[..., None]
) -> None:
    """Needs a folder with node_modules/signalk-server: CUREWINDOW_SIGNALK names it."""
    folder = os.environ.get("CUREWINDOW_SIGNALK", "")
    if not folder:
        pytest.skip("CUREWINDOW_SIGNALK does not name a folder where signalk-server is installed")
    port, udp = mqtt.free_port(), mqtt.free_port()
    config = tmp_path / "signalk"
    config.mkdir()
    provider = {
        "id": "sensors",
        "enabled": True,
        "pipeElements": [
            {
                "type": "providers/simple",
                "options": {
                    "type": "SignalK",
                    "logging": False,
                    "subOptions": {"type": "udp", "port": str(udp)},
                },
            }
        ],
    }
    settings = {
        "interfaces": {"appstore": False},
        "pipedProviders": [provider],
        "port": port,
        "mdns": False,
    }
    (config / "settings.json").write_text(json.dumps(settings))
    script = Path(folder) / "node_modules" / "signalk-server" / "bin" / "signalk-server"
    with (tmp_path / "log").open("w") as log:
        server = subprocess.Popen(
            ["node", str(script), "-c", str(config)],
            env={**os.environ, "PORT": str(port), "SIGNALK_NODE_CONFIG_DIR": str(config)},
            stdout=log,
            stderr=subprocess.STDOUT,
        )
    try:

        def up() -> bool:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/signalk", timeout=2):
                    return True
            except OSError:
                assert server.poll() is None, (tmp_path / "log").read_text()
                return False

        until(up, 90)
        aboard.clock.on(datetime.now(UTC) - aboard.clock())
        aboard.describe(_described(f"http://127.0.0.1:{port}"))
        aboard.listen()
        until(lambda: aboard.connected, 30)
        _tell(udp, {f"{PATH}.temperature": 286.15, f"{PATH}.relativeHumidity": 0.62})
        until(lambda: aboard.said("kept"), 30)
        assert aboard.readings() == [("saloon", 13.0, 62.0, "saloon meter")]
        # a listener that comes later finds the value by REST, with the time it was measured at
        aboard.stop()
        (aboard.folder / "record.db").unlink()
        aboard.told.clear()
        time.sleep(2)
        aboard.listen()
        until(lambda: aboard.said("kept"), 30)
        assert aboard.said("kept")[0].reading.at < aboard.clock() - timedelta(seconds=1)
    finally:
        aboard.stop()
        server.terminate()
        server.wait(20)


def _tell(port: int, values: dict[str, float]) -> None:
    import socket

    content = {"updates": [{"values": [{"path": p, "value": v} for p, v in values.items()]}]}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out:
        out.sendto(json.dumps(content).encode(), ("127.0.0.1", port))
