"""What the sensors' part of boat.toml must agree on beyond the shape of each table."""

from __future__ import annotations

import re
from pathlib import Path

from curewindow.boat.schema import Boat
from curewindow.boat.sensors import Sensor
from curewindow.errors import BoatError
from curewindow.nearest import nearest_or_all

OUTDOORS = "outdoors"
# A cabin changes by the minute, the record by the quarter: outside these it is a slip of the pen.
_LEAST_EVERY_H, _MOST_EVERY_H = 1.0 / 60.0, 6.0
_PATH = re.compile(r"^[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)+$")
_ADDRESS = re.compile(r"^https?://[^\s/?#@]+/?$", re.IGNORECASE)


def check_sensors(boat: Boat, path: Path | None) -> None:
    """Check the tables [mqtt], [signal_k] and [[sensor]].

    Raises
    ------
    BoatError
        The first thing that is wrong, with its key and what would be right.
    """
    _check_one_of(boat.mqtt.login_env, boat.mqtt.login_file, "login", "mqtt", path)
    _check_one_of(boat.signal_k.token_env, boat.signal_k.token_file, "token", "signal_k", path)
    if boat.mqtt.ca_file is not None and not boat.mqtt.tls:
        raise BoatError("is of use with tls = true only", file=path, key="mqtt.ca_file")
    if not _is_host(boat.mqtt.host):
        raise BoatError(
            "is a name or an address alone, such as 'localhost'; port and tls have their own keys",
            file=path,
            key="mqtt.host",
        )
    if boat.mqtt.state_topic is not None:
        _check_topic(boat.mqtt.state_topic, "mqtt.state_topic", path)
    if not _ADDRESS.match(boat.signal_k.address):
        raise BoatError(
            "is where the server stands, such as 'http://localhost:3000', without login or path",
            file=path,
            key="signal_k.address",
        )
    names: list[str] = []
    for number, sensor in enumerate(boat.sensor, 1):
        key = f"sensor[{number}]"
        if sensor.name.casefold() in names:
            raise BoatError(
                f"'{sensor.name}' is there twice; each needs its own name",
                file=path,
                key=f"{key}.name",
            )
        names.append(sensor.name.casefold())
        if sensor.name.casefold() == "by hand":
            raise BoatError(
                "'by hand' is what people read; give the sensor another name",
                file=path,
                key=f"{key}.name",
            )
        _check_place(sensor, boat, key, path)
        _check_source(sensor, key, path)
        if not _LEAST_EVERY_H <= sensor.every <= _MOST_EVERY_H:
            raise BoatError(
                "is between '1 min' and '6 h'; '10 min' suits a cabin",
                file=path,
                key=f"{key}.every",
            )


def _is_host(host: str) -> bool:
    """A name, or an address of the old or the new kind; neither port nor path."""
    if ":" not in host:
        return "/" not in host and "@" not in host
    import ipaddress

    try:
        return ipaddress.ip_address(host) is not None
    except ValueError:
        return False


def _check_one_of(
    env: str | None, file: str | None, what: str, key: str, path: Path | None
) -> None:
    if env is not None and file is not None:
        raise BoatError(
            f"give either {what}_env or {what}_file, not both", file=path, key=f"{key}.{what}_file"
        )


def _check_place(sensor: Sensor, boat: Boat, key: str, path: Path | None) -> None:
    if sensor.space == OUTDOORS:
        if sensor.panel is not None:
            raise BoatError(
                "a panel belongs to a space; leave it out outdoors", file=path, key=f"{key}.panel"
            )
        return
    space = boat.find_space(sensor.space)
    if space is None:
        known = [*(each.name for each in boat.space), OUTDOORS]
        raise BoatError(
            f"'{sensor.space}' is not a space; {nearest_or_all(sensor.space, known)}",
            file=path,
            key=f"{key}.space",
        )
    panels = [panel.name for panel in space.panel]
    if sensor.panel is not None and panels and sensor.panel not in panels:
        raise BoatError(
            f"space '{space.name}' has no panel '{sensor.panel}'; "
            f"{nearest_or_all(sensor.panel, panels)}",
            file=path,
            key=f"{key}.panel",
        )


def _check_source(sensor: Sensor, key: str, path: Path | None) -> None:
    if (sensor.topic is None) == (sensor.path is None):
        has = "both" if sensor.topic is not None else "neither"
        raise BoatError(f"needs a topic (MQTT) or a path (Signal K), has {has}", file=path, key=key)
    for name in ("topic", "humidity_topic", "availability_topic"):
        topic = getattr(sensor, name)
        if topic is None:
            continue
        if sensor.path is not None:
            raise BoatError("goes with a topic, not with a path", file=path, key=f"{key}.{name}")
        _check_topic(topic, f"{key}.{name}", path)
    if sensor.source is not None and sensor.path is None:
        raise BoatError("goes with a path, not with a topic", file=path, key=f"{key}.source")
    if sensor.path is not None and not _PATH.match(sensor.path):
        raise BoatError(
            f"'{sensor.path}' is not a Signal K path; write it with dots, "
            "such as 'environment.inside.saloon'",
            file=path,
            key=f"{key}.path",
        )


def _check_topic(topic: str, key: str, path: Path | None) -> None:
    if "+" in topic or "#" in topic:
        raise BoatError(
            "is the topic of one sensor, so without '+' and '#'; write it out",
            file=path,
            key=key,
        )
    if topic.startswith("mqtt:") or "\0" in topic or len(topic.encode()) > 65535:
        raise BoatError(
            "is written as the sensor sends it, such as 'aboard/saloon'",
            file=path,
            key=key,
        )
