"""Sensors by Signal K, the open marine data standard: values once by REST, then its stream.

Kelvin and shares of one, ISO 8601 times, deltas by path: Signal K specification 1.7.0,
https://signalk.org/specification/1.7.0/doc/ ('Data Model', 'Subscription Protocol',
'Streaming WebSocket API', 'REST API').
"""

from __future__ import annotations

import json
import logging
import random
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import urlsplit

import httpx

from curewindow.boat.sensors import Sensor, SignalKServer
from curewindow_service.sensors.heard import Deliver, Heard, LinkNews
from curewindow_service.sensors.login import secret
from curewindow_service.sensors.payload import NotUsableError, Payload, celsius, percent, time_in

if TYPE_CHECKING:
    from websockets.sync.client import ClientConnection
from curewindow_service.sensors.status import LinkKind

logger = logging.getLogger(__name__)

TIMEOUT_S: Final = 10.0
FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 120.0
ASK_EVERY_S: Final = 60.0
_LONGEST_DELTA = 4_000_000
_TEMPERATURE = ("temperature",)
_HUMIDITY = ("relativeHumidity", "humidity")


class NoServerError(Exception):
    """The server cannot be used now; says why in one line."""


class SignalKLink:
    """The connection to the server; reconnects by itself, waiting longer each time.

    Parameters
    ----------
    server : SignalKServer
    sensors : sequence of Sensor
        Those with a path.
    folder : Path
        The boat folder, for the token.
    deliver : callable
        Gets every message and each change of the connection, in a thread of its own.

    Raises
    ------
    BoatError
        The token cannot be read.
    """

    kind: LinkKind = "signal k"

    def __init__(
        self,
        server: SignalKServer,
        sensors: Sequence[Sensor],
        folder: Path,
        deliver: Deliver,
        *,
        first_wait_s: float = FIRST_WAIT_S,
        ask_every_s: float = ASK_EVERY_S,
    ):
        token = secret(folder, server.token_env, server.token_file, "signal_k.token")
        self._headers = {} if token is None else {"Authorization": f"Bearer {token}"}
        self._base = server.address.rstrip("/")
        self.address = urlsplit(self._base).netloc
        self._sensors, self._deliver = tuple(sensors), deliver
        self._first_wait_s, self._ask_every_s = first_wait_s, ask_every_s
        self._stop = threading.Event()
        self._up = False
        self._thread = threading.Thread(target=self._run, name="signal-k", daemon=True)

    def start(self) -> None:
        """Begin to connect; returns at once."""
        self._thread.start()

    def stop(self) -> None:
        """End the thread."""
        self._stop.set()
        self._thread.join(TIMEOUT_S + 5.0)

    # ---- in the thread -----------------------------------------------------------

    def _run(self) -> None:
        wait_s = self._first_wait_s
        while not self._stop.is_set():
            self._up = False
            try:
                self._session()
            except NoServerError as bad:
                self._deliver(LinkNews("signal k", self.address, False, str(bad)))
            except Exception:  # whatever a server sends, the thread goes on
                logger.exception("Signal K at %s", self.address)
                self._deliver(
                    LinkNews("signal k", self.address, False, "sent what cannot be understood")
                )
            wait_s = self._first_wait_s if self._up else min(wait_s * 2.0, LONGEST_WAIT_S)
            self._stop.wait(wait_s * random.uniform(0.8, 1.2))

    def _session(self) -> None:
        with httpx.Client(headers=self._headers, timeout=TIMEOUT_S) as web:
            rest, stream = self._endpoints(web)
            self._ask(web, rest)
            connection = self._open(stream)
            if connection is None:
                self._ask_on(web, rest)
                return
        try:
            self._follow(connection)
        finally:
            connection.close()

    def _endpoints(self, web: httpx.Client) -> tuple[str, str]:
        """Addresses of REST and stream: as the server tells, on the host we were given."""
        found = _get(web, f"{self._base}/signalk")
        endpoints = found.get("endpoints", {}) if isinstance(found, dict) else {}
        v1 = endpoints.get("v1") if isinstance(endpoints, dict) else None
        if not isinstance(v1, dict):
            raise NoServerError("answers, but not as a Signal K server (no v1 endpoint)")
        socket_base = "ws" + self._base.removeprefix("http")
        return (
            self._here(v1.get("signalk-http"), self._base, "/signalk/v1/api/"),
            self._here(v1.get("signalk-ws"), socket_base, "/signalk/v1/stream"),
        )

    def _here(self, told: object, base: str, usual: str) -> str:
        # A server behind a router or in a container tells a name only it knows: the path is
        # its own, the host stays the one in boat.toml; so does the token.
        path = urlsplit(told).path if isinstance(told, str) else ""
        return base + (path if path.startswith("/") else usual)

    def _ask(self, web: httpx.Client, rest: str) -> None:
        for sensor in self._sensors:
            assert sensor.path is not None
            place = f"{rest.rstrip('/')}/vessels/self/{sensor.path.replace('.', '/')}"
            node = _get(web, place, missing_ok=True)
            for heard in from_tree(sensor, node):
                self._deliver(heard)

    def _ask_on(self, web: httpx.Client, rest: str) -> None:
        """Without a stream: ask again and again."""
        self._came_up("without its stream: asked once a minute")
        while not self._stop.wait(self._ask_every_s):
            self._ask(web, rest)

    def _open(self, stream: str) -> ClientConnection | None:
        """The stream, or None where the server has none."""
        from websockets.exceptions import InvalidStatus, WebSocketException
        from websockets.sync.client import connect

        try:
            return connect(
                f"{stream}?subscribe=none",
                additional_headers=self._headers,
                open_timeout=TIMEOUT_S,
                close_timeout=2.0,
                max_size=_LONGEST_DELTA,
                proxy=None,
                user_agent_header="curewindow",
            )
        except InvalidStatus as bad:
            if bad.response.status_code in (401, 403):
                raise NoServerError(_LOGIN) from None
            logger.info("Signal K at %s has no stream: %s", self.address, bad)
            return None
        except (OSError, WebSocketException) as bad:
            logger.info("Signal K at %s: %s", self.address, bad)
            raise NoServerError("the stream cannot be opened; trying again") from None

    def _follow(self, connection: ClientConnection) -> None:
        from websockets.exceptions import ConnectionClosed

        own: str | None = None
        try:
            connection.send(json.dumps(subscription(self._sensors)))
            self._came_up()
            while not self._stop.is_set():
                try:
                    message = connection.recv(timeout=1.0)
                except TimeoutError:
                    continue
                content = _json(message)
                if isinstance(content.get("self"), str) and "updates" not in content:
                    own = content["self"]  # the hello
                for heard in from_delta(self._sensors, content, own):
                    self._deliver(heard)
        except ConnectionClosed:
            raise NoServerError("the connection was lost; trying again") from None

    def _came_up(self, said: str = "") -> None:
        self._up = True
        self._deliver(LinkNews("signal k", self.address, True, said))


