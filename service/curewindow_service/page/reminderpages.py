"""Reminders: what is to be done about them with one tap."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from curewindow_service.page.apimodels import NoticeId
from curewindow_service.page.forms import PostedForm, read_form
from curewindow_service.page.noticeanswers import acknowledge, reminder_list, snooze
from curewindow_service.page.readpages import words_of
from curewindow_service.page.site import Site, site_of

router = APIRouter(include_in_schema=False)
# What the buttons offer, in hours.
SNOOZES = (1, 4, 24)


@router.get("/reminders")
async def reminders(request: Request) -> Response:
    """What is open, what is to come, what was told."""
    return await _shown(request, site_of(request), PostedForm({}), 200)


async def _shown(request: Request, site: Site, form: PostedForm, status: int) -> Response:
    found = (await run_in_threadpool(reminder_list, site)).reminders
    told = [each for each in found if each.state == "told"]
    context = {
        "words": await run_in_threadpool(words_of, site),
        "open": [each for each in reversed(told) if each.acknowledged_at is None],
        "coming": [each for each in found if each.state == "waiting"],
        "over": [
            each
            for each in reversed(found)
            if each.acknowledged_at is not None or each.state in ("expired", "known already")
        ][:20],
        "snoozes": SNOOZES,
        "notices": site.current.notices,
        "errors": form.errors,
    }
    return site.pages.form(request, "reminders.html", context, status)


@router.post("/reminders/{id}/acknowledge")
async def note(request: Request, id: NoticeId) -> Response:
    """Take note of one."""
    site = site_of(request)
    form = await read_form(request, site)
    if form.errors:
        return await _shown(request, site, form, 409)
    await run_in_threadpool(acknowledge, site, id)
    return RedirectResponse("/reminders", 303)


@router.post("/reminders/{id}/snooze")
async def later(request: Request, id: NoticeId) -> Response:
    """Have one told again later."""
    site = site_of(request)
    form = await read_form(request, site)
    hours = form.text("hours")
    if hours not in {str(each) for each in SNOOZES}:
        form.errors.setdefault("", "that is none of the times there are")
    if form.errors:
        return await _shown(request, site, form, 409)
    await run_in_threadpool(snooze, site, id, float(hours))
    return RedirectResponse("/reminders", 303)
