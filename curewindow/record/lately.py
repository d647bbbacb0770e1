"""Which of a record's readings still tell something: a bounded number, whatever it holds."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final

from curewindow.record import rows
from curewindow.record.entries import Reading

LATELY: Final = timedelta(days=15)
"""So long a reading tells something of a space; see ``conditions.logged.COUNTS_DAYS``."""
MANY: Final = 5000
"""Of so many in a space and a stretch of time each counts; of more one in so long."""
FIVE_MINUTES_S, HALF_HOUR_S = 300, 1800
_VALUES = ("air_c", "rh_pct", "surface_c", "wood_moisture_pct")
_WOOD_MOST = 20

Conditions = dict[str, str | int | None]


def between(space: str | None, since: datetime | None, until: datetime | None) -> Conditions:
    """Conditions on readings, and what they are held against."""
    conditions: Conditions = {"space = ?": space}
    for test, at in (("at >= ?", since), ("at <= ?", until)):
        if at is not None and at.tzinfo is None:
            raise ValueError(f"a time without zone: {at}")
        conditions[test] = None if at is None else rows.seconds(at)
    return conditions


def readings_lately(
    connection: sqlite3.Connection,
    spaces: Iterable[str],
    now: datetime,
    first: datetime | None = None,
) -> list[Reading]:
    """Readings that are believed and still tell something, oldest first.

    Parameters
    ----------
    connection : sqlite3.Connection
        Of the record.
    spaces : iterable of str
        Whose.
    now : datetime
        Aware; later ones are not known yet.
    first : datetime, optional
        Before the usual days those from then on count too.

    Returns
    -------
    list of Reading
        Of each space those of :data:`LATELY` and from ``first`` on, the one before them, and
        the last ones of its wood. Where there are very many, one in five minutes of the last
        days and one in half an hour before them: the last one there.
    """
    found: dict[int, Reading] = {}
    lately = now - LATELY
    begin = lately if first is None else min(first, lately)
    for space in dict.fromkeys(spaces):
        parts = [(lately, now, FIVE_MINUTES_S)]
        if begin < lately:
            parts.append((begin, lately - timedelta(seconds=1), HALF_HOUR_S))
        chosen = [
            _thinned(connection, between(space, since, until), every_s)
            for since, until, every_s in parts
        ]
        before = between(space, None, begin - timedelta(seconds=1))
        chosen.append(_last(connection, before, "air_c", 1))
        chosen.append(_last(connection, before, "wood_moisture_pct", _WOOD_MOST))
        found.update((reading.id, reading) for part in chosen for reading in part)
    return sorted(found.values(), key=lambda reading: (reading.at, reading.id))


def _where(conditions: Conditions) -> tuple[str, list[str | int]]:
    given = {test: value for test, value in conditions.items() if value is not None}
    return " AND ".join(given), list(given.values())


def _thinned(connection: sqlite3.Connection, conditions: Conditions, every_s: int) -> list[Reading]:
    where, given = _where(conditions)
    (many,) = connection.execute(
        f"SELECT count(*) FROM (SELECT 1 FROM readings WHERE {where} LIMIT ?)", (*given, MANY + 1)
    ).fetchone()
    if many > MANY:
        held = ", ".join(f"{each} IS NULL" for each in _VALUES)
        # the last of a stretch by time, and of one moment the one that was entered last
        last = "max((at - 946684800) * 4294967296 + id)"
        where = (
            f"id IN (SELECT last % 4294967296 FROM (SELECT {last} AS last FROM counted_readings "
            f"WHERE {where} GROUP BY at / {every_s}, panel, source, {held}))"
        )
    found = connection.execute(f"SELECT * FROM counted_readings WHERE {where}", given)
    return [rows.item("readings", row) for row in found]


def _last(
    connection: sqlite3.Connection, conditions: Conditions, value: str, most: int
) -> list[Reading]:
    where, given = _where(conditions)
    found = connection.execute(
        f"SELECT * FROM counted_readings WHERE {where} AND {value} IS NOT NULL "
        f"ORDER BY at DESC, id DESC LIMIT {most}",
        given,
    )
    return [rows.item("readings", row) for row in found]
