"""What may go over what: pairs the trade warns of, and as many that simply go on.

Each pair stands with who says so; where nobody is named it is common practice, no source.
"""

from __future__ import annotations

import pytest

from curewindow.boat.schema import Job
from curewindow.boat.substrate import stands_before
from curewindow.rules.over import LowerFilm, Pair, before, family_of, film_of, pair_of
from curewindow.sheets.families import BINDERS, SUBSTRATES, FilmState, StandsOn
from curewindow.sheets.overtable import over_table
from curewindow.sheets.shelf import get_sheet, names

STEMS = [entry.name for entry in names()]
SHEETS = {stem: get_sheet(stem).sheet for stem in STEMS}

UFC = "UFC 3-190-06, 2.4, 4.2.4 and 4.4"
NCEL = "NCEL TN-1794: coating galvanised steel"
MANUAL = "manuals of boatbuilding epoxies"

# product, what is below a day old (a sheet) or stood there (words of a substrate)
NEVER = [
    ("two-part-polyurethane-topcoat", "alkyd-enamel", UFC),
    ("two-part-urethane-varnish", "one-part-urethane-varnish", UFC),
    ("two-part-epoxy-primer", "alkyd-enamel", UFC),
    ("two-part-epoxy-primer-winter", "bilge-and-locker-paint", UFC),
    ("epoxy-mastic", "alkyd-metal-primer", UFC),
    ("two-part-polyurethane-topcoat", "waterborne-acrylic-paint", UFC),
    ("two-part-epoxy-primer", "antifouling", ""),
    ("two-part-epoxy-primer", "old antifouling, sound", ""),
    ("epoxy-resin-slow", "old antifouling, flaking", ""),
    ("epoxy-adhesive", "wood-oil", MANUAL),
    ("polyurethane-wood-glue", "teak, oiled", ""),
    ("pva-wood-glue", "oil-varnish", ""),
    ("alkyd-enamel", "zinc-rich-primer", UFC),
    ("alkyd-metal-primer", "galvanised steel", NCEL),
    ("polyester-gelcoat", "epoxy-resin-slow", MANUAL),
    ("polyester-filler", "two-part-epoxy-primer", MANUAL),
    ("alkyd-enamel", "silicone-sealant", ""),
    ("two-part-urethane-varnish", "silicone-sealant", ""),
    ("zinc-rich-primer", "two-part-epoxy-primer", ""),
    ("zinc-rich-primer", "old alkyd, sound", ""),
    ("wood-oil", "oil-varnish", ""),
    ("antifouling", "bare steel", ""),
    ("antifouling", "alkyd-enamel", UFC),
    ("two-part-polyurethane-topcoat", "old bitumen", UFC),
]
PLAIN = [
    ("two-part-epoxy-primer", "bare steel", UFC),
    ("zinc-rich-primer", "bare steel", UFC),
    ("alkyd-metal-primer", "bare steel", ""),
    ("alkyd-wood-primer", "bare ash", ""),
    ("alkyd-enamel", "alkyd-enamel", UFC),
    ("alkyd-enamel", "alkyd-wood-primer", UFC),
    ("alkyd-enamel", "alkyd-metal-primer", UFC),
    ("one-part-urethane-varnish", "one-part-urethane-varnish", ""),
    ("oil-varnish", "mahogany", ""),
    ("waterborne-acrylic-varnish", "waterborne-acrylic-varnish", ""),
    ("waterborne-acrylic-varnish", "ash", ""),
    ("two-part-polyurethane-topcoat", "two-part-epoxy-primer", UFC),
    ("two-part-polyurethane-topcoat", "epoxy-mastic", UFC),
    ("bilge-and-locker-paint", "two-part-epoxy-primer-winter", ""),
    ("epoxy-mastic", "zinc-rich-primer", UFC),
    ("two-part-epoxy-primer", "zinc-rich-primer", UFC),
    ("antifouling", "two-part-epoxy-primer", ""),
    ("antifouling", "antifouling", ""),
    ("pva-wood-glue", "oak", ""),
    ("epoxy-adhesive", "bare larch", ""),
    ("wood-oil", "wood-oil", ""),
    ("wood-oil", "teak", ""),
    ("polyester-gelcoat", "polyester-resin", ""),
    ("contact-adhesive-solvent", "plywood", ""),
]
# with what is done first
FIRST = [
    ("alkyd-enamel", "bare steel", ["prime"]),
    ("alkyd-enamel", "bare wood", ["prime"]),
    ("alkyd-enamel", "old alkyd, sound", ["wash", "sand"]),
    ("alkyd-enamel", "old alkyd, flaking", ["scrape", "wash", "sand"]),
    ("oil-varnish", "teak", ["degrease"]),
    ("two-part-epoxy-primer", "old epoxy, sound", ["wash", "sand"]),
    ("one-part-urethane-varnish", "epoxy-resin-slow", ["wash", "sand"]),
    ("two-part-epoxy-primer", "aluminium", ["degrease", "sand"]),
    ("two-part-epoxy-primer", "galvanised steel", ["degrease"]),
    ("antifouling", "old antifouling", ["wash", "sand"]),
    ("antifouling", "epoxy-mastic", ["wash", "sand", "tie coat"]),
    ("alkyd-enamel", "old two-part polyurethane, sound", ["wash", "sand"]),
    ("waterborne-acrylic-paint", "old alkyd, sound", ["wash", "sand"]),
    ("two-part-polyurethane-topcoat", "old alkyd, sound", ["wash", "sand", "test patch"]),
    ("polyester-gelcoat", "old epoxy", ["wash", "sand", "test patch"]),
    ("waterborne-acrylic-paint", "epoxy-resin-slow", ["wash", "test patch"]),
]
# nobody speaks of it
UNKNOWN = [
    ("alkyd-enamel", "old paint"),
    ("two-part-epoxy-primer", "primed steel"),
    ("alkyd-enamel", "some odd stuff"),
    ("oil-varnish", "mahogany, varnished"),
    ("alkyd-enamel", "contact-adhesive-solvent"),
    ("polyester-resin", "hardwood, preserved"),
]


