"""Sensors that report to an MQTT broker.

The session is a clean one: what a broker would have kept for us while we were away carries no
time, and would be taken for a reading of now. The same holds of retained messages, which are
handed on as stored.
"""

from __future__ import annotations

import json
import logging
import socket
import ssl
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import paho.mqtt.client as paho
from paho.mqtt.enums import CallbackAPIVersion
from paho.mqtt.reasoncodes import ReasonCode

from curewindow.boat.sensors import Broker, Sensor
from curewindow.errors import BoatError
from curewindow_service.sensors.heard import Deliver, Heard, LinkNews
from curewindow_service.sensors.login import name_and_password, secret
from curewindow_service.sensors.payload import NotUsableError, Payload, read_payload
from curewindow_service.sensors.status import LinkKind

logger = logging.getLogger(__name__)

FIRST_WAIT_S, LONGEST_WAIT_S = 1, 120
KEEPALIVE_S = 60
_ON = ("online", "on", "true", "1", "connected", "yes")
_OFF = ("offline", "off", "false", "0", "disconnected", "lost", "no")


class MqttLink:
    """The connection to the broker; reconnects by itself, waiting longer each time.

    Parameters
    ----------
    broker : Broker
    sensors : sequence of Sensor
        Those with a topic.
    folder : Path
        The boat folder, for logins and certificates.
    deliver : callable
        Gets every message and each change of the connection, in a thread of paho's own.

    Raises
    ------
    BoatError
        The login or the certificate cannot be read.
    """

    kind: LinkKind = "mqtt"

    def __init__(
        self,
        broker: Broker,
        sensors: Sequence[Sensor],
        folder: Path,
        deliver: Deliver,
        *,
        first_wait_s: int = FIRST_WAIT_S,
        keepalive_s: int = KEEPALIVE_S,
    ):
        self._broker, self._deliver, self._keepalive_s = broker, deliver, keepalive_s
        self._port = broker.port or (8883 if broker.tls else 1883)
        self.address = f"{broker.host}:{self._port}"
        self._topics = _topics(sensors)
        self._last: dict[str, bytes] = {}
        self._turned_away = False
        client = paho.Client(CallbackAPIVersion.VERSION2, protocol=paho.MQTTv311)
        login = name_and_password(
            secret(folder, broker.login_env, broker.login_file, "mqtt.login"), "mqtt.login", folder
        )
        if login is not None:
            client.username_pw_set(*login)
        if broker.tls:
            _use_tls(client, broker, folder)
        if broker.state_topic is not None:
            client.will_set(broker.state_topic, "offline", qos=1, retain=True)
        client.reconnect_delay_set(first_wait_s, LONGEST_WAIT_S)
        client.on_connect = self._connected
        client.on_connect_fail = self._not_reached
        client.on_disconnect = self._lost
        client.on_subscribe = self._subscribed
        client.on_message = self._message
        self._client = client

    def start(self) -> None:
        """Begin to connect; returns at once."""
        self._client.connect_async(self._broker.host, self._port, self._keepalive_s)
        self._client.loop_start()

    def stop(self) -> None:
        """Say goodbye and end the thread."""
        topic = self._broker.state_topic
        if topic is not None and self._client.is_connected():
            told = self._client.publish(topic, "offline", qos=1, retain=True)
            try:
                told.wait_for_publish(2.0)
            except (RuntimeError, ValueError):
                logger.debug("the broker did not hear us leave")
        self._client.disconnect()
        self._client.loop_stop()

    # ---- called by paho ----------------------------------------------------------

    def _connected(
        self, client: paho.Client, data: Any, flags: Any, reason: ReasonCode, properties: Any
    ) -> None:
        if reason.is_failure:
            self._turned_away = True
            self._news(False, _in_words(reason))
            return
        self._turned_away = False
        client.subscribe([(topic, 1) for topic in self._topics])
        if self._broker.state_topic is not None:
            client.publish(self._broker.state_topic, "online", qos=1, retain=True)

    def _not_reached(self, client: paho.Client, data: Any) -> None:
        # paho calls this from inside its 'except'
        self._news(False, _why_not(sys.exc_info()[1]))

    def _lost(
        self, client: paho.Client, data: Any, flags: Any, reason: ReasonCode, properties: Any
    ) -> None:
        if reason.is_failure and not self._turned_away:
            self._news(False, "the connection was lost; trying again")

    def _subscribed(
        self, client: paho.Client, data: Any, mid: int, reasons: list[ReasonCode], properties: Any
    ) -> None:
        self._news(True)
        for topic, reason in zip(self._topics, reasons, strict=False):
            if reason.is_failure:
                for sensor, _ in self._topics[topic]:
                    self._deliver(
                        Heard(sensor.name, f"the broker does not let this login read '{topic}'")
                    )

    def _message(self, client: paho.Client, data: Any, message: paho.MQTTMessage) -> None:
        payload = bytes(message.payload)
        # sent again because our receipt was lost: the very message handed on a moment ago
        again = message.dup and self._last.get(message.topic) == payload
        self._last[message.topic] = payload
        if again or (message.retain and not payload):
            return
        for sensor, what in self._topics.get(message.topic, ()):
            try:
                self._deliver(_heard(sensor, what, payload, message.retain))
            except Exception:  # a message must never end paho's thread
                logger.exception("a message under %s could not be handed on", message.topic)

    def _news(self, connected: bool, said: str = "") -> None:
        self._deliver(LinkNews("mqtt", self.address, connected, said))


