"""Writing the record out as CSV tables, for spreadsheets and other programs.

Readings, one a line, oldest first; ``curewindow log import`` reads the table back:

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

Empty cells are values that were not taken. UTF-8, comma, decimal point.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import TextIO

from curewindow.errors import CsvError
from curewindow.files import write_whole
from curewindow.record.entries import Coat, Item, Reading


def readings_table(readings: Sequence[Reading], zone: tzinfo) -> dict[str, list[object]]:
    """Columns of the readings' table; see the head of this file."""
    return {
        "time_utc": [_utc(r.at) for r in readings],
        "time_local": [_local(r.at, zone) for r in readings],
        "space": [r.space for r in readings],
        "air_c": [r.air_c for r in readings],
        "rh_pct": [r.rh_pct for r in readings],
        "surface_c": [r.surface_c for r in readings],
        "panel": [r.panel for r in readings],
        "wood_moisture_pct": [r.wood_moisture_pct for r in readings],
        "source": [r.source for r in readings],
        "note": [r.note for r in readings],
    }


def coats_table(coats: Sequence[Coat], zone: tzinfo) -> dict[str, list[object]]:
    """Columns of the coats' table; see the head of this file."""
    return {
        "job": [c.job for c in coats],
        "step": [c.step for c in coats],
        "coat": [c.coat for c in coats],
        "start_utc": [_utc(c.start) for c in coats],
        "end_utc": [_utc(c.end) for c in coats],
        "start_local": [_local(c.start, zone) for c in coats],
        "end_local": [_local(c.end, zone) for c in coats],
        "sheet": [c.sheet for c in coats],
        "batch": [c.batch for c in coats],
        "area_m2": [c.area_m2 for c in coats],
        "note": [c.note for c in coats],
    }


def rows_table(items: Sequence[Item], kind: type, zone: tzinfo) -> dict[str, list[object]]:
    """Columns of finished steps, heaters, surfaces wiped dry or coats looked at.

    Times first, in UTC and on the boat's clock, then the other columns as JSON names them.
    """
    names = [field.name for field in fields(kind) if field.name != "id"]
    times = [name for name in names if name in ("at", "until")]
    table: dict[str, list[object]] = {}
    for name in times:
        called = "time" if name == "at" else name
        table[f"{called}_utc"] = [_utc(getattr(item, name)) for item in items]
        table[f"{called}_local"] = [_local(getattr(item, name), zone) for item in items]
    for name in names:
        if name not in times:
            table[name] = [getattr(item, name) for item in items]
    return table


def write_csv(table: Mapping[str, list[object]], target: Path | TextIO) -> None:
    """Write a table as CSV: a file whole or not at all, or to an open stream.

    Raises
    ------
    CsvError
        The file cannot be written.
    """
    # here and not above: reading the record must not wait for pandas
    import pandas as pd

    frame = pd.DataFrame(dict(table))
    if not isinstance(target, Path):
        frame.to_csv(target, index=False, lineterminator="\n", quoting=csv.QUOTE_NONNUMERIC)
        return
    # text is quoted throughout: a lone carriage return in a note would split the line
    text = frame.to_csv(index=False, lineterminator="\n", quoting=csv.QUOTE_NONNUMERIC)
    try:
        write_whole(target, text)
    except OSError as bad:
        raise CsvError(f"cannot be written: {bad.strerror}", file=target) from None


def _utc(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def _local(at: datetime, zone: tzinfo) -> str:
    return at.astimezone(zone).isoformat(timespec="seconds")
