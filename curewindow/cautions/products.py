"""Dangers that a product's hazards bring, wherever it is used."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from curewindow.boat.schema import Step
from curewindow.findings import KINDS, Finding, finding
from curewindow.rules.application import application_of
from curewindow.sheets.schema import Hazard, Sheet

FLAMMABLE: Final[tuple[Hazard, ...]] = ("flammable solvent", "styrene")
"""What gives off vapour that a flame or spark lights."""


def product_cautions(sheet: Sheet, outdoors: bool, step: Step | None = None) -> Iterator[Finding]:
    """Dangers from the hazards on one sheet.

    Parameters
    ----------
    sheet : Sheet
        The product.
    outdoors : bool
        Is it used outdoors?
    step : Step, optional
        What it is put on with; else as is usual for it.

    Yields
    ------
    Finding
        One that refuses where isocyanate is to be sprayed without air-fed breathing apparatus.
    """
    application = application_of(step, sheet)
    sprayed = application == "spray"
    if sprayed:
        yield finding("spray mist", product=sheet.name, outdoors=outdoors or None)
    for kind in KINDS.values():  # a hazard that is a danger by itself is one by its own name
        if kind.name in sheet.hazards and kind.needs == ("product",):
            upwind = outdoors and "outdoors" in kind.may
            air_fed = step is not None and step.air_fed
            known = kind.name == "isocyanate"
            yield finding(
                kind.name,
                product=sheet.name,
                outdoors=upwind or None,
                state=application if known and application != "brush" else None,
                refuses=True if known and sprayed and not air_fed else None,
            )


def sheet_cautions(sheet: Sheet) -> Iterator[Finding]:
    """All dangers from the hazards on one sheet, wherever and for whatever it is used."""
    if any(hazard in sheet.hazards for hazard in FLAMMABLE):
        yield finding("flammable vapour", products=(sheet.name,))
    yield from product_cautions(sheet, outdoors=False)
    if "sanding dust" in sheet.hazards:
        yield finding("sanding dust")


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
