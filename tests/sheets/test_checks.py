"""Sheets that contradict themselves or were copied out incompletely are told, line by line."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from curewindow.sheets.checks import CheckResult, check
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import find_products_dir

Data = dict[str, Any]
Change = Callable[[Data], Any]


def _data(stem: str) -> Data:
    return tomllib.loads((find_products_dir() / f"{stem}.toml").read_text(encoding="utf-8"))


def _check(stem: str, change: Change, known: set[str] | None = None) -> list[CheckResult]:
    data = copy.deepcopy(_data(stem))
    change(data)
    return check(Sheet.model_validate(data), known)


def _put(*path: Any) -> Change:
    """Put the last item at the place the others lead to."""

    def change(data: Data) -> None:
        *way, last, value = path
        for key in way:
            data = data[key]
        data[last] = value

    return change


def _drop(*path: Any) -> Change:
    def change(data: Data) -> None:
        *way, last = path
        for key in way:
            data = data[key]
        data.pop(last) if isinstance(data, dict) else data.remove(last)

    return change


def _all(*changes: Change) -> Change:
    def change(data: Data) -> None:
        for one in changes:
            one(data)

    return change


ENAMEL, EPOXY, PU = "alkyd-enamel", "two-part-epoxy-primer", "polyurethane-sealant"
ACRYLIC, OIL, GEL = "waterborne-acrylic-paint", "wood-oil", "polyester-gelcoat"
NO_HUMID_MAX = _all(
    _drop("applying", "humidity"),
    _drop("setting", "humidity"),
    _drop("cure", "stops_above_humidity"),
)
NO_TEMP_MIN = _all(_drop("applying", "air", "min"), _drop("applying", "surface", "min"))


@pytest.mark.parametrize(
    ("stem", "change", "key", "says"),
    [
        (ENAMEL, _put("applying", "air", "min", "29 °C"), "applying.air.min", "above the maximum"),
        (
            ENAMEL,
            _put("applying", "humidity", {"min": "90 %", "max": "80 %"}),
            "applying.humidity.min",
            "above the maximum of 80 %",
        ),
        (ENAMEL, _put("applying", "humidity", "max", "180 %"), "applying.humidity.max", "180 %"),
        (ENAMEL, _put("amounts", "volume_solids", "104 %"), "amounts.volume_solids", "cannot be"),
        (
            ENAMEL,
            _put("applying", "surface", {"min": "50 °C"}),
            "applying.surface.min",
            "did you mean '50 °F'?",
        ),
        (
            ENAMEL,
            _put("applying", "surface", "max", "85 °C"),
            "applying.surface.max",
            "did you mean '85 °F'?",
        ),
        (
            ENAMEL,
            _put("cure", "temps", 4, "86 °C"),
            "cure.temps",
            "did you mean '86 °F'?",
        ),
        (ENAMEL, _put("cure", "temps", 1, "5 °C"), "cure.temps", "increase"),
        (ENAMEL, _drop("cure", "touch_dry", "8 h"), "cure.touch_dry", "4 times for 5"),
        (ENAMEL, _put("cure", "touch_dry", 1, "22 h"), "cure.touch_dry", "longer than 20 h"),
        (
            ENAMEL,
            _put("cure", "touch_dry", ["40 h", "30 h", "20 h", "15 h", "10 h"]),
            "cure.tack_free",
            "cannot come first",
        ),
        (
            ENAMEL,
            _put("cure", "closed_up", ["40 d", "30 d", "25 d", "20 d", "15 d"]),
            "cure.full_cure",
            "is before 'closed up'",
        ),
        (
            EPOXY,
            _put("cure", "immersion", ["4 h", "3 h", "2 h", "1 h"]),
            "cure.immersion",
            "is before 'touch dry'",
        ),
        (ENAMEL, _put("recoat", 0, "until", 3, "18 h"), "recoat[1].until", "longer than"),
        (
            ENAMEL,
            _put("recoat", 0, "until", ["47 h", "35 h", "28 h", "20 h", "14 h"]),
            "recoat[1].until",
            "close before it opens",
        ),
        (
            # another list of temperatures: only interpolation shows the contradiction
            EPOXY,
            _put(
                "recoat",
                0,
                {
                    "temps": ["12 °C", "25 °C"],
                    "from": ["1 h", "30 min"],
                    "until": ["3 h", "1 h"],
                },
            ),
            "recoat[1].until",
            "is before touch dry",
        ),
        (ENAMEL, lambda d: d["recoat"].append(d["recoat"][0]), "recoat[2].next", "already"),
        (ENAMEL, _drop("cure", "touch_dry"), "setting.until", "not in the [cure] table"),
        (ENAMEL, _put("cure", "stops_below", "8 °C"), "cure.stops_below", "still gives times"),
        (EPOXY, NO_TEMP_MIN, "applying.surface.min", "least temperature"),
        (GEL, NO_TEMP_MIN, "applying.surface.min", "peroxide does not start"),
        (OIL, NO_TEMP_MIN, "applying.surface.min", "oxygen"),
        ("two-part-urethane-varnish", NO_TEMP_MIN, "applying.surface.min", "least temperature"),
        (ACRYLIC, NO_TEMP_MIN, "applying.surface.min", "do not flow"),
        (ACRYLIC, NO_HUMID_MAX, "applying.humidity.max", "highest humidity"),
        (
            PU,
            _all(_drop("applying", "humidity"), _drop("setting", "humidity")),
            "setting.humidity.min",
            "water from the air",
        ),
        (EPOXY, _drop("hazards", "epoxy sensitiser"), "hazards", "'epoxy sensitiser' is missing"),
        (PU, _drop("hazards", "isocyanate"), "hazards", "'isocyanate' is missing"),
        (
            "two-part-polyurethane-topcoat",
            _drop("hazards", "isocyanate"),
            "hazards",
            "'isocyanate' is missing",
        ),
        (GEL, _drop("hazards", "peroxide"), "hazards", "'peroxide' is missing"),
        (OIL, _drop("hazards", "self-heating rags"), "hazards", "catch fire"),
        (ENAMEL, _drop("hazards", "flammable solvent"), "hazards", "'flammable solvent'"),
        (EPOXY, _put("amounts", "mix_by_volume", [4.0]), "amounts.mix_by_volume", "[4, 1]"),
        (ENAMEL, _put("amounts", "dry_film", "90 µm"), "amounts.dry_film", "thicker"),
        (ENAMEL, _put("applying", "above_dew_point", "-3 K"), "applying.above_dew_point", "height"),
    ],
)
def test_errors(stem: str, change: Change, key: str, says: str) -> None:
    errors = [finding for finding in _check(stem, change) if finding.level == "error"]
    assert [finding.key for finding in errors] == [key]
    assert says in errors[0].text
    assert "\n" not in errors[0].text


@pytest.mark.parametrize(
    ("stem", "change", "key", "says"),
    [
        (
            ENAMEL,
            _put("applying", "air", "min", "-15 °C"),
            "applying.air.min",
            "did you mean '5 °C'?",
        ),
        (ENAMEL, _drop("applying", "above_dew_point"), "applying.above_dew_point", "3 K"),
        (
            ENAMEL,
            _put("applying", "above_dew_point", "20 K"),
            "applying.above_dew_point",
            "unusual",
        ),
        (PU, _drop("depth_cure"), "depth_cure", "inwards"),
        ("hybrid-sealant", _put("hazards", []), "hazards", "methanol or oxime"),
        (ENAMEL, _drop("hazards", "self-heating rags"), "hazards", "catch fire"),
        (ENAMEL, _drop("recoat"), "recoat", "next coat"),
        (ENAMEL, _drop("solvent"), "solvent", "white spirit"),
        (ENAMEL, _drop("amounts", "solvent"), "amounts.solvent", "500 g/L is taken"),
        (EPOXY, _drop("working", "pot_life_mass"), "working.pot_life_mass", "batch"),
        (ACRYLIC, _put("storage", "frost_spoils", False), "storage.frost_spoils", "frost"),
        (ENAMEL, _put("amounts", "spreading_rate", "20 m²/L"), "amounts.spreading_rate", "12.5"),
        (ENAMEL, _put("amounts", "dry_film", "20 µm"), "amounts.dry_film", "leaves 40 µm"),
        (
            ENAMEL,
            _put("recoat", 0, "from", ["30 d", "20 d", "15 d", "8 d", "8 d"]),
            "recoat[1].from",
            "full cure",
        ),
        ("antifouling", _drop("hazards", "biocide"), "hazards", "biocide"),
    ],
)
def test_warnings(stem: str, change: Change, key: str, says: str) -> None:
    if says == "full cure":
        change = _all(change, _drop("recoat", 0, "until"))
    findings = _check(stem, change)
    assert [finding.level for finding in findings] == ["warning"]
    assert findings[0].key == key
    assert says in findings[0].text


def test_next_coat_must_be_known() -> None:
    change = _put("recoat", 0, "next", "oil-varnsih")
    (finding,) = _check(ENAMEL, change, known={"oil-varnish"})
    assert finding.level == "warning"
    assert finding.key == "recoat[1].next"
    assert "did you mean 'oil-varnish'?" in finding.text
    for name in ("self", "varnish", "oil-varnish"):
        assert not _check(ENAMEL, _put("recoat", 0, "next", name), known={"oil-varnish"})


def test_errors_come_first() -> None:
    change = _all(_drop("applying", "above_dew_point"), _drop("hazards", "flammable solvent"))
    assert [finding.level for finding in _check(ENAMEL, change)] == ["error", "warning"]


def test_a_glue_line_needs_no_bead() -> None:
    # the water comes from the wood; common practice, no source
    assert "depth_cure" not in _data("polyurethane-wood-glue")
    assert not _check("polyurethane-wood-glue", lambda data: None)


@pytest.mark.parametrize(
    ("stem", "change", "key"),
    [
        (ENAMEL, _put("cure", "touch_dry", 0, "0 h"), "cure.touch_dry"),
        (ENAMEL, _put("applying", "humidity", "max", "0.8 %"), "applying.humidity.max"),
        (PU, _put("setting", "humidity", "min", "0.25 %"), "setting.humidity.min"),
        (PU, _put("cure", "humidity", "0 %"), "cure.humidity"),
        ("waterborne-acrylic-paint", _put("cure", "humidity", "100 %"), "cure.humidity"),
        (PU, _put("depth_cure", "depth", "0 mm"), "depth_cure.depth"),
        (PU, _put("depth_cure", "humidity", "0 %"), "depth_cure.humidity"),
        (PU, _put("depth_cure", "bead", "0 mm"), "depth_cure.bead"),
    ],
)
def test_figures_that_no_film_has_are_errors(stem: str, change: Change, key: str) -> None:
    assert (key, "error") in {(found.key, found.level) for found in _check(stem, change)}


@pytest.mark.parametrize(
    ("limit", "level"),
    [("60 %", "error"), ("0 %", "error"), ("100 %", "error"), ("6 %", "warning"), ("0.6 %", "")],
)
def test_a_lower_explosive_limit_that_no_such_solvent_has(limit: str, level: str) -> None:
    """White spirit has 0.6 %: 60 typed for it asks for a hundredth of the air."""
    found = _check(ENAMEL, _put("solvent", "lower_explosive_limit", limit))
    told = {each.level for each in found if each.key == "solvent.lower_explosive_limit"}
    assert (level in told) if level else not told
