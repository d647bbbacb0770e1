"""Things: deliveries that are due, tins near the end of their shelf life, tins frost can spoil."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np

from curewindow.conditions.course import utc64
from curewindow.errors import CurewindowError
from curewindow.findings import finding
from curewindow.judgement.progress import next_of
from curewindow.reminders.known import Known
from curewindow.reminders.models import Reminder
from curewindow.reminders.quiet import on_clock
from curewindow.sheets.schema import Sheet
from curewindow.voice.day import product_text

_AHEAD = timedelta(days=2)
_FREEZES_C = 0.0
_WEEKS_BEFORE = timedelta(days=14)
_KEEPS = timedelta(days=7)


def store_reminders(known: Known) -> Iterator[Reminder]:
    """Deliveries, shelf lives, frost."""
    yield from _deliveries(known)
    tins = list(_tins(known))
    yield from _shelf_lives(known, tins)
    yield from _frost(known, tins)


def _deliveries(known: Known) -> Iterator[Reminder]:
    today = known.words.local(known.now).date()
    by_thing: dict[tuple[str, date], list[str]] = {}
    for job in known.facts.work.job:
        for delivery in job.delivery:
            last = delivery.on or delivery.latest
            if not delivery.arrived and last is not None:
                by_thing.setdefault((delivery.what, last), []).append(job.name)
    for (what, last), jobs in by_thing.items():
        for word, day in (("due", last), ("overdue", last + timedelta(days=1))):
            if not today <= day <= today + _AHEAD:
                continue
            due = on_clock(day, known.settings.morning, known.words.zone)
            yield known.reminder(
                "delivery",
                f"{what}|{last}|{word}",
                about=what,
                level="low" if word == "due" else "normal",
                due=due,
                expires=due + timedelta(hours=14),
                head=finding(
                    "delivery due",
                    thing=what,
                    state=word,
                    at=on_clock(last, time(12), known.words.zone),
                ),
                body=[finding("waited for", names=tuple(jobs)), finding("write arrived")],
            )


@dataclass(frozen=True, slots=True)
class _Tin:
    stem: str
    sheet: Sheet
    space: str | None
    bought: date | None
    opened: date | None
    listed: bool


def _tins(known: Known) -> Iterator[_Tin]:
    """Tins in boat.toml; of sheets that are not there, what the record and the work tell."""
    facts = known.facts
    named = {tin.sheet for tin in facts.boat.tin}
    for tin in facts.boat.tin:
        sheet = _sheet(known, tin.sheet)
        if not tin.used_up and sheet is not None:
            yield _Tin(tin.sheet, sheet, tin.aboard_in, tin.bought, tin.opened, True)
    for stem, space in _needed(known):
        sheet = _sheet(known, stem)
        if stem in named or sheet is None:
            continue
        # a tin with coats out of it was opened for the first of them
        batches = [coat for coat in facts.coats if coat.sheet == stem and coat.batch]
        newest = max(batches, key=lambda coat: coat.start, default=None)
        opened = None
        if newest is not None:
            first = min(coat.start for coat in batches if coat.batch == newest.batch)
            opened = known.words.local(first).date()
        kept = facts.boat.tins_kept
        if kept is not None:
            space = None if facts.boat.find_space(kept) is None else kept
        yield _Tin(stem, sheet, space, None, opened, False)


def _sheet(known: Known, stem: str) -> Sheet | None:
    try:
        return known.facts.sheet(stem).sheet
    except CurewindowError:
        return None


def _needed(known: Known) -> list[tuple[str, str | None]]:
    """Sheets that steps to come ask for, with the space of the first such job."""
    facts = known.facts
    found: dict[str, str | None] = {}
    for job in facts.work.job:
        ahead = next_of(job, facts.coats, facts.dones)
        if ahead is not None:
            for step in job.step[ahead.step_number - 1 :]:
                if step.sheet is not None:
                    found.setdefault(step.sheet, job.space)
    return list(found.items())


def _shelf_lives(known: Known, tins: list[_Tin]) -> Iterator[Reminder]:
    today = known.words.local(known.now).date()
    for tin in tins:
        ends: list[tuple[date, str]] = []
        for begun, hours, how in (
            (tin.bought, tin.sheet.storage.shelf_life, "unopened"),
            (tin.opened, tin.sheet.storage.shelf_life_opened, "opened"),
        ):
            if (
                begun is not None
                and hours is not None
                and begun < date.max - timedelta(hours=hours)
            ):
                ends.append((begun + timedelta(hours=hours), how))
        if not ends:
            continue
        end, how = min(ends)
        for word, day in (("near", end - _WEEKS_BEFORE), ("over", end)):
            held = end if word == "near" else end + _KEEPS
            if not day <= today + _AHEAD or today > held:
                continue
            due = on_clock(max(day, today), known.settings.morning, known.words.zone)
            yield known.reminder(
                "shelf life",
                f"{tin.stem}|{end}|{word}",
                about=tin.stem,
                level="low",
                due=due,
                expires=due + _KEEPS,
                head=finding(
                    "shelf life near",
                    product=product_text(tin.sheet.name),
                    at=on_clock(end, time(12), known.words.zone),
                    state=word,
                ),
                body=[
                    finding("by the sheet", state=how),
                    *([finding("use up or try")] if word == "near" else []),
                ],
            )


def _frost(known: Known, tins: list[_Tin]) -> Iterator[Reminder]:
    by_space: dict[str, list[_Tin]] = {}
    for tin in tins:
        if tin.space is not None and _lowest(tin) is not None:
            by_space.setdefault(tin.space, []).append(tin)
    for space, kept in by_space.items():
        conditions = known.facts.conditions.get(space)
        if conditions is None:
            continue
        ahead = (conditions.times >= utc64(known.now)) & (
            conditions.times <= utc64(known.now + _AHEAD)
        )
        air = np.median(conditions.air_c[:, ahead], axis=0)
        times = conditions.times[ahead]
        for spoils in (True, False):
            group = [tin for tin in kept if tin.sheet.storage.frost_spoils == spoils]
            # a tin nobody listed is thought of only where frost would spoil it
            group = [tin for tin in group if tin.listed or spoils]
            if group:
                yield from _cold(known, space, group, times, air)


def _lowest(tin: _Tin) -> float | None:
    storage = tin.sheet.storage
    if storage.frost_spoils:
        return _FREEZES_C
    return storage.min


def _cold(
    known: Known, space: str, tins: list[_Tin], times: np.ndarray, air: np.ndarray
) -> Iterator[Reminder]:
    lowest = {tin.stem: low for tin in tins if (low := _lowest(tin)) is not None}
    bound = max(lowest.values())
    below = np.flatnonzero(air < bound)
    if not below.size:
        return
    begins = int(times[below[0]].astype("datetime64[s]").astype(int))
    at = datetime.fromtimestamp(begins, known.now.tzinfo)
    cold = [tin for tin in tins if air.min() < lowest[tin.stem]]
    if not cold:
        return
    spoils = cold[0].sheet.storage.frost_spoils
    names = tuple(dict.fromkeys(product_text(tin.sheet.name) for tin in cold))
    # once a week; nights are not cut in two by a midnight that a forecast moves them across
    year, week, _ = known.words.local(at - timedelta(hours=12)).isocalendar()
    yield known.reminder(
        "frost",
        f"{space}|{'frost' if spoils else 'cold'}|{','.join(sorted(lowest))}|{year}-{week}",
        about=space,
        level="normal" if spoils else "low",
        due=at - timedelta(hours=24),
        latest=at - timedelta(hours=1),
        expires=at + timedelta(hours=6),
        head=finding("cold for tins", space=space, at=at, frost=spoils),
        body=[
            finding("tins it hurts", temp_c=float(air.min()), names=names, frost=spoils),
            finding("move tins", known=cold[0].listed),
        ],
    )