def _topics(sensors: Sequence[Sensor]) -> dict[str, list[tuple[Sensor, str]]]:
    found: dict[str, list[tuple[Sensor, str]]] = {}
    for sensor in sensors:
        for what in ("topic", "humidity_topic", "availability_topic"):
            topic = getattr(sensor, what)
            if topic is not None:
                found.setdefault(topic, []).append((sensor, what))
    return found


def _heard(sensor: Sensor, what: str, payload: bytes, stored: bool) -> Heard:
    try:
        if what == "availability_topic":
            return Heard(sensor.name, Payload(), online=_online(payload))
        said = read_payload(sensor, payload, humidity_alone=what == "humidity_topic")
    except NotUsableError as bad:
        return Heard(sensor.name, str(bad), stored)
    return Heard(sensor.name, said, stored)


def _online(payload: bytes) -> bool:
    text = payload.decode("utf-8", "replace").strip()
    try:
        content = json.loads(text)
    except (ValueError, RecursionError):
        content = text
    if isinstance(content, dict):
        content = content.get("state", content.get("status", ""))
    word = str(content).casefold()
    if word in _ON or word in _OFF:
        return word in _ON
    raise NotUsableError(f"its availability topic says '{text[:30]}', not 'online' or 'offline'")


def _why_not(bad: BaseException | None) -> str:
    if isinstance(bad, ssl.SSLCertVerificationError):
        return "its certificate is not trusted; mqtt.ca_file names the one that signed it"
    if isinstance(bad, ssl.SSLError):
        return "does not speak TLS at this port; see mqtt.tls and mqtt.port"
    if isinstance(bad, socket.gaierror):
        return "there is no host of that name"
    if isinstance(bad, ConnectionRefusedError):
        return "nobody answers there; is the broker running, and is the port right?"
    return "cannot be reached"


def _in_words(reason: ReasonCode) -> str:
    name = reason.getName()
    if name in ("Not authorized", "Bad user name or password"):
        return "the broker does not take the login; see mqtt.login_env and mqtt.login_file"
    return f"the broker refuses: {name.lower()}"


def _use_tls(client: paho.Client, broker: Broker, folder: Path) -> None:
    ca_file = None if broker.ca_file is None else folder / Path(broker.ca_file).expanduser()
    try:
        context = ssl.create_default_context(cafile=None if ca_file is None else str(ca_file))
    except (OSError, ssl.SSLError):
        raise BoatError(
            f"{ca_file} cannot be read as a certificate (PEM)",
            file=folder / "boat.toml",
            key="mqtt.ca_file",
        ) from None
    client.tls_set_context(context)
