"""Products that cure with the water of the air: by hand, on each side, and where it is unknown.

The sheet's own air is 10 °C and 50 %; depth grows with the root of the exposure (Comyn 1998), so
a bead as thick as the sheet's depth takes the sheet's time. A data sheet's band is a tenth.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from curewindow.curing.model import CureModel
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Sheet

PER_HOUR = 6
BAND = 1.1
DAY_H = 24.0
AIR = {"temp": "10 °C", "humidity": "50 %"}


@pytest.fixture
def sealant(sheet: Callable[..., Sheet]) -> Sheet:
    """Skin in 6 h, 3 mm in a day, a bead of 3 mm; its rows alone would be through in 2 h."""
    return sheet(
        chemistry="moisture curing",
        cure={
            "temps": ["10 °C"],
            "humidity": "50 %",
            "touch_dry": ["6 h"],
            "closed_up": ["2 h"],
            "full_cure": ["2 h"],
        },
        depth_cure={"depth": "3 mm", "time": "24 h", "bead": "3 mm", **AIR},
    )


def hours_to(
    sealant: Sheet, series: SurfaceSeries, milestone: Any, side: Any, start_h: float = 0.0
) -> float:
    starts = np.array([start_h * PER_HOUR])
    end = CureModel(sealant, series).milestone_end(milestone, starts, side)
    return float(end[0, 0]) / PER_HOUR - start_h


@pytest.mark.parametrize(("milestone", "takes_h"), [("touch dry", 6.0), ("full cure", DAY_H)])
@pytest.mark.parametrize(
    ("rh_pct", "slow", "typical", "quick"),
    [
        (50.0, BAND, 1.0, 1.0 / BAND),
        # half the water: twice the time
        (25.0, 2.0 * BAND, 2.0, 2.0 / BAND),
        # twice the water: half the time, and on the slow side not counted on
        (100.0, BAND, 0.5, 0.5 / BAND),
    ],
)
def test_skin_and_depth_go_by_the_water_in_the_air(
    cabin: Any,
    sealant: Sheet,
    milestone: str,
    takes_h: float,
    rh_pct: float,
    slow: float,
    typical: float,
    quick: float,
) -> None:
    series = cabin(rh_pct=rh_pct)
    for side, times in (("slow", slow), ("typical", typical), ("quick", quick)):
        assert hours_to(sealant, series, milestone, side) == pytest.approx(times * takes_h), side


def test_in_an_air_that_changes_each_side_takes_its_own_end_of_a_step(
    cabin: Any, sealant: Sheet
) -> None:
    """20 % and 40 % in turn at the grid's points: 20, 30 and 40 % of 50 %."""
    rh_pct = np.where(np.arange(96 * PER_HOUR * 2 + 1) % 2, 40.0, 20.0)
    series = cabin(hours=192.0, rh_pct=rh_pct)
    assert hours_to(sealant, series, "full cure", "slow") == pytest.approx(DAY_H * 2.5 * BAND)
    assert hours_to(sealant, series, "full cure", "typical") == pytest.approx(DAY_H * 5 / 3)
    assert hours_to(sealant, series, "full cure", "quick") == pytest.approx(DAY_H * 1.25 / BAND)


@pytest.mark.parametrize("unknown", ["rh_pct", "air_c", "surface_c"])
@pytest.mark.parametrize(("milestone", "takes_h"), [("touch dry", 6.0), ("full cure", DAY_H)])
def test_what_is_unknown_is_not_counted_on_and_may_have_been_fast(
    cabin: Any, sealant: Sheet, unknown: str, milestone: str, takes_h: float
) -> None:
    """Unknown from 10 h to 20 h: two hours count before it for a start at 8 h, none in it."""
    known = 10.0 if unknown != "rh_pct" else 50.0
    hours = np.arange(96 * PER_HOUR + 1) / PER_HOUR
    values = np.where((hours > 10.0) & (hours < 20.0), np.nan, known)
    series = cabin(**{"rh_pct": 50.0, unknown: values})
    slow = hours_to(sealant, series, milestone, "slow", 8.0)
    assert slow == pytest.approx(takes_h * BAND + 10.0)
    quick = hours_to(sealant, series, milestone, "quick", 8.0)
    assert quick <= takes_h / BAND + 1e-9


def test_the_clock_stands_in_an_air_too_damp_and_in_one_that_may_be(
    cabin: Any, sheet: Callable[..., Sheet]
) -> None:
    varnish = sheet(cure={"temps": ["10 °C"], "touch_dry": ["6 h"], "stops_above_humidity": "85 %"})
    hours = np.arange(96 * PER_HOUR + 1) / PER_HOUR
    between = (hours > 2.0) & (hours < 7.0)
    for damp in (90.0, np.nan):
        series = cabin(rh_pct=np.where(between, damp, 60.0))
        assert hours_to(varnish, series, "touch dry", "slow") == pytest.approx(6.6 + 5.0)
    at_the_bound = cabin(rh_pct=85.0)
    assert hours_to(varnish, at_the_bound, "touch dry", "slow") == pytest.approx(6.6)
