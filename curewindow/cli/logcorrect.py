"""`curewindow log correct`: which entry is meant, and what it should have been."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import click

from curewindow.boat.aboard import Aboard
from curewindow.errors import NotFoundError
from curewindow.logbook.entry import known_panel, known_sheet, past
from curewindow.logbook.words import LETTERS
from curewindow.quantity import AREA, PERCENT, TEMPERATURE, parse
from curewindow.record.entries import Coat, Done, Heat, Inspection, Item, Reading, Wiped
from curewindow.record.store import Record


def find_row(record: Record, name: str) -> Item:
    """The row that `log show` calls 'r12', 'c3' or 'w4'.

    Raises
    ------
    NotFoundError
        No such row stands.
    """
    match = re.fullmatch(rf"([{''.join(LETTERS)}])(\d{{1,18}})", name.strip().lower(), re.ASCII)
    if match is None:
        raise NotFoundError(f"'{name}' is no entry; 'curewindow log show' names them, like 'r12'")
    found = record.row(LETTERS[match[1]], int(match[2]))
    if found is None:
        raise NotFoundError(f"no entry {name} stands in the record; see 'curewindow log show'")
    return found


# Which options put right which kind of row.
_CORRECTS: dict[type, tuple[str, ...]] = {
    Reading: ("air", "humidity", "surface", "panel", "wood", "at", "note"),
    Coat: ("start", "end", "sheet", "batch", "area", "note"),
    Done: ("at", "note"),
    Heat: ("at", "note"),  # another setpoint is another entry
    Wiped: ("at", "note"),  # another surface is another entry
    Inspection: ("at", "note"),
}


def corrected(old: Item, given: Mapping[str, str | None], aboard: Aboard) -> Item:
    """The row as it should have been: what was given, the rest as it stands.

    Raises
    ------
    click.UsageError
        Nothing was given, or something that such a row does not have.
    """
    changes = {name: text for name, text in given.items() if text is not None}
    fitting = _CORRECTS[type(old)]
    strange = [name for name in changes if name not in fitting]
    if strange or not changes:
        wrong = (
            f"a {type(old).__name__.lower()} has no {strange[0]}" if strange else "nothing given"
        )
        raise click.UsageError(f"{wrong}; give {', '.join(f'--{name}' for name in fitting)}")
    if isinstance(old, Reading):
        panel = changes.get("panel", old.panel)
        return replace(
            old,
            air_c=parse(changes["air"], TEMPERATURE) if "air" in changes else old.air_c,
            rh_pct=parse(changes["humidity"], PERCENT) if "humidity" in changes else old.rh_pct,
            surface_c=(
                parse(changes["surface"], TEMPERATURE) if "surface" in changes else old.surface_c
            ),
            panel=(
                known_panel(
                    aboard.boat,
                    old.space,
                    panel,
                    surface=old.surface_c is not None or "surface" in changes,
                )
                if "panel" in changes or "surface" in changes
                else old.panel
            ),
            wood_moisture_pct=(
                parse(changes["wood"], PERCENT) if "wood" in changes else old.wood_moisture_pct
            ),
            at=past(changes["at"], aboard) if "at" in changes else old.at,
            note=changes.get("note", old.note),
        )
    if isinstance(old, Coat):
        return replace(
            old,
            start=past(changes["start"], aboard) if "start" in changes else old.start,
            end=past(changes["end"], aboard) if "end" in changes else old.end,
            sheet=known_sheet(aboard, changes["sheet"]) if "sheet" in changes else old.sheet,
            batch=changes.get("batch", old.batch),
            area_m2=parse(changes["area"], AREA) if "area" in changes else old.area_m2,
            note=changes.get("note", old.note),
        )
    return replace(
        old,
        at=past(changes["at"], aboard) if "at" in changes else old.at,
        note=changes.get("note", old.note),
    )
