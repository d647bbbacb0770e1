"""Writing down a reading, a coat or a finished step, and taking it back."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from functools import partial
from typing import Any, get_args

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from curewindow.boat.aboard import Aboard
from curewindow.boat.checks import OUTDOORS
from curewindow.boat.folder import RECORD_FILE, hands_on_h, job_by_name, own_sheets
from curewindow.boat.schema import Job, Step
from curewindow.cautions import cautions_for
from curewindow.errors import NotFoundError
from curewindow.findings import Finding
from curewindow.judgement.progress import next_of
from curewindow.logbook import entry as logentry
from curewindow.logbook import words as logwords
from curewindow.quantity import AREA, PERCENT, TEMPERATURE
from curewindow.record.entries import Coat, Found, Heat, Reading
from curewindow.record.marking import marks_said
from curewindow.record.store import Record
from curewindow.sheets.shelf import get_sheet
from curewindow.voice.speaking import full
from curewindow.wording import span
from curewindow_service.page import entries
from curewindow_service.page.boatfiles import boat_of, work_of
from curewindow_service.page.forms import PostedForm, read_form
from curewindow_service.page.site import Site, site_of
from curewindow_service.page.views import present_of

router = APIRouter(include_in_schema=False)
_LAST = 20
_twice = entries.Twice()


@router.get("/log")
async def log(request: Request, entry: int | None = None) -> Response:
    """What can be written down, and what was last."""
    site = site_of(request)
    return site.pages.form(request, "log.html", await run_in_threadpool(_log, site, entry, ""))


def _log(site: Site, entry: int | None, taken_back: str) -> dict[str, Any]:
    """The entries that were made last, newest first, and what is due in each job."""
    aboard = entries.aboard_of(site.folder, site.clock())
    work = work_of(site.folder)
    with Record(site.folder / RECORD_FILE, read_only=True) as record:
        coats, dones = record.coats(), record.done()
        marks = record.marked()
        history = [each for each in record.history(last=3 * _LAST) if each.kind != "undo"]
        rows = [
            (
                each.id,
                logwords.say_entry(each, aboard.wording),
                each.withdrawn_by is not None,
                each.item is not None and record.row(type(each.item), each.item.id) is None,
            )
            for each in reversed(history)
        ][:_LAST]
    due = []
    for job in work.job:
        following = next_of(job, coats, dones)
        if following is not None:
            number = following.coat if following.step.coats > 1 else None
            due.append((job.name, number, following.step.do))
    said = next((text for id, text, _, out in rows if id == entry and not out), "")
    item = next((each.item for each in history if said and each.id == entry), None)
    care = logentry.cautions_of(aboard, item) if isinstance(item, Coat | Heat) else []
    doubts = marks_said(
        mark for mark in marks if isinstance(item, Reading) and mark.reading.id == item.id
    )
    return {
        "doubts": [full(each, aboard.wording) for each in doubts],
        "due": due,
        "spaces": [*(space.name for space in aboard.boat.space), OUTDOORS],
        "heated": [each.name for each in aboard.boat.space if each.heating is not None],
        "rows": rows,
        "said": said,
        "care": care,
        "words": aboard.wording,
        "entry": entry,
        "taken_back": taken_back,
    }


@router.get("/log/reading")
async def reading_form(request: Request, space: str, panel: str = "") -> Response:
    """The form for a reading."""
    site = site_of(request)
    form = PostedForm({"once": secrets.token_hex(8), "panel": panel})
    context = await run_in_threadpool(_reading, site, space, form)
    return site.pages.form(request, "reading.html", context)


def _reading(site: Site, space: str, form: PostedForm) -> dict[str, Any]:
    aboard = entries.aboard_of(site.folder, site.clock())
    name = logentry.known_space(aboard.boat, space)
    described = aboard.boat.find_space(name)
    words, worked = aboard.wording, site.current.worked
    now = None
    if worked is not None:
        now = next((each for each in present_of(worked.sheet) if each.where == name), None)
    about = {"air": "", "humidity": "", "surface": ""}
    if now is not None and now.air_c is not None:
        about["air"] = words.degrees(now.air_c)
        about["humidity"] = "" if now.rh_pct is None else f"{now.rh_pct:.0f}"
    return {
        "space": name,
        "panels": [] if described is None else [panel.name for panel in described.panel],
        "unit": "°F" if words.fahrenheit else "°C",
        "about": about,
        "form": form,
        "errors": form.errors,
    }


@router.post("/log/reading")
async def reading(request: Request) -> Response:
    """Write a reading down."""
    site = site_of(request)
    form = await read_form(request, site)
    space = form.text("space")
    aboard = await run_in_threadpool(entries.aboard_of, site.folder, site.clock())
    logentry.known_space(aboard.boat, space)
    unit = form.degrees()
    air = form.quantity("air", TEMPERATURE, unit)
    humidity = form.quantity("humidity", PERCENT, "%")
    surface = form.quantity("surface", TEMPERATURE, unit)
    wood = form.quantity("wood", PERCENT, "%")
    at = form.checked("at", lambda: logentry.past(form.text("at") or None, aboard))
    if not form.errors and all(value is None for value in (air, humidity, surface, wood)):
        form.errors["air"] = "nothing is filled in yet: at least one value"
    if not form.errors and at is not None:
        item = Reading(
            space=space,
            at=at,
            air_c=air,
            rh_pct=humidity,
            surface_c=surface,
            panel=form.text("panel") or None,
            wood_moisture_pct=wood,
            note=form.text("note"),
        )
        kept = await write_once(form, lambda: entries.add_reading(aboard, item, site.clock))
        if kept is not None:
            return written(site, kept)
    context = await run_in_threadpool(_reading, site, space, form)
    return site.pages.form(request, "reading.html", context, 422)


@router.get("/log/dry")
async def dry_form(request: Request, job: str) -> Response:
    """The form for a job whose surface was wiped dry: one button, another time below."""
    site = site_of(request)
    form = PostedForm({"once": secrets.token_hex(8), "job": job})
    context = await run_in_threadpool(_dry, site, form)
    return site.pages.form(request, "dry.html", context)


def _dry(site: Site, form: PostedForm) -> dict[str, Any]:
    planned = job_by_name(work_of(site.folder), form.text("job"))
    return {"job": planned.name, "form": form, "errors": form.errors}


@router.post("/log/dry")
async def dry(request: Request) -> Response:
    """Write down that a job's surface was wiped dry."""
    site = site_of(request)
    form = await read_form(request, site)
    aboard = await run_in_threadpool(entries.aboard_of, site.folder, site.clock())
    context = await run_in_threadpool(_dry, site, form)
    at, note = form.text("at") or None, form.text("note")
    if at is not None:
        form.checked("at", lambda: logentry.past(at, aboard))
    if not form.errors:

        def write() -> entries.WrittenEntry:
            return entries.add_dry(aboard, context["job"], site.clock, at=at, note=note)

        kept = await write_once(form, write)
        if kept is not None:
            return written(site, kept)
    return site.pages.form(request, "dry.html", context, 422)


