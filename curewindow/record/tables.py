"""Reading a table that the record was exported to; see :mod:`curewindow.record.exporting`."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import MISSING, fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, get_args, get_type_hints

from curewindow.errors import CsvError, QuantityError
from curewindow.record.entries import Coat, Done, Heat, Inspection, Item, Reading, Wiped
from curewindow.record.exporting import columns_of
from curewindow.record.importing import BAD_TOLD, ImportResult
from curewindow.record.store import Record, check_item

_SEPARATORS = (",", ";", "\t")
# A note may be of any length; what holds more than a whole book is none.
_LONGEST_CELL = 10_000_000
# What no row of a kind is without, besides what has no default: tells the kinds apart.
_NEEDED: dict[type[Item], set[str]] = {
    Reading: {title for title, _ in columns_of(Reading)},
    Coat: set(),
    Done: set(),
    Heat: {"setpoint_c", "ventilation"},
    Wiped: {"job", "space", "panel"},
    Inspection: set(),
}


def kind_of_table(path: Path) -> type[Item] | None:
    """Which kind's exported table a file is; None where it is none, as by its header line.

    Raises
    ------
    CsvError
        It cannot be read.
    """
    return _header(path)[0]


def _header(path: Path) -> tuple[type[Item] | None, list[str], str]:
    try:
        with path.open(encoding="utf-8-sig", errors="replace", newline="") as lines:
            first = lines.readline(10_000).rstrip("\r\n")
    except FileNotFoundError:
        raise CsvError("there is no such file", file=path) from None
    except OSError as bad:
        raise CsvError(f"cannot be read: {bad.strerror}", file=path) from None
    for separator in _SEPARATORS:
        header = [cell.strip() for cell in next(csv.reader([first], delimiter=separator), [])]
        for kind, needed in _NEEDED.items():
            titles = dict(columns_of(kind))
            if set(header) <= set(titles) and needed | _without_default(kind) <= set(header):
                return kind, header, separator
    return None, [], ""


def _without_default(kind: type[Item]) -> set[str]:
    """Columns of the fields that have no default, times in UTC."""
    bare = {field.name for field in fields(kind) if field.default is MISSING}
    return {
        title for title, name in columns_of(kind) if name in bare and not title.endswith("_local")
    }


def import_table(record: Record, path: Path, *, keep_good: bool = False) -> ImportResult:
    """Import a table that was exported: all of it, or nothing if a line is bad.

    Names of spaces, panels and jobs are taken as they stand: what is history may have another
    name in the boat's files by now. What the record holds already is not written again, a row
    that is there twice is there twice.

    Parameters
    ----------
    record : Record
        Open for writing.
    path : Path
        For which :func:`kind_of_table` knows a kind.
    keep_good : bool
        Write the good lines though others are bad.

    Raises
    ------
    CsvError
        The file as a whole cannot be used.
    RecordError
        The record cannot be written.
    """
    kind, header, separator = _header(path)
    if kind is None:
        raise CsvError("is no table that curewindow exported", file=path)
    counted: dict[str, int] = {"read": 0, "bad": 0}
    bad: list[tuple[int, str]] = []
    now = record.now()

    def good() -> Iterator[Item]:
        for number, cells in _lines(path, separator):
            counted["read"] += 1
            found: Item | str = (
                f"has {len(cells)} cells under {len(header)} headers"
                if len(cells) != len(header)
                else _item(kind, dict(zip(header, cells, strict=True)))
            )
            if not isinstance(found, str):
                try:
                    check_item(found, now)
                except QuantityError as problem:
                    found = str(problem)
            if not isinstance(found, str):
                yield found
                continue
            counted["bad"] += 1
            if counted["bad"] <= BAD_TOLD:
                bad.append((number, found))

    with record.incoming(kind) as coming:
        coming.extend(good())
        if bad and not keep_good:
            return ImportResult(counted["read"], 0, 0, tuple(bad), counted["bad"], kind)
        added = record.take_in(coming, what=path.name, known="same")
        where = coming.where()
    return ImportResult(
        counted["read"], added.added, added.duplicates, tuple(bad), counted["bad"], kind, *where
    )


def _lines(path: Path, separator: str) -> Iterator[tuple[int, list[str]]]:
    usual = csv.field_size_limit(_LONGEST_CELL)  # of all readers there are
    try:
        with path.open(encoding="utf-8-sig", errors="replace", newline="") as text:
            lines = csv.reader(text, delimiter=separator)
            next(lines, None)
            before = lines.line_num
            for cells in lines:
                if any(cells):
                    yield before + 1, cells
                before = lines.line_num
    except csv.Error as problem:
        raise CsvError(f"cannot be read as a table: {problem}", file=path) from None
    except OSError as problem:
        raise CsvError(f"cannot be read: {problem.strerror}", file=path) from None
    finally:
        csv.field_size_limit(usual)


def _item(kind: type[Item], cells: dict[str, str]) -> Item | str:
    """A row as the entry it is, or what is wrong with it."""
    hints = get_type_hints(kind)
    read: dict[str, Any] = {}
    for title, name in columns_of(kind):
        if title.endswith("_local") or title not in cells:
            continue
        found = _value(cells[title], hints[name])
        if found is _UNREADABLE:
            shown = " ".join(cells[title].split())[:40]
            what = "a time like 2026-11-25T08:00:00Z" if hints[name] is datetime else "of its kind"
            return f"{title} '{shown}' is not {what}"
        read[name] = found
    made: Item = kind(**read)
    return made


_UNREADABLE = object()
_LARGEST = 2**31


def _value(text: str, hint: Any) -> Any:
    choices = get_args(hint)
    if type(None) in choices:
        return None if text == "" else _value(text, next(c for c in choices if c is not type(None)))
    try:
        if hint is datetime:
            at = datetime.fromisoformat(text)
            return _UNREADABLE if at.tzinfo is None else at.astimezone(UTC)
        if hint is int:
            number = int(text)
            return number if abs(number) < _LARGEST else _UNREADABLE
        if hint is float:
            return float(text)
    except (ValueError, OverflowError):
        return _UNREADABLE
    if choices and text not in choices:
        return _UNREADABLE
    return text
