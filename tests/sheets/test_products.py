"""The shelf's own sheets against what is published about their kinds."""

from __future__ import annotations

import json
import re
import tomllib
from itertools import pairwise

import pytest

from curewindow.boat.jsonschema import FILE_NAMES, schema_for
from curewindow.cli.sheetpage import sheet_page
from curewindow.sheets.schema import Amounts, Sheet
from curewindow.sheets.shelf import SCHEMA_FILE, find_products_dir, get_sheet, names

STEMS = [entry.name for entry in names()]
SHEETS: dict[str, Sheet] = {stem: get_sheet(stem).sheet for stem in STEMS}

# US 29 CFR 1910.94, table G-11, from memory and checked against molar mass and
# density: cubic feet of vapour a gallon, lower explosive limit in %.
G11 = {
    "n-butyl acetate": (24.8, 1.7),
    "ethyl acetate": (32.8, 2.5),
    "VM&P naphtha": (22.4, 0.9),
    "white spirit (Stoddard solvent)": (23.2, 1.0),
    "xylene": (26.4, 1.0),
}
CUBIC_FOOT_M3, GALLON_L = 0.028316846592, 3.785411784  # NIST SP 811, exact


def test_there_is_a_sheet_for_every_chemistry_and_kind() -> None:
    assert len(STEMS) >= 22
    assert {sheet.chemistry for sheet in SHEETS.values()} == {
        "oxidation",
        "epoxy amine",
        "two-part urethane",
        "moisture curing",
        "waterborne",
        "peroxide",
        "solvent release",
    }
    assert len({sheet.kind for sheet in SHEETS.values()}) == 10


@pytest.mark.parametrize("stem", STEMS)
def test_sheet_is_in_order_and_says_what_it_is(stem: str) -> None:
    loaded = get_sheet(stem)
    assert loaded.warnings == ()
    assert loaded.sheet.typical
    assert loaded.sheet.sources
    assert re.fullmatch(r"[a-z-]+", stem)
    text = loaded.path.read_text(encoding="utf-8")
    assert text.startswith("#:schema ./sheet.schema.json\n")


@pytest.mark.parametrize("stem", STEMS)
def test_where_its_figures_are_from_is_said_once(stem: str) -> None:
    """In the basis, and once for all groups of figures without a source of their own."""
    loaded = get_sheet(stem)
    assert loaded.sheet.basis.endswith(", from memory")
    shown = sheet_page(loaded, fahrenheit=False, width=9999, colour=False)
    for text in (loaded.path.read_text(encoding="utf-8"), shown):
        assert len(re.findall("from memory", text, re.IGNORECASE)) == 2


GROUPS = ("working", "cure", "recoat", "amounts", "storage")


@pytest.mark.parametrize("stem", STEMS)
def test_each_group_of_figures_says_where_it_is_from(stem: str) -> None:
    """A line of `sources` begins with the groups it is about: 'limits and storage: ...'."""
    sheet = SHEETS[stem]
    present = {"limits"}
    present |= {name for name in GROUPS if getattr(sheet, name) not in (None, [], Amounts())}
    said = {
        word
        for line in sheet.sources
        for word in re.findall("[a-z]+", line.split(":")[0].lower())
        if ":" in line
    }
    assert present <= said, sorted(present - said)


def test_published_schema_is_the_one_made_from_the_models() -> None:
    committed = (find_products_dir() / SCHEMA_FILE).read_text(encoding="utf-8")
    assert json.loads(committed) == schema_for("sheet"), (
        "run: curewindow schema sheet > products/sheet.schema.json"
    )


@pytest.mark.parametrize("file", FILE_NAMES)
def test_schemas_are_sound_draft_7(file: str) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    schema = schema_for(file)
    jsonschema.Draft7Validator.check_schema(schema)
    assert schema["$schema"] == "http://json-schema.org/draft-07/schema#"
    assert "$id" not in schema
    assert "$defs" not in json.dumps(schema)


