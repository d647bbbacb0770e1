"""The JSON interface, reading: the same models as ``--json``, from what is worked out already."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from curewindow.boat.folder import RECORD_FILE, own_sheets
from curewindow.charts.models import Picture
from curewindow.daysheet.models import DaySheet, WindowsAhead
from curewindow.errors import CurewindowError, NotFoundError, QuantityError
from curewindow.explain.models import Why
from curewindow.logbook import entry as logentry
from curewindow.logbook import words as logwords
from curewindow.record.store import Record
from curewindow.sheets.answers import SheetAnswer, SheetList, sheet_answer, sheet_line
from curewindow.sheets.shelf import get_sheet, names
from curewindow_service.page.apimodels import PROBLEMS, Days, Last, Name
from curewindow_service.page.noticeanswers import ReminderList, reminder_list
from curewindow_service.page.render import body_of
from curewindow_service.page.site import Site, site_of
from curewindow_service.page.workings import DAYS, Worked, explained, picture_json

Asked = Annotated[str, Query(max_length=200, description="name of a job")]
router = APIRouter(prefix="/api", responses=PROBLEMS, tags=["answers"])


class NotYetError(CurewindowError):
    """Nothing is worked out yet."""


def _worked(site: Site) -> Worked:
    site.current.look()
    if site.current.worked is None:
        raise NotYetError(site.current.problem or "it is being worked out; ask again in a moment")
    return site.current.worked


def _sent(request: Request, content: bytes) -> Response:
    return body_of(content, "application/json").response(request, "private, no-cache")


@router.get("/today", response_model=DaySheet)
async def today(request: Request) -> Response:
    """The day sheet: what can be coated today, until when, and why not."""
    site = site_of(request)
    sheet = _worked(site).sheet
    return site.pages.kept_json(request, "today", lambda: sheet.model_dump_json().encode())


@router.get("/windows", response_model=WindowsAhead)
async def windows(request: Request, job: Name = None, days: Days = None) -> Response:
    """The windows ahead, of one job or all, for some days or to the end of the weather known."""
    site = site_of(request)
    ahead = _worked(site).windows
    if ahead is None:
        raise NotYetError("the windows are being worked out; ask again in a moment")
    if job is None and days is None:
        return site.pages.kept_json(request, "windows", lambda: ahead.model_dump_json().encode())
    jobs = ahead.jobs
    if job is not None:
        jobs = [each for each in jobs if each.job.casefold() == job.casefold()]
        if not jobs:
            raise NotFoundError(f"there is no job '{job}'")
    until = ahead.until
    if days is not None:
        until = min(until, ahead.as_of + timedelta(days=days))
        jobs = [
            each.model_copy(
                update={
                    "windows": [w for w in each.windows if w.opens <= until] or each.windows[:1]
                }
            )
            for each in jobs
        ]
    several = sum(bool(each.windows) for each in jobs) > 1
    notes = [note for note in ahead.notes if several or note.kind != "one pair of hands"]
    answer = ahead.model_copy(update={"jobs": jobs, "until": until, "notes": notes})
    return _sent(request, answer.model_dump_json().encode())


@router.get("/why", response_model=Why)
async def why(request: Request, job: Asked, at: datetime | None = None) -> Response:
    """Why a job may, or may not, be started at a moment (else now)."""
    site = site_of(request)
    _worked(site)
    content, _ = await site.current.ask(explained, job, _aware(at))
    return _sent(request, content)


@router.get("/picture", response_model=Picture)
async def picture(request: Request, of: Name = None, days: Days = None) -> Response:
    """The coming days of a space, a job's surface or 'outdoors' as numbers."""
    site = site_of(request)
    worked = _worked(site)
    if days in (None, DAYS):
        known = worked.jobs.get(of or "") or worked.spaces.get(of or worked.usual)
        if known is not None:
            return _sent(request, known.json)
    return _sent(request, await site.current.ask(picture_json, of, days or DAYS))


@router.get("/readings", response_model=logwords.Shown)
async def readings(request: Request, space: Name = None, last: Last = 100) -> Response:
    """Readings, heaters lit or put out, surfaces wiped dry, as they stand, oldest first."""
    return _sent(request, await run_in_threadpool(_readings, site_of(request), space, last))


def _readings(site: Site, space: str | None, last: int) -> bytes:
    with Record(site.folder / RECORD_FILE, read_only=True) as record:
        return logwords.shown(logentry.of_space(record, space, last)).model_dump_json().encode()


@router.get("/coats", response_model=logwords.Shown)
async def coats(request: Request, job: Name = None, last: Last = 100) -> Response:
    """Coats, finished steps and what was seen of them that stand in the record, oldest first."""
    return _sent(request, await run_in_threadpool(_coats, site_of(request), job, last))


def _coats(site: Site, job: str | None, last: int) -> bytes:
    with Record(site.folder / RECORD_FILE, read_only=True) as record:
        items = logentry.of_job(record, job, last)
    return logwords.shown(sorted(items, key=logwords.moment_of)).model_dump_json().encode()


@router.get("/sheets", response_model=SheetList)
async def sheets(request: Request) -> Response:
    """The sheets there are, the boat's own and the shelf's."""
    return _sent(request, await run_in_threadpool(_sheets, site_of(request)))


def _sheets(site: Site) -> bytes:
    lines = [sheet_line(entry) for entry in names(own_sheets(site.folder))]
    return SheetList(sheets=lines).model_dump_json().encode()


@router.get(
    "/sheets/{name}",
    response_model=SheetAnswer,
    response_model_by_alias=True,
    response_model_exclude_none=True,
)
async def sheet(request: Request, name: str) -> Response:
    """One sheet."""
    loaded = await run_in_threadpool(get_sheet, name, own_sheets(site_of(request).folder))
    answer = sheet_answer(loaded).model_dump_json(by_alias=True, exclude_none=True)
    return _sent(request, answer.encode())


@router.get("/reminders", response_model=ReminderList)
async def reminders(request: Request) -> Response:
    """Reminders of the last days and those still to come."""
    answer = await run_in_threadpool(reminder_list, site_of(request))
    return _sent(request, answer.model_dump_json().encode())


def _aware(at: datetime | None) -> datetime | None:
    """A time without a zone is one of UTC."""
    if at is None:
        return None
    if not 1900 <= at.year <= 2200:
        raise QuantityError(f"nothing is known of the year {at.year}")
    return at if at.tzinfo is not None else at.replace(tzinfo=UTC)
