"""Which recoat table holds, and what the cure model makes of awkward sheets."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.curing import CureModel, recoat_bounds, stop_below

RECOATS = [
    {"next": "self", "from": ["1 h"], "until": ["10 h"], "note": "of itself"},
    {"next": "paint", "from": ["2 h"], "until": ["20 h"]},
    {"next": "hard-enamel", "from": ["3 h"], "until": ["30 h"], "after": "never"},
    {"next": "varnish", "from": ["4 h"]},
]


@pytest.mark.parametrize(
    ("stem", "kind", "expected"),
    [
        (None, None, 1.0),
        ("own", "varnish", 1.0),  # another coat of the same: 'self' before the kind
        ("other-varnish", "varnish", 4.0),
        ("hard-enamel", "paint", 3.0),  # named before its kind
        ("soft-enamel", "paint", 2.0),
        ("some-filler", "filler", 1.0),  # nothing said: as for itself, and told
    ],
)
def test_named_sheet_before_kind_before_self(sheet, stem, kind, expected: float) -> None:
    rule = recoat_bounds(sheet(recoat=RECOATS), stem, kind, "own")
    assert rule is not None
    assert rule.recoat.from_ == [expected]
    assert rule.borrowed == (stem == "some-filler")


def test_a_sheet_that_says_nothing(sheet) -> None:
    assert recoat_bounds(sheet(recoat=[]), "own", "varnish", "own") is None


def test_where_the_clock_stops(sheet) -> None:
    """Stated outright, else the lowest limit while setting, else while applying."""
    cure = {"temps": ["10 °C"], "touch_dry": ["6 h"]}
    setting = {"air": {"min": "6 °C"}, "surface": {"min": "5 °C"}}
    assert stop_below(sheet(cure=cure | {"stops_below": "2 °C"})) == 2.0
    assert stop_below(sheet(cure=cure, setting=setting)) == 5.0
    # a film is as warm as its surface: mild air over a surface too cold does not count
    cold_skin = {"air": {"min": "3 °C"}, "surface": {"min": "6 °C"}}
    assert stop_below(sheet(cure=cure, setting=cold_skin)) == 6.0
    assert stop_below(sheet(cure=cure, setting={"air": {"min": "4 °C"}})) == 4.0
    assert stop_below(sheet(cure=cure, setting={})) == 8.0
    assert stop_below(sheet(cure=cure, setting={}, applying={})) == -np.inf


def test_a_cold_night_stops_the_slow_clock_but_not_the_deadline(cabin, sheet) -> None:
    """Below a limit nobody vouches for cure, and nobody vouches that it rests."""
    model = CureModel(sheet(), cabin(hours=96, surface_c=4.0))
    rule = recoat_bounds(model.sheet)
    begin = np.array([0.0])
    assert rule is not None
    assert np.isnan(model.milestone_end("touch dry", begin)[0, 0])
    assert np.isfinite(model.recoat_end(rule, "until", begin, "quick")[0, 0])


def test_wet_on_wet_may_start_at_once(cabin, sheet) -> None:
    model = CureModel(sheet(recoat=[{"from": ["0 h"], "until": ["4 h"]}]), cabin())
    rule = recoat_bounds(model.sheet)
    assert rule is not None
    assert model.recoat_end(rule, "from", np.array([0.0]), "slow")[0, 0] <= 1.0


def test_a_bead_cures_with_the_square_root_of_time(cabin, sheet) -> None:
    """3 mm in the first 24 h is 6 mm in four days: Comyn (1998), z = sqrt(2 V P p t)."""
    depth = {"depth": "3 mm", "time": "24 h", "temp": "10 °C", "humidity": "57.5 %"}
    bead = sheet(
        chemistry="moisture curing",
        kind="sealant",
        basis="data sheet",
        depth_cure=depth | {"bead": "6 mm"},
        cure={"temps": ["10 °C"], "touch_dry": ["1 h"], "closed_up": ["2 h"], "humidity": "57.5 %"},
    )
    model = CureModel(bead, cabin(hours=120))
    end = model.milestone_end("closed up", np.array([0.0]), "typical")[0, 0]
    assert end / 6.0 == pytest.approx(96.0, abs=0.01)
    skin = model.milestone_end("touch dry", np.array([0.0]), "typical")[0, 0]
    assert skin / 6.0 == pytest.approx(1.0, abs=0.01)


def test_half_the_vapour_takes_twice_the_time(cabin, sheet) -> None:
    made = sheet(
        chemistry="moisture curing",
        cure={"temps": ["10 °C"], "touch_dry": ["6 h"], "humidity": "57.5 %"},
    )
    begin = np.array([0.0])
    full, half = (
        CureModel(made, cabin(rh_pct=rh)).milestone_end("touch dry", begin, "typical")[0, 0]
        for rh in (57.5, 28.75)
    )
    assert half == pytest.approx(2.0 * full, rel=1e-9)


def test_waterborne_does_not_dry_in_saturated_air(cabin, sheet) -> None:
    made = sheet(
        chemistry="waterborne",
        cure={"temps": ["10 °C"], "touch_dry": ["2 h"], "humidity": "50 %"},
    )
    damp = CureModel(made, cabin(dew_point_c=10.0, rh_pct=100.0))
    assert np.isnan(damp.milestone_end("touch dry", np.array([0.0]))[0, 0])
