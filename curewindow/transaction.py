"""SQLite: one transaction kept whole, or not at all; a copy made while others write."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """What is written inside is kept whole, or not at all.

    Parameters
    ----------
    connection : sqlite3.Connection
        In autocommit mode (``isolation_level=None``). Other writers wait from the beginning on.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield connection
        connection.execute("COMMIT")
    except BaseException:
        # a full disk ends the transaction by itself
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def copy_database(path: Path, copy: Path) -> None:
    """Copy what is committed in a database while others may write to it.

    Parameters
    ----------
    path : Path
        The database, with its write-ahead log if it has one.
    copy : Path
        An empty file, or none yet.

    Raises
    ------
    sqlite3.Error
        It cannot be read, or not be copied.
    """
    with (
        closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as source,
        closing(sqlite3.connect(copy)) as target,
    ):
        source.backup(target)
