"""Settings: the values of boat.toml, checked before they are saved."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Mapping
from itertools import groupby
from math import ceil
from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from curewindow.boat.folder import load_boat
from curewindow.errors import BoatError, CurewindowError
from curewindow_service.channels.trying import Tried, try_channels
from curewindow_service.page import boatform
from curewindow_service.page.boatfields import fields_of, shown
from curewindow_service.page.forms import read_form
from curewindow_service.page.site import Site, site_of

router = APIRouter(include_in_schema=False)
SAMPLES_EVERY_S = 30.0
"""A sample goes to other people's servers: so often at most, whoever asks [s]."""


class Samples:
    """When the last sample was sent."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._free_at = now()

    def wait_s(self) -> int:
        """Seconds until one may be sent; 0: now, and it counts as sent."""
        left = self._free_at - self._now()
        if left > 0.0:
            return ceil(left)
        self._free_at = self._now() + SAMPLES_EVERY_S
        return 0


@router.get("/settings")
async def settings(request: Request, saved: str = "") -> Response:
    """The form, filled with what stands in the file."""
    site = site_of(request)
    context = await run_in_threadpool(_context, site, {}, {})
    return site.pages.form(request, "settings.html", {**context, "saved": saved[:200]})


def _context(site: Site, typed: Mapping[str, str], errors: Mapping[str, str]) -> dict[str, Any]:
    document, mark = boatform.read(site.folder)
    groups = []
    for name, fields in groupby(fields_of(document), key=lambda field: field.group):
        rows = []
        for field in fields:
            stands = shown(document, field)
            value = typed.get(field.key, stands)
            choices = field.choices
            if field.kind == "yes or no":
                choices = ("", "yes", "no")
            elif choices and value not in choices:
                choices = ("", *choices) if value == "" else (value, *choices)
            rows.append((field, value, stands, choices))
        groups.append((name, rows))
    try:
        channels = [(each.name, each.level) for each in load_boat(site.folder).channel]
    except CurewindowError:
        channels = []
    known = {field.key for _, rows in groups for field, *_ in rows}
    loose = {key: text for key, text in errors.items() if key not in known}
    return {
        "groups": groups,
        "mark": mark,
        "channels": channels,
        "errors": dict(errors),
        "loose": list(loose.values()),
        "saved": "",
        "tried": [],
        "not_tried": "",
    }


def _field_of(key: str) -> str:
    """The field an error is about: 'hours[1].days[5]' is one of the days of 'hours[1].days'."""
    return re.sub(r"(?<=\.days)\[\d+\]$", "", key)


@router.post("/settings")
async def save(request: Request) -> Response:
    """Check and save; on any error nothing is written and nothing typed is lost."""
    site = site_of(request)
    form = await read_form(request, site)
    if not form.errors:
        try:
            changed = await run_in_threadpool(
                boatform.change, site.folder, form.values, form.text("mark")
            )
        except BoatError as bad:
            form.errors[_field_of(bad.key or "")] = bad.problem
        except CurewindowError as bad:
            form.errors[""] = bad.for_page(site.folder)
        else:
            if changed:
                site.current.changed()
            return RedirectResponse("/settings?saved=" + ("yes" if changed else "nothing"), 303)
    context = await run_in_threadpool(_context, site, form.values, form.errors)
    return site.pages.form(request, "settings.html", context, 422)


@router.post("/settings/try-channels")
async def try_all(request: Request) -> Response:
    """Send a sample by every channel, and say what came back."""
    site = site_of(request)
    form = await read_form(request, site)
    tried: list[Tried] = []
    status = 409 if form.errors else 200
    if not form.errors:
        wait_s = request.app.state.samples.wait_s()
        if wait_s:
            form.errors[""] = f"a sample was sent just now: again in {wait_s} s"
            status = 429
        else:
            try:
                boat = await run_in_threadpool(load_boat, site.folder)
                tried = await run_in_threadpool(try_channels, boat, site.folder, site.clock())
            except CurewindowError as bad:
                form.errors[""] = bad.for_page(site.folder)
                status = 409
    context = await run_in_threadpool(_context, site, {}, {})
    told = [
        (each.name, each.shown, each.went, each.said.replace(f"{site.folder}/", ""))
        for each in tried
    ]
    context |= {"tried": told, "not_tried": form.errors.get("", "")}
    return site.pages.form(request, "settings.html", context, status)