_LOGIN = "asks for a token; see signal_k.token_env and signal_k.token_file"


def subscription(sensors: Sequence[Sensor]) -> dict[str, Any]:
    """The message that asks for the sensors' paths, and what stands under them."""
    paths = sorted({path for s in sensors if s.path for path in (s.path, f"{s.path}.*")})
    return {
        "context": "vessels.self",
        "subscribe": [
            {"path": path, "format": "delta", "policy": "instant", "minPeriod": 1000}
            for path in paths
        ],
    }


def from_delta(
    sensors: Sequence[Sensor], delta: dict[str, Any], own: str | None
) -> Iterator[Heard]:
    """Messages of our sensors in a delta; those of other vessels are passed over."""
    context = str(delta.get("context", "vessels.self"))
    ours = {"vessels.self", "self"}
    if own is not None:
        ours |= {own, own.removeprefix("vessels."), f"vessels.{own}"}
    if context not in ours and own is not None:
        return
    updates = delta.get("updates")
    for update in updates if isinstance(updates, list) else ():
        if not isinstance(update, dict) or not isinstance(update.get("values"), list):
            continue
        for pair in update["values"]:
            if not isinstance(pair, dict) or not isinstance(pair.get("path"), str):
                continue
            for sensor in sensors:
                told = (pair.get("value"), update.get("timestamp"), update.get("$source"))
                heard = _heard(sensor, pair["path"], *told)
                if heard is not None:
                    yield heard


