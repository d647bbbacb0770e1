"""The shelf's figures against what is printed of products of their kinds.

The careful side is: dry and recoatable later, out of the pot sooner, not as cold. A sheet may be
a tenth better than the best printed, for hours that are read between columns; it is no use
where it is many times as careful as the most careful.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from pathlib import Path

import pytest

from curewindow.rules.limits import AIR, SURFACE, TIN
from curewindow.sheets.hours import hours_at
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import get_sheet

DATA = Path(__file__).parent / "data"
BETTER, CAREFUL = 0.9, 8.0
_EPOXY = ("epoxyprimer-A", "epoxyprimer-C", "epoxybuild-E", "coaltarepoxy-G")
LIKE = {
    "two-part-epoxy-primer": _EPOXY,
    "two-part-epoxy-primer-winter": _EPOXY,
    "epoxy-mastic": _EPOXY,
    "zinc-rich-primer": ("zincepoxy-S",),
    "alkyd-enamel": ("alkyd-M",),
    "bilge-and-locker-paint": ("alkyd-M",),
    "one-part-urethane-varnish": ("urethaneenamel-O",),
    "two-part-polyurethane-topcoat": ("pu2k-K",),
    "two-part-urethane-varnish": ("pu2k-K",),
    "epoxy-adhesive": ("epoxyadhesive-J",),
}
"""Which printed products a sheet stands for."""
_NEAR_K = 2.0  # beyond the first and last printed temperature nothing is held against it


def printed() -> dict[tuple[str, str], list[tuple[float, float]]]:
    found: dict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
    with (DATA / "cure_rows.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            found[row["id"], row["milestone"]].append((float(row["temp_c"]), float(row["hours"])))
    return found


PRINTED = printed()
ROWS = ("touch dry", "hard dry", "handling", "full cure", "recoat from", "pot life")


def row_of(sheet: Sheet, milestone: str) -> tuple[list[float], list[float] | None]:
    """Our table's row; hard dry is hard through, when a thing may be handled."""
    if milestone == "pot life":
        working = sheet.working
        return (working.temps, working.pot_life) if working else ([], None)
    if milestone == "recoat from":
        own = next((rule for rule in sheet.recoat if rule.next == "self"), None)
        return (own.temps or sheet.cure.temps, own.from_) if own else ([], None)
    name = {"hard dry": "handling"}.get(milestone, milestone)
    return sheet.cure.temps, sheet.cure.hours(name)  # type: ignore[arg-type]


def at(table: list[tuple[float, float]], temp_c: float) -> float | None:
    temps, hours = (list(column) for column in zip(*table, strict=True))
    if not temps[0] - _NEAR_K <= temp_c <= temps[-1] + _NEAR_K:
        return None
    return hours_at(temps, hours, temp_c)


@pytest.mark.parametrize("milestone", ROWS)
@pytest.mark.parametrize("stem", LIKE)
def test_within_what_is_printed_or_on_its_careful_side(stem: str, milestone: str) -> None:
    sheet = get_sheet(stem).sheet
    temps, ours = row_of(sheet, milestone)
    tables = [PRINTED[each, milestone] for each in LIKE[stem] if (each, milestone) in PRINTED]
    for temp, hours in zip(temps, ours or [], strict=False):
        found = [known for table in tables if (known := at(table, temp)) is not None]
        if not found:
            continue
        if milestone == "pot life":
            assert min(found) / CAREFUL <= hours <= max(found) / BETTER, (temp, hours, found)
        else:
            assert BETTER * min(found) <= hours <= CAREFUL * max(found), (temp, hours, found)


def test_the_rows_are_used() -> None:
    """Every printed product stands for some sheet; every sheet named has rows against it."""
    assert {each for each, _ in PRINTED} == {each for ids in LIKE.values() for each in ids}
    for stem in LIKE:
        rows = [name for name in ROWS if row_of(get_sheet(stem).sheet, name)[1]]
        assert any((each, name) in PRINTED for each in LIKE[stem] for name in rows)


FLOORS = {
    # The film of a white glue chalks below 6 to 13 °C, a water-resistant one's below 13 °C
    # (public guides to wood glues: docslib document 5906316 and the like).
    "pva-wood-glue": 13.0,
    # Public data sheets of polychloroprene contact adhesives: 15 °C and up.
    "contact-adhesive-solvent": 15.0,
    # One-part polyurethane wood glues: 10 °C and up as printed, common practice.
    "polyurethane-wood-glue": 10.0,
    "polyurethane-sealant": 10.0,
    # Air 50 to 90 °F, and 50 °F for eight hours after: a public data sheet of an antifouling.
    "antifouling": 10.0,
    # Two-part polyurethane finishes put on by brush: 55 °F and up, from memory.
    "two-part-polyurethane-topcoat": 13.0,
}


@pytest.mark.parametrize("stem", FLOORS)
def test_not_put_on_colder_than_is_printed(stem: str) -> None:
    sheet = get_sheet(stem).sheet
    for kind in (AIR, SURFACE, TIN):
        asked = [ask for ask in kind.form.asks(sheet.applying, "applying") if ask.bound == "min"]
        assert asked, kind.name
        assert FLOORS[stem] <= asked[0].limit <= FLOORS[stem] + 5.0


@pytest.mark.parametrize(
    ("stem", "least_h", "most_h"),
    # Until a thin film is solid at 22 °C (72 °F): public data sheets of two hardeners.
    [("epoxy-resin-slow", 10.0, 15.0), ("epoxy-resin-fast", 6.0, 8.0)],
)
def test_a_hot_coat_goes_on_before_the_film_below_is_solid(stem, least_h, most_h) -> None:
    sheet = get_sheet(stem).sheet
    (own,) = [rule for rule in sheet.recoat if rule.next == "self"]
    assert own.until is not None
    until = hours_at(sheet.cure.temps, own.until, 22.0)
    begins = hours_at(sheet.cure.temps, own.from_, 22.0)
    assert BETTER * least_h <= until <= most_h
    assert begins < until / 2.0
