"""Laws of panels and of surfaces outdoors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.physics import panel
from tests.cases import cases

FEW = cases(60)
LAYER = st.tuples(st.floats(0.001, 0.2), st.floats(0.02, 200.0))
TEMPS = st.floats(-30.0, 40.0)
WEATHER = (TEMPS, st.floats(0.0, 25.0), st.floats(0.0, 20.0), st.floats(0.0, 1.0))


@FEW
@given(st.lists(LAYER, max_size=4), LAYER, TEMPS, TEMPS)
def test_another_layer_keeps_more_heat_in(layers, extra, inside, outside):
    thin = panel.thermal_transmittance(layers)
    thick = panel.thermal_transmittance([*layers, extra])
    assert 0.0 < thick < thin
    bare = panel.surface_temp(inside, outside, thin)
    clad = panel.surface_temp(inside, outside, thick)
    assert min(inside, outside) - 1e-9 <= bare <= max(inside, outside) + 1e-9
    assert abs(inside - clad) <= abs(inside - bare) + 1e-9


@FEW
@given(st.lists(LAYER, min_size=1, max_size=5))
def test_the_order_of_layers_does_not_matter(layers):
    assert panel.thermal_transmittance(layers) == pytest.approx(
        panel.thermal_transmittance(layers[::-1])
    )


@FEW
@given(st.lists(LAYER, min_size=1, max_size=3), TEMPS, TEMPS)
def test_heat_through_the_film_is_heat_through_the_panel(layers, inside, outside):
    u_value = panel.thermal_transmittance(layers)
    film = (inside - panel.surface_temp(inside, outside, u_value)) / panel.RSI_HORIZONTAL
    assert film == pytest.approx(u_value * (inside - outside), abs=1e-9)


def test_still_corners_are_colder():
    layers = [(0.012, 0.4)]
    free = panel.surface_temp(18.0, -5.0, panel.thermal_transmittance(layers))
    u_sheltered = panel.thermal_transmittance(layers, panel.RSI_SHELTERED)
    assert panel.surface_temp(18.0, -5.0, u_sheltered, panel.RSI_SHELTERED) < free


@FEW
@given(st.floats(-25.0, 30.0), st.floats(1.0, 15.0), st.floats(0.0, 1.5), st.floats(0.0, 1.0))
def test_a_clear_calm_night_puts_the_deck_below_the_air(air_c, spread, wind_ms, paint):
    deck = panel.outdoor_surface_temp(air_c, air_c - spread, wind_ms, 0.0, 0.0, paint)
    assert deck < air_c - 1.0


@FEW
@given(*WEATHER, st.floats(0.0, 1000.0))
def test_the_balance_outdoors_closes(air_c, spread, wind_ms, cloud, sun):
    dew = max(-50.0, min(air_c - spread, 30.0))
    paint, emissivity = 0.6, 0.85
    deck = panel.outdoor_surface_temp(air_c, dew, wind_ms, cloud, sun, paint, emissivity)
    sky = panel.sky_temperature(air_c, dew, cloud)
    radiated = emissivity * 5.670374419e-8 * ((deck + 273.15) ** 4 - (sky + 273.15) ** 4)
    assert (4.0 + 4.0 * wind_ms) * (deck - air_c) + radiated == pytest.approx(paint * sun, abs=1e-3)


@FEW
@given(*WEATHER)
def test_cloud_wind_and_walls_bring_the_surface_to_the_air(air_c, spread, wind_ms, cloud):
    dew = max(-50.0, min(air_c - spread, 30.0))

    def below(wind: float, over: float, view: float = 1.0) -> float:
        return air_c - panel.outdoor_surface_temp(air_c, dew, wind, over, 0.0, 0.5, sky_view=view)

    open_sky = below(wind_ms, cloud)
    assert open_sky >= 0.0
    assert below(wind_ms + 3.0, cloud) < open_sky
    assert below(wind_ms, 1.0) <= open_sky + 1e-9
    assert below(wind_ms, cloud, 0.5) < open_sky
    assert below(wind_ms, cloud, 0.0) == pytest.approx(0.0, abs=1e-6)


@FEW
@given(*WEATHER, st.floats(0.0, 900.0), st.floats(10.0, 100.0))
def test_sun_warms_and_dark_paint_more(air_c, spread, wind_ms, cloud, sun, more):
    dew = max(-50.0, min(air_c - spread, 30.0))
    weather = (air_c, dew, wind_ms, cloud)
    base = panel.outdoor_surface_temp(*weather, sun, 0.5)
    assert panel.outdoor_surface_temp(*weather, sun + more, 0.5) > base
    assert panel.outdoor_surface_temp(*weather, sun + more, 0.9) > panel.outdoor_surface_temp(
        *weather, sun + more, 0.5
    )


def test_the_sky_grows_warmer_with_vapour_and_cloud():
    dew = np.linspace(-60.0, 35.0, 191)
    clear = panel.sky_emissivity(dew, 0.0)
    assert np.all(np.diff(clear) >= 0.0)
    assert np.all((clear > 0.55) & (clear < 1.0))
    assert np.all(panel.sky_emissivity(dew, 1.0) > clear)


def test_a_wide_air_gap_keeps_no_more_heat_than_a_narrow_one():
    wide = panel.thermal_transmittance([panel.layer_of("air gap", 0.1)])
    narrow = panel.thermal_transmittance([panel.layer_of("air gap", 0.025)])
    assert wide == pytest.approx(narrow)
    assert panel.air_gap_resistance(0.05, "down") > panel.air_gap_resistance(0.05, "up")


def test_the_material_table_is_sane():
    assert {
        "steel",
        "aluminium",
        "solid GRP",
        "plywood",
        "oak",
        "pine",
        "PVC foam",
        "PU foam",
        "XPS foam",
        "elastomeric foam",
        "balsa core",
        "mineral wool",
        "glass",
        "cork",
        "air gap",
    } <= set(panel.MATERIALS)
    for name, material in panel.MATERIALS.items():
        assert 0.02 < material.conductivity_w_mk < 400.0, name
        assert 1.0 < material.density_kg_m3 < 9000.0, name
        assert 300.0 < material.heat_capacity_j_kgk < 4300.0, name
        assert material.source, name
        assert panel.layer_of(name, 0.025)[1] == pytest.approx(
            material.conductivity_w_mk, rel=2e-3
        ), name


def test_scalars_arrays_and_unknowns():
    assert type(panel.thermal_transmittance([(0.01, 0.4)])) is float
    assert type(panel.surface_temp(18, -5, 4.0)) is float
    assert type(panel.outdoor_surface_temp(5, 2, 1, 0, 0, 0.5)) is float
    assert type(panel.external_resistance(4)) is float
    u_value = panel.thermal_transmittance([(np.array([0.01, 0.02]), 0.4)])
    assert u_value.shape == (2,)
    assert panel.surface_temp([[18.0], [20.0]], -5.0, u_value).shape == (2, 2)
    out = panel.outdoor_surface_temp([[5.0], [np.nan]], 2.0, [0.0, 1.0, 5.0], 0.0, 0.0, 0.5)
    assert out.shape == (2, 3)
    assert np.isfinite(out[0]).all()
    assert np.isnan(out[1]).all()
    assert np.isnan(panel.surface_temp(18.0, np.nan, 4.0))


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: panel.thermal_transmittance([(-0.01, 0.4)]), "thickness of a layer is -0.01 m"),
        (lambda: panel.thermal_transmittance([(0.01, 0.0)]), "conductivity of a layer is 0 W/mK"),
        (lambda: panel.thermal_transmittance([], 0.0, 0.0), "without any resistance"),
        (lambda: panel.surface_temp(18.0, -5.0, 5.0, 0.25), "u_value times rsi"),
        (lambda: panel.layer_of("unobtainium", 0.01), "no known material; known: steel"),
        (lambda: panel.layer_of("steel", 0.0), "must be above 0"),
        (lambda: panel.air_gap_resistance(0.02, "left"), "'sideways', 'up' or 'down'"),
        (lambda: panel.outdoor_surface_temp(5.0, 2.0, -1.0, 0.0, 0.0, 0.5), "wind is -1 m/s"),
        (lambda: panel.outdoor_surface_temp(5.0, 2.0, 1.0, 50.0, 0.0, 0.5), "cloud is 50"),
        (lambda: panel.sky_temperature(5.0, 50.0, 0.0), "dew point is 50 °C"),
    ],
)
def test_out_of_range_is_an_error_that_says_so(call, text):
    with pytest.raises(ValueError, match=text):
        call()
