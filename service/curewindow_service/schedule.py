"""Running: APScheduler wakes the service, uvicorn serves the page, one loop holds both."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import signal
import socket
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from curewindow.errors import CurewindowError
from curewindow_service.apart import BrokenOffError
from curewindow_service.app import Service
from curewindow_service.systemd import tell_systemd

if TYPE_CHECKING:  # the page's libraries are loaded where there is a page
    from curewindow_service.page import PageSettings

log = logging.getLogger(__name__)

TICK_S = 15.0
"""So often the service looks at its clock [s]."""


@dataclass(frozen=True, slots=True)
class Listen:
    """Where the page is served, and to whom."""

    host: str
    port: int
    settings: PageSettings

    def where(self, port: int) -> str:
        """Where whoever started it finds the page, in words."""
        if self.settings.hosts and self.settings.https:
            return f"https://{self.settings.hosts[0]}/"
        if self.host in ("0.0.0.0", "::") and not self.settings.hosts:
            return f"port {port} of every address this machine has"
        name = next(iter(self.settings.hosts), self.host)
        return f"http://{f'[{name}]' if ':' in name else name}:{port}/"


Say = Callable[[str], None]
"""Gets a line for whoever started it."""

Part = Callable[[asyncio.Event], Awaitable[None]]
"""Something else that runs along until the event is set: the sensors."""


def run_service(
    service: Service,
    listen: Listen | None,
    parts: list[Part] | None = None,
    say: Say = log.info,
) -> None:
    """Run until told to stop (SIGTERM, SIGINT).

    Parameters
    ----------
    service : Service
    listen : Listen or None
        None: no page.
    parts : list of callables, optional
        What else runs along.
    say : callable, optional
        Told where the page is, once it answers; else the log.

    Raises
    ------
    CurewindowError
        The page's address is taken or not this machine's.
    """
    taken = None if listen is None else _listen(listen)
    logging.getLogger("apscheduler").setLevel(logging.ERROR)  # a tick that takes long is no news
    try:
        asyncio.run(_run(service, listen, taken, parts or [], say))
    finally:
        if taken is not None:
            taken.close()


async def _run(
    service: Service,
    listen: Listen | None,
    taken: socket.socket | None,
    parts: list[Part],
    say: Say,
) -> None:
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        # not loop.add_signal_handler: uvicorn puts back what was there and raises it again
        signal.signal(number, lambda *_: loop.call_soon_threadsafe(stop.set))
    scheduler = _scheduler(service)
    scheduler.start()
    tasks = [asyncio.create_task(_keep_time(scheduler))]
    tasks += [asyncio.ensure_future(part(stop)) for part in parts]
    if listen is not None and taken is not None:
        tasks.append(asyncio.create_task(_serve(service, listen, taken, stop, say)))
    tell_systemd("READY=1")
    try:
        await stop.wait()
    finally:
        tell_systemd("STOPPING=1")
        scheduler.shutdown(wait=False)
        await asyncio.to_thread(service.close)
        tasks[0].cancel()
        with contextlib.suppress(asyncio.CancelledError, TimeoutError):
            await asyncio.wait_for(asyncio.gather(*tasks, return_exceptions=True), 10.0)


def _scheduler(service: Service) -> Any:
    from apscheduler.schedulers.asyncio import AsyncIOScheduler

    # Late is better than never (the default drops what is a second late), and once is enough.
    defaults = {"misfire_grace_time": None, "coalesce": True, "max_instances": 1}
    scheduler = AsyncIOScheduler(timezone=UTC, job_defaults=defaults)

    async def tick() -> None:
        try:
            await asyncio.to_thread(service.tick)
        except (asyncio.CancelledError, BrokenOffError):
            pass  # it stops, and what was under way is done again at the next start
        except Exception:  # the next tick may fare better; a service that died tells nobody
            log.exception("a fault in the service itself")

    scheduler.add_job(tick, "interval", seconds=TICK_S, id="tick", next_run_time=datetime.now(UTC))
    return scheduler


async def _keep_time(scheduler: Any) -> None:
    """Wake the scheduler after the clock was set back, and systemd's watchdog.

    It sleeps until a time by the clock: set back by a day, that is a day too long.
    """
    while True:
        await asyncio.sleep(TICK_S)
        tell_systemd("WATCHDOG=1")
        job = scheduler.get_job("tick")
        now = datetime.now(UTC)
        if job is not None and job.next_run_time - now > timedelta(seconds=2 * TICK_S):
            log.warning("the clock was set back")
            job.modify(next_run_time=now)


async def _serve(
    service: Service, listen: Listen, taken: socket.socket, stop: asyncio.Event, say: Say
) -> None:
    import uvicorn

    from curewindow_service.page import create_app

    app = create_app(service.folder, clock=service.clock, settings=listen.settings)
    app.state.service = service

    class Server(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:  # not before somebody who goes there finds it
                say(f"page: {listen.where(taken.getsockname()[1])}")

    server = Server(
        uvicorn.Config(
            app, log_config=None, access_log=False, lifespan="on", timeout_graceful_shutdown=3
        )
    )
    ending = asyncio.create_task(_end(server, stop, app.state.site.current.end))
    try:
        await server.serve(sockets=[taken])
    finally:
        ending.cancel()
        stop.set()


async def _end(server: Any, stop: asyncio.Event, let_go: Callable[[], None]) -> None:
    await stop.wait()
    let_go()  # pages that wait for news would hold it up
    server.should_exit = True


def _listen(listen: Listen) -> socket.socket:
    """Take the address now, so that one that is taken ends the start with one line."""
    family = socket.AF_INET6 if ":" in listen.host else socket.AF_INET
    taken = socket.socket(family)
    try:
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind((listen.host, listen.port))
    except (OSError, UnicodeError) as bad:
        taken.close()
        why = bad.strerror if isinstance(bad, OSError) else "that is no host's name"
        raise CurewindowError(
            f"the page cannot listen on {listen.host}, port {listen.port}: {why}; "
            "name another with --port, or leave the page out with --no-page"
        ) from None
    return taken
