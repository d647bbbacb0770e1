"""The way a coat's heat was chosen: what is kept of a search, without the search."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curewindow.boat.schema import Ventilation
from curewindow.heating.models import HeatPlan

LOOK_H: Final = 72.0
"""A plan begins its coat within this long from the earliest moment it may."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The way chosen, in grid points of the room.

    ``dry``: end of the airing, -1 without. ``energy_kwh``: heat beyond the routine's.
    """

    setpoint_c: float
    light: int
    start: int
    end: int
    dry: int
    ventilation: Ventilation
    power_w: float
    energy_kwh: float


@dataclass(frozen=True, slots=True)
class Planned:
    """The heat for a coat: one answer for every face, and what it takes to look closer at it.

    Attributes
    ----------
    plan : HeatPlan
        Without what-ifs and other ways.
    choice : Choice or None
        The way chosen; None where there is none.
    member : int
        Of the weather, in which it was made or none was found.
    """

    plan: HeatPlan
    choice: Choice | None = None
    member: int = 0
