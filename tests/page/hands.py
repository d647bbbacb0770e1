"""Ways to reach a page in tests: called in place, or on a port of this machine."""

from __future__ import annotations

import asyncio
import re
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx
import uvicorn
from curewindow_service.page import PageSettings, create_app
from fastapi import FastAPI

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
HOME = "http://127.0.0.1"
QUICK = {"own_process": False, "poll_s": 0.05, "between_s": 0.0}
TOKEN = "a long made-up token 4711"


def settings(**given: Any) -> PageSettings:
    """Settings for tests: in a thread, without pauses."""
    return PageSettings(**{**QUICK, **given})


def wait_until_worked(app: FastAPI, rounds: int = 1) -> None:
    """Wait until the page has something to show."""
    current = app.state.site.current
    for _ in range(3600):  # a busy machine takes its time
        if current.rounds >= rounds and not current.behind:
            return
        time.sleep(0.05)
    raise AssertionError(current.problem or "it takes too long")


def as_read(html: str) -> str:
    """A page as a person reads it: blanks that keep a figure and its unit together are blanks."""
    return html.replace("\u00a0", " ")


def form_token(html: str) -> str:
    """What a form on a page has to bring back."""
    found = re.search(r'name="form_token" value="([0-9a-f]+)"', html)
    assert found is not None, html[:2000]
    return found[1]


class Caller:
    """Calls an application in place, on an event loop of its own, cookies kept."""

    def __init__(self, app: FastAPI, loop: asyncio.AbstractEventLoop, base: str = HOME) -> None:
        self.app = app
        self._loop = loop
        transport = httpx.ASGITransport(app)
        self._client = httpx.AsyncClient(transport=transport, base_url=base)

    @property
    def cookies(self) -> httpx.Cookies:
        """What the application has given out."""
        return self._client.cookies

    def call(self, method: str, address: str, **given: Any) -> httpx.Response:
        """One request."""
        asked = self._client.request(method, address, **given)
        return asyncio.run_coroutine_threadsafe(asked, self._loop).result(60)

    def get(self, address: str, **given: Any) -> httpx.Response:
        """GET."""
        return self.call("GET", address, **given)

    def post(self, address: str, **given: Any) -> httpx.Response:
        """POST."""
        return self.call("POST", address, **given)

    def another(self, base: str = HOME) -> Caller:
        """Another device."""
        return Caller(self.app, self._loop, base)


@contextmanager
def client_of(
    folder: Path,
    *,
    base: str = HOME,
    work: Callable[[Path, datetime], Any] | None = None,
    **given: Any,
) -> Iterator[Caller]:
    """An application's caller, once there is something to show or said why not.

    ``work`` takes the place of working it out, where a test is not about that.
    """
    app = create_app(folder, clock=lambda: MORNING, settings=settings(**given))
    if work is not None:
        app.state.site.current.first_look = app.state.site.current.work_out = work
    loop = asyncio.new_event_loop()
    thread = threading.Thread(target=loop.run_forever)
    thread.start()
    living = app.router.lifespan_context(app)
    asyncio.run_coroutine_threadsafe(living.__aenter__(), loop).result(60)
    try:
        wait_until_worked(app)
        yield Caller(app, loop, base)
    finally:
        asyncio.run_coroutine_threadsafe(living.__aexit__(None, None, None), loop).result(60)
        asyncio.run_coroutine_threadsafe(loop.shutdown_default_executor(), loop).result(60)
        loop.call_soon_threadsafe(loop.stop)
        thread.join(10)
        loop.close()


@contextmanager
def served(
    folder: Path,
    *,
    clock: Callable[[], datetime] = lambda: MORNING,
    work: Callable[[Path, datetime], Any] | None = None,
    **given: Any,
) -> Iterator[tuple[str, FastAPI]]:
    """A page on a port of this machine: its address and the application."""
    app = create_app(folder, clock=clock, settings=settings(**given))
    if work is not None:
        app.state.site.current.first_look = app.state.site.current.work_out = work
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        port = listening.getsockname()[1]
        server = uvicorn.Server(
            uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=1)
        )
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            wait_until_worked(app)
            yield f"{HOME}:{port}", app
        finally:
            app.state.site.current.end()
            server.should_exit = True
            thread.join(15)
