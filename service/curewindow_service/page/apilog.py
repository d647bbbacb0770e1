"""The JSON interface, writing: readings, coats, finished steps, undo, and what a reminder gets."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool

from curewindow.answers import Answer
from curewindow.errors import QuantityError
from curewindow.logbook.words import Logged, Withdrawn
from curewindow.record.entries import Heat, Reading
from curewindow_service.page import entries
from curewindow_service.page.apimodels import (
    PROBLEMS,
    NewCoatLine,
    NewDone,
    NewDry,
    NewHeat,
    NewInspection,
    NewReading,
    NoticeId,
    Snooze,
    Snoozed,
    Undo,
)
from curewindow_service.page.noticeanswers import acknowledge, snooze
from curewindow_service.page.site import Site, site_of

router = APIRouter(prefix="/api", responses=PROBLEMS, tags=["record"])
AnswerT = TypeVar("AnswerT")


class Entered(Answer):
    """What was written: the entry, by which it is taken back, and the row as ``log`` tells it."""

    entry: int
    logged: Logged


@router.post("/readings", response_model=Entered, status_code=201)
async def reading(request: Request, new: NewReading) -> Entered:
    """Write a reading down."""
    site = site_of(request)

    def write() -> entries.WrittenEntry:
        item = Reading(
            space=new.space,
            at=new.at or site.clock(),
            air_c=new.air_c,
            rh_pct=new.rh_pct,
            surface_c=new.surface_c,
            panel=new.panel,
            wood_moisture_pct=new.wood_moisture_pct,
            source="by hand" if new.by_hand else "program",
            note=new.note,
        )
        return entries.add_reading(_aboard(site), item, site.clock)

    return await _entered(site, write)


@router.post("/coats", response_model=Entered, status_code=201)
async def coat(request: Request, new: NewCoatLine) -> Entered:
    """Write a coat down: the next one due, or the one named."""
    site = site_of(request)

    def write() -> entries.WrittenEntry:
        told = entries.NewCoat(
            job=new.job,
            step=new.step,
            coat=new.coat,
            earlier_unknown=new.earlier_unknown,
            start=None if new.start is None else new.start.isoformat(),
            end=None if new.end is None else new.end.isoformat(),
            sheet=new.sheet,
            batch=new.batch,
            area_m2=new.area_m2,
            note=new.note,
        )
        return entries.add_coat(_aboard(site), told, site.clock)

    return await _entered(site, write)


@router.post("/done", response_model=Entered, status_code=201)
async def done(request: Request, new: NewDone) -> Entered:
    """Write a finished step down."""
    site = site_of(request)

    def write() -> entries.WrittenEntry:
        at = None if new.at is None else new.at.isoformat()
        return entries.add_done(_aboard(site), new.job, new.step, at, new.note, site.clock)

    return await _entered(site, write)


@router.post("/heater", response_model=Entered, status_code=201)
async def heater(request: Request, new: NewHeat) -> Entered:
    """Write that a heater was lit or put out outside its routine."""
    site = site_of(request)

    def write() -> entries.WrittenEntry:
        at = new.at or site.clock()
        item = Heat(
            space=new.space,
            at=at,
            until=new.until or at,
            setpoint_c=new.setpoint_c,
            ventilation=new.ventilation,
            note=new.note,
        )
        if new.setpoint_c is not None and new.until is None:
            raise QuantityError("say until when it is to be held: 'until'")
        return entries.add_heat(_aboard(site), item, site.clock)

    return await _entered(site, write)


@router.post("/dry", response_model=Entered, status_code=201)
async def dry(request: Request, new: NewDry) -> Entered:
    """Write down that a surface was wiped dry."""
    site = site_of(request)

    def write() -> entries.WrittenEntry:
        return entries.add_dry(
            _aboard(site),
            new.surface,
            site.clock,
            panel=new.panel,
            whole=new.every,
            at=None if new.at is None else new.at.isoformat(),
            note=new.note,
        )

    return await _entered(site, write)


@router.post("/inspections", response_model=Entered, status_code=201)
async def inspection(request: Request, new: NewInspection) -> Entered:
    """Write down what was found at a coat, or that it was sanded."""
    site = site_of(request)

    def write() -> entries.WrittenEntry:
        return entries.add_inspection(
            _aboard(site),
            new.job,
            new.found,
            site.clock,
            step=new.step,
            coat=new.coat,
            at=None if new.at is None else new.at.isoformat(),
            note=new.note,
        )

    return await _entered(site, write)


@router.post("/undo", response_model=Withdrawn)
async def undo(request: Request, which: Undo) -> Withdrawn:
    """Take an entry back, the last where none is named; it stays and no longer counts."""
    site = site_of(request)
    gone = await _tried(lambda: entries.take_back(_aboard(site), which.entry, site.clock))
    site.current.changed()
    return gone


@router.post("/reminders/{id}/acknowledge", status_code=204)
async def note(request: Request, id: NoticeId) -> None:
    """Take note of a reminder: it goes out no more."""
    await run_in_threadpool(acknowledge, site_of(request), id)


@router.post("/reminders/{id}/snooze", response_model=Snoozed)
async def later(request: Request, id: NoticeId, how: Snooze) -> Any:
    """Have a reminder told again later."""
    return Snoozed(until=await run_in_threadpool(snooze, site_of(request), id, how.hours))


def _aboard(site: Site) -> Any:
    return entries.aboard_of(site.folder, site.clock())


async def _entered(site: Site, write: Callable[[], entries.WrittenEntry]) -> Entered:
    kept = await _tried(write)
    site.current.changed()
    return Entered(entry=kept.entry, logged=kept.logged)


async def _tried(write: Callable[[], AnswerT]) -> AnswerT:
    try:
        return await run_in_threadpool(write)
    except (OverflowError, ValueError) as bad:  # a time no calendar has
        if isinstance(bad, QuantityError):
            raise
        raise QuantityError(f"cannot be written down: {bad}") from None
