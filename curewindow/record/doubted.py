"""Readings nobody may rely on: kept in the record's file, apart from the readings."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from curewindow.record.entries import Reading
from curewindow.record.opening import open_to_read, open_to_write
from curewindow.record.rows import moment, seconds
from curewindow.record.trouble import plain_words
from curewindow.transaction import transaction

_WAIT_S = 5.0


@dataclass(frozen=True, slots=True)
class Doubted:
    """A reading that was set aside.

    Attributes
    ----------
    reading : Reading
        What was set aside of what the sensor sent (without what was believed of it).
    why : str
        'sun', 'drift', 'stuck' or '°F as °C'.
    expected : float or None
        What ought to have stood there, °C or %.
    """

    reading: Reading
    why: str
    expected: float | None = None


def add_doubted(path: Path, items: Iterable[Doubted], now: datetime) -> None:
    """Write readings that are set aside.

    Raises
    ------
    RecordError
        The file cannot be written.
    """
    given = [
        (
            seconds(now),
            item.reading.space,
            seconds(item.reading.at),
            item.reading.air_c,
            item.reading.rh_pct,
            item.reading.surface_c,
            item.reading.panel,
            item.reading.source,
            item.why,
            item.expected,
        )
        for item in items
    ]
    if not given:
        return
    with (
        plain_words(path),
        closing(open_to_write(path, _WAIT_S)) as connection,
        transaction(connection),
    ):
        connection.executemany(
            "INSERT INTO doubted (written, space, at, air_c, rh_pct, surface_c, panel, source, "
            "why, expected) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            given,
        )


def doubted_in(path: Path, since: datetime, space: str | None = None) -> list[Doubted]:
    """Readings that were set aside from a moment on, oldest first.

    Raises
    ------
    RecordError
        The file cannot be read.
    """
    with plain_words(path), closing(open_to_read(path, _WAIT_S)) as connection:
        rows = connection.execute(
            "SELECT * FROM doubted WHERE at >= ? AND (? IS NULL OR space = ?) ORDER BY at, id",
            (seconds(since), space, space),
        ).fetchall()
    return [_doubted(row) for row in rows]


def _doubted(row: sqlite3.Row) -> Doubted:
    return Doubted(
        Reading(
            space=row["space"],
            at=moment(row["at"]),
            air_c=row["air_c"],
            rh_pct=row["rh_pct"],
            surface_c=row["surface_c"],
            panel=row["panel"],
            source=row["source"],
        ),
        row["why"],
        row["expected"],
    )
