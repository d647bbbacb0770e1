"""The times a sheet gives, each as a law: which table, where the clock stops, which recoat."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, get_args

import numpy as np

from curewindow.errors import SheetError
from curewindow.physics.cure import (
    ACTIVATION_ENERGIES,
    Basis,
    RateTable,
    Side,
    exposure_for_depth_h,
)
from curewindow.rules.milestones import WHOLE_DEPTH
from curewindow.sheets.recoats import recoat_row
from curewindow.sheets.schema import Milestone, Recoat, Sheet

_SHORTEST_H: Final = 1.0 / 60.0  # 'from 0 h' (wet on wet) still needs a rate


@dataclass(frozen=True, slots=True, eq=False)
class Law:
    """One running count towards one time of the sheet.

    Attributes
    ----------
    name : str
        Such as 'touch dry', 'recoat[1] from', 'bead depth'.
    table : RateTable or None
        Times by film temperature; None for the depth of a bead.
    depth_h : float
        Hours in the sheet's own air to cure the whole bead; 0 for a table.
    """

    name: str
    table: RateTable | None
    depth_h: float = 0.0


@dataclass(frozen=True, slots=True)
class RecoatRule:
    """The table that holds for the next coat, with what has to be said about it.

    ``borrowed``: the sheet has no times for that coat, those for another of its own are taken.
    """

    recoat: Recoat
    number: int
    note: str = ""
    borrowed: bool = False


def basis_of(sheet: Sheet) -> Basis:
    """Which band the sheet's times have, from the words of its ``basis``."""
    text = sheet.basis.strip().lower()
    for basis in get_args(Basis):
        if basis != "typical of the kind" and text.startswith(basis):
            found: Basis = basis
            return found
    return "typical of the kind"


def stop_below(sheet: Sheet) -> float:
    """Temperature below which the clock stands still [°C]; ``-inf`` where nothing tells.

    What the sheet states outright, else its lowest limit while setting, else its
    lowest limit while applying. A film is as warm as its surface, so the surface's limit
    is the one that is meant for it; that of the air stands in where the sheet has no other.
    """
    if sheet.cure.stops_below is not None:
        return sheet.cure.stops_below
    for limits in (sheet.setting, sheet.applying):
        low = limits.surface.min if limits.surface.min is not None else limits.air.min
        if low is not None:
            return low
    return -np.inf


def law_stop(sheet: Sheet, side: Side) -> float:
    """The stop that holds on a side: 'quick' trusts only one the sheet states outright."""
    if side != "quick":
        return stop_below(sheet)
    return -np.inf if sheet.cure.stops_below is None else sheet.cure.stops_below


def milestone_laws(sheet: Sheet, milestone: Milestone) -> tuple[Law, ...]:
    """The counts that must all be full for a milestone.

    Raises
    ------
    SheetError
        The sheet has no such row.
    """
    hours = sheet.cure.hours(milestone)
    if hours is None:
        raise SheetError(
            f"has no row '{milestone}'; add {milestone.replace(' ', '_')} to [cure]",
            file=sheet.name,
            key="cure",
        )
    laws = [Law(milestone, _table(sheet, sheet.cure.temps, hours, f"cure.{milestone}"))]
    depth = sheet.depth_cure
    if depth is not None and milestone in WHOLE_DEPTH:
        target = exposure_for_depth_h(depth.bead * 1e3, depth.depth * 1e3, depth.time)
        laws.append(Law("bead depth", None, float(target)))
    return tuple(laws)


def recoat_law(sheet: Sheet, rule: RecoatRule, bound: Literal["from", "until"]) -> Law | None:
    """The count towards 'from' or 'until' of a recoat table; None where there is no limit."""
    hours = rule.recoat.from_ if bound == "from" else rule.recoat.until
    if hours is None:
        return None
    temps = sheet.cure.temps if rule.recoat.temps is None else rule.recoat.temps
    name = f"recoat[{rule.number}] {bound}"
    return Law(name, _table(sheet, temps, hours, name))


def _table(sheet: Sheet, temps: list[float], hours: list[float], key: str) -> RateTable:
    energy, stop = ACTIVATION_ENERGIES[sheet.chemistry].j_mol, stop_below(sheet)
    try:
        return _rate_table(tuple(temps), tuple(hours), energy, stop)
    except ValueError as bad:
        raise SheetError(str(bad), file=sheet.name, key=key) from None


@lru_cache(maxsize=512)
def _rate_table(
    temps: tuple[float, ...], hours: tuple[float, ...], energy_j_mol: float, stop_c: float
) -> RateTable:
    """The table of these rows; checked once, as it is asked for by every count."""
    longer = np.maximum(np.asarray(hours, np.float64), _SHORTEST_H)
    return RateTable(np.asarray(temps, np.float64), longer, energy_j_mol, stop_c)


def recoat_bounds(
    sheet: Sheet,
    next_sheet_stem: str | None = None,
    next_kind: str | None = None,
    own_stem: str | None = None,
) -> RecoatRule | None:
    """Pick the recoat table that holds for the next coat.

    Parameters
    ----------
    sheet : Sheet
        Of the coat that is on.
    next_sheet_stem : str, optional
        File name of the next coat's sheet; None for another coat of the same.
    next_kind : str, optional
        Its kind.
    own_stem : str, optional
        File name of the sheet itself, to know 'another coat of the same' by.

    Returns
    -------
    RecoatRule or None
        The table named for that sheet, else for that kind, else 'self' (for another
        coat of the same: 'self' before the kind). None where the sheet has no table.
        Where only 'self' is left for another product it is borrowed.
    """
    row = recoat_row(sheet, next_sheet_stem, next_kind, own_stem)
    if row is None:
        return None
    return RecoatRule(row.recoat, row.number, row.recoat.note, row.borrowed)
