"""How the sensors stand: what was heard of each, what is not believed, which link is down."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from curewindow.errors import CurewindowError
from curewindow.wording import Wording, span
from curewindow_service.page.apimodels import PROBLEMS
from curewindow_service.page.boatfiles import boat_of
from curewindow_service.page.readpages import words_of
from curewindow_service.page.render import body_of
from curewindow_service.page.site import Site, site_of
from curewindow_service.sensors.status import LinkStatus, SensorsStatus, SensorStatus

router = APIRouter()
ALONE = "the page runs alone: the background service listens to sensors"


def sensors_of(request: Request) -> SensorsStatus | None:
    """How they stand; None where no service listens beside this page."""
    service = getattr(request.app.state, "service", None)
    ask = None if service is None else service.sensors
    return None if ask is None else ask()


def _status(request: Request, site: Site) -> SensorsStatus:
    """The same, or those of boat.toml of which nothing was heard."""
    found = sensors_of(request)
    if found is not None:
        return found
    try:
        sensors = boat_of(site.folder).sensor
    except CurewindowError:
        sensors = []
    return SensorsStatus(
        as_of=site.clock(),
        links=[],
        sensors=[
            SensorStatus(
                name=each.name,
                space=each.space,
                link="mqtt" if each.topic is not None else "signal k",
                source=each.topic or each.path or "",
                overdue=True,
            )
            for each in sensors
        ],
        trouble=ALONE,
    )


@router.get("/api/sensors", response_model=SensorsStatus, responses=PROBLEMS, tags=["answers"])
async def sensors_json(request: Request) -> Response:
    """How sensors and the links to them stand."""
    found = await run_in_threadpool(_status, request, site_of(request))
    answer = body_of(found.model_dump_json().encode(), "application/json")
    return answer.response(request, "no-store")


@router.get("/sensors", include_in_schema=False)
async def sensors(request: Request) -> Response:
    """The same for people."""
    site = site_of(request)
    found = await run_in_threadpool(_status, request, site)
    words = await run_in_threadpool(words_of, site)
    context: dict[str, Any] = {
        "trouble": found.trouble,
        "unsaved": found.unsaved,
        "links": [(link, _link_text(link, words)) for link in found.links],
        "rows": [(one, _now_text(one, words), _kept_text(one)) for one in found.sensors],
        "as_of": words.clock(found.as_of),
    }
    return site.pages.form(request, "sensors.html", context)


def _link_text(link: LinkStatus, words: Wording) -> str:
    """'not connected since 07:10: cannot be reached'."""
    text = "connected" if link.connected else "not connected"
    since = "" if link.since is None else f" since {words.when(link.since)}"
    said = f": {link.said}" if link.said else ""
    return f"{text}{since}{said}" if link.since or said else "not tried yet"


def _now_text(one: SensorStatus, words: Wording) -> str:
    """'12.5 °C, 71 %, heard 4 min ago'."""
    if one.last_message is None or one.message_age_s is None:
        return "nothing heard yet"
    temp = one.surface_c if one.air_c is None else one.air_c
    parts = [] if temp is None else [words.temp(temp)]
    if one.rh_pct is not None:
        parts.append(f"{one.rh_pct:.0f} %")
    parts.append(f"heard {span(one.message_age_s / 3600.0)} ago")
    return ", ".join(parts)


def _kept_text(one: SensorStatus) -> str:
    """'12 messages, 3 kept as readings, 1 set aside'."""
    if not one.messages:
        return ""
    parts = [
        f"{one.messages} message{'' if one.messages == 1 else 's'}",
        f"{one.readings} kept as readings",
    ]
    if one.set_aside:
        parts.append(f"{one.set_aside} set aside")
    if one.refused:
        parts.append(f"{one.refused} not used")
    return ", ".join(parts) + " since the start"