def below(what: str, state: FilmState = "fresh") -> LowerFilm:
    if what in SHEETS:
        return film_of(what, SHEETS[what], state)
    job = Job.model_validate({"name": "a", "substrate": what, "step": [{"do": "fit"}]})
    return before(stands_before(job))


def pair(stem: str, what: str, state: FilmState = "fresh") -> Pair:
    return pair_of(stem, SHEETS[stem], below(what, state))


@pytest.mark.parametrize(("stem", "what", "source"), NEVER)
def test_what_lifts_or_never_holds_is_refused_with_its_reason(
    stem: str, what: str, source: str
) -> None:
    found = pair(stem, what)
    assert not found.allowed
    assert found.why
    if source in (UFC, NCEL):
        assert found.basis == "own sheet" or found.sources


@pytest.mark.parametrize(("stem", "what", "source"), PLAIN)
def test_what_the_trade_puts_on_goes_on_as_it_is(stem: str, what: str, source: str) -> None:
    assert pair(stem, what).plain


@pytest.mark.parametrize(("stem", "what", "acts"), FIRST)
def test_what_is_done_first_is_named_in_its_order(stem: str, what: str, acts: list[str]) -> None:
    found = pair(stem, what)
    assert found.allowed
    assert list(found.acts) == acts


@pytest.mark.parametrize(("stem", "what"), UNKNOWN)
def test_what_nobody_speaks_of_takes_a_test_patch(stem: str, what: str) -> None:
    found = pair(stem, what)
    assert found.allowed
    assert not found.known
    assert "test patch" in found.acts


@pytest.mark.parametrize("stem", STEMS)
def test_of_every_pair_there_is_an_answer_and_unknown_is_never_plain(stem: str) -> None:
    for other in STEMS:
        for state in ("fresh", "cured"):
            found = pair(stem, other, state)  # type: ignore[arg-type]
            assert found.allowed or found.why
            assert not (found.plain and not found.known)


@pytest.mark.parametrize("stem", STEMS)
def test_every_sheet_of_the_shelf_names_its_family_and_what_it_stands_on(stem: str) -> None:
    sheet = SHEETS[stem]
    assert sheet.binder in BINDERS
    assert sheet.stands_on
    assert any(row.what in SUBSTRATES for row in sheet.stands_on)


def test_a_further_coat_of_the_same_within_its_interval_is_never_a_question() -> None:
    coats = [stem for stem, sheet in SHEETS.items() if any(r.next == "self" for r in sheet.recoat)]
    odd = {"polyester-gelcoat", "epoxy-resin-slow", "epoxy-resin-fast"}  # sand, wash
    for stem in coats:
        found = pair(stem, stem)
        assert found.allowed
        assert found.known
        assert found.plain or stem in odd, stem


def test_every_row_of_the_table_has_its_source_or_is_marked_as_practice() -> None:
    table = over_table()
    used = {name for row in table.row for name in row.source}
    assert used == set(table.sources)
    for row in table.row:
        assert ("never" in row.how or row.how == ["as is"]) == (
            len(row.how) == 1 and row.how[0] in ("never", "as is")
        )
        assert row.why or "never" not in row.how


def test_a_product_put_in_the_owners_own_sheet_wins_over_the_table() -> None:
    own = SHEETS["two-part-epoxy-primer"].model_copy(
        update={"stands_on": [StandsOn(what="alkyd", how=["sand"], source="data sheet")]}
    )
    found = pair_of("two-part-epoxy-primer", own, below("alkyd-enamel"))
    assert found.allowed
    assert found.acts == ("sand",)
    assert found.basis == "own sheet"


def test_a_sheet_that_names_no_family_goes_by_its_chemistry() -> None:
    bare = SHEETS["alkyd-enamel"].model_copy(update={"binder": None, "stands_on": []})
    assert family_of(bare) == "alkyd"
    assert not pair_of("mine", bare, below("zinc-rich-primer")).allowed


@pytest.mark.parametrize(
    ("words", "film", "bare", "unknown"),
    [
        ("bare steel", "", "bare steel", False),
        ("steel", "", "bare steel", False),
        ("galvanised steel", "", "galvanised steel", False),
        ("ash", "", "bare wood", False),
        ("bare teak", "", "oily wood", False),
        ("elm, oiled", "oil", "", False),
        ("old alkyd, sound", "alkyd", "", False),
        ("Old Epoxy", "epoxy", "", False),
        ("old two-part polyurethane, sound", "two-part polyurethane", "", False),
        ("painted steel", "", "", True),
        ("mahogany, varnished", "", "", True),
        ("old, unknown", "", "", True),
        ("whatever it is", "", "", True),
        ("ash and what was on it", "", "", True),
    ],
)
def test_the_words_of_a_substrate(words: str, film: str, bare: str, unknown: bool) -> None:
    job = Job.model_validate({"name": "a", "substrate": words, "step": [{"do": "fit"}]})
    stands = stands_before(job)
    assert (stands.film, stands.bare, stands.unknown) == (film, bare, unknown)
