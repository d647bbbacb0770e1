"""Moist air against CoolProp, the WMO's formula and other published formulas.

CoolProp takes humidity over ice below 0 °C, so it is asked only where air and
dew point are above 0 °C.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from curewindow.physics import air

DATA = Path(__file__).parent / "data"
SEA_LEVEL_PA = 101325.0


def humid_air(output: str, temp_c: float, rh_pct: float) -> float:
    """CoolProp's real-gas humid air (Herrmann, Kretzschmar and Gatley, ASHRAE RP-1485)."""
    from CoolProp.CoolProp import HAPropsSI  # slow to load: not for every worker

    return float(HAPropsSI(output, "T", temp_c + 273.15, "P", SEA_LEVEL_PA, "R", rh_pct / 100.0))


def over_water_murphy_koop(temp_c: np.ndarray) -> np.ndarray:
    """Murphy and Koop (2005), Q. J. R. Meteorol. Soc. 131, eq. 10, 123 to 332 K, Pa."""
    t = temp_c + 273.15
    return np.exp(
        54.842763
        - 6763.22 / t
        - 4.210 * np.log(t)
        + 0.000367 * t
        + np.tanh(0.0415 * (t - 218.8))
        * (53.878 - 1331.22 / t - 9.44523 * np.log(t) + 0.014025 * t)
    )


def over_ice_murphy_koop(temp_c: np.ndarray) -> np.ndarray:
    """Murphy and Koop (2005), eq. 7, 110 K to the triple point, Pa."""
    t = temp_c + 273.15
    return np.exp(9.550426 - 5723.265 / t + 3.53068 * np.log(t) - 0.00728332 * t)


