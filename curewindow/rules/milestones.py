"""How far a coat must have come before something may be done to it or near it.

Of each list the first milestone counts that the sheet has times for.
"""

from __future__ import annotations

from typing import Final

from curewindow.sheets.schema import Milestone

Milestones = tuple[Milestone, ...]

TOUCH_DRY: Final[Milestones] = ("touch dry", "tack free", "handling", "full cure")
"""Light work near it may begin."""
SKINNED: Final[Milestones] = ("touch dry", "tack free")
"""Most of its solvent has left; the rest follows, see :mod:`curewindow.rules.vapour`."""
DUST_DRY: Final[Milestones] = ("tack free", "touch dry", "handling", "full cure")
"""Dust that falls on it does not stay."""
SANDABLE: Final[Milestones] = ("sandable", "handling", "light use", "full cure")
HARD: Final[Milestones] = ("handling", "light use", "full cure")
"""Something may be fitted over it, by hand and with care."""
COVERED: Final[Milestones] = ("closed up", "full cure")
"""A lining, insulation or a shut locker may take its air away."""
WHOLE_DEPTH: Final[Milestones] = ("closed up", "full cure")
"""Of a bead that cures inwards: not reached by the table alone, but when it is through."""
