"""A weather service on this machine: scripted answers to real requests.

Invented weather in the shape of the feeds' answers; figures are nobody's.
"""

from __future__ import annotations

import functools
import json
import math
import socket
import struct
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit

OPEN_METEO = "/v1/forecast"
MET_NORWAY = "/weatherapi/locationforecast/2.0/complete"
ENSEMBLE = "/v1/ensemble"
ARCHIVE = "/v1/archive"
NWS_POINT = "/points"  # stands for every point
NWS_GRID = "/gridpoints/LWX/109,91"


@dataclass(frozen=True)
class Scripted:
    """One answer: a dict is sent as JSON, a str as it is; `delay_s` before it comes.

    `raw` is sent byte by byte in place of all of it and the line closed; `reset` breaks
    the line after the headers; `trickle_s` is the pause before each tenth of the body.
    """

    body: dict[str, Any] | str = ""
    status: int = 200
    headers: dict[str, str] = field(default_factory=dict)
    delay_s: float = 0.0
    raw: bytes | None = None
    reset: bool = False
    trickle_s: float = 0.0


@dataclass(frozen=True)
class Asked:
    path: str
    query: dict[str, str]
    headers: dict[str, str]


class Replay:
    """Answers each path with its script; the last answer of a script is repeated."""

    def __init__(self) -> None:
        self.asked: list[Asked] = []
        self._scripts: dict[str, list[Scripted]] = {}
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self._thread = threading.Thread(
            target=self._server.serve_forever, kwargs={"poll_interval": 0.005}, daemon=True
        )
        self._thread.start()

    @property
    def base_address(self) -> str:
        return f"http://127.0.0.1:{self._server.server_address[1]}"

    def script(self, path: str, *answers: Scripted) -> None:
        self._scripts[path] = list(answers)

    def weather(
        self, start: datetime, *, days: int = 6, life: timedelta = timedelta(minutes=30)
    ) -> None:
        """The feeds answer with a mild winter spell around `start`, fresh for `life`."""
        headers = stamped(start, life)
        for path, text in _texts(start, days).items():
            self.script(path, Scripted(text, headers=headers))

    def fail(self, status: int = 503) -> None:
        """All feeds answer with a fault from now on."""
        for path in (OPEN_METEO, MET_NORWAY, ENSEMBLE, NWS_POINT, NWS_GRID):
            self.script(path, Scripted("", status))

    def close(self) -> None:
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()

    def _answer(self, path: str) -> Scripted:
        script = self._scripts.get(NWS_POINT if path.startswith("/points/") else path)
        if not script:
            return Scripted("nothing here", 404)
        return script.pop(0) if len(script) > 1 else script[0]

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        replay = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_GET(self) -> None:
                parts = urlsplit(self.path)
                query = {name: values[-1] for name, values in parse_qs(parts.query).items()}
                headers = {name.lower(): value for name, value in self.headers.items()}
                replay.asked.append(Asked(parts.path, query, headers))
                answer = replay._answer(parts.path)
                if answer.delay_s:
                    time.sleep(answer.delay_s)
                same = headers.get("if-modified-since")
                if same and same == answer.headers.get("Last-Modified"):
                    answer = Scripted("", 304, answer.headers)
                text = answer.body if isinstance(answer.body, str) else json.dumps(answer.body)
                raw = text.encode()
                if answer.raw is not None:
                    self.wfile.write(answer.raw)
                    self.close_connection = True
                    return
                try:
                    self.send_response_only(answer.status)
                    for name, value in answer.headers.items():
                        self.send_header(name, value)
                    self.send_header("Content-Length", str(len(raw)))
                    self.end_headers()
                    if answer.reset:
                        # Linger of no seconds: the line is broken, not closed.
                        linger = struct.pack("ii", 1, 0)
                        self.wfile.write(raw[: len(raw) // 2])
                        self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, linger)
                        self.close_connection = True
                        return
                    if answer.status != 304:
                        tenth = len(raw) // 10 + 1 if answer.trickle_s else len(raw) + 1
                        for at in range(0, len(raw), tenth):
                            time.sleep(answer.trickle_s)
                            self.wfile.write(raw[at : at + tenth])
                except (BrokenPipeError, ConnectionResetError):
                    self.close_connection = True  # the asker has given up

            def log_message(self, format: str, *args: object) -> None:
                pass

        return Handler


@functools.lru_cache(maxsize=64)
def _texts(start: datetime, days: int) -> dict[str, str]:
    """What each path answers, written out once."""
    bodies = {
        OPEN_METEO: open_meteo_body(start, days=days),
        MET_NORWAY: met_norway_body(start, days=days),
        ENSEMBLE: ensemble_body(start, days=days),
        NWS_POINT: nws_point_body(),
        NWS_GRID: nws_grid_body(start, days=days),
    }
    return {path: json.dumps(body) for path, body in bodies.items()}


def stamped(at: datetime, life: timedelta) -> dict[str, str]:
    """Date, Expires and Last-Modified as a service sends them."""
    when = at.astimezone(UTC)
    return {
        "Date": format_datetime(when, usegmt=True),
        "Expires": format_datetime(when + life, usegmt=True),
        "Last-Modified": format_datetime(when - timedelta(minutes=3), usegmt=True),
    }


def spell(hour: float) -> tuple[float, float, float, float, float]:
    """Temperature °C, dew point °C, wind m/s, rain mm/h, cloud 0-1 at an hour of a winter spell."""
    temp = 6.0 + 3.0 * math.sin((hour - 9.0) * math.tau / 24.0) + math.sin(hour / 31.0)
    spread = 2.5 + 1.5 * math.sin((hour - 8.0) * math.tau / 24.0)
    rain = 0.8 if 30 <= hour % 96 < 36 else 0.0
    cloud = 0.55 + 0.4 * math.sin(hour / 17.0)
    return round(temp, 1), round(temp - spread, 1), 4.0, rain, round(cloud, 2)


def open_meteo_body(
    start: datetime,
    *,
    days: int = 6,
    past_days: int = 3,
    weather: Callable[[float], tuple[float, float, float, float, float]] = spell,
) -> dict[str, Any]:
    midnight = start.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    first = midnight - timedelta(days=past_days)
    hours = range((past_days + days) * 24)
    rows = [weather(hour) for hour in hours]
    sun = [
        max(0.0, round(260.0 * math.sin(((hour % 24) - 7.5) / 9.0 * math.pi), 1))
        if 8 <= hour % 24 <= 16
        else 0.0
        for hour in hours
    ]
    return {
        "latitude": 52.36,
        "longitude": 4.9,
        "generationtime_ms": 0.2,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 1.0,
        "hourly_units": {
            "time": "unixtime",
            "temperature_2m": "°C",
            "dew_point_2m": "°C",
            "relative_humidity_2m": "%",
            "precipitation": "mm",
            "cloud_cover": "%",
            "wind_speed_10m": "m/s",
            "shortwave_radiation": "W/m²",
        },
        "hourly": {
            "time": [int((first + timedelta(hours=hour)).timestamp()) for hour in hours],
            "temperature_2m": [row[0] for row in rows],
            "dew_point_2m": [row[1] for row in rows],
            "relative_humidity_2m": [_humidity(row[0], row[1]) for row in rows],
            "precipitation": [row[3] for row in rows],
            "cloud_cover": [round(row[4] * 100) for row in rows],
            "wind_speed_10m": [row[2] for row in rows],
            "shortwave_radiation": sun,
        },
    }


def met_norway_body(
    start: datetime,
    *,
    days: int = 6,
    hourly: int = 60,
    weather: Callable[[float], tuple[float, float, float, float, float]] = spell,
) -> dict[str, Any]:
    """Hourly first, then six-hourly from a synoptic hour on; the last row has no period."""
    first = start.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    while (first.hour + hourly) % 6:
        hourly += 1
    hours = [*range(hourly), *range(hourly, days * 24 + 1, 6)]
    series = []
    for hour, after in zip(hours, [*hours[1:], None], strict=True):
        temp, dew, wind, rain, cloud = weather(hour)
        data: dict[str, Any] = {
            "instant": {
                "details": {
                    "air_pressure_at_sea_level": 1013.2,
                    "air_temperature": temp,
                    "cloud_area_fraction": round(cloud * 100, 1),
                    "relative_humidity": float(_humidity(temp, dew)),
                    "wind_from_direction": 231.4,
                    "wind_speed": wind,
                }
            }
        }
        if after is not None:
            length = after - hour
            data[f"next_{length}_hours"] = {
                "summary": {"symbol_code": "cloudy"},
                "details": {"precipitation_amount": round(rain * length, 1)},
            }
        stamp = (first + timedelta(hours=hour)).strftime("%Y-%m-%dT%H:%M:%SZ")
        series.append({"time": stamp, "data": data})
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [4.9, 52.37, 1]},
        "properties": {
            "meta": {
                "updated_at": (first - timedelta(minutes=20)).strftime("%Y-%m-%dT%H:%M:%SZ"),
                "units": {"air_temperature": "celsius", "relative_humidity": "%"},
            },
            "timeseries": series,
        },
    }


