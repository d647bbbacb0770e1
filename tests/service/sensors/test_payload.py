"""What thermo-hygrometers send, and what is made of it."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import pytest
from curewindow_service.sensors.payload import NotUsableError, Payload, read_payload
from curewindow_service.sensors.signalk import from_delta, from_tree
from hypothesis import given
from hypothesis import strategies as st

from curewindow.boat.sensors import Sensor
from tests.cases import cases


def _sensor(**more: Any) -> Sensor:
    return Sensor.model_validate({"name": "m", "space": "saloon", "topic": "a/b", **more})


KELVIN = {"temperature_unit": "K", "humidity_unit": "ratio"}
NAMED = {"temperature_key": "air.v", "humidity_key": "rel"}


# The forms are those common among meters and gateways: common practice, no source.
@pytest.mark.parametrize(
    ("payload", "settings", "temp_c", "rh_pct"),
    [
        ({"temperature": 12.5, "humidity": 71}, {}, 12.5, 71.0),
        ({"temperature": "12.5", "humidity": "71"}, {}, 12.5, 71.0),
        ({"Temperature": 12.5, "Humidity": 71.0, "TempUnit": "C"}, {}, 12.5, 71.0),
        ({"SHT3X": {"Temperature": 54.5, "Humidity": 71.0}, "TempUnit": "F"}, {}, 12.5, 71.0),
        ({"temperature_C": 12.5, "humidity": 71, "id": 163}, {}, 12.5, 71.0),
        ({"temperature_F": 54.5, "humidity": 71}, {}, 12.5, 71.0),
        ({"tempc": 12.5, "tempf": 54.5, "hum": 71}, {}, 12.5, 71.0),
        ({"tempc": 12.5, "tempf": 54.5, "hum": 71}, {"temperature_unit": "°F"}, 12.5, 71.0),
        ({"temp": 285.65, "rh": 0.71}, KELVIN, 12.5, 71.0),
        ({"t": 12.5, "h": 71}, {}, 12.5, 71.0),
        ({"temperature": 12.5, "device": {"temperature": 38.0}}, {}, 12.5, None),
        ({"air": {"v": 12.5}, "rel": 71}, NAMED, 12.5, 71.0),
        ({"temperature": None, "humidity": 71}, {}, None, 71.0),
        ({"temperature": "unavailable", "humidity": 71}, {}, None, 71.0),
        ([{"temperature": 1}], {}, None, None),
        (12.5, {}, 12.5, None),
        (54.5, {"temperature_unit": "F"}, 12.5, None),
    ],
)  # fmt: skip
def test_forms(payload: Any, settings: dict[str, Any], temp_c: float, rh_pct: float) -> None:
    if temp_c is None and rh_pct is None:
        with pytest.raises(NotUsableError):
            read_payload(_sensor(**settings), json.dumps(payload).encode())
        return
    said = read_payload(_sensor(**settings), json.dumps(payload).encode())
    assert (said.temp_c, said.rh_pct) == (
        None if temp_c is None else pytest.approx(temp_c),
        None if rh_pct is None else pytest.approx(rh_pct),
    )


@pytest.mark.parametrize(
    ("payload", "settings", "says"),
    [
        (b"", {}, "is empty"),
        (b"\xff\xfe\x00", {}, "is not text"),
        (b'{"temperature": 12', {}, "is not whole JSON"),
        (b"unavailable", {}, "no value at the moment"),
        (b'{"temperature": "unknown", "humidity": null}', {}, "no value at the moment"),
        (b"warm", {}, "'warm' is not a number"),
        (b'{"tmp": 12}', {}, "it has: tmp"),
        (b'{"temperature": 12}', {"temperature_key": "temprature"}, "did you mean 'temperature'?"),
        (b'{"temp": 12, "temperature": 19}', {}, "name the right one as temperature_key"),
        (
            b'{"temperature": 54, "unit": "F"}',
            {"temperature_unit": "°C"},
            "change temperature_unit",
        ),
        (b'{"temperature": 12, "humidity": 0.71}', {}, "humidity_unit = 'ratio'"),
        (b'{"temperature": 1e999}', {}, "endless"),
        (b'{"temperature": [1, 2]}', {}, "is not a number"),
        (b"[" * 100_000, {}, "too long"),
        (b"[" * 60_000, {}, "not whole JSON"),
    ],
)
def test_what_cannot_be_used_is_said(payload: bytes, settings: dict[str, Any], says: str) -> None:
    with pytest.raises(NotUsableError, match=r"^[^\n]*\Z") as told:
        read_payload(_sensor(**settings), payload)
    assert says in str(told.value)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("last_seen", "2026-11-25T09:00:00+01:00"),
        ("timestamp", 1795593600),  # date -u -d @1795593600
        ("time", 1795593600000),
        ("last_seen", "2026-11-25T08:00:00.123Z"),
    ],
)
def test_the_time_it_was_measured(key: str, value: object) -> None:
    said = read_payload(_sensor(), json.dumps({"temperature": 9, key: value}).encode())
    assert said == Payload(9.0, None, datetime(2026, 11, 25, 8, tzinfo=UTC))


@pytest.mark.parametrize("value", ["2026-11-25T09:00:00", "09:00", 12345, "yesterday", True, None])
def test_a_time_without_zone_or_sense_is_passed_over(value: object) -> None:
    said = read_payload(_sensor(), json.dumps({"temperature": 9, "time": value}).encode())
    assert said.measured_at is None


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                ["temperature", "humidity", "t", "time", "unit", "value", "updates", "path"]
            )
            | st.text(max_size=6),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@cases(150)
@given(_JSON, st.binary(max_size=40))
def test_nothing_sent_breaks_the_listener(content: Any, noise: bytes) -> None:
    """Whatever comes is a finite reading or one line why not."""
    lines: list[str] = []
    for payload in (json.dumps(content).encode(), noise):
        for alone in (False, True):
            try:
                said = read_payload(_sensor(), payload, humidity_alone=alone)
            except NotUsableError as bad:
                lines.append(str(bad))
            else:
                for value in (said.temp_c, said.rh_pct):
                    assert value is None or abs(value) < float("inf")
    assert all(line.isprintable() for line in lines)
    sensor = _sensor(topic=None, path="environment.inside")
    if isinstance(content, dict):
        list(from_delta([sensor], content, "vessels.x"))
    list(from_tree(sensor, content))
