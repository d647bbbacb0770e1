"""What may go over what: one answer for a product and what is below it.

The sheet of what is put on speaks first, then that of the film below by its recoat table, then the
shelf's table of families (:mod:`curewindow.sheets.overtable`). What none of them speaks of is
unknown, and unknown is never plainly allowed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

from curewindow.boat.substrate import Stands
from curewindow.sheets.families import Binder, FilmState, How, Substrate, Why
from curewindow.sheets.overtable import OverRow, over_table
from curewindow.sheets.recoats import recoat_row
from curewindow.sheets.schema import Chemistry, Sheet

Act = Literal["scrape", "wash", "degrease", "sand", "prime", "tie coat", "test patch"]
"""What is done to what is below before the product goes on, in this order."""
ACTS: Final[tuple[Act, ...]] = get_args(Act)
Basis = Literal["own sheet", "sheet below", "table", "nothing"]

# Where a sheet names no binder. Common practice, no source.
_USUAL: Final[dict[Chemistry, Binder | None]] = {
    "oxidation": "alkyd",
    "epoxy amine": "epoxy",
    "two-part urethane": "two-part polyurethane",
    "moisture curing": None,
    "waterborne": "acrylic",
    "peroxide": "polyester",
    "solvent release": None,
}


@dataclass(frozen=True, slots=True)
class LowerFilm:
    """What a product is to go on.

    Attributes
    ----------
    film : str or None
        Family of the film on top; None where there is none or nobody knows which.
    bare : str or None
        What lies bare.
    state : str
        Of a film: fresh until it has cured fully.
    stem : str
        File name of its sheet; '' where it stood there before.
    sheet : Sheet or None
        That sheet.
    flaking : bool
        It does not hold itself.
    told : bool
        Anything is known of it at all.
    """

    film: Binder | None = None
    bare: Substrate | None = None
    state: FilmState = "cured"
    stem: str = ""
    sheet: Sheet | None = None
    flaking: bool = False
    told: bool = True


@dataclass(frozen=True, slots=True)
class Pair:
    """The answer for a pair.

    Attributes
    ----------
    allowed : bool
        False: never.
    acts : tuple of str
        What is done first, in order.
    known : bool
        A sheet or the table speaks of it; else it takes a test patch, or the maker's word.
    why : str or None
    basis : str
        Who speaks.
    sources : tuple of str
    """

    allowed: bool = True
    acts: tuple[Act, ...] = ()
    known: bool = True
    why: Why | None = None
    basis: Basis = "nothing"
    sources: tuple[str, ...] = ()

    @property
    def plain(self) -> bool:
        """It goes on as it is."""
        return self.allowed and self.known and not self.acts


def family_of(sheet: Sheet) -> Binder | None:
    """Family of a product's film: what its sheet names, else what is usual of its chemistry."""
    if sheet.binder is not None:
        return sheet.binder
    if sheet.kind == "oil":
        return "oil"
    if sheet.kind == "antifouling":
        return "eroding antifouling"
    if sheet.chemistry == "waterborne" and sheet.kind == "adhesive":
        return "PVA"
    return _USUAL[sheet.chemistry]


def film_of(stem: str, sheet: Sheet, state: FilmState) -> LowerFilm:
    """A film that was put on."""
    return LowerFilm(film=family_of(sheet), state=state, stem=stem, sheet=sheet)


def before(stands: Stands) -> LowerFilm:
    """What stood there before a job began."""
    return LowerFilm(
        film=stands.film or None,
        bare=stands.bare or None,
        flaking=stands.condition == "flaking",
        told=stands.told,
    )


def pair_of(stem: str, sheet: Sheet, below: LowerFilm) -> Pair:
    """May this product go on what is below it, and what is done first?

    Parameters
    ----------
    stem : str
        File name of the product's sheet.
    sheet : Sheet
        What is put on.
    below : LowerFilm

    Returns
    -------
    Pair
    """
    if below.film is None and below.bare is None and below.sheet is None:
        acts: tuple[Act, ...] = ("test patch",) if below.told else ()
        return _scraped(Pair(known=False, acts=acts), below)
    own = next(_own(stem, sheet, below), None)
    if own is not None:
        return _scraped(own, below)
    table = _by_table(sheet, below)
    if table is not None and not table.allowed and not _named(stem, below):
        return _scraped(table, below)
    if (under := _by_sheet_below(stem, sheet, below)) is not None:
        return _scraped(under, below)
    if table is not None:
        return _scraped(table, below)
    same = below.stem == stem and below.state == "fresh"
    return _scraped(Pair() if same else Pair(known=False, acts=("test patch",)), below)


def _scraped(pair: Pair, below: LowerFilm) -> Pair:
    """Nothing lasts on what does not hold itself: that comes off first."""
    if not below.flaking or not pair.allowed:
        return pair
    return replace(pair, acts=_in_order(("scrape", *pair.acts)))


def _own(stem: str, sheet: Sheet, below: LowerFilm) -> Iterator[Pair]:
    """What the sheet of the product itself says: of another product by name before its family."""
    family = family_of(sheet)
    names = [below.stem, "itself", below.bare or below.film or ""]
    for name in names:
        for row in sheet.stands_on:
            if row.what != name or (row.state is not None and row.state != below.state):
                continue
            if name == "itself" and not _itself(stem, family, below):
                continue
            yield _answer(row.how, row.why, "own sheet", (row.source,) if row.source else ())


def _itself(stem: str, family: Binder | None, below: LowerFilm) -> bool:
    """The same product, or an older film of its family that stood there before."""
    return below.stem == stem or (not below.stem and family is not None and below.film == family)


def _named(stem: str, below: LowerFilm) -> bool:
    return below.sheet is not None and any(each.next == stem for each in below.sheet.recoat)


def _by_sheet_below(stem: str, sheet: Sheet, below: LowerFilm) -> Pair | None:
    """What the film below says by its recoat table, of this product or of its kind."""
    if below.sheet is None or below.state != "fresh":
        return None
    row = recoat_row(below.sheet, stem, sheet.kind, below.stem)
    if row is None or row.borrowed:
        return None
    return _answer(row.recoat.first or ["as is"], None, "sheet below", ())


def _by_table(sheet: Sheet, below: LowerFilm) -> Pair | None:
    family = family_of(sheet)
    if family is None:
        return None
    for row in over_table().row:
        if _fits(row, family, sheet, below):
            sources = tuple(over_table().sources[name] for name in row.source)
            return _answer(row.how, row.why, "table", sources)
    return None


def _fits(row: OverRow, family: Binder, sheet: Sheet, below: LowerFilm) -> bool:
    what = below.bare or below.film
    return (
        family in row.over
        and what in row.on
        and (not row.kinds or sheet.kind in row.kinds)
        and (row.state is None or below.bare is not None or row.state == below.state)
    )


def _answer(how: list[How], why: Why | None, basis: Basis, sources: tuple[str, ...]) -> Pair:
    if "never" in how:
        return Pair(allowed=False, why=why, basis=basis, sources=sources)
    return Pair(acts=_in_order(how), why=why, basis=basis, sources=sources)


def _in_order(acts: Sequence[str]) -> tuple[Act, ...]:
    return tuple(act for act in ACTS if act in acts)
