"""How a product is put on, by how much of it gets into the air: a bead, a brush, a spray.

Common practice of the trade and of safety data sheets, no single source.
"""

from __future__ import annotations

from typing import Literal

from curewindow.boat.schema import Step
from curewindow.sheets.schema import Sheet

Application = Literal["bead", "brush", "spray"]


def application_of(step: Step | None, sheet: Sheet) -> Application:
    """A bead from a cartridge, a film by brush, roller or pad, or a spray.

    What nobody says is usual for the product: a sealant comes from a cartridge, all else by
    brush or roller.
    """
    by = None if step is None else step.by
    if by is None:
        return "bead" if sheet.kind == "sealant" else "brush"
    if by == "cartridge":
        return "bead"
    return "spray" if by == "spray" else "brush"
