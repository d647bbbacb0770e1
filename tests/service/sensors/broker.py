"""A real MQTT broker (amqtt) on localhost, in a thread of its own; it can come back."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
import threading
import time
from pathlib import Path
from typing import Any

import paho.mqtt.client as paho
from paho.mqtt.enums import CallbackAPIVersion

logging.getLogger("amqtt").setLevel(logging.CRITICAL)
logging.getLogger("transitions").setLevel(logging.CRITICAL)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class RealBroker:
    """amqtt on 127.0.0.1; ``passwords`` is a file for its own login plugin."""

    def __init__(
        self,
        port: int | None = None,
        *,
        passwords: Path | None = None,
        certificate: tuple[Path, Path] | None = None,
    ):
        self.port = port or free_port()
        listener: dict[str, Any] = {"type": "tcp", "bind": f"127.0.0.1:{self.port}"}
        if certificate is not None:
            cert, key = certificate
            listener |= {"ssl": True, "certfile": str(cert), "keyfile": str(key)}
        login: dict[str, Any] = {
            "amqtt.plugins.authentication.AnonymousAuthPlugin": {"allow_anonymous": True}
        }
        if passwords is not None:
            login = {
                "amqtt.plugins.authentication.FileAuthPlugin": {"password_file": str(passwords)}
            }
        self._config = {"listeners": {"default": listener}, "plugins": login}
        self._loop = asyncio.new_event_loop()
        self._ready = threading.Event()
        self._broker: Any = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()
        assert self._ready.wait(10), "the broker does not start"

    def _run(self) -> None:
        from amqtt.broker import Broker

        asyncio.set_event_loop(self._loop)

        async def begin() -> None:
            self._broker = Broker(self._config, loop=self._loop)
            await self._broker.start()
            self._ready.set()

        self._loop.run_until_complete(begin())
        self._loop.run_forever()

    def stop(self) -> None:
        """Shut down, as at a power cut for the clients."""

        async def end() -> None:
            with contextlib.suppress(Exception):
                await self._broker.shutdown()
            tasks = [t for t in asyncio.all_tasks() if t is not asyncio.current_task()]
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)

        asyncio.run_coroutine_threadsafe(end(), self._loop).result(10)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(5)
        self._loop.close()


class Publisher:
    """A sensor's side of the broker."""

    def __init__(self, port: int, login: tuple[str, str] | None = None, will: str | None = None):
        self._client = paho.Client(CallbackAPIVersion.VERSION2, protocol=paho.MQTTv311)
        if login is not None:
            self._client.username_pw_set(*login)
        if will is not None:
            self._client.will_set(will, "offline", qos=1, retain=True)
        self.heard: list[tuple[str, bytes, bool]] = []
        self._client.on_message = lambda c, d, m: self.heard.append(
            (m.topic, bytes(m.payload), m.retain)
        )
        self._client.connect("127.0.0.1", port)
        self._client.loop_start()
        until(self._client.is_connected)

    def send(self, topic: str, payload: str | bytes, *, retain: bool = False) -> None:
        self._client.publish(topic, payload, qos=1, retain=retain).wait_for_publish(5)

    def follow(self, topic: str) -> None:
        self._client.subscribe(topic, qos=1)

    def vanish(self) -> None:
        """End without goodbye, as at a flat battery: the broker sends the last will."""
        sock = self._client.socket()
        assert sock is not None
        self._client.loop_stop()
        sock.shutdown(socket.SHUT_RDWR)
        sock.close()

    def close(self) -> None:
        self._client.disconnect()
        self._client.loop_stop()


def until(holds: Any, within_s: float = 10.0) -> None:
    """Wait until something holds."""
    end = time.monotonic() + within_s
    while not holds():
        assert time.monotonic() < end, "it did not come to that in time"
        time.sleep(0.02)
