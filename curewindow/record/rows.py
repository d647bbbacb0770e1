"""Rows of the record's tables and the entries they are read into."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime
from typing import Any

from curewindow.record.entries import Coat, Done, Entry, Heat, Reading

COLUMNS: dict[type, tuple[str, str, tuple[str, ...]]] = {
    # entry type -> (kind in the log, table, its columns in the order of `values`)
    Reading: (
        "readings",
        "readings",
        (
            "space",
            "at",
            "air_c",
            "rh_pct",
            "surface_c",
            "panel",
            "wood_moisture_pct",
            "source",
            "note",
        ),
    ),
    Coat: (
        "coat",
        "coats",
        ("job", "step", "coat", "start_at", "end_at", "sheet", "batch", "area_m2", "note"),
    ),
    Done: ("done", "done", ("job", "step", "at", "note")),
    Heat: ("heat", "heat", ("space", "at", "until", "setpoint_c", "ventilation", "note")),
}

TABLES = {kind: table for kind, table, _ in COLUMNS.values()}


def seconds(at: datetime) -> int:
    """Whole seconds since 1970 UTC, as times are stored."""
    return int(at.timestamp())


def moment(stored: int) -> datetime:
    """A stored time as aware UTC."""
    return datetime.fromtimestamp(stored, UTC)


def insert(table: str, columns: tuple[str, ...]) -> str:
    """The statement that writes a row: entry, supersedes, then its own columns."""
    names = ("entry", "supersedes", *columns)
    return f"INSERT INTO {table} ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})"


def values(item: Reading | Coat | Done | Heat) -> tuple[Any, ...]:
    """An entry's values in the order of its columns."""
    if isinstance(item, Reading):
        return (
            item.space,
            seconds(item.at),
            item.air_c,
            item.rh_pct,
            item.surface_c,
            item.panel,
            item.wood_moisture_pct,
            item.source,
            item.note,
        )
    if isinstance(item, Coat):
        return (
            item.job,
            item.step,
            item.coat,
            seconds(item.start),
            seconds(item.end),
            item.sheet,
            item.batch,
            item.area_m2,
            item.note,
        )
    if isinstance(item, Heat):
        until = seconds(item.until)
        return (
            item.space,
            seconds(item.at),
            until,
            item.setpoint_c,
            item.ventilation,
            item.note,
        )
    return (item.job, item.step, seconds(item.at), item.note)


def reading(row: sqlite3.Row) -> Reading:
    """Read a row of ``readings``."""
    return Reading(
        space=row["space"],
        at=moment(row["at"]),
        air_c=row["air_c"],
        rh_pct=row["rh_pct"],
        surface_c=row["surface_c"],
        panel=row["panel"],
        wood_moisture_pct=row["wood_moisture_pct"],
        source=row["source"],
        note=row["note"],
        id=row["id"],
    )


def coat(row: sqlite3.Row) -> Coat:
    """Read a row of ``coats``."""
    return Coat(
        job=row["job"],
        step=row["step"],
        coat=row["coat"],
        start=moment(row["start_at"]),
        end=moment(row["end_at"]),
        sheet=row["sheet"],
        batch=row["batch"],
        area_m2=row["area_m2"],
        note=row["note"],
        id=row["id"],
    )


def done(row: sqlite3.Row) -> Done:
    """Read a row of ``done``."""
    return Done(
        job=row["job"], step=row["step"], at=moment(row["at"]), note=row["note"], id=row["id"]
    )


def heat(row: sqlite3.Row) -> Heat:
    """Read a row of ``heat``."""
    return Heat(
        space=row["space"],
        at=moment(row["at"]),
        until=moment(row["until"]),
        setpoint_c=row["setpoint_c"],
        ventilation=row["ventilation"],
        note=row["note"],
        id=row["id"],
    )


def item(table: str, row: sqlite3.Row) -> Reading | Coat | Done | Heat:
    """Read a row of a table."""
    if table == "readings":
        return reading(row)
    if table == "heat":
        return heat(row)
    return coat(row) if table == "coats" else done(row)


def entry(row: sqlite3.Row, single: sqlite3.Row | None) -> Entry:
    """Read a row of ``entries`` (with ``by_entry``) and the row it wrote, where it is just one."""
    return Entry(
        id=row["id"],
        written=moment(row["written"]),
        kind=row["kind"],
        size=row["size"],
        what=row["what"],
        by_person=bool(row["by_person"]),
        item=None if single is None else item(TABLES[row["kind"]], single),
        supersedes=None if single is None else single["supersedes"],
        withdraws=row["withdraws"],
        withdrawn_by=row["by_entry"],
    )


def alike(met: Reading) -> tuple[Any, ...]:
    """What two readings share when they are the same one, met twice.

    Values to a hundredth: a logger's file written again in another format differs below that.
    """
    return (
        seconds(met.at),
        met.space,
        met.panel or "",
        *(
            None if value is None else round(value * 100)
            for value in (met.air_c, met.rh_pct, met.surface_c, met.wood_moisture_pct)
        ),
    )


def not_in(connection: sqlite3.Connection, items: list[Reading]) -> list[Reading]:
    """Readings that are not in the record yet, each once. Withdrawn ones may come again."""
    if not items:
        return []
    moments = [seconds(each.at) for each in items]
    found = connection.execute(
        "SELECT * FROM readings WHERE at BETWEEN ? AND ? "
        "AND entry NOT IN (SELECT entry FROM withdrawn)",
        (min(moments), max(moments)),
    )
    known = {alike(reading(row)) for row in found}
    fresh = []
    for each in items:
        key = alike(each)
        if key not in known:
            known.add(key)
            fresh.append(each)
    return fresh