def ensemble_body(start: datetime, *, days: int = 6, members: int = 4) -> dict[str, Any]:
    """The control run and `members` others, each half a degree off the one before."""
    body = open_meteo_body(start, days=days)
    hourly, units = body["hourly"], body["hourly_units"]
    for name in [name for name in hourly if name != "time"]:
        for member in range(1, members + 1):
            shift = (
                0.5 * (member - members / 2) if name in ("temperature_2m", "dew_point_2m") else 0
            )
            own = f"{name}_member{member:02d}"
            hourly[own] = [round(value + shift, 2) for value in hourly[name]]
            units[own] = units[name]
    return body


def nws_point_body(grid: str = NWS_GRID) -> dict[str, Any]:
    return {
        "type": "Feature",
        "properties": {
            "gridId": "LWX",
            "forecastGridData": f"https://api.weather.gov{grid}",
            "timeZone": "America/New_York",
        },
    }


def nws_grid_body(
    start: datetime,
    *,
    days: int = 6,
    weather: Callable[[float], tuple[float, float, float, float, float]] = spell,
) -> dict[str, Any]:
    """Equal hours in a row merged, sums of rain by six hours, from four hours ago on."""
    first = start.astimezone(UTC).replace(minute=0, second=0, microsecond=0) - timedelta(hours=4)
    rows = [weather(hour) for hour in range(days * 24)]

    def layer(uom: str, values: list[float]) -> dict[str, Any]:
        spans: list[dict[str, Any]] = []
        begin = 0
        for hour in range(1, len(values) + 1):
            if hour == len(values) or values[hour] != values[begin]:
                spans.append(nws_value(first, begin, hour - begin, values[begin]))
                begin = hour
        return {"uom": f"wmoUnit:{uom}", "values": spans}

    sums = [
        nws_value(first, hour, 6, round(sum(row[3] for row in rows[hour : hour + 6]), 2))
        for hour in range(0, len(rows), 6)
    ]
    return {
        "type": "Feature",
        "properties": {
            "updateTime": (first + timedelta(hours=3)).isoformat(),
            "temperature": layer("degC", [row[0] for row in rows]),
            "dewpoint": layer("degC", [row[1] for row in rows]),
            "relativeHumidity": layer("percent", [float(_humidity(r[0], r[1])) for r in rows]),
            "windSpeed": layer("km_h-1", [round(row[2] * 3.6, 3) for row in rows]),
            "skyCover": layer("percent", [round(row[4] * 100) for row in rows]),
            "quantitativePrecipitation": {"uom": "wmoUnit:mm", "values": sums},
        },
    }


def nws_value(first: datetime, hour: int, length: int, value: float | None) -> dict[str, Any]:
    begin = first + timedelta(hours=hour)
    days, hours = divmod(length, 24)
    span = (f"{days}D" if days else "") + (f"T{hours}H" if hours else "")
    return {"validTime": f"{begin.isoformat()}/P{span}", "value": value}


def _humidity(temp: float, dew: float) -> int:
    """Magnus over water (WMO-No. 8, annex 4.B), whole percent as the services round it."""
    return round(100.0 * math.exp(17.62 * dew / (243.12 + dew) - 17.62 * temp / (243.12 + temp)))
