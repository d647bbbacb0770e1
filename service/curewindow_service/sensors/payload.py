"""What a sensor's message says: JSON by many makers' habits, or a bare number.

The names below are those common among thermo-hygrometers and their gateways: common practice,
no source. Whatever they miss is named in boat.toml (temperature_key, humidity_key).
"""

from __future__ import annotations

import difflib
import json
import math
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from curewindow.boat.sensors import Sensor

_LONGEST = 65536  # bytes; thermometers send a few hundred
_DEEPEST, _MOST_KEYS = 6, 400
_TEMPERATURE: Final[dict[str, str | None]] = {
    # name without case, '_', '-' and blanks -> the unit it names
    "temperature": None,
    "temp": None,
    "airtemperature": None,
    "airtemp": None,
    "ambienttemperature": None,
    "t": None,
    "temperaturec": "°C",
    "temperaturecelsius": "°C",
    "tempc": "°C",
    "tempcelsius": "°C",
    "tc": "°C",
    "temperaturef": "°F",
    "temperaturefahrenheit": "°F",
    "tempf": "°F",
    "tf": "°F",
    "temperaturek": "K",
    "tempk": "K",
}
_HUMIDITY: Final[dict[str, str | None]] = {
    "humidity": None,
    "relativehumidity": None,
    "airhumidity": None,
    "hum": None,
    "rh": None,
    "h": None,
    "humiditypct": "%",
    "humiditypercent": "%",
    "humiditypercentage": "%",
    "rhpct": "%",
    "relativehumiditypct": "%",
}
_UNIT_KEYS = ("tempunit", "tempunits", "temperatureunit", "temperatureunits", "unit", "units")
_TIME_KEYS = ("timestamp", "time", "lastseen", "measuredat", "datetime", "ts", "utc")
_UNITS: Final[dict[str, str]] = {
    "c": "°C",
    "°c": "°C",
    "celsius": "°C",
    "degc": "°C",
    "f": "°F",
    "°f": "°F",
    "fahrenheit": "°F",
    "degf": "°F",
    "k": "K",
    "kelvin": "K",
}
_NOTHING = ("", "null", "none", "nan", "unavailable", "unknown", "n/a", "--", "offline")
_PLAIN = re.compile(r"[\s_-]+")


class NotUsableError(ValueError):
    """A message that no reading can be made of; says why in one line."""

    def __init__(self, why: str) -> None:
        # keys and values come from outside: nothing of them may leave the line
        super().__init__("".join(c if c.isprintable() else " " for c in why))


@dataclass(frozen=True, slots=True)
class Payload:
    """What a message says; ``measured_at`` (aware UTC) only where it tells that itself."""

    temp_c: float | None = None
    rh_pct: float | None = None
    measured_at: datetime | None = None


def read_payload(sensor: Sensor, payload: bytes, *, humidity_alone: bool = False) -> Payload:
    """Read one MQTT message.

    Parameters
    ----------
    sensor : Sensor
        Whose message it is: its keys and units hold before all guesses.
    payload : bytes
        JSON, or a number alone.
    humidity_alone : bool
        It came under the sensor's ``humidity_topic``.

    Raises
    ------
    NotUsableError
        Why, and what would help.
    """
    content = _content(payload)
    if not isinstance(content, dict):
        number = _number(content)
        if number is None:
            raise NotUsableError("says nothing: the sensor has no value at the moment")
        if humidity_alone:
            return Payload(rh_pct=_percent(number, sensor.humidity_unit or "%"))
        return Payload(temp_c=_celsius(number, sensor.temperature_unit or "°C"))
    flat = _flat(content)
    temp = None if humidity_alone else _temperature(sensor, flat)
    rh = _humidity(sensor, flat)
    if temp is None and rh is None:
        if any(_plain(key) in (_TEMPERATURE | _HUMIDITY) for key in flat):
            raise NotUsableError("says nothing: the sensor has no value at the moment")
        told = ", ".join(list(flat)[:8]) or "nothing"
        raise NotUsableError(
            f"no temperature or humidity in it (it has: {told}); "
            "name its key as temperature_key or humidity_key"
        )
    return Payload(temp, rh, _measured_at(flat))


def celsius(value: float, unit: str) -> float:
    """A temperature in °C, from °C, °F or K."""
    return _celsius(value, unit)


def percent(value: float, unit: str) -> float:
    """A relative humidity in %, from % or a share of one ('ratio')."""
    return _percent(value, unit)


def _content(payload: bytes) -> Any:
    if len(payload) > _LONGEST:
        raise NotUsableError(f"{len(payload)} bytes is too long for a sensor's message")
    try:
        text = payload.decode("utf-8-sig").strip()
    except UnicodeDecodeError:
        raise NotUsableError("is not text") from None
    if not text:
        raise NotUsableError("is empty")
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        # a bare word, such as 'unavailable'
        if text[0] in "{[":
            raise NotUsableError("is not whole JSON") from None
        return text


def _flat(content: dict[str, Any]) -> dict[str, Any]:
    """Values by dotted key, the shallow ones first."""
    found: dict[str, Any] = {}
    level: list[tuple[str, Any]] = [(str(key), value) for key, value in content.items()]
    for _ in range(_DEEPEST):
        deeper: list[tuple[str, Any]] = []
        for key, value in level:
            if isinstance(value, dict):
                deeper += [(f"{key}.{name}", inner) for name, inner in value.items()]
            elif isinstance(value, list) and len(value) == 1 and isinstance(value[0], dict):
                deeper += [(f"{key}.{name}", inner) for name, inner in value[0].items()]
            elif len(found) < _MOST_KEYS:
                found[key] = value
        level = deeper
    return found