@router.get("/log/look")
async def look_form(request: Request, job: str) -> Response:
    """The form for a coat somebody looked at: a button for each thing it may be."""
    site = site_of(request)
    form = PostedForm({"once": secrets.token_hex(8), "job": job})
    context = await run_in_threadpool(_look, site, form)
    return site.pages.form(request, "look.html", context)


def _look(site: Site, form: PostedForm) -> dict[str, Any]:
    planned = job_by_name(work_of(site.folder), form.text("job"))
    with Record(site.folder / RECORD_FILE, read_only=True) as record:
        on = record.coats(planned.name, last=1)
    if not on:
        raise NotFoundError(f"no coat of '{planned.name}' is in the record")
    return {"job": planned.name, "coat": on[0], "form": form, "errors": form.errors}


@router.post("/log/look")
async def look(request: Request) -> Response:
    """Write down what was found at a coat."""
    site = site_of(request)
    form = await read_form(request, site)
    aboard = await run_in_threadpool(entries.aboard_of, site.folder, site.clock())
    context = await run_in_threadpool(_look, site, form)
    found = next((each for each in get_args(Found) if each == form.text("found")), None)
    at, note = form.text("at") or None, form.text("note")
    if at is not None:
        form.checked("at", lambda: logentry.past(at, aboard))
    if found is None:
        form.errors.setdefault("", "say what it is: sound, dull, sanded, cleared or spoilt")
    if not form.errors and found is not None:
        step, coat = _count(form.text("step")), _count(form.text("coat"))

        def write() -> entries.WrittenEntry:
            return entries.add_inspection(
                aboard, context["job"], found, site.clock, step=step, coat=coat, at=at, note=note
            )

        kept = await write_once(form, write)
        if kept is not None:
            return written(site, kept)
    return site.pages.form(request, "look.html", context, 422)


@router.get("/log/work")
async def work_form(request: Request, job: str) -> Response:
    """The form for what is due next in a job: a coat, or a finished step."""
    site = site_of(request)
    context = await run_in_threadpool(_work, site, job, PostedForm({"once": secrets.token_hex(8)}))
    return site.pages.form(request, "work.html", context)


