"""The calendar that other programs subscribe to."""

from __future__ import annotations

import hashlib

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from curewindow.boat.folder import load_boat
from curewindow_service.page.guard import said_plainly
from curewindow_service.page.site import Site, site_of

router = APIRouter(include_in_schema=False)


@router.get("/calendar.ics")
async def calendar(request: Request) -> Response:
    """Windows, heater times, deadlines and milestones (RFC 5545)."""
    site = site_of(request)
    site.current.look()
    worked = site.current.worked
    # without the windows those told before would be called off
    if worked is None or worked.windows is None:
        answer = said_plainly(503, "not worked out yet")
        answer.headers["retry-after"] = "30"
        return answer
    ical = await run_in_threadpool(_written, site)
    mark = f'"{hashlib.sha256(ical).hexdigest()[:32]}"'
    headers = {"etag": mark, "cache-control": "private, no-cache"}
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    headers["content-disposition"] = 'inline; filename="curewindow.ics"'
    return Response(ical, media_type="text/calendar; charset=utf-8", headers=headers)


def _written(site: Site) -> bytes:
    from curewindow.calendar import publish

    worked = site.current.worked
    assert worked is not None
    before = load_boat(site.folder).service.before_window
    return publish(site.folder, worked.sheet, worked.windows, before_window_h=before)
