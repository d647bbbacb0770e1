"""Many rows at once, of any number: gathered on the disk first, then written in one step.

Whoever else writes waits for that one step alone, and the memory it takes does not grow with
the number of rows.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Literal

from curewindow.record import rows
from curewindow.record.entries import Item, Reading
from curewindow.record.trouble import plain_words

Known = Literal["none", "alike", "same"]
"""What of the rows is in the record already and left out: nothing; readings that are alike
(a logger's file written again in another format differs below a hundredth); or rows that are
the same in all they hold, as many times as they are there."""

_BLOCK = 2000
_ALIKE = ("air_c", "rh_pct", "surface_c", "wood_moisture_pct")
_NOT_WITHDRAWN = "entry NOT IN (SELECT entry FROM withdrawn)"


class GatheredRows:
    """Rows of one kind on their way into the record; made by ``Record.incoming``."""

    def __init__(self, connection: sqlite3.Connection, path: Path, kind: type[Item]):
        self._connection, self._path = connection, path
        self.kind = kind
        self.kept = rows.KEPT[kind]
        self.count = 0
        columns = ", ".join(self.kept.columns)
        connection.execute("DROP TABLE IF EXISTS temp.incoming")
        connection.execute(
            f"CREATE TEMP TABLE incoming AS SELECT {columns} FROM {self.kept.table} WHERE 0"
        )

    def extend(self, items: Iterable[Item]) -> None:
        """Take rows in, from a generator too; nothing of the record is changed or locked."""
        marks = ", ".join("?" * len(self.kept.columns))
        statement = f"INSERT INTO temp.incoming VALUES ({marks})"
        coming = iter(items)
        # outside the transaction: what makes the rows may itself ask the record
        while block := [rows.values(item) for item in islice(coming, _BLOCK)]:
            with plain_words(self._path):
                self._connection.execute("BEGIN")
                try:
                    self._connection.executemany(statement, block)
                    self._connection.execute("COMMIT")
                except BaseException:
                    self._connection.execute("ROLLBACK")
                    raise
            self.count += len(block)

    def where(self) -> tuple[tuple[str, ...], datetime | None, datetime | None]:
        """Of readings that are left: their spaces, the first moment and the last."""
        if self.kind is not Reading:
            return (), None, None
        with plain_words(self._path):
            spaces = self._connection.execute(
                "SELECT DISTINCT space FROM temp.incoming ORDER BY 1"
            ).fetchall()
            first, last = self._connection.execute(
                "SELECT min(at), max(at) FROM temp.incoming"
            ).fetchone()
        if first is None:
            return (), None, None
        return tuple(row[0] for row in spaces), rows.moment(first), rows.moment(last)

    # ---- within a transaction ----------------------------------------------------------

    def leave_out(self, write: sqlite3.Connection, known: Known) -> int:
        """Take out what is in the record already, and what comes twice; how many stay."""
        if known == "alike":
            write.execute(_leave_alike())
        elif known == "same":
            write.execute(_leave_same(self.kept))
        found = write.execute("SELECT count(*) FROM temp.incoming").fetchone()
        return int(found[0])

    def write(self, write: sqlite3.Connection, entry: int) -> None:
        """Write what is left as the rows of an entry, in the order they came."""
        table, columns = self.kept.table, ", ".join(self.kept.columns)
        used = write.execute("SELECT max(seq) FROM sqlite_sequence WHERE name = ?", (table,))
        after = used.fetchone()[0] or 0
        write.execute(
            f"INSERT INTO main.{table} (id, entry, {columns}) "
            f"SELECT ? + row_number() OVER (ORDER BY rowid), ?, {columns} "
            "FROM temp.incoming ORDER BY rowid",
            (after, entry),
        )

    def close(self) -> None:
        """Drop them."""
        self._connection.execute("DROP TABLE IF EXISTS temp.incoming")


def _rounded(table: str, column: str) -> str:
    return f"round({table}.{column} * 100)"


def _leave_alike() -> str:
    """Readings of the same place and second whose values are the same to a hundredth."""
    same = " AND ".join(
        [
            "r.space = i.space",
            "r.at = i.at",
            "coalesce(r.panel, '') = coalesce(i.panel, '')",
            *(f"{_rounded('r', each)} IS {_rounded('i', each)}" for each in _ALIKE),
        ]
    )
    group = ", ".join(
        ["space", "at", "coalesce(panel, '')", *(f"round({each} * 100)" for each in _ALIKE)]
    )
    return (
        "DELETE FROM temp.incoming WHERE rowid IN (SELECT i.rowid FROM temp.incoming AS i "
        f"WHERE EXISTS (SELECT 1 FROM main.readings AS r WHERE {same} AND r.{_NOT_WITHDRAWN})) "
        "OR rowid NOT IN (SELECT min(rowid) FROM temp.incoming GROUP BY "
        f"{group})"
    )


def _leave_same(kept: rows.Kept) -> str:
    """Of rows the same in all they hold so many as are there already."""
    columns = list(kept.columns)
    # '=' where nothing may be missing: an index serves it
    whole = {"space", "job", "at", "start_at"} if kept.table != "wiped" else {"at"}
    same = " AND ".join(f"r.{each} {'=' if each in whole else 'IS'} i.{each}" for each in columns)
    return (
        "DELETE FROM temp.incoming WHERE rowid IN (SELECT i.row FROM (SELECT *, rowid AS row, "
        f"row_number() OVER (PARTITION BY {', '.join(columns)} ORDER BY rowid) AS nth "
        f"FROM temp.incoming) AS i WHERE i.nth <= (SELECT count(*) FROM main.{kept.table} AS r "
        f"WHERE {same} AND r.{_NOT_WITHDRAWN}))"
    )
