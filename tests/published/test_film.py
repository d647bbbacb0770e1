"""Coating arithmetic against rows and worked examples that coating makers and handbooks print."""

from __future__ import annotations

import math

import pytest

from curewindow.physics.film import litres_for, spreading_m2_l, wet_film_um

# US gallon 231 in³ (NIST Handbook 44, appendix C), 1 L = 1 dm³, a mil 25.4 µm.
_L_GAL = 231 * 0.254**3
_M2_FT2 = 0.3048**2
_UM_MIL = 25.4

# Theoretical spreading rate [m²/L], volume solids % by dry film µm: a table printed with many
# data sheets, looked up as carried on a public page of coverage tables; one decimal.
_FILMS_UM = (25, 50, 75, 100, 125, 150, 200, 250, 300, 400)
_TABLE = {
    100: (40.0, 20.0, 13.3, 10.0, 8.0, 6.7, 5.0, 4.0, 3.3, 2.5),
    75: (30.0, 15.0, 10.0, 7.5, 6.0, 5.0, 3.8, 3.0, 2.5, 1.9),
    65: (26.0, 13.0, 8.7, 6.5, 5.2, 4.3, 3.3, 2.6, 2.2, 1.6),
    50: (20.0, 10.0, 6.7, 5.0, 4.0, 3.3, 2.5, 2.0, 1.7, 1.3),
}
# The same in ft² a US gallon by mils, whole numbers: an estimating guide's table, looked up
# on a public page.
_MILS = (1, 2, 3, 4, 5, 6, 8, 10)
_US_TABLE = {
    30: (481, 241, 160, 120, 96, 80, 60, 48),
    50: (802, 401, 267, 201, 160, 134, 100, 80),
    65: (1043, 521, 348, 261, 209, 174, 130, 104),
    100: (1604, 802, 535, 401, 321, 267, 201, 160),
}


@pytest.mark.parametrize("solids", _TABLE)
def test_spreading_table(solids: int) -> None:
    for film, printed in zip(_FILMS_UM, _TABLE[solids], strict=True):
        assert spreading_m2_l(solids, film) == pytest.approx(printed, abs=0.0501), film


@pytest.mark.parametrize("solids", _US_TABLE)
def test_us_table(solids: int) -> None:
    for mils, printed in zip(_MILS, _US_TABLE[solids], strict=True):
        ours = spreading_m2_l(solids, mils * _UM_MIL) * _L_GAL / _M2_FT2
        assert ours == pytest.approx(printed, abs=0.6), mils


def test_a_gallon_a_mil_high() -> None:
    """1604 ft² at 1 mil: 231 in³ by 0.001 in by 144 in²/ft²."""
    assert spreading_m2_l(100, _UM_MIL) * _L_GAL / _M2_FT2 == pytest.approx(1604.17, abs=0.01)


def test_worked_examples() -> None:
    # A printed technical note: 71 % solids, 125 µm dry: 176 µm wet, 5.7 m²/L.
    assert wet_film_um(125, 71) == pytest.approx(176, abs=0.5)
    assert spreading_m2_l(71, 125) == pytest.approx(5.7, abs=0.05)
    # Another: 65 % solids at 125 µm is 5.2 m²/L; at 5.0 mils 208.52 ft²/gal (with 1604 rounded).
    assert spreading_m2_l(65, 125) == pytest.approx(5.2, abs=1e-9)
    us = spreading_m2_l(65, 5 * _UM_MIL) * _L_GAL / _M2_FT2
    assert us == pytest.approx(208.52, abs=0.03)
    # An estimating guide's rule for thinned coatings: dry = wet x solids / (1 + thinner).
    assert wet_film_um(8 * 0.35 / 1.10, 35, 10) == pytest.approx(8.0)
    # A bulletin: 1400 ft² at 80 mils of 100 % solids takes 70 gallons (rounded from 69.8).
    area = 1400 * _M2_FT2
    gallons = litres_for(area, spreading_m2_l(100, 80 * _UM_MIL)) / _L_GAL
    assert gallons == pytest.approx(70, abs=0.25)


def test_loss_by_hand() -> None:
    """By hand: 10 m² at 5 m²/L are 2 L on the surface; with a fifth lost 2.5 L are bought."""
    assert litres_for(10, 5, 20) == pytest.approx(2.5)


def test_ranges() -> None:
    for wrong in ((0, 50), (101, 50), (50, 0)):
        with pytest.raises(ValueError, match="got"):
            spreading_m2_l(*wrong)
    with pytest.raises(ValueError, match="loss"):
        litres_for(1, 5, 100)
    with pytest.raises(ValueError, match="spreading"):
        litres_for(1, 0)
    with pytest.raises(ValueError, match="thinner"):
        wet_film_um(50, 50, -1)
    assert math.isnan(spreading_m2_l(math.nan, 50))
