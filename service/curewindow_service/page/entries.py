"""Writing into the record for a page or a program: the command line's own checks, once each."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from curewindow.boat.aboard import Aboard
from curewindow.boat.folder import RECORD_FILE
from curewindow.errors import NotFoundError
from curewindow.logbook import entry as logentry
from curewindow.logbook import words as logwords
from curewindow.record.entries import Coat, Found, Heat, Item, Reading
from curewindow.record.store import Record
from curewindow_service.page.boatfiles import boat_of

_one_at_a_time = threading.Lock()
_KEPT = 500


@dataclass(frozen=True, slots=True)
class WrittenEntry:
    """What was written: its entry in the log, and what is said of it."""

    entry: int
    logged: logwords.Logged


@dataclass(frozen=True, slots=True)
class NewCoat:
    """A coat as it is told; what is None is filled in from the work list."""

    job: str
    step: int | None = None
    coat: int | None = None
    earlier_unknown: bool = False
    start: str | None = None
    end: str | None = None
    sheet: str | None = None
    batch: str = ""
    area_m2: float | None = None
    note: str = ""


class Twice:
    """A form that comes twice (a double tap, a bad connection) is written once."""

    def __init__(self) -> None:
        self._known: OrderedDict[str, WrittenEntry] = OrderedDict()

    def once(self, key: str, write: Callable[[], WrittenEntry]) -> WrittenEntry:
        """What was written under this key, now or before; '' is no key."""
        with _one_at_a_time:
            if key and key in self._known:
                return self._known[key]
            kept = write()
            if key:
                self._known[key] = kept
                while len(self._known) > _KEPT:
                    self._known.popitem(last=False)
            return kept


def aboard_of(folder: Path, now: datetime) -> Aboard:
    """The boat as the log's checks want it."""
    return Aboard.at(folder, boat_of(folder), now.astimezone(UTC))


def add_reading(aboard: Aboard, reading: Reading, clock: Callable[[], datetime]) -> WrittenEntry:
    """Write a reading; its space and panel are names as boat.toml has them afterwards.

    Raises
    ------
    CurewindowError
        No such space or panel, a value that cannot be, or the record cannot be written.
    """
    space = logentry.known_space(aboard.boat, reading.space)
    panel = logentry.known_panel(
        aboard.boat, space, reading.panel, surface=reading.surface_c is not None
    )
    with Record(aboard.folder / RECORD_FILE, now=clock) as record:
        return _kept(record, record.add_reading(replace(reading, space=space, panel=panel)), aboard)


def believe(folder: Path, entry: int, clock: Callable[[], datetime]) -> None:
    """Use a reading that was doubted after all.

    Raises
    ------
    CurewindowError
        There is no such reading, or the record cannot be written.
    """
    with Record(folder / RECORD_FILE, now=clock) as record:
        item = next((each.item for each in record.history(last=500) if each.id == entry), None)
        if not isinstance(item, Reading):
            raise NotFoundError("there is no such reading any more")
        record.believe(item.id)


def add_coat(aboard: Aboard, coat: NewCoat, clock: Callable[[], datetime]) -> WrittenEntry:
    """Write the next coat of a job, or the one named.

    Raises
    ------
    CurewindowError
        As ``curewindow log coat`` refuses it.
    """
    job = logentry.known_job(aboard, coat.job)
    with Record(aboard.folder / RECORD_FILE, now=clock) as record:
        item, notes = logentry.due_coat(
            aboard,
            job,
            record.coats(job.name),
            record.done(job.name),
            step=coat.step,
            coat=coat.coat,
            earlier_unknown=coat.earlier_unknown,
            start=coat.start,
            end=coat.end,
            sheet=coat.sheet,
            batch=coat.batch,
            area_m2=coat.area_m2,
            note=coat.note,
        )
        return _kept(record, record.add_coat(item), aboard, notes)


def add_done(
    aboard: Aboard,
    job: str,
    step: int | None,
    at: str | None,
    note: str,
    clock: Callable[[], datetime],
) -> WrittenEntry:
    """Write that a step without a product is finished.

    Raises
    ------
    CurewindowError
        As ``curewindow log done`` refuses it.
    """
    planned = logentry.known_job(aboard, job)
    with Record(aboard.folder / RECORD_FILE, now=clock) as record:
        coats, dones = record.coats(planned.name), record.done(planned.name)
        item = logentry.due_done(aboard, planned, coats, dones, step=step, at=at, note=note)
        return _kept(record, record.add_done(item), aboard)


def add_heat(aboard: Aboard, heat: Heat, clock: Callable[[], datetime]) -> WrittenEntry:
    """Write that a heater was lit or put out.

    Raises
    ------
    CurewindowError
        No heater there, a temperature or a time that cannot be, or the record cannot be written.
    """
    space = logentry.heated_space(aboard.boat, heat.space)
    with Record(aboard.folder / RECORD_FILE, now=clock) as record:
        return _kept(record, record.add_heat(replace(heat, space=space)), aboard)


def add_dry(
    aboard: Aboard,
    surface: str,
    clock: Callable[[], datetime],
    *,
    panel: str | None = None,
    whole: bool = False,
    at: str | None = None,
    note: str = "",
) -> WrittenEntry:
    """Write that a surface was wiped dry: of a job, a panel or a space.

    Raises
    ------
    CurewindowError
        As ``curewindow log dry`` refuses it.
    """
    when = logentry.past(at, aboard)
    item = logentry.wiped_surface(aboard, surface, panel, whole=whole, at=when, note=note)
    with Record(aboard.folder / RECORD_FILE, now=clock) as record:
        return _kept(record, record.add(item), aboard)


def add_inspection(
    aboard: Aboard,
    job: str,
    found: Found,
    clock: Callable[[], datetime],
    *,
    step: int | None = None,
    coat: int | None = None,
    at: str | None = None,
    note: str = "",
) -> WrittenEntry:
    """Write what somebody found at a coat, or that it was sanded.

    Raises
    ------
    CurewindowError
        As ``curewindow log look`` refuses it.
    """
    planned = logentry.known_job(aboard, job)
    when = logentry.past(at, aboard)
    with Record(aboard.folder / RECORD_FILE, now=clock) as record:
        item = logentry.inspected(
            planned,
            record.coats(planned.name),
            found=found,
            step=step,
            coat=coat,
            at=when,
            note=note,
            words=aboard.wording,
        )
        return _kept(record, record.add(item), aboard, logwords.follows(item))


def take_back(
    aboard: Aboard, entry: int | None, clock: Callable[[], datetime]
) -> logwords.Withdrawn:
    """Take back an entry, whatever came after it; where none is named, the last.

    Raises
    ------
    NotFoundError
        There is none, or it was taken back or corrected since, by whichever program.
    """
    with Record(aboard.folder / RECORD_FILE, now=clock) as record:
        taken = record.undo_last() if entry is None else record.undo(entry)
        return logwords.withdrawn(taken, aboard.wording)


def _kept(record: Record, item: Item, aboard: Aboard, notes: tuple[str, ...] = ()) -> WrittenEntry:
    # the newest but for another writer's in between
    own = (each for each in reversed(record.history(last=5)) if each.item == item)
    entry = next((each.id for each in own), 0)
    said = logwords.say(item, aboard.wording)
    care = logentry.cautions_of(aboard, item) if isinstance(item, Coat | Heat) else []
    doubts = logentry.unused_of(aboard, record, item)
    return WrittenEntry(
        entry, logwords.logged(item, said, list(notes), cautions=care, doubts=doubts)
    )
