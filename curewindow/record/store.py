"""The record: one SQLite file beside boat.toml that only ever grows.

Nothing in it is overwritten or deleted (triggers see to that). A correction is a
new row that names the one it supersedes; an undo is a new entry that names the
entry it withdraws. What is read back are the rows that still stand.

::

    with Record(folder / "record.db") as record:
        record.add_reading(Reading("saloon", now, air_c=12.0, rh_pct=70.0))
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

from curewindow.errors import NotFoundError, RecordError
from curewindow.record import rows
from curewindow.record.entries import (
    Added,
    Coat,
    Done,
    Entry,
    Heat,
    Inspection,
    Item,
    Reading,
    Wiped,
)
from curewindow.record.incoming import GatheredRows, Known
from curewindow.record.lately import between, readings_lately
from curewindow.record.marking import (
    MarkedReading,
    SeriesRead,
    last_mark,
    mark,
    marked,
    series_read,
)
from curewindow.record.opening import open_to_read, open_to_write
from curewindow.record.plausible import (
    check_coat,
    check_done,
    check_heat,
    check_inspection,
    check_reading,
    check_wiped,
)
from curewindow.record.spoilt import with_spoilt
from curewindow.record.trouble import plain_words
from curewindow.transaction import transaction

ItemT = TypeVar("ItemT", bound=Item)

_CHECKS: dict[type, Callable[[Any, datetime], None]] = {
    Reading: check_reading,
    Coat: check_coat,
    Done: check_done,
    Heat: check_heat,
    Wiped: check_wiped,
    Inspection: check_inspection,
}


def check_item(item: Item, now: datetime) -> None:
    """Refuse a row that cannot be.

    Raises
    ------
    QuantityError
        What is wrong with it.
    """
    _CHECKS[type(item)](item, now)


WAIT_S = 5.0  # for another writer, before giving up


def _clock() -> datetime:
    return datetime.now(UTC)


class Record:
    """The boat's record, open for as long as the ``with`` lasts.

    One connection each: give every thread a ``Record`` of its own. Any number may
    read while one writes; a second writer waits ``wait_s``, then is told.

    Parameters
    ----------
    path : path or str
        The database; made on opening unless ``read_only``.
    read_only : bool
        Write nothing, not even a missing file: that reads as an empty record.
    wait_s : float
        How long to wait for another writer.
    now : callable, optional
        The clock that entries are checked against and stamped with, aware.

    Raises
    ------
    RecordError
        It cannot be opened, is damaged, is not ours or is newer than this program.
    """

    def __init__(
        self,
        path: Path | str,
        *,
        read_only: bool = False,
        wait_s: float = WAIT_S,
        now: Callable[[], datetime] = _clock,
    ):
        self.path = Path(path)
        self.read_only = read_only
        self.now = now
        with plain_words(self.path):
            opened = open_to_read if read_only else open_to_write
            self._connection = opened(self.path, wait_s)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; nothing can be asked of this object afterwards."""
        with plain_words(self.path):
            self._connection.close()

    # ---- writing ---------------------------------------------------------------

    def add_reading(self, reading: Reading, *, by_person: bool | None = None) -> Reading:
        """Write a reading; see :meth:`add_readings` for ``by_person``.

        Returns
        -------
        Reading
            As it stands in the record, with its ``id``.

        Raises
        ------
        QuantityError
            It cannot be: out of range, ahead of the clock.
        RecordError
            The file cannot be written.
        """
        check_reading(reading, self.now())
        if by_person is None:
            by_person = reading.source == "by hand"
        with self._writing() as write:
            return self._add_one(write, reading, by_person=by_person)

    def add_readings(
        self,
        readings: Iterable[Reading],
        *,
        what: str = "",
        by_person: bool | None = None,
        skip_known: bool = False,
    ) -> Added:
        """Write many readings as one entry: all of them or none.

        Parameters
        ----------
        readings : iterable of Reading
            May be a generator.
        what : str
            Where they come from, for the log: a file's name.
        by_person : bool, optional
            Did a person ask for it (undo passes over a sensor's reports)? Else taken
            from their source: 'by hand' is a person's.
        skip_known : bool
            Leave out those that are in the record already (same space, panel, second
            and values), corrected ones included.

        Returns
        -------
        Added
            How many were written and how many were known.

        Raises
        ------
        QuantityError
            One of them cannot be; none was written.
        RecordError
            The file cannot be written.
        """
        persons = by_person
        now = self.now()

        def checked() -> Iterator[Reading]:
            nonlocal persons
            for item in readings:
                check_reading(item, now)
                if by_person is None and item.source == "by hand":
                    persons = True
                yield item

        with self.incoming(Reading) as coming:
            coming.extend(checked())
            return self.take_in(
                coming,
                what=what,
                by_person=bool(persons),
                known="alike" if skip_known else "none",
            )

    @contextmanager
    def incoming(self, kind: type[Item]) -> Iterator[GatheredRows]:
        """Rows of a kind to be gathered, of any number; :meth:`take_in` then writes them."""
        if self.read_only:
            raise RecordError("opened for reading only", file=self.path)
        with plain_words(self.path):
            coming = GatheredRows(self._connection, self.path, kind)
        try:
            yield coming
        finally:
            with plain_words(self.path):
                coming.close()

    def take_in(
        self, coming: GatheredRows, *, what: str, by_person: bool = True, known: Known = "none"
    ) -> Added:
        """Write what was gathered as one entry: all of it or none; see :meth:`add_readings`.

        Raises
        ------
        RecordError
            The file cannot be written.
        """
        with self._writing() as write:
            left = coming.leave_out(write, known)
            if left:
                entry = self._enter(write, coming.kept.kind, left, what=what, by_person=by_person)
                coming.write(write, entry)
        return Added(left, coming.count - left)

    def add(self, item: ItemT) -> ItemT:
        """Write a row as an entry of its own.

        Returns
        -------
        Item
            As it stands in the record, with its ``id``.

        Raises
        ------
        QuantityError
            It cannot be: ends before it starts, ahead of the clock.
        RecordError
            The file cannot be written.
        """
        check_item(item, self.now())
        with self._writing() as write:
            return self._add_one(write, item)

    def add_coat(self, coat: Coat) -> Coat:
        """Write a coat; see :meth:`add`."""
        return self.add(coat)

    def add_done(self, done: Done) -> Done:
        """Write a finished step; see :meth:`add`."""
        return self.add(done)

    def add_heat(self, heat: Heat) -> Heat:
        """Write that a heater was lit or put out; see :meth:`add`."""
        return self.add(heat)

    def correct(self, id: int, new: ItemT) -> ItemT:
        """Write what should have been written; the old row stays, but no longer counts.

        Parameters
        ----------
        id : int
            Of the row to correct, among those of the kind of ``new``.
        new : Item
            What is right, whole.

        Returns
        -------
        Item
            ``new`` with its own ``id``.

        Raises
        ------
        NotFoundError
            No such row stands: never written, taken back, or corrected already.
        QuantityError
            ``new`` cannot be.
        RecordError
            The file cannot be written.
        """
        check_item(new, self.now())
        table = rows.KEPT[type(new)].table
        with self._writing() as write:
            if not write.execute(f"SELECT 1 FROM standing_{table} WHERE id = ?", (id,)).fetchone():
                raise NotFoundError(
                    f"{self.path}: no entry {id} stands among the {table}; it was never written, "
                    "was taken back or has been corrected already"
                )
            return self._add_one(write, new, supersedes=id)

    def undo_last(self) -> Entry:
        """Take back the last entry a person made that still stands; see :meth:`undo`.

        Called again, the one before it goes.
        """
        with self._writing() as write:
            last = self.last_entry()
            if last is None:
                raise NotFoundError("nothing to take back", file=self.path)
            return self._withdraw(write, last)

    def undo(self, entry: int) -> Entry:
        """Take back an entry that stands, whoever made it and whatever came after it.

        Parameters
        ----------
        entry : int
            Its number. Asked and done in one transaction, whoever else writes.

        Returns
        -------
        Entry
            What was withdrawn.

        Raises
        ------
        NotFoundError
            There is no such entry, it was taken back already, or it has been corrected since.
        RecordError
            The file cannot be written.
        """
        with self._writing() as write:
            found = self._entries("WHERE entries.id = ?", (entry,))
            if not found or found[0].kind == "undo":
                raise NotFoundError("there is no such entry", file=self.path)
            if found[0].withdrawn_by is not None:
                raise NotFoundError("that entry was taken back already")
            item = found[0].item
            if item is not None and self.row(type(item), item.id) is None:
                raise NotFoundError(
                    "that entry has been corrected since: take the correction back first"
                )
            return self._withdraw(write, found[0])

    def _withdraw(self, write: sqlite3.Connection, entry: Entry) -> Entry:
        write.execute(
            "INSERT INTO entries (written, kind, size, withdraws) VALUES (?, 'undo', 0, ?)",
            (rows.seconds(self.now()), entry.id),
        )
        return entry

    # ---- reading ---------------------------------------------------------------

    def readings(
        self,
        space: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
        *,
        last: int | None = None,
        doubted: bool = False,
    ) -> list[Reading]:
        """Readings that stand and are believed, oldest first.

        Parameters
        ----------
        space : str, optional
            Only of this space.
        since, until : datetime, optional
            Aware; both moments included.
        last : int, optional
            Only the newest so many.
        doubted : bool
            With those that are not believed, as they were read; else what is doubted of them
            is left out.
        """
        view = "standing_readings" if doubted else "counted_readings"
        return self._valid_rows("readings", "at", between(space, since, until), last, view=view)

    def readings_lately(
        self, spaces: Iterable[str], now: datetime, first: datetime | None = None
    ) -> list[Reading]:
        """Readings that still tell something; see :func:`.lately.readings_lately`."""
        with plain_words(self.path):
            return readings_lately(self._connection, spaces, now, first)

    def series(self, space: str, since: datetime, until: datetime) -> Iterator[SeriesRead]:
        """Courses of a space, believed or not, in pieces; see :func:`.marking.series_read`."""
        with plain_words(self.path):
            yield from series_read(self._connection, space, since, until)

    def mark(self, doubts: Iterable[tuple[int, str, str, float | None]]) -> int:
        """Keep values (id, value, why, expected) without using them; how many were new."""
        with self._writing() as write:
            return mark(write, doubts, self.now())

    def marked(
        self,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        after: int = 0,
    ) -> list[MarkedReading]:
        """Values that are kept and not used; see :func:`.marking.marked`."""
        with plain_words(self.path):
            return marked(self._connection, since=since, until=until, after=after)

    def last_mark(self) -> int:
        """The number of the last mark."""
        with plain_words(self.path):
            return last_mark(self._connection)

    def believe(self, id: int) -> None:
        """Use a reading after all, whatever speaks against it: somebody is sure."""
        with self._writing() as write:
            write.execute(
                "INSERT OR IGNORE INTO believed (reading, written) VALUES (?, ?)",
                (id, rows.seconds(self.now())),
            )

    def each(self, kind: type[ItemT]) -> Iterator[ItemT]:
        """All rows of a kind that stand, oldest first, one after the other."""
        kept = rows.KEPT[kind]
        time = "start_at" if kind is Coat else "at"
        with plain_words(self.path):
            found = self._connection.execute(
                f"SELECT * FROM standing_{kept.table} ORDER BY {time}, id"
            )
            for row in found:
                yield rows.item(kept.table, row)

    def coats(
        self, job: str | None = None, *, last: int | None = None, by: datetime | None = None
    ) -> list[Coat]:
        """Coats that stand, of one job or all, in the order they were put on.

        ``by``: what had been begun, and found spoilt, by then.
        """
        found: list[Coat] = self._valid_rows("coats", "start_at", {"job = ?": job}, last)
        seen = self.inspections(job)
        if by is not None:
            found = [coat for coat in found if coat.start <= by]
            seen = [each for each in seen if each.at <= by]
        return with_spoilt(found, seen)

    def done(self, job: str | None = None, *, last: int | None = None) -> list[Done]:
        """Finished steps that stand, of one job or all, oldest first."""
        return self._valid_rows("done", "at", {"job = ?": job}, last)

    def heat(self, space: str | None = None, *, last: int | None = None) -> list[Heat]:
        """Heaters lit and put out that stand, of one space or all, oldest first."""
        return self._valid_rows("heat", "at", {"space = ?": space}, last)

    def wiped(
        self, *, job: str | None = None, space: str | None = None, last: int | None = None
    ) -> list[Wiped]:
        """Surfaces wiped dry that stand, of one job, of one space or all, oldest first."""
        return self._valid_rows("wiped", "at", {"job = ?": job, "space = ?": space}, last)

    def inspections(self, job: str | None = None, *, last: int | None = None) -> list[Inspection]:
        """Coats looked at or sanded that stand, of one job or all, oldest first."""
        return self._valid_rows("inspections", "at", {"job = ?": job}, last)

    def row(self, kind: type[ItemT], id: int) -> ItemT | None:
        """The row of that number, where it stands."""
        found = self._valid_rows(rows.KEPT[kind].table, "id", {"id = ?": id}, 1)
        return found[0] if found else None

    def entry_of(self, item: Item) -> Entry:
        """The entry that a row came in."""
        table = rows.KEPT[type(item)].table
        return self._entries(
            f"WHERE entries.id = (SELECT entry FROM {table} WHERE id = ?)", (item.id,)
        )[0]

    def last_entry(self) -> Entry | None:
        """The entry that :meth:`undo_last` would take back, or None."""
        found = self._entries(
            "WHERE kind <> 'undo' AND by_person = 1 AND by_entry IS NULL ORDER BY id DESC LIMIT 1"
        )
        return found[0] if found else None

    def history(self, last: int | None = None) -> list[Entry]:
        """Everything that was ever entered, withdrawn or not, oldest first."""
        return self._entries("ORDER BY id DESC LIMIT ?", (-1 if last is None else last,))[::-1]

    # ---- below -----------------------------------------------------------------

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: what is written inside is kept whole, or not at all."""
        if self.read_only:
            raise RecordError("opened for reading only", file=self.path)
        with plain_words(self.path), transaction(self._connection) as write:
            yield write

    def _enter(
        self,
        write: sqlite3.Connection,
        kind: str,
        size: int,
        *,
        what: str = "",
        by_person: bool = True,
    ) -> int:
        entered = write.execute(
            "INSERT INTO entries (written, kind, size, what, by_person) VALUES (?, ?, ?, ?, ?)",
            (rows.seconds(self.now()), kind, size, what, int(by_person)),
        )
        assert entered.lastrowid is not None
        return entered.lastrowid

    def _add_one(
        self,
        write: sqlite3.Connection,
        item: ItemT,
        *,
        supersedes: int | None = None,
        by_person: bool = True,
    ) -> ItemT:
        kept = rows.KEPT[type(item)]
        entry = self._enter(write, kept.kind, 1, by_person=by_person)
        written = write.execute(rows.insert(kept), (entry, supersedes, *rows.values(item)))
        row = write.execute(
            f"SELECT * FROM {kept.table} WHERE id = ?", (written.lastrowid,)
        ).fetchone()
        found: ItemT = rows.item(kept.table, row)
        return found

    def _valid_rows(
        self,
        table: str,
        time: str,
        conditions: dict[str, str | int | None],
        last: int | None,
        view: str = "",
    ) -> list[Any]:
        tests = [test for test, value in conditions.items() if value is not None]
        given = [value for value in conditions.values() if value is not None]
        where = f"WHERE {' AND '.join(tests)}" if tests else ""
        view = view or f"standing_{table}"
        with plain_words(self.path):
            found = self._connection.execute(
                f"SELECT * FROM {view} {where} ORDER BY {time} DESC, id DESC LIMIT ?",
                (*given, -1 if last is None else last),
            ).fetchall()
            return [rows.item(table, row) for row in reversed(found)]

    def _entries(self, which: str, given: tuple[Any, ...] = ()) -> list[Entry]:
        with plain_words(self.path):
            found = self._connection.execute(
                "SELECT entries.*, by_entry FROM entries "
                f"LEFT JOIN withdrawn ON withdrawn.entry = entries.id {which}",
                given,
            ).fetchall()
            return [self._entry(row) for row in found]

    def _entry(self, row: sqlite3.Row) -> Entry:
        single = None
        table = rows.TABLES.get(row["kind"])
        if table is not None and row["size"] == 1:
            single = self._connection.execute(
                f"SELECT * FROM {table} WHERE entry = ?", (row["id"],)
            ).fetchone()
        return rows.entry(row, single)
