"""A Signal K server as far as a thermometer's listener sees one: REST and stream on one port.

Messages have the form of the Signal K specification 1.7.0 ('Streaming WebSocket API', 'REST
API', 'Subscription Protocol').
"""

from __future__ import annotations

import json
import socket
import threading
import time
from contextlib import suppress
from datetime import datetime
from typing import Any

from websockets.exceptions import ConnectionClosed
from websockets.sync.server import Server, ServerConnection, serve

SELF = "vessels.urn:mrn:signalk:uuid:7d1f2a4e-3c3b-4a86-9d51-2f8c6c1f0b11"


class Replay:
    """Listens on 127.0.0.1; ``tree`` is what REST gives of the own vessel."""

    def __init__(self, *, port: int = 0, token: str | None = None, stream: bool = True):
        self.tree: dict[str, Any] = {}
        self.asked: list[str] = []
        self.subscribed: list[dict[str, Any]] = []
        self._token, self._stream = token, stream
        self._connections: set[ServerConnection] = set()
        self._followers: set[ServerConnection] = set()
        self._server: Server = serve(self._follow, "127.0.0.1", port, process_request=self._request)
        self.port = int(self._server.socket.getsockname()[1])
        self._thread = threading.Thread(target=self._server.serve_forever)
        self._thread.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def _request(self, connection: ServerConnection, request: Any) -> Any:
        path = request.path.split("?")[0]
        self.asked.append(request.path)
        if path == "/signalk":
            v1 = {
                "version": "1.7.0",
                # a name that only the server itself knows
                "signalk-http": "http://boat.test/signalk/v1/api/",
                "signalk-ws": "ws://boat.test/signalk/v1/stream",
            }
            return connection.respond(200, json.dumps({"endpoints": {"v1": v1}}))
        given = request.headers.get("Authorization")
        if self._token is not None and given != f"Bearer {self._token}":
            return connection.respond(401, "no")
        if path == "/signalk/v1/stream" and self._stream:
            return None
        if path.startswith("/signalk/v1/api/vessels/self/"):
            node: Any = self.tree
            for word in path.removeprefix("/signalk/v1/api/vessels/self/").split("/"):
                node = node.get(word) if isinstance(node, dict) else None
            if node is not None:
                return connection.respond(200, json.dumps(node))
        return connection.respond(404, "not here")

    def _follow(self, connection: ServerConnection) -> None:
        hello = {
            "name": "replay",
            "version": "1.7.0",
            "self": SELF,
            "roles": ["master", "main"],
            "timestamp": "2026-11-25T08:00:00.000Z",
        }
        connection.send(json.dumps(hello))
        self._connections.add(connection)
        try:
            for message in connection:
                self.subscribed.append(json.loads(message))
                self._followers.add(connection)  # before, a listener has asked for no delta
        except ConnectionClosed:
            pass
        finally:
            self._connections.discard(connection)
            self._followers.discard(connection)

    def send(self, content: object) -> None:
        """Send to whoever has subscribed; waits for the first, which is not heard at once."""
        end = time.monotonic() + 10.0
        while not self._followers:
            assert time.monotonic() < end, "nobody has subscribed"
            time.sleep(0.02)
        for connection in list(self._followers):
            connection.send(content if isinstance(content, str) else json.dumps(content))

    def stop(self) -> None:
        self._server.shutdown()
        for connection in list(self._connections):
            with suppress(OSError):  # it may have gone by itself just now
                connection.socket.shutdown(socket.SHUT_RDWR)
        self._thread.join(5)


def delta(
    at: datetime, values: dict[str, object], context: str = SELF, source: str = "i2c.0-76"
) -> dict[str, Any]:
    return {
        "context": context,
        "updates": [
            {
                "$source": source,
                "timestamp": at.isoformat().replace("+00:00", ".000Z"),
                "values": [{"path": path, "value": value} for path, value in values.items()],
            }
        ],
    }


def leaf(at: datetime, value: float) -> dict[str, Any]:
    return {"value": value, "timestamp": at.isoformat().replace("+00:00", ".000Z")}
