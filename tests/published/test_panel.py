"""Panels by ISO 6946 and ISO 13788, the sky by published relations, and what boats show."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from curewindow.physics import air, panel

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows("panel_iso_6946.csv"), ids=lambda row: row["panel"])
def test_transmittance_and_surface_by_hand(row):
    layers = [
        (float(mm) / 1000.0, float(conductivity))
        for mm, conductivity in (part.split("/") for part in row["layers_mm_per_w_mk"].split("+"))
    ]
    inside, outside, rsi = float(row["inside_c"]), float(row["outside_c"]), float(row["rsi"])
    u_value = panel.thermal_transmittance(layers, rsi, panel.RSE)
    assert u_value == pytest.approx(float(row["u_w_m2k"]), abs=0.00051)
    surface = panel.surface_temp(inside, outside, u_value, rsi)
    assert surface == pytest.approx(float(row["surface_c"]), abs=0.0051)
    sheltered = panel.thermal_transmittance(layers, panel.RSI_SHELTERED, panel.RSE)
    assert panel.surface_temp(inside, outside, sheltered, panel.RSI_SHELTERED) == pytest.approx(
        float(row["surface_sheltered_c"]), abs=0.0051
    )


def test_single_glazing():
    """4 mm float glass loses 5.8 W/m²K (EN 673 and EN ISO 10077-1, from memory)."""
    u_value = panel.thermal_transmittance([panel.layer_of("glass", 0.004)], 0.13, 0.04)
    assert u_value == pytest.approx(5.8, abs=0.1)


def test_film_in_wind():
    table = rows("wind_film_iso_6946.csv")
    wind = np.array([float(row["wind_ms"]) for row in table])
    expected = np.array([float(row["rse_m2k_w"]) for row in table])
    np.testing.assert_allclose(panel.external_resistance(wind), expected, rtol=0.0, atol=0.005)


def test_clear_sky_stands_among_the_published_relations():
    """Brutsaert (1975), 1.24 (e/T)^(1/7) with e in hPa; Prata (1996), 1 - (1 + w)
    exp(-sqrt(1.2 + 3 w)), w = 46.5 e/T; Clark and Allen (1978), 0.787 + 0.764 ln(Td/273).

    They differ among themselves by up to 0.13 in the cold; ours must not leave
    their company by more than 0.04 on the cold side and never be the warmest.
    """
    dew_c = np.arange(-15.0, 25.0)
    air_k = dew_c + 3.0 + 273.15
    e_hpa = 6.112 * np.exp(17.62 * dew_c / (243.12 + dew_c))
    w = 46.5 * e_hpa / air_k
    others = np.array(
        [
            1.24 * (e_hpa / air_k) ** (1.0 / 7.0),
            1.0 - (1.0 + w) * np.exp(-np.sqrt(1.2 + 3.0 * w)),
            0.787 + 0.764 * np.log((dew_c + 273.15) / 273.0),
        ]
    )
    ours = panel.sky_emissivity(dew_c, 0.0)
    assert np.all(ours > others.min(axis=0) - 0.04)
    assert np.all(ours < others.max(axis=0) + 0.04)
    winter = dew_c < 5.0
    assert np.all(ours[winter] < others.max(axis=0)[winter])


def test_the_sky_is_5_to_30_k_colder_than_the_air():
    """Clear sky: 5 K in a hot moist climate, 30 K in a cold dry one (Duffie and Beckman,
    Solar Engineering of Thermal Processes, section 3.9, from memory)."""
    assert 4.0 < 30.0 - panel.sky_temperature(30.0, 27.0, 0.0) < 10.0
    assert 20.0 < -5.0 - panel.sky_temperature(-5.0, -20.0, 0.0) < 32.0


# What boats show in winter; common practice, no source, all of it.
COLD_C, CABIN_C, CABIN_RH = -5.0, 18.0, 50.0
DEW_C = air.dew_point(CABIN_C, CABIN_RH)


def inner(*layers: tuple[str, float], outside: float = COLD_C, rsi: float = 0.13) -> float:
    parts = [panel.layer_of(material, mm / 1000.0) for material, mm in layers]
    return panel.surface_temp(CABIN_C, outside, panel.thermal_transmittance(parts, rsi, 0.04), rsi)


@pytest.mark.parametrize(
    ("material", "mm"), [("steel", 4.0), ("aluminium", 6.0), ("solid GRP", 7.0), ("glass", 8.0)]
)
def test_a_skin_of_one_material_sweats(material, mm):
    assert inner((material, mm)) < DEW_C - 2.0


@pytest.mark.parametrize("core", ["balsa core", "PVC foam", "cork"])
@pytest.mark.parametrize("mm", [28.0, 34.0, 40.0])
def test_a_wheelhouse_roof_of_plywood_round_a_core_does_not(core, mm):
    roof = [("plywood", 6.0), (core, mm), ("plywood", 6.0)]
    assert inner(*roof, rsi=panel.RSI_UP) > DEW_C + 2.0


def test_cork_behind_the_slats_of_a_locker_stops_it():
    side = [("steel", 4.0), ("cork", 45.0)]
    assert inner(*side) > DEW_C + 3.0
    assert inner(*side, rsi=panel.RSI_SHELTERED) > DEW_C
    # behind the cork, at the steel, it is as cold as ever: air must not get there
    to_steel = 0.13 + 0.045 / 0.065
    behind = CABIN_C - (CABIN_C - COLD_C) * to_steel / (to_steel + 0.004 / 50.0 + 0.04)
    assert behind < DEW_C


@pytest.mark.parametrize("bare", ["aluminium", "steel"])
def test_frost_shows_where_the_insulation_stops(bare):
    at_edge = inner((bare, 5.0), outside=-10.0)
    assert at_edge < 0.0
    assert at_edge < DEW_C
    insulated = inner((bare, 5.0), ("mineral wool", 30.0), outside=-10.0)
    assert insulated > DEW_C


def test_a_bare_steel_side_is_the_worst_of_all():
    steel = inner(("steel", 6.0))
    others = [
        inner(("solid GRP", 12.0)),
        inner(("solid GRP", 10.0)),
        inner(("glass", 8.0)),
        inner(("oak", 25.0)),
        inner(("plywood", 18.0)),
        inner(("pine", 20.0)),
    ]
    assert all(steel < other for other in others)


def test_the_deck_is_white_while_the_air_is_above_freezing():
    """Clear and still at +2 °C: rime on the deck in the morning. Overcast: none."""
    clear = panel.outdoor_surface_temp(2.0, 0.0, 0.5, 0.0, 0.0, 0.5)
    assert clear < 0.0
    assert clear < air.frost_point(2.0, air.relative_humidity(2.0, 0.0) - 0.5)
    assert panel.outdoor_surface_temp(2.0, 0.0, 0.5, 1.0, 0.0, 0.5) > clear + 4.0
    assert panel.outdoor_surface_temp(3.0, 2.5, 0.5, 1.0, 0.0, 0.5) > 0.0


def test_a_dark_deck_in_summer_sun_is_too_hot_to_stand_on():
    """A dark deck passes 60 °C in still sun at 25 °C, a white one stays some 20 K cooler."""
    dark = panel.outdoor_surface_temp(25.0, 12.0, 1.0, 0.0, 850.0, 0.9)
    white = panel.outdoor_surface_temp(25.0, 12.0, 1.0, 0.0, 850.0, 0.3)
    assert 60.0 < dark < 95.0
    assert 15.0 < dark - white < 50.0
