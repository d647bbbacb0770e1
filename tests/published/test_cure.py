"""Cure rates against published forms of the Arrhenius law and reference vapour tables."""

import math

import numpy as np
import pytest

from curewindow.physics.air import saturation_pressure
from curewindow.physics.cure import (
    ACTIVATION_ENERGIES,
    RateTable,
    cumulative,
    cure_depth_mm,
    drying_factor,
    equivalent_age,
    exposure_for_depth_h,
    milestone_index,
    moisture_factor,
    rate_factor,
    table_rate,
)


def model_code_factor(temp_c: float) -> float:
    """CEB-FIP Model Code 1990 and EN 1992-1-1 (B.10): age adjusted for temperature.

    exp(13.65 - 4000 / (273 + T)), reference 20 °C; constants from memory, the 4000 K
    and 293 K confirmed in the DIANA material library manual, section on that code.
    """
    return math.exp(13.65 - 4000.0 / (273.0 + temp_c))


MODEL_CODE_ENERGY = 4000.0 * 8.314  # J/mol


@pytest.mark.parametrize("temp_c", [0.0, 5.0, 10.0, 20.0, 30.0, 40.0])
def test_rate_factor_is_that_of_the_model_code(temp_c: float) -> None:
    # The code rounds 4000/293 to 13.65 and 273.15 to 273: 0.6 % at most together.
    factor = float(rate_factor(temp_c, 20.0, MODEL_CODE_ENERGY))
    assert factor == pytest.approx(model_code_factor(temp_c), rel=6e-3)


def test_equivalent_age_of_a_winter_day() -> None:
    # Twelve hours at 5 °C, six at 12 °C, six at 18 °C by the Model Code formula.
    temps, hours = [5.0, 12.0, 18.0], [12.0, 6.0, 6.0]
    expected = sum(model_code_factor(t) * h for t, h in zip(temps, hours, strict=True))
    assert equivalent_age(temps, hours, 20.0, MODEL_CODE_ENERGY) == pytest.approx(
        expected, rel=6e-3
    )


def test_equivalent_age_by_the_pencil() -> None:
    # ASTM C1074 with Q = Ea/R = 5000 K, reference 20 °C, one day at 10 °C:
    # 1/283.15 - 1/293.15 = 1.204735e-4, times 5000 = 0.602368, exp(-) = 0.547513, x 24 h.
    age = equivalent_age([10.0], 24.0, 20.0, 5000.0 * 8.314462618)
    assert isinstance(age, float)
    assert age == pytest.approx(13.1403, rel=1e-4)


def test_the_rule_of_ten_kelvin() -> None:
    # The rate doubles per 10 K (common practice, no source); the estimates lean on it.
    energy = ACTIVATION_ENERGIES["oxidation"].j_mol
    assert rate_factor(20.0, 10.0, energy) == pytest.approx(2.0, rel=0.01)


def test_every_chemistry_says_where_its_energy_comes_from() -> None:
    assert set(ACTIVATION_ENERGIES) == {
        "oxidation",
        "epoxy amine",
        "two-part urethane",
        "moisture curing",
        "waterborne",
        "peroxide",
        "solvent release",
    }
    for value in ACTIVATION_ENERGIES.values():
        assert 30_000 <= value.j_mol <= 70_000
        assert value.source


def test_peroxide_energy_lies_in_the_measured_range() -> None:
    # J. Appl. Polym. Sci. 102 (2006) 1870: 40-60 kJ/mol, ketone peroxide with cobalt.
    assert 40_000 <= ACTIVATION_ENERGIES["peroxide"].j_mol <= 60_000


def test_waterborne_energy_is_the_heat_of_vaporisation() -> None:
    from CoolProp.CoolProp import PropsSI  # slow to load: not for every worker

    # IAPWS-95 by CoolProp at 20 °C.
    kelvin = 293.15
    heat = PropsSI("H", "T", kelvin, "Q", 1, "Water") - PropsSI("H", "T", kelvin, "Q", 0, "Water")
    molar = heat * PropsSI("M", "Water")
    assert ACTIVATION_ENERGIES["waterborne"].j_mol == pytest.approx(molar, rel=0.01)


