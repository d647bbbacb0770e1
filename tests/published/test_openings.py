"""Openings for what burns aboard, against two published rules that agree.

PD 5482-3:2005 (LPG installations in boats), as the examination guide of a national safety scheme
for boats prints it (part 8, ventilation): 2200 mm² for each kW put in
without a flue, 440 with one, 650 a person. BS 8511:2010 annex A adds 550 for each kW that a
solid fuel stove gives. A boat builder's handbook of mechanical work, formula 16-1 (from a stored
page): one square inch for each 1000 Btu/h without a flue, for each 5000 with one.
"""

from __future__ import annotations

import pytest

from curewindow.boat.schema import Heating
from curewindow.cautions.openings import openings_cm2
from curewindow.physics.combustion import fixed_openings_mm2

SQUARE_INCH_MM2 = 645.16
KW_PER_BTU_H = 0.000293071


def test_as_printed() -> None:
    assert fixed_openings_mm2(1.0, 0.0, 0.0, 0) == 2200.0
    assert fixed_openings_mm2(0.0, 1.0, 0.0, 0) == 440.0
    assert fixed_openings_mm2(0.0, 0.0, 1.0, 0) == 550.0
    assert fixed_openings_mm2(0.0, 0.0, 0.0, 1) == 650.0


@pytest.mark.parametrize(("flued", "btu_h"), [(False, 1000.0), (True, 5000.0)])
def test_the_other_rule_gives_as_much(flued: bool, btu_h: float) -> None:
    kw = btu_h * KW_PER_BTU_H
    ours = fixed_openings_mm2(0.0 if flued else kw, kw if flued else 0.0, 0.0, 0)
    assert ours == pytest.approx(SQUARE_INCH_MM2, rel=0.005)


def _heater(kind: str, vented: bool, power: str, **more: object) -> Heating:
    fire = {"kind": kind, "power": power, "vented": vented, "open_flame": False, **more}
    return Heating.model_validate(fire)


@pytest.mark.parametrize(
    ("heaters", "cm2"),
    [
        # by hand: 2200 * 3 + 650 = 7250 mm²
        ([_heater("paraffin", False, "3 kW")], 80.0),
        # put in: 4 kW / 80 % = 5 kW; 440 * 5 + 650 = 2850 mm²
        ([_heater("diesel", True, "4 kW", efficiency="80 %")], 30.0),
        # 550 * 4 + 650 = 2850 mm²
        ([_heater("solid fuel", True, "4 kW")], 30.0),
        ([_heater("diesel", True, "4 kW", air_from="outside")], None),
        ([_heater("electric", False, "2 kW")], None),
        # 2200 * 3 + 550 * 4 + 650 = 9450 mm²
        ([_heater("paraffin", False, "3 kW"), _heater("solid fuel", True, "4 kW")], 100.0),
    ],
)
def test_of_heaters_as_described(heaters: list[Heating], cm2: float | None) -> None:
    assert openings_cm2(heaters) == cm2
