"""What solvent a product gives off: by its sheet, else what is usual of its chemistry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curewindow.physics.vapour import SOLVENTS, SolventVapour
from curewindow.sheets.schema import Chemistry, Sheet

USUAL_G_L: Final[dict[Chemistry, float]] = {
    "oxidation": 500.0,
    "epoxy amine": 500.0,
    "two-part urethane": 500.0,
    "moisture curing": 500.0,
    "solvent release": 700.0,
    "peroxide": 240.0,
    "waterborne": 140.0,
}
"""Solvent given off where a flammable product's sheet has no figure [g/L], by chemistry.

The most that EU directive 2004/42/EC, annex II, phase II, lets be sold: performance coatings of
one part and two 500, waterborne ones 140 (from memory). Contact adhesive and antifouling: the
upper end of data sheets, common practice, no source. Peroxide: what a polyester gelcoat of 40 %
styrene loses sprayed (EPA's unified emission factors, from memory).
"""
OIL_G_L: Final = 700.0
"""Of an oil: minimal build woodstains in the same annex (from memory)."""

_MOST_AIR: Final = "white spirit"
"""Of the solvents known, a litre of it asks for the most air."""


@dataclass(frozen=True, slots=True)
class SolventAir:
    """The solvent of a product, with what of it its sheet does not say.

    Attributes
    ----------
    content_g_l : float
        Solvent in a litre of the product.
    vapour_m3_per_l : float
        Vapour of a litre of the solvent.
    lel_pct : float
        Lower explosive limit.
    taken : bool
        Content, solvent or vapour is a usual figure, not the sheet's.
    """

    content_g_l: float
    vapour_m3_per_l: float
    lel_pct: float
    taken: bool


def given_off(sheet: Sheet) -> SolventAir:
    """The solvent of a flammable product, its gaps filled on the side of more air."""
    content, vapour = sheet.amounts.solvent, None
    most = SOLVENTS[_MOST_AIR]
    lel = most.lel_pct
    if sheet.solvent is not None:
        lel = sheet.solvent.lower_explosive_limit
        vapour = sheet.solvent.vapour_per_litre
        if vapour is None and (known := solvent_known(sheet.solvent.name)) is not None:
            vapour = known.vapour_m3_per_l
    taken = not content or vapour is None
    if vapour is None:
        # as much for its limit as the one that asks for the most air
        vapour = most.vapour_m3_per_l * lel / most.lel_pct
    return SolventAir(content or usual_g_l(sheet), vapour, lel, taken)


def usual_g_l(sheet: Sheet) -> float:
    """Solvent content taken where a sheet has none [g/L]."""
    return OIL_G_L if sheet.kind == "oil" else USUAL_G_L[sheet.chemistry]


def solvent_known(name: str) -> SolventVapour | None:
    """A solvent by its name, whatever stands in brackets behind it; None: of another name."""
    return SOLVENTS.get(name.split("(")[0].strip().lower())