@pytest.mark.parametrize("stem", STEMS)
def test_sheets_satisfy_the_published_schema(stem: str) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    path = find_products_dir() / f"{stem}.toml"
    validator = jsonschema.Draft7Validator(schema_for("sheet"))
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    assert not list(validator.iter_errors(data))
    data["cure"]["tuoch_dry"] = ["4 h"]
    data["applying"]["air"] = {"min": 8}
    assert len(list(validator.iter_errors(data))) == 2


def test_coatings_stay_3_k_above_the_dew_point() -> None:
    # ISO 8502-4 guidance; UFC 3-190-06: 5 °F
    for sheet in SHEETS.values():
        if sheet.kind in ("primer", "paint", "varnish", "gelcoat", "antifouling", "oil"):
            assert sheet.applying.above_dew_point is not None
            assert sheet.applying.above_dew_point >= 5.0 / 1.8


def test_epoxy_primer_against_the_published_system() -> None:
    # SSPC-PS 13.01: epoxy polyamide cures down to 50 °F (10 °C), fully in seven days
    sheet = SHEETS["two-part-epoxy-primer"]
    assert sheet.applying.surface.min == pytest.approx(10.0)
    assert sheet.cure.full_cure is not None
    assert sheet.cure.full_cure[sheet.cure.temps.index(20.0)] == pytest.approx(7 * 24.0)


@pytest.mark.parametrize(
    "stem", [stem for stem in STEMS if SHEETS[stem].chemistry == "epoxy amine"]
)
def test_pot_life_halves_for_every_10_k(stem: str) -> None:
    # UFGS coating specifications: about halved for each 10 °C; sheets vary by a third
    working = SHEETS[stem].working
    assert working is not None
    assert working.pot_life is not None
    for (cold, long), (warm, short) in pairwise(zip(working.temps, working.pot_life, strict=True)):
        factor = (long / short) ** (10.0 / (warm - cold))
        assert 1.3 <= factor <= 2.7


@pytest.mark.parametrize("stem", [stem for stem in STEMS if SHEETS[stem].solvent is not None])
def test_solvent_figures_are_on_the_safe_side_of_the_published_table(stem: str) -> None:
    solvent = SHEETS[stem].solvent
    assert solvent is not None
    if solvent.name == "styrene":
        # ideal gas at 20 °C from molar mass 104.15 g/mol, density 0.906 kg/L (CRC Handbook)
        litres_a_mole = 8.314462618 * 293.15 / 101325.0 * 1000.0
        vapour, limit = 906.0 / 104.15 * litres_a_mole / 1000.0, 1.1
    else:
        feet, limit = G11[solvent.name]
        vapour = feet * CUBIC_FOOT_M3 / GALLON_L
    assert solvent.vapour_per_litre == pytest.approx(vapour, rel=0.005)
    assert solvent.lower_explosive_limit <= limit


@pytest.mark.parametrize("stem", [stem for stem in STEMS if SHEETS[stem].depth_cure is not None])
def test_a_bead_is_not_cured_before_its_core_is(stem: str) -> None:
    # depth grows with the square root of time: common practice, no source
    sheet, depth = SHEETS[stem], SHEETS[stem].depth_cure
    assert depth is not None
    through = depth.time * (depth.bead / depth.depth) ** 2
    at = sheet.cure.temps.index(depth.temp)
    assert sheet.cure.full_cure is not None
    assert sheet.cure.full_cure[at] >= through


def test_wood_glues_want_dry_wood() -> None:
    # Wood Handbook (FPL-GTR-282), chapter 10: for most adhesives wood well below 20 % moisture
    for stem in ("pva-wood-glue", "epoxy-adhesive", "polyurethane-wood-glue"):
        top = SHEETS[stem].applying.wood_moisture.max
        assert top is not None
        assert top < 20.0
