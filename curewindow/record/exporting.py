"""Writing the record out as CSV tables, for spreadsheets and other programs.

Readings, one a line, oldest first:

================== ======================================================
column             meaning
================== ======================================================
time_utc           moment, ISO 8601 in UTC
time_local         the same on the boat's clock, with its offset
space              space, or 'outdoors'
air_c              air temperature, °C
rh_pct             relative humidity, % (over water)
surface_c          surface temperature, °C
panel              surface that surface_c was taken on
wood_moisture_pct  wood moisture, % of dry mass
source             'by hand', a file or a sensor
note               note
================== ======================================================

Coats, one a line, in the order they were put on:

======================== ================================================
column                   meaning
======================== ================================================
job, step, coat          which coat of which step of which job
start_utc, end_utc       first and last stroke, ISO 8601 in UTC
start_local, end_local   the same on the boat's clock, with its offset
sheet                    product sheet
batch                    batch of the tin
area_m2                  area covered, m²
note                     note
======================== ================================================

Finished steps, heaters, surfaces wiped dry and coats looked at likewise: time_utc, time_local,
then their own columns by the names JSON has for them.

Empty cells are values that were not taken. UTF-8, comma, decimal point; text is quoted throughout.
What ``curewindow log import`` makes of such a table is exported to the same bytes again.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable
from dataclasses import fields
from datetime import UTC, datetime, tzinfo
from itertools import islice
from pathlib import Path
from typing import Any, TextIO

from curewindow.errors import CsvError
from curewindow.files import writing
from curewindow.record.entries import NOT_KEPT, Coat, Item

_BLOCK = 20_000  # rows at a time: any number takes no more memory than these
_MOMENTS = ("at", "until", "start", "end")


def columns_of(kind: type[Item]) -> list[tuple[str, str]]:
    """The columns of a kind's table, each with the field it is of.

    Readings and all that has one time begin with it, a coat with what it is a coat of; what
    ends in '_local' is the column before it on the boat's clock.
    """
    names = [field.name for field in fields(kind) if field.name not in NOT_KEPT]
    moments = [name for name in names if name in _MOMENTS]
    others = [name for name in names if name not in _MOMENTS]
    called = {"at": "time"}
    times = [(called.get(name, name), name) for name in moments]
    if kind is Coat:
        before = names.index("start")
        return [
            *((name, name) for name in others[:before]),
            *((f"{title}_utc", name) for title, name in times),
            *((f"{title}_local", name) for title, name in times),
            *((name, name) for name in others[before:]),
        ]
    return [
        *((f"{title}_{clock}", name) for title, name in times for clock in ("utc", "local")),
        *((name, name) for name in others),
    ]


def write_csv(items: Iterable[Item], kind: type[Item], zone: tzinfo, target: Path | TextIO) -> int:
    """Write entries of a kind as a CSV table, one after the other.

    Parameters
    ----------
    items : iterable of Item
        May be a generator, of any number.
    kind : type
        What they are.
    zone : tzinfo
        The boat's clock.
    target : Path or text stream
        A file is written whole or not at all.

    Returns
    -------
    int
        How many there were.

    Raises
    ------
    CsvError
        The file cannot be written.
    """
    if not isinstance(target, Path):
        return _write(items, kind, zone, target)
    try:
        with writing(target) as stream:
            return _write(items, kind, zone, stream)
    except OSError as bad:
        raise CsvError(f"cannot be written: {bad.strerror}", file=target) from None


def _write(items: Iterable[Item], kind: type[Item], zone: tzinfo, stream: TextIO) -> int:
    # here and not above: reading the record must not wait for pandas
    import pandas as pd

    columns = columns_of(kind)
    titles = [title for title, _ in columns]
    getters = [_getter(title, name, zone) for title, name in columns]
    coming = iter(items)
    count = 0
    while True:
        block = [[get(item) for get in getters] for item in islice(coming, _BLOCK)]
        if count and not block:
            return count
        table = pd.DataFrame(block, columns=titles, dtype=object)
        # text is quoted throughout: a lone carriage return in a note would split the line
        table.to_csv(
            stream,
            header=not count,
            index=False,
            lineterminator="\n",
            quoting=csv.QUOTE_NONNUMERIC,
        )
        count += len(block)
        if len(block) < _BLOCK:
            return count


def _getter(title: str, name: str, zone: tzinfo) -> Callable[[Item], Any]:
    if name not in _MOMENTS:
        return lambda item: getattr(item, name)
    if title.endswith("_utc"):
        return lambda item: _utc(getattr(item, name))
    return lambda item: _local(getattr(item, name), zone)


def _utc(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def _local(at: datetime, zone: tzinfo) -> str:
    return at.astimezone(zone).isoformat(timespec="seconds")
