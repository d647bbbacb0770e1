"""Readings that are kept and not used: which, why, and that somebody is sure of one after all."""

from __future__ import annotations

import sqlite3
from array import array
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime

from curewindow.findings import Finding, finding
from curewindow.record import rows
from curewindow.record.entries import Reading

SERIES_MOST = 20_000
"""Of so many readings at a time a course is made: with the two days before it for company."""
_BEFORE = 1000
_UNITS = {"air": "°C", "surface": "°C", "humidity": "%"}


@dataclass(frozen=True, slots=True)
class MarkedReading:
    """A value of a reading that is not used.

    Attributes
    ----------
    reading : Reading
        As it was read.
    value : str
        'air', 'humidity' or 'surface'.
    why : str
        As :mod:`curewindow.rules.readings` names it.
    expected : float or None
        What was to be expected in its place.
    """

    reading: Reading
    value: str
    why: str
    expected: float | None


@dataclass(slots=True)
class SeriesRead:
    """Readings of one place by one source, oldest first; NaN where a value was not taken."""

    space: str
    panel: str | None
    source: str
    ids: array[int] = field(default_factory=lambda: array("q"))
    hours: array[float] = field(default_factory=lambda: array("d"))
    air_c: array[float] = field(default_factory=lambda: array("d"))
    rh_pct: array[float] = field(default_factory=lambda: array("d"))
    surface_c: array[float] = field(default_factory=lambda: array("d"))
    sure: array[int] = field(default_factory=lambda: array("b"))

    def tail(self, count: int) -> SeriesRead:
        """The last of it, to go on from."""
        return SeriesRead(
            self.space,
            self.panel,
            self.source,
            ids=self.ids[-count:],
            hours=self.hours[-count:],
            air_c=self.air_c[-count:],
            rh_pct=self.rh_pct[-count:],
            surface_c=self.surface_c[-count:],
            sure=self.sure[-count:],
        )


def series_read(
    connection: sqlite3.Connection, space: str, since: datetime, until: datetime
) -> Iterator[SeriesRead]:
    """Courses of a space, believed or not, in pieces of a bounded length."""
    found = connection.execute(
        "SELECT r.id, source, coalesce(panel, ''), at, air_c, rh_pct, surface_c, "
        "EXISTS (SELECT 1 FROM believed WHERE reading = r.id) FROM standing_readings AS r "
        "WHERE space = ? AND at BETWEEN ? AND ? ORDER BY source, 3, at, r.id",
        (space, rows.seconds(since), rows.seconds(until)),
    )
    piece: SeriesRead | None = None
    for number, source, panel, at, air, rh, surface, sure in map(tuple, found):
        if piece is None or (piece.source, piece.panel or "") != (source, panel):
            if piece is not None:
                yield piece
            piece = SeriesRead(space, panel or None, source)
        elif len(piece.ids) >= SERIES_MOST:
            yield piece
            piece = piece.tail(_BEFORE)
        piece.ids.append(number)
        piece.hours.append(at / 3600.0)
        piece.air_c.append(float("nan") if air is None else air)
        piece.rh_pct.append(float("nan") if rh is None else rh)
        piece.surface_c.append(float("nan") if surface is None else surface)
        piece.sure.append(sure)
    if piece is not None:
        yield piece


def mark(
    write: sqlite3.Connection,
    doubts: Iterable[tuple[int, str, str, float | None]],
    now: datetime,
) -> int:
    """Write down values that are not believed (id, value, why, expected); how many were new."""
    before = write.total_changes
    write.executemany(
        "INSERT INTO doubts (written, reading, value, why, expected) SELECT ?, ?, ?, ?, ? "
        "WHERE NOT EXISTS (SELECT 1 FROM doubts WHERE reading = ? AND value = ?)",
        (
            (rows.seconds(now), reading, value, why, expected, reading, value)
            for reading, value, why, expected in doubts
        ),
    )
    return write.total_changes - before


def marked(
    connection: sqlite3.Connection,
    *,
    since: datetime | None = None,
    until: datetime | None = None,
    after: int = 0,
    most: int = 5000,
) -> list[MarkedReading]:
    """Values that stand and are not used, oldest first.

    Parameters
    ----------
    connection : sqlite3.Connection
    since, until : datetime, optional
        Of readings taken then.
    after : int
        Of marks written after the one of this number.
    most : int
        Of more the newest.
    """
    tests = ["d.id > ?"]
    given: list[int] = [after]
    for test, at in (("r.at >= ?", since), ("r.at <= ?", until)):
        if at is not None:
            tests.append(test)
            given.append(rows.seconds(at))
    found = connection.execute(
        "SELECT r.*, d.value AS doubted, d.why AS why, d.expected AS expected "
        "FROM open_doubts AS d JOIN standing_readings AS r ON r.id = d.reading "
        f"WHERE {' AND '.join(tests)} ORDER BY r.at DESC, r.id DESC LIMIT ?",
        (*given, most),
    ).fetchall()
    return [
        MarkedReading(rows.item("readings", row), row["doubted"], row["why"], row["expected"])
        for row in reversed(found)
    ]


def last_mark(connection: sqlite3.Connection) -> int:
    """The number of the last one written."""
    return int(connection.execute("SELECT coalesce(max(id), 0) FROM doubts").fetchone()[0])


def marks_said(marks: Iterable[MarkedReading]) -> list[Finding]:
    """What is to be said of values that are kept and not used: the last of each sort."""
    sorts: dict[tuple[str, str | None, str, str], list[MarkedReading]] = {}
    for each in marks:
        surface = each.reading.panel if each.value == "surface" else None
        sorts.setdefault((each.reading.space, surface, each.value, each.why), []).append(each)
    found = []
    for (space, surface, value, why), own in sorts.items():
        last = own[-1]
        read = {
            "air": last.reading.air_c,
            "humidity": last.reading.rh_pct,
            "surface": last.reading.surface_c,
        }[value]
        found.append(
            finding(
                "reading doubted",
                space=space,
                surface=surface,
                kind_of=value,
                state=why,
                at=last.reading.at,
                count=len(own),
                value=read,
                unit=_UNITS[value],
                limit_value=last.expected,
            )
        )
    return found
