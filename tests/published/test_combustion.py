"""Burning against chemistry and published factors."""

import csv
from pathlib import Path

import pytest

from curewindow.physics import combustion
from curewindow.physics.combustion import FUELS

TABLE = Path(__file__).with_name("data") / "fuel_co2_uk_2023.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize(
    ("fuel", "water", "co2"),
    [
        # By hand from IUPAC's standard atomic weights (2021, abridged: H 1.008, C 12.011,
        # O 15.999): C3H8 + 5 O2 = 3 CO2 + 4 H2O, 4 * 18.015 / 44.097 and 3 * 44.009 / 44.097.
        ("propane", 1.6341, 2.9940),
        # C4H10: 5 * 18.015 / 58.124, 4 * 44.009 / 58.124.
        ("butane", 1.5497, 3.0287),
        # C12H26: 13 * 18.015 / 170.340, 12 * 44.009 / 170.340.
        ("paraffin", 1.3749, 3.1003),
    ],
)
def test_stoichiometry(fuel: str, water: float, co2: float) -> None:
    assert combustion.water_kg_per_kg(FUELS[fuel]) == pytest.approx(water, abs=2e-4)
    assert combustion.co2_kg_per_kg(FUELS[fuel]) == pytest.approx(co2, abs=2e-4)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["fuel"])
def test_carbon_dioxide_as_published(row: dict[str, str]) -> None:
    fuel = FUELS[row["fuel"]]
    by_mass, by_heat, by_volume = (3e-2, 4e-2, 1e-1) if row["fuel"] == "LPG" else (2e-2, 3e-2, 4e-2)
    per_kg = combustion.co2_kg_per_kg(fuel)
    assert 1000.0 * per_kg == pytest.approx(float(row["kg_co2_t"]), rel=by_mass)
    assert combustion.co2_kg_per_kwh(row["fuel"]) == pytest.approx(
        float(row["kg_co2_kwh_net"]), rel=by_heat
    )
    assert per_kg * fuel.density_kg_l == pytest.approx(float(row["kg_co2_l"]), rel=by_volume)


@pytest.mark.parametrize(
    ("fuel", "formed_kj_mol", "molar_g", "carbon", "hydrogen"),
    [
        # Heat of formation: CRC Handbook of Chemistry and Physics, standard thermodynamic
        # properties (from memory): propane -103.8, butane -125.7 kJ/mol (gas), CO2 -393.5,
        # H2O gas -241.8.
        ("propane", -103.8, 44.097, 3, 8),
        ("butane", -125.7, 58.124, 4, 10),
    ],
)
def test_lower_heating_value_by_formation(fuel, formed_kj_mol, molar_g, carbon, hydrogen) -> None:
    heat = carbon * 393.5 + hydrogen / 2 * 241.8 + formed_kj_mol
    assert FUELS[fuel].heating_value_mj_kg == pytest.approx(heat / molar_g, rel=1e-3)


def test_damp_wood_gives_less_heat_and_more_water() -> None:
    # Common practice: air-dry logs about 4 kWh/kg; and 0.55 kg of water from the hydrogen
    # of a kg of dry wood.
    assert combustion.heat_kwh_per_kg(FUELS["wood"]) == pytest.approx(4.05, abs=0.1)
    wetter = combustion.damp(combustion._DRY_WOOD, 0.45)
    assert combustion.heat_kwh_per_kg(wetter) < 2.7
    assert combustion.water_kg_per_kg(combustion._DRY_WOOD) == pytest.approx(0.554, abs=0.002)
    assert combustion.water_kg_per_kg(FUELS["wood"]) == pytest.approx(0.643, abs=0.002)


def test_a_flame_of_gas_makes_an_eighth_of_a_litre_for_each_kilowatt_hour() -> None:
    assert combustion.water_kg_per_kwh("propane") == pytest.approx(1.634 / 12.87, rel=2e-3)
    assert combustion.water_kg_per_kwh("propane", 0.5) == pytest.approx(1.634 / 6.435, rel=2e-3)
    assert combustion.heat_kwh_per_l(FUELS["diesel"]) == pytest.approx(10.0, abs=0.1)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="known: propane"):
        combustion.water_kg_per_kwh("coal gas")
    with pytest.raises(ValueError, match="efficiency"):
        combustion.co2_kg_per_kwh("diesel", 0.0)
    with pytest.raises(ValueError, match="no density"):
        combustion.heat_kwh_per_l(FUELS["wood"])
    with pytest.raises(ValueError, match="fit in 0 to 1"):
        combustion.Fuel(0.9, 0.2, 40.0, 0.8, "none")
    with pytest.raises(ValueError, match="share"):
        combustion.mixed(FUELS["propane"], FUELS["butane"], 1.2, "none")
    with pytest.raises(ValueError, match="only liquids"):
        combustion.mixed(FUELS["propane"], FUELS["wood"], 0.5, "none")
    with pytest.raises(ValueError, match="share of water"):
        combustion.damp(FUELS["wood"], 1.0)
