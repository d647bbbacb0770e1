"""The dangers a sheet's hazards bring, inside and outdoors, each kind once."""

from __future__ import annotations

from curewindow.cautions.products import sheet_cautions
from curewindow.findings import Finding
from curewindow.sheets.schema import Sheet


def hazards_of(sheet: Sheet) -> list[Finding]:
    """What to take care of with a product, whatever it is used for; work inside first."""
    found: dict[str, Finding] = {}
    for danger in sheet_cautions(sheet):
        found.setdefault(danger.kind, danger)
    return list(found.values())
