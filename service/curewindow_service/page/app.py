"""The application: what it is made of, in which order it stands, and how it begins and ends."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response

from curewindow import __version__
from curewindow.errors import CurewindowError, NotDueError, NotFoundError, QuantityError
from curewindow_service.page import (
    api,
    apilog,
    calendarroute,
    heaterpages,
    loginpages,
    logpages,
    plainroutes,
    readpages,
    reminderpages,
    sensorpages,
    settingpages,
)
from curewindow_service.page.current import Current
from curewindow_service.page.figures import Figures
from curewindow_service.page.guard import Guard, problem
from curewindow_service.page.render import Pages
from curewindow_service.page.room import BusyError
from curewindow_service.page.sessions import Keys, WrongTries
from curewindow_service.page.settings import PageSettings
from curewindow_service.page.site import Site, site_of


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def create_app(
    folder: Path,
    *,
    clock: Callable[[], datetime] = _now,
    settings: PageSettings | None = None,
) -> FastAPI:
    """The page and the JSON interface of one boat, as an ASGI application.

    Works alone (``uvicorn``) and inside the service; its lifespan keeps the day sheet fresh.
    ``app.state.site.changed()`` tells it, from any thread, to work everything out anew.

    Parameters
    ----------
    folder : Path
        The boat folder.
    clock : callable, optional
        The moment it is, aware UTC.
    settings : PageSettings, optional
        Else for this machine alone, without a login.

    Returns
    -------
    FastAPI
    """
    given = PageSettings() if settings is None else settings
    current = Current(folder, clock=clock, settings=given)
    keys, tries = Keys(given.token), WrongTries()
    site = Site(
        folder, clock, given, keys, tries, current, Pages(current, keys, given), Figures(current)
    )

    @contextlib.asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        keeping = asyncio.create_task(current.keep())
        try:
            yield
        finally:
            current.end()
            keeping.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await keeping

    app = FastAPI(
        title="curewindow",
        version=__version__,
        summary="When a coat may go on: the answers of the command line, as JSON.",
        openapi_url="/api/openapi.json",
        docs_url=None,  # both fetch their pictures and scripts from elsewhere
        redoc_url=None,
        lifespan=lifespan,
    )
    app.state.site = site
    app.state.samples = settingpages.Samples()
    for part in (
        readpages,
        logpages,
        heaterpages,
        reminderpages,
        sensorpages,
        settingpages,
        loginpages,
        plainroutes,
        calendarroute,
        api,
        apilog,
    ):
        app.include_router(part.router)
    site.pages.has_calendar()
    app.add_exception_handler(CurewindowError, _refuse)
    app.add_exception_handler(HTTPException, _refuse)
    app.add_exception_handler(RequestValidationError, _refuse)
    app.add_middleware(Guard, settings=given, keys=keys, tries=tries)
    app.add_middleware(site.figures.middleware)
    return app


async def _refuse(request: Request, bad: Exception) -> Response:
    """One clear line, for programs as JSON and for people on a page."""
    site = site_of(request)
    headers: dict[str, str] = {}
    if isinstance(bad, RequestValidationError):
        first = bad.errors()[0]
        where = ".".join(str(part) for part in first["loc"][1:])
        status, text = 422, f"{where}: {first['msg']}" if where else str(first["msg"])
    elif isinstance(bad, HTTPException):
        status, text = bad.status_code, str(bad.detail)
        headers = dict(bad.headers or {})
        text = {404: "there is no such page", 405: "not that way"}.get(status, text)
    else:
        status, text = status_of(bad), bad.for_page(site.folder)  # type: ignore[attr-defined]
    if status == 503:
        headers["retry-after"] = "5"
    if request.url.path.startswith("/api"):
        answer = problem(status, text)
    else:
        answer = site.pages.form(request, "refused.html", {"text": text, "status": status}, status)
    answer.headers.update(headers)
    return answer


def status_of(bad: Exception) -> int:
    """The status an error of ours has."""
    if isinstance(bad, NotFoundError):
        return 404
    if isinstance(bad, QuantityError | NotDueError):
        return 422
    return 429 if isinstance(bad, BusyError) else 503
