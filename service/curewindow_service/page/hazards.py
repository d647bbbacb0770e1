"""The cautions a sheet's hazards bring, inside and outdoors, each once."""

from __future__ import annotations

from curewindow.cautions import Caution
from curewindow.cautions.products import product_cautions
from curewindow.sheets.schema import Sheet


def hazards_of(sheet: Sheet) -> list[Caution]:
    """What to take care of with a product, whatever it is used for; work inside first."""
    found: dict[str, Caution] = {}
    for outdoors in (False, True):
        for caution in product_cautions(sheet, outdoors):
            found.setdefault(caution.topic, caution)
    return list(found.values())
