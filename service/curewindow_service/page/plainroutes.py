"""Static files, live news, health and figures."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator

from fastapi import APIRouter, Request
from sse_starlette import EventSourceResponse, ServerSentEvent
from starlette.responses import JSONResponse, Response

from curewindow_service.page.guard import said_plainly
from curewindow_service.page.sensorpages import sensors_of
from curewindow_service.page.site import Site, site_of

router = APIRouter(include_in_schema=False)
_MOST_LOOKING = 500
_HEARTBEAT_S = 20.0


@router.get("/static/{name}")
async def static(request: Request, name: str) -> Response:
    """A file of the page's own."""
    return site_of(request).pages.static_file(request, name)


@router.get("/favicon.ico")
async def icon(request: Request) -> Response:
    """Browsers ask for it whatever a page says."""
    pages = site_of(request).pages
    name = next(each for each in pages.static if each.startswith("icon-"))
    return pages.static_file(request, name)


@router.get("/events")
async def events(request: Request) -> Response:
    """News as they come, by server-sent events: the number of the newest state."""
    site = site_of(request)
    if site.current.looking >= _MOST_LOOKING:
        return said_plainly(503, "too many are looking already")
    return EventSourceResponse(
        _news(site), ping=int(_HEARTBEAT_S), headers={"cache-control": "no-store"}
    )


async def _news(site: Site) -> AsyncIterator[ServerSentEvent]:
    current = site.current
    current.looking += 1
    try:
        while not current.ended:
            version, notices = current.version, current.notices
            told = {"version": version, "notices": notices}
            yield ServerSentEvent(json.dumps(told), event="state")
            while not await current.news(version, notices, _HEARTBEAT_S):
                pass
            current.look()
    finally:
        current.looking -= 1


@router.get("/health")
async def health(request: Request) -> Response:
    """Does it do its work? 200 or 503, and in a word; for monitors, so without a login."""
    current = site_of(request).current
    state = "starting" if current.worked is None else "ok"
    service = getattr(request.app.state, "service", None)  # None: the page runs alone
    unwell = service is not None and not service.status().well
    state = "failing" if current.problem or unwell else state
    told = {"status": state}
    if (sensors := sensors_of(request)) is not None and sensors.sensors:
        told["sensors"] = sensors.word  # the notices go by the forecast without them
    return JSONResponse(told, 503 if state == "failing" else 200, {"cache-control": "no-store"})


@router.get("/metrics")
async def metrics(request: Request) -> Response:
    """Figures in the text form that Prometheus reads."""
    content, kind = site_of(request).figures.written()
    return Response(content, media_type=kind)