def _temperature(sensor: Sensor, flat: dict[str, Any]) -> float | None:
    stated = _stated_unit(flat)
    wanted = _unit(sensor.temperature_unit)
    readings: list[tuple[str, float]] = []
    for key, named in _candidates(flat, sensor.temperature_key, _TEMPERATURE, "temperature_key"):
        value = _number(flat[key])
        if value is None:
            continue
        said = named or stated
        if wanted is not None and said is not None and said != wanted:
            if sensor.temperature_key is None and named is not None:
                continue  # it sends both units; the other is the one asked for
            raise NotUsableError(f"says {said}, boat.toml {wanted}: change temperature_unit")
        readings.append((key, _celsius(value, wanted or said or "°C")))
    return _one(readings, 0.3, "temperature_key")


def _humidity(sensor: Sensor, flat: dict[str, Any]) -> float | None:
    readings: list[tuple[str, float]] = []
    for key, named in _candidates(flat, sensor.humidity_key, _HUMIDITY, "humidity_key"):
        value = _number(flat[key])
        if value is not None:
            readings.append((key, _percent(value, sensor.humidity_unit or named or "%")))
    return _one(readings, 1.5, "humidity_key")


def _candidates(
    flat: dict[str, Any], key: str | None, names: dict[str, str | None], setting: str
) -> list[tuple[str, str | None]]:
    """Keys that may be meant, with the unit they name: the one asked for, or the shallowest."""
    if key is not None:
        exact = key if key in flat else None
        same = exact or next((each for each in flat if each.casefold() == key.casefold()), None)
        if same is None:
            close = difflib.get_close_matches(key, flat, n=1, cutoff=0.5)
            known = ", ".join(list(flat)[:8]) or "nothing"
            hint = f"did you mean '{close[0]}'?" if close else f"it has: {known}"
            raise NotUsableError(f"has no '{key}' ({setting}); {hint}")
        return [(same, names.get(_plain(same)))]
    found = [(each, names[_plain(each)]) for each in flat if _plain(each) in names]
    least = min((each.count(".") for each, _ in found), default=0)
    level = [(each, unit) for each, unit in found if each.count(".") == least]
    # a full word before a letter
    worded = [(each, unit) for each, unit in level if len(_plain(each)) > 2]
    return worded or level


def _one(readings: list[tuple[str, float]], alike: float, setting: str) -> float | None:
    """The one value, or the first of several that agree."""
    if not readings:
        return None
    values = [value for _, value in readings]
    if max(values) - min(values) > alike:
        keys = " and ".join(f"'{key}'" for key, _ in readings[:3])
        raise NotUsableError(f"{keys} differ: name the right one as {setting}")
    return values[0]


def _stated_unit(flat: dict[str, Any]) -> str | None:
    for key, value in flat.items():
        if _plain(key) in _UNIT_KEYS and isinstance(value, str):
            unit = _UNITS.get(value.strip().casefold())
            if unit is not None:
                return unit
    return None


def _measured_at(flat: dict[str, Any]) -> datetime | None:
    """When it was measured: seconds or milliseconds since 1970, or a time with its zone."""
    for key, value in flat.items():
        if ("." in key and key.count(".") > 1) or _plain(key) not in _TIME_KEYS:
            continue
        if isinstance(value, int | float) and not isinstance(value, bool):
            seconds = value / 1000.0 if value > 1e11 else float(value)
            if 1e9 < seconds < 1e10:
                return datetime.fromtimestamp(int(seconds), UTC)
        if isinstance(value, str):
            at = time_in(value)
            if at is not None:
                return at
    return None


def time_in(text: str) -> datetime | None:
    """An ISO 8601 time with its zone, as aware UTC; None for anything else."""
    try:
        at = datetime.fromisoformat(text.strip())
        return None if at.tzinfo is None else at.astimezone(UTC).replace(microsecond=0)
    except (ValueError, OverflowError):
        return None


def _plain(key: str) -> str:
    return _PLAIN.sub("", key.rpartition(".")[2]).casefold()


def _unit(unit: str | None) -> str | None:
    return None if unit is None else _UNITS[unit.casefold()]


def _number(value: Any) -> float | None:
    """A finite number; None where the sensor has none at the moment."""
    if value is None or isinstance(value, bool):
        return None
    if isinstance(value, str):
        text = value.strip()
        if text.casefold() in _NOTHING:
            return None
        try:
            value = float(text)
        except ValueError:
            raise NotUsableError(f"'{text[:30]}' is not a number") from None
    if not isinstance(value, int | float):
        raise NotUsableError(f"'{str(value)[:30]}' is not a number")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if math.isnan(number):
        return None
    if math.isinf(number):
        raise NotUsableError("an endless number is not a reading")
    return number


def _celsius(value: float, unit: str) -> float:
    known = _UNITS[unit.casefold()]
    if known == "°F":
        return (value - 32.0) / 1.8
    return value - 273.15 if known == "K" else value


def _percent(value: float, unit: str) -> float:
    if unit == "ratio":
        return value * 100.0
    if 0.0 < value <= 1.0:
        raise NotUsableError(
            f"humidity {value:g} looks like a share of one: set humidity_unit = 'ratio'"
        )
    return value