def from_tree(sensor: Sensor, node: object) -> Iterator[Heard]:
    """Messages in a part of the full model, as REST gives it."""
    if not isinstance(node, dict) or sensor.path is None:
        return
    if "value" in node:
        leaves: list[tuple[str, Any]] = [(sensor.path, node)]
    else:
        leaves = [(f"{sensor.path}.{name}", leaf) for name, leaf in node.items()]
    for path, leaf in leaves:
        if not isinstance(leaf, dict) or "value" not in leaf:
            continue
        told, source = leaf, leaf.get("$source")
        if sensor.source is not None and source != sensor.source:
            # beside the value the server prefers stand those of all sources, by '$source'
            every = leaf.get("values")
            other = every.get(sensor.source) if isinstance(every, dict) else None
            if not isinstance(other, dict) or "value" not in other:
                continue
            told, source = other, sensor.source
        heard = _heard(sensor, path, told["value"], told.get("timestamp"), source)
        if heard is not None:
            yield heard


def _heard(sensor: Sensor, path: str, value: object, stamp: object, source: object) -> Heard | None:
    """The message at a path, or None where it is none of the sensor's."""
    assert sensor.path is not None
    if sensor.source is not None and source != sensor.source:
        return None
    if path != sensor.path and not path.startswith(f"{sensor.path}."):
        return None
    key = path[len(sensor.path) + 1 :]
    is_temp = key == sensor.temperature_key if sensor.temperature_key else key in _TEMPERATURE
    is_humidity = key == sensor.humidity_key if sensor.humidity_key else key in _HUMIDITY
    if not key:  # the path is a value's own: its last word says which
        is_humidity = path.rpartition(".")[2] in (sensor.humidity_key, *_HUMIDITY)
        is_temp = not is_humidity
    if not (is_temp or is_humidity) or value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        return Heard(sensor.name, f"{path} is not a number")
    at = time_in(stamp) if isinstance(stamp, str) else None
    try:
        if is_temp:
            said = Payload(
                temp_c=celsius(float(value), sensor.temperature_unit or "K"), measured_at=at
            )
        else:
            ratio = sensor.humidity_unit or "ratio"
            said = Payload(rh_pct=percent(float(value), ratio), measured_at=at)
    except (NotUsableError, OverflowError) as bad:
        return Heard(sensor.name, str(bad))
    # a server sends what it holds to whoever comes new, however old
    return Heard(sensor.name, said, stored=True, source=source if isinstance(source, str) else "")


def _json(message: str | bytes) -> dict[str, Any]:
    try:
        content = json.loads(message)
    except (ValueError, RecursionError):
        return {}
    return content if isinstance(content, dict) else {}


def _get(web: httpx.Client, address: str, *, missing_ok: bool = False) -> object:
    try:
        answer = web.get(address)
    except httpx.TimeoutException:
        raise NoServerError("does not answer in time") from None
    except httpx.HTTPError as bad:
        logger.debug("%s: %s", address, bad)
        raise NoServerError("cannot be reached; is it running, and is the address right?") from None
    if answer.status_code in (401, 403):
        raise NoServerError(_LOGIN)
    if answer.status_code == 404 and missing_ok:
        return None
    if answer.status_code != 200:
        raise NoServerError(f"answers with status {answer.status_code}")
    try:
        return answer.json()
    except (ValueError, RecursionError):
        raise NoServerError("answers, but not in JSON: not a Signal K server?") from None
