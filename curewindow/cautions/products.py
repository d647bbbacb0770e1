"""Dangers that a product's hazards bring, wherever it is used."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from curewindow.findings import Finding, finding
from curewindow.sheets.schema import Hazard, Sheet

_BY_ITSELF: Final[tuple[Hazard, ...]] = (
    "isocyanate",
    "styrene",
    "epoxy sensitiser",
    "peroxide",
    "heat in the pot",
    "self-heating rags",
    "methanol or oxime vapour",
    "biocide",
    "skin irritant",
)
"""Hazards that are a danger wherever the product is used; gravest first."""


def product_cautions(sheet: Sheet, outdoors: bool) -> Iterator[Finding]:
    """Dangers from the hazards on one sheet.

    Parameters
    ----------
    sheet : Sheet
        The product.
    outdoors : bool
        Is it used outdoors?

    Yields
    ------
    Finding
    """
    for hazard in _BY_ITSELF:
        if hazard in sheet.hazards:
            out = outdoors if hazard == "styrene" else None
            yield finding(hazard, product=sheet.name, outdoors=out or None)


def sanding_cautions(old_film: bool) -> Iterator[Finding]:
    """Dangers of sanding.

    Parameters
    ----------
    old_film : bool
        Is what is sanded possibly an old, unknown film (preparing), not today's own?

    Yields
    ------
    Finding
    """
    yield finding("sanding dust")
    if old_film:
        yield finding("old paint")
