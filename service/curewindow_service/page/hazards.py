"""The cautions a sheet's hazards bring, inside and outdoors, each once."""

from __future__ import annotations

from curewindow.cautions.products import product_cautions
from curewindow.findings import Finding
from curewindow.sheets.schema import Sheet


def hazards_of(sheet: Sheet) -> list[Finding]:
    """What to take care of with a product, whatever it is used for; work inside first."""
    found: dict[str, Finding] = {}
    for outdoors in (False, True):
        for caution in product_cautions(sheet, outdoors):
            found.setdefault(caution.kind, caution)
    return list(found.values())
