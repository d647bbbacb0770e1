"""trust.db in the boat folder: windows told, what came of them, and what is learned from it.

An SQLite file beside the record, and not part of it: all in it can be thrown away and
grows anew. Written in short transactions with a write-ahead log, so that a run that is
killed leaves it whole, readers never wait, and a second writer waits a moment and then
goes without. Nothing that goes wrong with it stops a day sheet: that is a line in the log.
"""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from curewindow.transaction import transaction

log = logging.getLogger(__name__)

FILE = "trust.db"
_APPLICATION_ID = 0x43575746  # 'CWWF'
_FORM = 1
_WAIT_S = 1.0

# Times are whole seconds since 1970 UTC.
_TABLES = """
CREATE TABLE told (
    id INTEGER PRIMARY KEY,
    source TEXT NOT NULL,
    job TEXT NOT NULL,
    step INTEGER NOT NULL,
    coat INTEGER NOT NULL,
    start INTEGER NOT NULL,
    told INTEGER NOT NULL,
    spell INTEGER NOT NULL,
    sheet TEXT NOT NULL,
    hands_on_h REAL NOT NULL,
    stated REAL NOT NULL,
    shown REAL NOT NULL,
    held INTEGER,
    basis TEXT NOT NULL DEFAULT '',
    UNIQUE (source, job, step, coat, start, spell)
);
CREATE INDEX told_start ON told (start);
CREATE TABLE seen (
    place TEXT NOT NULL,
    hour INTEGER NOT NULL,
    lead_h REAL NOT NULL,
    temp_c REAL, vapour_pa REAL, wind_ms REAL, rain_mm_h REAL, cloud_frac REAL, sun_w_m2 REAL,
    PRIMARY KEY (place, hour)
) WITHOUT ROWID;
CREATE TABLE learned (
    kind TEXT NOT NULL,
    place TEXT NOT NULL,
    source TEXT NOT NULL,
    at INTEGER NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (kind, place, source)
) WITHOUT ROWID;
"""


class NotOursError(sqlite3.DatabaseError):
    """The file is another program's, or of a newer version."""


@contextmanager
def to_write(folder: Path) -> Iterator[sqlite3.Connection]:
    """The file open to write, made if need be; one transaction, kept whole or not at all.

    Raises
    ------
    sqlite3.Error
        It cannot be written to, is damaged, or not ours.
    """
    connection = sqlite3.connect(folder / FILE, timeout=_WAIT_S, isolation_level=None)
    try:
        if _form_of(connection) == 0:
            _make(connection)
        connection.execute("PRAGMA synchronous = NORMAL")
        with transaction(connection):
            yield connection
    finally:
        connection.close()


@contextmanager
def to_read(folder: Path) -> Iterator[sqlite3.Connection | None]:
    """The file open to read; None where there is none, or nothing in it yet.

    Raises
    ------
    sqlite3.Error
        It cannot be read.
    """
    path = folder / FILE
    if not path.exists():
        yield None
        return
    connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=_WAIT_S)
    try:
        yield connection if _form_of(connection) else None
    finally:
        connection.close()


def _form_of(connection: sqlite3.Connection) -> int:
    form = int(connection.execute("PRAGMA user_version").fetchone()[0])
    ours = int(connection.execute("PRAGMA application_id").fetchone()[0])
    empty = not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if form == 0 and empty:
        return 0
    if ours != _APPLICATION_ID or form != _FORM:
        raise NotOursError("of another program, or of a newer curewindow")
    return form


def _make(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA journal_mode = WAL")
    with transaction(connection):  # a second one that makes it waits here
        if _form_of(connection) == 0:
            for statement in _TABLES.split(";"):
                if statement.strip():
                    connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {_APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {_FORM}")


def prune(connection: sqlite3.Connection, oldest: datetime) -> None:
    """Throw out what is older."""
    for table, column in (("told", "start"), ("seen", "hour")):
        connection.execute(f"DELETE FROM {table} WHERE {column} < ?", (int(oldest.timestamp()),))
