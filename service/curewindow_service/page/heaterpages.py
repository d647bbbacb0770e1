"""Writing down that a heater was lit or put out: what the heating plan says stands in the form."""

from __future__ import annotations

import secrets
from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from curewindow.boat.aboard import Aboard
from curewindow.boat.schema import VENTS_WORD, Ventilation
from curewindow.cautions import gravest_first
from curewindow.cautions.spaces import heater_cautions
from curewindow.findings import Finding
from curewindow.heating.models import HeatPlan
from curewindow.logbook import entry as logentry
from curewindow.quantity import TEMPERATURE
from curewindow.record.entries import Heat
from curewindow.voice.heat import vents_text
from curewindow_service.page import entries
from curewindow_service.page.forms import PostedForm, read_form
from curewindow_service.page.logpages import write_once, written
from curewindow_service.page.site import Site, site_of

router = APIRouter(include_in_schema=False)
_VENTS: dict[str, Ventilation] = {
    vents_text(VENTS_WORD[state]): state for state in ("normal", "open", "closed")
}


@router.get("/log/heater")
async def heater_form(request: Request, space: str) -> Response:
    """The form for a heater, filled in as its plan has it."""
    site = site_of(request)
    form = PostedForm({"once": secrets.token_hex(8)})
    context = await run_in_threadpool(_heater, site, space, form, True)
    return site.pages.form(request, "heater.html", context)


def _heater(site: Site, space: str, form: PostedForm, by_plan: bool) -> dict[str, Any]:
    aboard = entries.aboard_of(site.folder, site.clock())
    name, words = logentry.heated_space(aboard.boat, space), aboard.wording
    plan = _plan_of(site, name)
    if by_plan and plan is not None and plan.setpoint_c is not None and plan.hold_until is not None:
        shown = {value: text for text, value in _VENTS.items()}
        form.values |= {
            "setpoint": words.degrees(plan.setpoint_c),
            "until": f"{words.local(plan.hold_until):%Y-%m-%d %H:%M}",
            "vents": shown[plan.ventilation or "normal"],
        }
    return {
        "space": name,
        "unit": words.unit,
        "plan": plan,
        "care": _care(aboard, name, plan),
        "words": words,
        "vents": list(_VENTS),
        "form": form,
        "errors": form.errors,
    }


def _care(aboard: Aboard, space: str, plan: HeatPlan | None) -> list[Finding]:
    """What to take care of before it is lit: for the coat it is planned for, and coats on."""
    boat = aboard.boat
    own = plan.cautions if plan else heater_cautions(boat.find_space(space), boat, None)
    return gravest_first([*own, *logentry.over_vapour(aboard, space)])


def _plan_of(site: Site, space: str) -> HeatPlan | None:
    """The heating plan there that is to be lit first."""
    worked = site.current.worked
    if worked is None:
        return None
    plans = [
        day.heat
        for day in worked.sheet.jobs
        if day.heat is not None
        and day.heat.status == "possible"
        and day.heat.light_at is not None
        and day.heat.space == space
    ]
    return min(plans, key=lambda plan: plan.light_at or site.clock(), default=None)


@router.post("/log/heater")
async def heater(request: Request) -> Response:
    """Write it down."""
    site = site_of(request)
    form = await read_form(request, site)
    space, off = form.text("space"), form.text("do") == "off"
    aboard = await run_in_threadpool(entries.aboard_of, site.folder, site.clock())
    named = logentry.heated_space(aboard.boat, space)
    at = form.checked("at", lambda: logentry.past(form.text("at") or None, aboard))
    setpoint, until = None, at
    if not off:
        setpoint = form.quantity("setpoint", TEMPERATURE, form.degrees())
        if setpoint is None and "setpoint" not in form.errors:
            form.errors["setpoint"] = "what is the thermostat set to?"
        lit = at or aboard.now
        until = form.checked(
            "until", lambda: logentry.ahead(form.text("until") or None, lit, aboard)
        )
    if not form.errors and at is not None and until is not None:
        item = Heat(
            space=named,
            at=at,
            until=until,
            setpoint_c=setpoint,
            ventilation="normal" if off else _VENTS.get(form.text("vents"), "normal"),
            note=form.text("note"),
        )
        kept = await write_once(form, lambda: entries.add_heat(aboard, item, site.clock))
        if kept is not None:
            return written(site, kept)
    context = await run_in_threadpool(_heater, site, named, form, False)
    return site.pages.form(request, "heater.html", context, 422)
