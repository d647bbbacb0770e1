"""Pages that only show: today, spaces, jobs, sheets."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from curewindow.boat.folder import own_sheets
from curewindow.cautions import gravest_first
from curewindow.daysheet.changed import remember_missed
from curewindow.daysheet.models import DaySheet, JobAhead
from curewindow.daysheet.windowruns import later_text, run_text, runs_of
from curewindow.errors import CurewindowError, NotFoundError, QuantityError
from curewindow.explain.content import WhyContent
from curewindow.findings import Finding
from curewindow.sheets.answers import SheetLine, sheet_line
from curewindow.sheets.content import TYPICAL, cautions_of, sections_of
from curewindow.sheets.shelf import get_sheet, names
from curewindow.wording import Wording, moment
from curewindow_service.page.boatfiles import boat_of
from curewindow_service.page.hazards import hazards_of
from curewindow_service.page.site import Site, site_of
from curewindow_service.page.views import clock_of, present_of, template_words
from curewindow_service.page.workings import Worked, explained

router = APIRouter(include_in_schema=False)


def _worked(site: Site) -> Worked:
    worked = site.current.worked
    assert worked is not None  # pages are made where there is one
    return worked


def words_of(site: Site) -> Wording:
    """The boat's zone and degrees, at this moment."""
    boat = boat_of(site.folder)
    fahrenheit = boat.units.fahrenheit
    return Wording(ZoneInfo(boat.place.time_zone), site.clock().astimezone(UTC), fahrenheit)


@router.get("/")
async def today(request: Request) -> Response:
    """The day sheet."""
    site = site_of(request)
    answer = site.pages.live(request, "today.html", "", dict)
    if (worked := site.current.worked) is not None:
        await run_in_threadpool(remember_missed, site.folder, worked.sheet)
    return answer


@router.get("/spaces")
async def spaces(request: Request) -> Response:
    """Every space and the open air, now."""
    return site_of(request).pages.live(request, "spaces.html", "", dict)


@router.get("/space")
async def space(request: Request, name: str) -> Response:
    """One space: now and the coming days."""
    site = site_of(request)
    worked = site.current.worked
    if worked is not None and name not in {each.where for each in present_of(worked.sheet)}:
        raise NotFoundError(f"there is no space '{name}'")

    def context() -> dict[str, Any]:
        sheet = _worked(site).sheet
        return {
            "name": name,
            "now": next((each for each in present_of(sheet) if each.where == name), None),
            "picture": _worked(site).spaces.get(name),
            "jobs": [day for day in sheet.jobs if day.space == name],
            "sensors": _sensors_in(site, name),
        }

    return site.pages.live(request, "space.html", name if worked else "", context)


def _sensors_in(site: Site, space: str) -> list[str]:
    try:
        return [sensor.name for sensor in boat_of(site.folder).sensor if sensor.space == space]
    except CurewindowError:  # boat.toml was spoiled since: the last day sheet stands
        return []


@router.get("/jobs")
async def jobs(request: Request) -> Response:
    """All jobs with their clocks."""
    site = site_of(request)

    def context() -> dict[str, Any]:
        sheet = _worked(site).sheet
        return {"clocks": {day.job: clock_of(sheet, day.job) for day in sheet.jobs}}

    return site.pages.live(request, "jobs.html", "", context)


@router.get("/job")
async def job(request: Request, name: str) -> Response:
    """One job: what stands in its way, its windows, its clock, its picture."""
    site = site_of(request)
    worked = site.current.worked
    if worked is not None and name not in {day.job for day in worked.sheet.jobs}:
        raise NotFoundError(f"there is no job '{name}'")

    def context() -> dict[str, Any]:
        known = _worked(site)
        every = known.windows.jobs if known.windows is not None else []
        ahead = next((each for each in every if each.job == name), None)
        words = template_words()["wording_of"](known.sheet)
        return {
            "day": next(day for day in known.sheet.jobs if day.job == name),
            "ahead": ahead,
            "clock": clock_of(known.sheet, name),
            "picture": known.jobs.get(name),
            "runs": _runs(ahead, words) if ahead is not None else [],
            "cautions": _of_job(known.sheet, name),
        }

    return site.pages.live(request, "job.html", name if worked else "", context)


def _of_job(sheet: DaySheet, name: str) -> list[Finding]:
    """Dangers of a job: of its next step, and of what is on and told on the day sheet."""
    day = next(day for day in sheet.jobs if day.job == name)
    told = [each.danger for each in sheet.cautions if name in each.jobs]
    return gravest_first([*day.cautions, *told])


def _runs(ahead: JobAhead, words: Wording) -> list[tuple[str, str]]:
    """Windows to come, days that are alike together: when, and what follows."""
    if ahead.next is None:
        return []
    after_text = template_words()["after_text"]
    found = []
    for run in runs_of(ahead.windows, words)[:8]:
        head = run_text(run, ahead.next.tail_h, words, starts=ahead.next.sheet is not None)
        after = later_text(run) if len(run.windows) > 1 else after_text(run.first, words)
        found.append((head, after))
    return found


@router.get("/why")
async def why(request: Request, job: str, at: str = "") -> Response:
    """Why a job may, or may not, be started at a time."""
    site = site_of(request)
    said: WhyContent | None = None
    error = ""
    try:
        words = await run_in_threadpool(words_of, site)
        asked: datetime | None = (
            moment(at, words.zone, words.now, after=words.now) if at.strip() else None
        )
        _, said = await site.current.ask(explained, job, asked)
    except (QuantityError, NotFoundError) as bad:
        error = bad.for_page(site.folder)
    context = {"job": job, "at": at, "said": said, "error": error}
    return site.pages.form(request, "why.html", context, 422 if error else 200)


@router.get("/sheets")
async def sheets(request: Request) -> Response:
    """The shelf, the boat's own sheets first."""
    site = site_of(request)
    lines = await run_in_threadpool(_sheet_lines, site)
    return site.pages.form(request, "sheets.html", {"lines": lines, "typical": TYPICAL})


def _sheet_lines(site: Site) -> list[SheetLine]:
    lines = [sheet_line(entry) for entry in names(own_sheets(site.folder))]
    return sorted(lines, key=lambda line: (not line.own, line.kind, line.name))


@router.get("/sheet")
async def sheet(request: Request, name: str) -> Response:
    """One sheet with its hazards."""
    site = site_of(request)
    loaded = await run_in_threadpool(get_sheet, name, own_sheets(site.folder))
    words = await run_in_threadpool(words_of, site)
    context = {
        "loaded": loaded,
        "sections": sections_of(loaded.sheet, fahrenheit=words.fahrenheit),
        "cautions": hazards_of(loaded.sheet),
        "words": words,
        "last": cautions_of(loaded.sheet),
    }
    return site.pages.form(request, "sheet.html", context)


@router.get("/more")
async def more(request: Request) -> Response:
    """Where the rest is."""
    site = site_of(request)
    key = site.keys.calendar_key()
    address = str(request.base_url).rstrip("/") + "/calendar.ics" + (f"?key={key}" if key else "")
    return site.pages.form(request, "more.html", {"calendar_address": address})
