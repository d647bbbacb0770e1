"""Solvent vapour against the US dilution rule, the gas law and the CDC's purge times."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from curewindow.physics import vapour

DATA = Path(__file__).parent / "data"
PETROLEUM_FRACTIONS = {"naphtha", "white spirit"}  # no one molar mass


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


G11 = rows("solvent_vapour_g11.csv")
SINGLE = [row for row in G11 if row["solvent"] not in PETROLEUM_FRACTIONS]
SHARED = [row for row in G11 if row["solvent"] in vapour.SOLVENTS]


def test_toluene_of_the_rule():
    """29 CFR 1910.94(c)(6)(ii), its example (from memory): 4 (100 - 1.4) 30.4/1.4 = 8564 ft³
    of air for a gallon of toluene, to stay at a quarter of the limit."""
    assert vapour.dilution_volume(30.4, 1.4) == pytest.approx(8564.0, abs=0.5)


def test_toluene_as_an_airflow_in_metres():
    """The same example: one gallon an hour is 8564 ft³/h, 242.5 m³/h."""
    litres, vapour_m3 = 3.785411784, 30.4 * 0.028316846592 / 3.785411784
    flow = vapour.dilution_airflow(litres, vapour_m3, 1.4)
    assert flow == pytest.approx(8564.1 * 0.028316846592, rel=1e-4)
    assert vapour.dilution_airflow(litres, vapour_m3, 1.4, 0.10) == pytest.approx(2.5 * flow)


@pytest.mark.parametrize("row", SINGLE, ids=lambda row: row["solvent"])
def test_vapour_of_a_litre_by_the_gas_law(row):
    moles_per_l = 1000.0 * float(row["specific_gravity"]) / float(row["molar_mass_g_mol"])
    ideal_m3 = moles_per_l * 8.314462618 * (273.15 + (70.0 - 32.0) / 1.8) / 101325.0
    table_m3 = float(row["vapour_ft3_per_gal"]) * vapour.M3_PER_L_FROM_FT3_PER_GAL
    assert table_m3 == pytest.approx(ideal_m3, rel=0.06)


@pytest.mark.parametrize("row", SHARED, ids=lambda row: row["solvent"])
def test_our_solvents_are_the_tables_or_more_careful(row):
    ours = vapour.SOLVENTS[row["solvent"]]
    table_m3 = float(row["vapour_ft3_per_gal"]) * vapour.M3_PER_L_FROM_FT3_PER_GAL
    assert ours.vapour_m3_per_l == pytest.approx(table_m3)
    assert ours.lel_pct <= float(row["lel_pct"])


# ANSI/AARST SGM-SF-2017 (2020 revision), pages 16 and 17: lowest value of its chart, %.
CHART = {
    "acetone": 2.6,
    "n-butyl acetate": 1.0,
    "n-butanol": 1.4,
    "cyclohexanone": 1.0,
    "ethanol": 3.0,
    "ethyl acetate": 2.0,
    "isopropanol": 2.0,
    "methanol": 6.0,
    "methyl acetate": 3.0,
    "methyl ethyl ketone": 1.8,
    "n-propyl acetate": 2.0,
    "styrene": 1.1,
    "2-ethoxyethanol": 3.0,
    "2-ethoxyethyl acetate": 2.0,
}


@pytest.mark.parametrize("name", CHART)
def test_our_limits_are_never_above_the_chart(name):
    assert vapour.SOLVENTS[name].lel_pct <= CHART[name]


def test_styrene_by_the_gas_law():
    """0.906 kg/l and 104.15 g/mol (handbooks of chemistry): 0.210 m³ a litre at 70 °F."""
    assert vapour.SOLVENTS["styrene"].vapour_m3_per_l == pytest.approx(0.210, abs=0.002)


@pytest.mark.parametrize(
    "row", rows("air_change_removal_cdc.csv"), ids=lambda row: row["air_changes_h"]
)
def test_a_space_clears_as_fast_as_the_cdc_says(row):
    changes = float(row["air_changes_h"])
    for column, left in (("minutes_99_pct", 0.01), ("minutes_99_9_pct", 0.001)):
        minutes = float(row[column]) + np.array([-0.55, 0.55])
        times = np.concatenate([[0.0], minutes / 60.0])
        share = vapour.vapour_concentration(times, 0.0, 0.2, 1.0, 20.0, changes, start_share=1.0)
        assert share[2] < left < share[1] * 1.01
