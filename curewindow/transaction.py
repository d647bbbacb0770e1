"""One SQLite transaction: kept whole, or not at all."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager


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
