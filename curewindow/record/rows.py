"""Rows of the record's tables and the entries they are read into."""

from __future__ import annotations

import sqlite3
from dataclasses import fields
from datetime import UTC, datetime
from typing import Any, Literal, NamedTuple, get_args, get_origin, get_type_hints

from curewindow.record.entries import (
    NOT_KEPT,
    Coat,
    Done,
    Entry,
    Heat,
    Inspection,
    Item,
    Reading,
    Wiped,
)
from curewindow.record.trouble import damaged


class Kept(NamedTuple):
    """Where rows of a kind are kept: the kind of their entry, their table, field by column."""

    kind: str
    table: str
    columns: dict[str, str]


def _columns(cls: type, **renamed: str) -> dict[str, str]:
    """Column by column, the field it holds: of the same name but for those that are renamed."""
    return {renamed.get(f.name, f.name): f.name for f in fields(cls) if f.name not in NOT_KEPT}


def _types(hint: Any) -> tuple[type, ...]:
    """The types in which SQLite gives what a field holds."""
    if get_origin(hint) is Literal:
        return (str,)
    if get_args(hint):
        return tuple(each for part in get_args(hint) for each in _types(part))
    stored: dict[Any, tuple[type, ...]] = {datetime: (int,), float: (float, int)}
    return stored.get(hint, (hint,))


KEPT: dict[type, Kept] = {
    Reading: Kept("readings", "readings", _columns(Reading)),
    Coat: Kept("coat", "coats", _columns(Coat, start="start_at", end="end_at")),
    Done: Kept("done", "done", _columns(Done)),
    Heat: Kept("heat", "heat", _columns(Heat)),
    Wiped: Kept("dry", "wiped", _columns(Wiped)),
    Inspection: Kept("inspection", "inspections", _columns(Inspection)),
}
_BY_TABLE = {kept.table: (cls, kept.columns) for cls, kept in KEPT.items()}
# What a column may hold, field by field.
_HELD: dict[type, dict[str, tuple[type, ...]]] = {
    cls: {name: _types(hint) for name, hint in get_type_hints(cls).items()} for cls in KEPT
}
# Where a field holds one of a few words: which.
_WORDS: dict[type, dict[str, tuple[str, ...]]] = {
    cls: {
        name: get_args(hint)
        for name, hint in get_type_hints(cls).items()
        if get_origin(hint) is Literal
    }
    for cls in KEPT
}
TABLES = {kept.kind: kept.table for kept in KEPT.values()}
_TIMES = ("at", "until", "start_at", "end_at")


def seconds(at: datetime) -> int:
    """Whole seconds since 1970 UTC, as times are stored."""
    return int(at.timestamp())


def moment(stored: int) -> datetime:
    """A stored time as aware UTC."""
    return datetime.fromtimestamp(stored, UTC)


def insert(kept: Kept) -> str:
    """The statement that writes a row: entry, supersedes, then its own columns."""
    names = ("entry", "supersedes", *kept.columns)
    return f"INSERT INTO {kept.table} ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})"


def values(item: Item) -> tuple[Any, ...]:
    """An entry's values in the order of its columns."""
    found = []
    for column, field in KEPT[type(item)].columns.items():
        value = getattr(item, field)
        found.append(seconds(value) if column in _TIMES else value)
    return tuple(found)


def item(table: str, row: sqlite3.Row) -> Any:
    """Read a row of a table into the entry it is.

    Raises
    ------
    sqlite3.DatabaseError
        What stands there cannot be: the file is damaged.
    """
    cls, columns = _BY_TABLE[table]
    held = _HELD[cls]
    read: dict[str, Any] = {"id": row["id"]}
    for column, field in columns.items():
        value = row[column]
        if not isinstance(value, held[field]):
            raise damaged(f"{table}.{column}")
        try:
            read[field] = moment(row[column]) if column in _TIMES else value
        except (OverflowError, ValueError, OSError):
            raise damaged(f"{table}.{column}") from None
    for field, words in _WORDS[cls].items():
        if read[field] not in words:
            raise damaged(f"{table}.{field}")
    return cls(**read)


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