@pytest.mark.parametrize("temp_c", [8.0, 14.0, 26.0, 31.0])
def test_between_rows_a_table_follows_the_law_it_was_made_by(temp_c: float) -> None:
    rows = np.array([5.0, 20.0, 35.0])
    hours = np.array([24.0 / model_code_factor(t) for t in rows])
    rate, extrapolated = table_rate(temp_c, RateTable(rows, hours, 50_000.0, 0.0))
    assert not extrapolated
    assert 1.0 / rate == pytest.approx(24.0 / model_code_factor(temp_c), rel=1e-4)


def test_outside_the_rows_the_activation_energy_takes_over() -> None:
    rows = np.array([10.0, 20.0])
    table = RateTable(rows, np.array([30.0, 24.0]), MODEL_CODE_ENERGY, 0.0)
    rate, extrapolated = table_rate(np.array([5.0, 30.0]), table)
    assert extrapolated.all()
    cold = 30.0 * model_code_factor(10.0) / model_code_factor(5.0)
    warm = 24.0 * model_code_factor(20.0) / model_code_factor(30.0)
    np.testing.assert_allclose(1.0 / rate, [cold, warm], rtol=3e-3)
    held, _ = table_rate(30.0, table, "slow")
    assert held == 1.0 / 24.0


@pytest.mark.parametrize(("temp_c", "rh_pct"), [(5.0, 80.0), (10.0, 60.0), (30.0, 70.0)])
def test_moisture_factor_from_steam_tables(temp_c: float, rh_pct: float) -> None:
    from CoolProp.CoolProp import PropsSI  # slow to load: not for every worker

    # Density of saturated vapour, IAPWS-95 by CoolProp, times humidity; vapour as a
    # perfect gas differs from it by less than 0.2 % here.
    def density(temp: float, rh: float) -> float:
        return float(PropsSI("D", "T", temp + 273.15, "Q", 1, "Water")) * rh

    expected = density(temp_c, rh_pct) / density(23.0, 50.0)
    assert moisture_factor(temp_c, rh_pct, 23.0, 50.0) == pytest.approx(expected, rel=4e-3)


def test_depth_of_cure_grows_with_the_root_of_time() -> None:
    # Comyn (1998): z = sqrt(2 V P p t), so four times the time, or the vapour, for
    # twice the depth; '3 mm in a day' is what such sheets say (common practice, no source).
    assert cure_depth_mm(96.0, 3.0, 24.0) == pytest.approx(6.0)
    assert cure_depth_mm(24.0 * 0.25, 3.0, 24.0) == pytest.approx(1.5)
    assert exposure_for_depth_h(6.0, 3.0, 24.0) == pytest.approx(96.0)


def test_a_cold_damp_cabin_is_slow_for_sealant() -> None:
    # At 5 °C and 80 % the air holds 5.44 g/m³, at 23 °C and 50 % 10.3 g/m³ (steam
    # tables: 6.80 and 20.6 saturated): 6 mm takes nearly twice as long, 7.6 days for 4.
    factor = moisture_factor(np.full(24 * 12 + 1, 5.0), 80.0, 23.0, 50.0)
    reached = milestone_index(cumulative(factor, 1.0), float(exposure_for_depth_h(6.0, 3.0)))
    assert reached[0] / 24.0 == pytest.approx(4.0 * 10.3 / 5.44, rel=0.01)


def test_drying_power_by_humidity() -> None:
    # Dalton: at one temperature the deficit goes as 100 - humidity.
    film = 15.0
    saturated = saturation_pressure(film)
    for rh, expected in ((50.0, 1.0), (75.0, 0.5), (90.0, 0.2), (100.0, 0.0), (25.0, 1.5)):
        factor = drying_factor(film, saturated * rh / 100.0, 50.0)
        assert factor == pytest.approx(expected, abs=1e-12)
    assert drying_factor(film, saturated * 0.25, 50.0, "slow") == 1.0
    # A film colder than the dew point gathers water; it does not dry.
    assert drying_factor(5.0, saturated * 0.9, 50.0) == 0.0