def wmo_rows() -> dict[str, np.ndarray]:
    with (DATA / "dew_point_wmo.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {key: np.array([float(row[key] or "nan") for row in rows]) for key in rows[0]}


CELLS = [
    (t, rh)
    for t in (1.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0)
    for rh in (5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 95.0, 100.0)
    if air.dew_point(t, rh) > 0.05
]


@pytest.mark.parametrize(("temp_c", "rh_pct"), CELLS)
def test_dew_point_and_humidity_are_coolprops(temp_c, rh_pct):
    dew_c = humid_air("D", temp_c, rh_pct) - 273.15
    assert air.dew_point(temp_c, rh_pct) == pytest.approx(dew_c, abs=0.05)
    # 0.05 K of dew point is 0.4 % of vapour at its steepest, near 0 °C
    assert air.relative_humidity(temp_c, dew_c) == pytest.approx(rh_pct, rel=4e-3)


def test_dew_point_follows_the_wmo_formula():
    row = wmo_rows()
    ours = air.dew_point(row["temp_c"], row["rh_pct"])
    np.testing.assert_allclose(ours, row["dew_point_c"], rtol=0.0, atol=0.002)
    pressure = air.vapour_pressure(row["temp_c"], row["rh_pct"])
    np.testing.assert_allclose(pressure, row["vapour_pa"], rtol=1e-4)
    np.testing.assert_allclose(
        air.dew_point_from_pressure(row["vapour_pa"]), row["dew_point_c"], rtol=0.0, atol=0.003
    )


def test_frost_point_follows_the_wmo_formula():
    row = wmo_rows()
    frosty = row["frost_point_c"] < 0.0
    assert frosty.sum() > 50
    ours = air.frost_point(row["temp_c"], row["rh_pct"])
    np.testing.assert_allclose(ours[frosty], row["frost_point_c"][frosty], rtol=0.0, atol=0.002)


def test_dew_point_agrees_with_another_published_formula():
    """-20 to 45 °C, 5 to 100 %: no two good formulas differ by more than 0.1 K there."""
    grid = np.linspace(-65.0, 45.0, 22001)
    log_e = np.log(over_water_murphy_koop(grid))
    temps, humidity = np.meshgrid(np.arange(-20.0, 45.5, 0.5), np.arange(5.0, 101.0))
    wanted = np.log(over_water_murphy_koop(temps) * humidity / 100.0)
    expected = np.interp(wanted, log_e, grid)
    np.testing.assert_allclose(air.dew_point(temps, humidity), expected, rtol=0.0, atol=0.1)


def test_saturation_pressure_over_water_is_the_steam_tables():
    """IAPWS-95 by CoolProp; the WMO's simple form keeps to it within 0.3 % to 60 °C."""
    from CoolProp.CoolProp import PropsSI  # slow to load: not for every worker

    for temp_c in (0.5, 5.0, 10.0, 20.0, 30.0, 45.0, 60.0):
        steam = PropsSI("P", "T", temp_c + 273.15, "Q", 0, "Water")
        assert air.saturation_pressure(temp_c) == pytest.approx(steam, rel=3.2e-3)


def test_saturation_pressure_below_freezing():
    """0.8 % over supercooled water and 0.3 % over ice cover the WMO form's stated range."""
    water, ice = np.arange(-45.0, 0.5), np.arange(-65.0, 0.5)
    np.testing.assert_allclose(
        air.saturation_pressure(water), over_water_murphy_koop(water), rtol=8e-3
    )
    np.testing.assert_allclose(
        air.saturation_pressure(ice, over="ice"), over_ice_murphy_koop(ice), rtol=3e-3
    )


def test_triple_point():
    """Triple point of water, 273.16 K and 611.657 Pa (IAPWS)."""
    assert air.saturation_pressure(0.01) == pytest.approx(611.657, rel=1e-4)
    assert air.saturation_pressure(0.01, over="ice") == pytest.approx(611.657, rel=1e-4)


@pytest.mark.parametrize("temp_c", [1.0, 10.0, 20.0, 30.0, 45.0])
@pytest.mark.parametrize("rh_pct", [10.0, 50.0, 100.0])
def test_vapour_density_is_coolprops(temp_c, rh_pct):
    """Real air holds half a percent more vapour at sea level (the enhancement factor)."""
    grams = 1000.0 * humid_air("W", temp_c, rh_pct) / humid_air("Vda", temp_c, rh_pct)
    assert air.vapour_density(temp_c, rh_pct) == pytest.approx(grams, rel=8e-3)


@pytest.mark.parametrize("temp_c", [2.0, 5.0, 10.0, 20.0, 30.0, 45.0])
@pytest.mark.parametrize("rh_pct", [5.0, 20.0, 50.0, 80.0, 95.0, 100.0])
def test_wet_bulb_is_coolprops(temp_c, rh_pct):
    """Within 0.1 K, the finest a psychrometer is read to, where the bulb is not frozen."""
    expected = humid_air("B", temp_c, rh_pct) - 273.15
    if expected > 0.1:
        assert air.wet_bulb(temp_c, rh_pct) == pytest.approx(expected, abs=0.1)


def test_wet_bulb_of_the_literature():
    """Stull (2011), J. Appl. Meteorol. Climatol. 50, 2267: 20 °C and 50 % give 13.7 °C."""
    assert air.wet_bulb(20.0, 50.0) == pytest.approx(13.7, abs=0.1)


def test_wet_bulb_obeys_the_wmo_psychrometer():
    """WMO-No. 8, annex 4.B: e = ew(tw) - 0.653e-3 (1 + 0.000944 tw) p (t - tw), wet bulb.

    An aspirated psychrometer's coefficient is 2 to 3 % off the thermodynamic one:
    0.7 K is 3 % of the widest gap here, 21 K between air and bulb.
    """
    temps, humidity = np.meshgrid(np.arange(-20.0, 41.0, 5.0), np.arange(10.0, 101.0, 10.0))
    bulb = air.wet_bulb(temps, humidity)
    vapour = air.saturation_pressure(bulb) - 0.653e-3 * (1.0 + 0.000944 * bulb) * SEA_LEVEL_PA * (
        temps - bulb
    )
    off_pa = np.abs(vapour - air.vapour_pressure(temps, humidity))
    slope_pa_k = 0.653e-3 * SEA_LEVEL_PA
    assert np.max(off_pa / slope_pa_k) < 0.7
