"""Which recoat table of a sheet holds for the coat that comes next: one choice for all who ask."""

from __future__ import annotations

from typing import NamedTuple

from curewindow.sheets.schema import Recoat, Sheet


class RecoatRow(NamedTuple):
    """A table that was chosen; ``borrowed``: it is for another coat of the same, not for that."""

    number: int
    recoat: Recoat
    borrowed: bool


def recoat_row(
    sheet: Sheet, next_stem: str | None, next_kind: str | None, own_stem: str | None
) -> RecoatRow | None:
    """The table named for the next sheet, else for its kind, else 'self'.

    Parameters
    ----------
    sheet : Sheet
        Of the coat that is on.
    next_stem : str or None
        File name of the next coat's sheet; None for another coat of the same.
    next_kind : str or None
        Its kind.
    own_stem : str or None
        File name of the sheet itself, to know 'another coat of the same' by.

    Returns
    -------
    RecoatRow or None
        For another coat of the same 'self' comes before the kind; for another product it is
        borrowed where nothing else is left. None where the sheet has no table.
    """
    by_next = {entry.next: (number, entry) for number, entry in enumerate(sheet.recoat, start=1)}
    same = next_stem is None or next_stem in ("self", own_stem)
    order = [next_stem, "self", next_kind] if same else [next_stem, next_kind, "self"]
    for name in order:
        if name is not None and name in by_next:
            number, entry = by_next[name]
            return RecoatRow(number, entry, name == "self" and not same)
    return None
