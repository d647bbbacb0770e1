"""A real mail server and a real HTTP endpoint on this machine, which can be told to misbehave."""

from __future__ import annotations

import asyncio
import json
import threading
import time
from collections.abc import Callable
from email import message_from_bytes, policy
from email.message import EmailMessage
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, cast

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword


class _OnAnyPort(Controller):
    """A controller that takes whatever port is free."""

    def _trigger_server(self) -> None:
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


class Sink:
    """A mail server. What it took, in the order it came; ``answers`` holds one reply a mail.

    Attributes
    ----------
    taken : list of EmailMessage
        Every mail answered with 250, second copies included.
    answers : list of str
        Replies to the coming final dots; when they are used up, 250.
    greeted : list of str
        Replies to the coming RCPT commands.
    wait_s : callable
        How long to wait before the answer to the final dot.
    """

    def __init__(self, password: bytes | None = None) -> None:
        self.taken: list[EmailMessage] = []
        self.answers: list[str] = []
        self.greeted: list[str] = []
        self.logins: list[tuple[bytes, bytes]] = []
        self.wait_s: Callable[[], float] = lambda: 0.0
        self.password = password
        options: dict[str, Any] = {}
        if password is not None:
            options = {"auth_require_tls": False, "authenticator": self.authenticate}
        self.controller = _OnAnyPort(self, hostname="127.0.0.1", port=0, **options)
        self.controller.start()
        self.port = int(self.controller.port)

    async def handle_RCPT(  # noqa: N802 - aiosmtpd's name
        self, server: Any, session: Any, envelope: Any, address: str, options: Any
    ) -> str:
        if self.greeted:
            answer = self.greeted.pop(0)
            if not answer.startswith("250"):
                return answer
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802
        answer = self.answers.pop(0) if self.answers else "250 taken"
        if answer.startswith("250"):
            read = message_from_bytes(envelope.content, policy=policy.default)
            self.taken.append(cast(EmailMessage, read))
        wait_s = self.wait_s()
        if wait_s:
            await asyncio.sleep(wait_s)
        return answer

    def authenticate(
        self, server: Any, session: Any, envelope: Any, mechanism: str, data: Any
    ) -> AuthResult:
        assert isinstance(data, LoginPassword)
        self.logins.append((data.login, data.password))
        return AuthResult(success=data.password == self.password, handled=False)

    def mailbox(self) -> dict[str, list[EmailMessage]]:
        """By Message-ID: what a mailbox that drops second copies by it shows once."""
        box: dict[str, list[EmailMessage]] = {}
        for mail in self.taken:
            box.setdefault(str(mail["Message-ID"]), []).append(mail)
        return box

    def close(self) -> None:
        self.controller.stop(no_assert=True)


class Endpoint:
    """An HTTP endpoint; ``answers`` holds (status, headers, seconds to wait) for coming posts."""

    def __init__(self) -> None:
        self.posts: list[tuple[dict[str, str], dict[str, Any]]] = []
        self.answers: list[tuple[int, dict[str, str], float]] = []
        owner = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                owner.posts.append(
                    (
                        {name.lower(): value for name, value in self.headers.items()},
                        json.loads(body),
                    )
                )
                status, headers, wait_s = owner.answers.pop(0) if owner.answers else (204, {}, 0.0)
                time.sleep(wait_s)
                self.send_response(status)
                for name, value in headers.items():
                    self.send_header(name, value)
                self.send_header("Content-Length", "0")
                self.end_headers()

            def log_message(self, *args: object) -> None:
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.port = self.server.server_address[1]
        self._thread = threading.Thread(target=self.server.serve_forever, args=(0.02,), daemon=True)
        self._thread.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}/hook"

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()
        self._thread.join(5.0)
