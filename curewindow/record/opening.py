"""Opening the record's file: to write, or without making or changing it."""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path

from curewindow.record import migrations


def open_to_write(path: Path, wait_s: float) -> sqlite3.Connection:
    """Open a file, make it if need be, and bring it up to date.

    Raises
    ------
    RecordError
        Another program's file, or one of a newer curewindow.
    sqlite3.Error
        Whatever else is wrong with it.
    """
    connection = sqlite3.connect(path, timeout=wait_s, isolation_level=None)
    try:
        connection.row_factory = sqlite3.Row
        # first of all: a file that is not ours must not even have its mode changed
        migrations.version(connection, path, migrations.STEPS)
        # readers go on reading while one writes; kept in the file from then on
        _keep_log(connection, wait_s)
        # a coat that was answered 'logged' survives a flat battery
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        migrations.migrate(connection, path, migrations.STEPS, backup=True)
    except BaseException:
        connection.close()
        raise
    return connection


def _keep_log(connection: sqlite3.Connection, wait_s: float) -> None:
    """Switch to write-ahead logging; SQLite itself does not wait for the lock that needs."""
    give_up = time.monotonic() + wait_s
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as bad:
            if bad.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > give_up:
                raise
            time.sleep(0.02)


def open_to_read(path: Path, wait_s: float) -> sqlite3.Connection:
    """Open for reading; a missing or older file is read as a copy in memory.

    Raises
    ------
    RecordError
        Another program's file, or one of a newer curewindow.
    sqlite3.Error
        Whatever else is wrong with it.
    """
    connection = _existing(path, wait_s) if path.exists() else None
    if connection is not None:
        try:
            if migrations.version(connection, path, migrations.STEPS) == len(migrations.STEPS):
                connection.row_factory = sqlite3.Row
                return connection
        except BaseException:
            connection.close()
            raise
    memory = sqlite3.connect(":memory:", isolation_level=None)
    try:
        if connection is not None:
            connection.backup(memory)
        migrations.migrate(memory, path, migrations.STEPS, backup=False)
    except BaseException:
        memory.close()
        raise
    finally:
        if connection is not None:
            connection.close()
    memory.row_factory = sqlite3.Row
    return memory


def _existing(path: Path, wait_s: float) -> sqlite3.Connection:
    address = f"{path.absolute().as_uri()}?mode=ro"
    connection = sqlite3.connect(address, uri=True, timeout=wait_s, isolation_level=None)
    try:
        connection.execute("PRAGMA user_version").fetchone()
    except sqlite3.OperationalError as bad:
        connection.close()
        # a folder nobody may write to has no room for the write-ahead log's index;
        # without a log to read, the file alone is the whole truth
        log = path.with_name(f"{path.name}-wal")
        no_room = bad.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY)
        if no_room and not (log.exists() and log.stat().st_size):
            return sqlite3.connect(
                f"{address}&immutable=1", uri=True, timeout=wait_s, isolation_level=None
            )
        raise
    except BaseException:
        connection.close()
        raise
    return connection