def _work(site: Site, job: str, form: PostedForm) -> dict[str, Any]:
    planned = job_by_name(work_of(site.folder), job)
    with Record(site.folder / RECORD_FILE, read_only=True) as record:
        following = next_of(planned, record.coats(planned.name), record.done(planned.name))
    if following is None:
        raise NotFoundError(f"every step of '{planned.name}' is done by the record")
    return {
        "job": planned.name,
        "do": following.step.do,
        "step": following.step_number,
        "steps": len(planned.step),
        "coat": following.coat,
        "coats": following.step.coats,
        "product": _product(site, following.step.sheet),
        "takes": span(hands_on_h(following.step, planned)),
        "care": _care(site, planned, following.step),
        "words": entries.aboard_of(site.folder, site.clock()).wording,
        "form": form,
        "errors": form.errors,
    }


def _care(site: Site, job: Job, step: Step) -> list[Finding]:
    """What to take care of in a step."""
    boat = boat_of(site.folder)
    space = None if job.space is None else boat.find_space(job.space)
    sheets = []
    if step.sheet is not None:
        sheets.append(get_sheet(step.sheet, own_sheets(site.folder)).sheet)
    return cautions_for(sheets, job, space, boat, step=step)


def _product(site: Site, sheet: str | None) -> str:
    """What the sheet calls its product; '' for a step without one."""
    return "" if sheet is None else get_sheet(sheet, own_sheets(site.folder)).sheet.name


@router.post("/log/work")
async def work(request: Request) -> Response:
    """Write a coat or a finished step down."""
    site = site_of(request)
    form = await read_form(request, site)
    job = form.text("job")
    aboard: Aboard = await run_in_threadpool(entries.aboard_of, site.folder, site.clock())
    due = await run_in_threadpool(_work, site, job, form)
    # the one the form was opened for, not the next after a double tap
    step, coat = _count(form.text("step")), _count(form.text("coat"))
    area = form.quantity("area", AREA, "m²")
    for name in ("start", "end"):
        if form.text(name):
            form.checked(name, partial(logentry.past, form.text(name), aboard))
    if not form.errors:
        if due["coat"] is not None or coat is not None:
            told = entries.NewCoat(
                job=job,
                step=step,
                coat=coat,
                start=form.text("start") or None,
                end=form.text("end") or None,
                batch=form.text("batch"),
                area_m2=area,
                note=form.text("note"),
            )
            kept = await write_once(form, lambda: entries.add_coat(aboard, told, site.clock))
        else:
            end, note = form.text("end") or None, form.text("note")
            kept = await write_once(
                form, lambda: entries.add_done(aboard, job, step, end, note, site.clock)
            )
        if kept is not None:
            return written(site, kept)
    return site.pages.form(request, "work.html", due, 422)


def _count(text: str) -> int | None:
    """A whole number a page had put there; None where it is none."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else None


async def write_once(
    form: PostedForm, write: Callable[[], entries.WrittenEntry]
) -> entries.WrittenEntry | None:
    """What a form wrote, now or at an earlier tap; None where it was refused, the form says why."""

    def once() -> entries.WrittenEntry | None:
        return form.checked("", lambda: _twice.once(form.text("once"), write))

    return await run_in_threadpool(once)


def written(site: Site, kept: entries.WrittenEntry) -> Response:
    """On to the log, where it is shown and may be taken back."""
    site.current.changed()
    return RedirectResponse(f"/log?entry={kept.entry}", 303)


@router.post("/log/believe")
async def believe(request: Request) -> Response:
    """Use a reading that was doubted after all."""
    site = site_of(request)
    form = await read_form(request, site)
    entry = _count(form.text("entry"))
    if not form.errors:
        await run_in_threadpool(
            lambda: form.checked("", lambda: entries.believe(site.folder, entry or 0, site.clock))
        )
    if not form.errors:
        site.current.changed()
        return RedirectResponse(f"/log?entry={entry}", 303)
    context = await run_in_threadpool(_log, site, None, "")
    return site.pages.form(request, "log.html", {**context, "errors": form.errors}, 409)


@router.post("/log/undo")
async def undo(request: Request) -> Response:
    """Take the last entry back."""
    site = site_of(request)
    form = await read_form(request, site)
    entry = _count(form.text("entry"))
    taken_back = ""
    if not form.errors:
        aboard = await run_in_threadpool(entries.aboard_of, site.folder, site.clock())

        def take() -> logwords.Withdrawn | None:
            return form.checked("", lambda: entries.take_back(aboard, entry or 0, site.clock))

        gone = await run_in_threadpool(take)
        if gone is not None:
            taken_back = gone.said
            site.current.changed()
    context = await run_in_threadpool(_log, site, None, taken_back)
    status = 409 if form.errors else 200
    return site.pages.form(request, "log.html", {**context, "errors": form.errors}, status)
