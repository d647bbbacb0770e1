"""The heat and moisture balance against closed forms and published cases."""

import numpy as np
import pytest

from curewindow.physics.air import saturation_pressure, vapour_pressure
from curewindow.physics.balance import (
    Layer,
    Network,
    Outside,
    PanelModel,
    SpaceModel,
    SpaceState,
    exact_step,
    simulate,
    start_from_reading,
    start_in_balance,
)
from curewindow.physics.balance.march import march


def chain(capacities, links, to_outside, held_nodes=()):
    """A row of nodes: links between neighbours, the last one joined to the outside."""
    size = len(capacities)
    link = np.zeros((size, size))
    for i, g in enumerate(links):
        link[i, i + 1] = link[i + 1, i] = g
    boundary = np.zeros((size, 1))
    boundary[-1, 0] = to_outside
    held = np.zeros((size, max(1, len(held_nodes))))
    for column, node in enumerate(held_nodes):
        held[node, column] = 1.0
    return Network(np.array(capacities, float), link, boundary, np.zeros((size, 0)), held)


def run(network, step_s, start, outside, gains_w=None):
    count = outside.size - 1
    gains = np.zeros((network.held.shape[1], 1, count)) if gains_w is None else gains_w
    regime = np.zeros((1, count), dtype=np.intp)
    step = exact_step(network, step_s)
    states, _, _ = march([step], regime, np.atleast_2d(start), outside[None, None, :], gains)
    return states[:, 0, :]


@pytest.mark.parametrize("step_s", [60.0, 3600.0, 40_000.0])
def test_one_node_cools_by_its_time_constant(step_s: float) -> None:
    capacity, loss = 90_000.0, 25.0  # one hour
    found = run(chain([capacity], [], loss), step_s, [20.0], np.full(6, 4.0))
    time = np.arange(6) * step_s
    expected = 4.0 + 16.0 * np.exp(-time * loss / capacity)
    np.testing.assert_allclose(found[:, 0], expected, atol=1e-11)


def test_one_node_behind_a_ramp() -> None:
    # C x' = G (r t - x), x(0) = 0: x = r (t - tau) + r tau exp(-t / tau).
    capacity, loss, rise = 90_000.0, 25.0, 5.0 / 3600.0
    tau = capacity / loss
    time = np.arange(5) * 1800.0
    found = run(chain([capacity], [], loss), 1800.0, [0.0], rise * time)
    expected = rise * (time - tau) + rise * tau * np.exp(-time / tau)
    np.testing.assert_allclose(found[:, 0], expected, atol=1e-11)


def test_two_equal_nodes_by_their_modes() -> None:
    # Both joined to the outside by B and to each other by G: their mean decays with
    # B / C, their difference with (B + 2 G) / C.
    c, g, b = 50_000.0, 30.0, 4.0
    network = Network(
        np.array([c, c]),
        np.array([[0.0, g], [g, 0.0]]),
        np.array([[b], [b]]),
        np.zeros((2, 0)),
        np.zeros((2, 1)),
    )
    found = run(network, 700.0, [18.0, 6.0], np.zeros(9))
    time = np.arange(9) * 700.0
    mean, half = 12.0 * np.exp(-b / c * time), 6.0 * np.exp(-(b + 2 * g) / c * time)
    np.testing.assert_allclose(found, np.stack([mean + half, mean - half], axis=1), atol=1e-10)


def test_the_step_is_the_matrix_exponential() -> None:
    linalg = pytest.importorskip("scipy.linalg")
    rng = np.random.default_rng(3)
    network = chain([2e4, 0.0, 3e5, 8e4], [40.0, 15.0, 6.0], 9.0, held_nodes=(0,))
    step_s = 900.0
    ours = exact_step(network, step_s)
    # The node without capacity by hand: in series, 40 * 15 / 55.
    series = 40.0 * 15.0 / 55.0
    laplacian = np.array([[series, -series, 0.0], [-series, series + 6.0, -6.0], [0.0, -6.0, 15.0]])
    inverse_c = np.diag(1.0 / np.array([2e4, 3e5, 8e4]))
    # States, outside, its slope and the held power in one augmented matrix.
    matrix = np.zeros((6, 6))
    matrix[:3, :3] = -inverse_c @ laplacian
    matrix[:3, 3] = inverse_c @ [0.0, 0.0, 9.0]
    matrix[3, 4] = 1.0
    matrix[:3, 5] = inverse_c @ [1.0, 0.0, 0.0]
    x, u0, u1, q = rng.normal(10, 5, 3), 3.0, 8.0, 500.0
    there = linalg.expm(matrix * step_s) @ np.array([*x, u0, (u1 - u0) / step_s, q])
    found = ours.decay @ x + ours.from_start[:, 0] * u0 + ours.from_end[:, 0] * u1
    found += ours.from_held[:, 0] * q
    np.testing.assert_allclose(found, there[:3], rtol=1e-11)


# --- a space ----------------------------------------------------------------------

GRP = Layer(0.010, 0.30, 1900.0, 1200.0)
FOAM = Layer(0.030, 0.035, 35.0, 1400.0)
PLY = Layer(0.012, 0.13, 500.0, 1600.0)


def steady_space(panels, air_changes_h, hours=24 * 60, **inputs):
    points = hours + 1
    outside = Outside(
        temp_c=np.full((1, points), -5.0),
        vapour_pa=np.full((1, points), 300.0),
        wind_ms=np.array(4.0),
        water_c=np.array(4.0),
    )
    space = SpaceModel(15.0, panels, air_changes_h=air_changes_h, mass_j_k=5e5)
    start = start_in_balance(space, outside)
    return space, simulate(space, 1.0, outside, start, **inputs)


@pytest.mark.parametrize(
    ("layers", "transmittance", "surface_c"),
    [
        # ISO 6946: U = 1 / (0.13 + sum d/lambda + 0.04); inner surface = Ti - U Rsi (Ti - Te).
        # 10 mm GRP: 1 / 0.20333 = 4.918; 18 - 4.918 * 0.13 * 23 = 3.30.
        ((GRP,), 4.918, 3.30),
        # 12 mm ply, 30 mm foam, 10 mm GRP: R = 0.09231 + 0.85714 + 0.03333,
        # U = 1 / 1.15278 = 0.86747; 18 - 0.86747 * 0.13 * 23 = 15.406.
        ((PLY, FOAM, GRP), 0.86747, 15.406),
    ],
)
def test_at_rest_a_panel_is_that_of_iso_6946(layers, transmittance, surface_c) -> None:
    panel = PanelModel("side", 12.0, layers, rse=0.04)
    _, result = steady_space((panel,), 0.0, setpoint_c=18.0, power_limit_w=5000.0)
    assert result.air_c[0, -1] == pytest.approx(18.0)
    assert result.heat_w[0, -2] == pytest.approx(transmittance * 12.0 * 23.0, rel=3e-4)
    assert result.surface_c[0, 0, -1] == pytest.approx(surface_c, abs=5e-3)
    assert result.loss_w[1, 0, -2] == pytest.approx(result.heat_w[0, -2])


def test_the_wind_sets_the_outer_resistance_of_iso_6946() -> None:
    # Rse = 0.04 at 4 m/s (ISO 6946); our wind classes are within 10 % in 1/Rse.
    _, ours = steady_space((PanelModel("side", 12.0, (GRP,)),), 0.0, gains_w=500.0)
    _, fixed = steady_space((PanelModel("side", 12.0, (GRP,), rse=0.04),), 0.0, gains_w=500.0)
    rise, expected = ours.air_c[0, -1] + 5.0, fixed.air_c[0, -1] + 5.0
    assert rise == pytest.approx(expected, rel=0.1 * 0.04 / 0.2033)


def test_ventilation_carries_a_third_of_a_watt_hour() -> None:
    # ISO 13789: rho c = 1200 J/(m³ K), so 0.333 Wh/(m³ K) times the air change.
    panel = PanelModel("side", 12.0, (FOAM,))
    _, result = steady_space((panel,), 1.5, setpoint_c=15.0, power_limit_w=9000.0)
    assert result.loss_w[0, 0, -2] == pytest.approx(0.3333 * 1.5 * 15.0 * 20.0, rel=1e-3)


def test_vapour_at_rest_is_that_of_iso_13788() -> None:
    # ISO 13788, 4.2.4 form: p_i = p_e + G R_v T / (n V), here 0.05 kg/h at n = 0.8 1/h,
    # V = 15 m³, 18 °C: 0.05 * 461.5 * 291.15 / 12 = 559.9 Pa over 300 Pa outside.
    panel = PanelModel("side", 12.0, (PLY, FOAM, GRP))
    _, result = steady_space(
        (panel,), 0.8, setpoint_c=18.0, power_limit_w=5000.0, moisture_kg_h=0.05
    )
    assert np.all(result.condensate_kg_m2 == 0)
    assert result.vapour_pa[0, -1] == pytest.approx(859.9, abs=0.5)


def test_a_bare_hull_dries_the_air_down_towards_its_own_dew_point() -> None:
    # With no air change all water given off condenses, at a rate that by the Lewis
    # relation needs an excess of p - p_sat = G rho c_p R_v T Le^(2/3) / (hc A):
    # 0.05/3600 kg/s * 1.24 * 1006 * 461.5 * 280 * 0.897 / (2.59 W/m²K * 12 m²) = 65 Pa.
    panel = PanelModel("side", 12.0, (GRP,), rse=0.04)
    _, result = steady_space(
        (panel,), 0.0, setpoint_c=18.0, power_limit_w=5000.0, moisture_kg_h=0.05
    )
    excess = result.vapour_pa[0, -1] - saturation_pressure(result.surface_c[0, 0, -1])
    assert excess == pytest.approx(65.0, rel=0.05)
    gathered = np.diff(result.condensate_kg_m2[0, 0, -25:]).sum() * 12.0
    assert gathered == pytest.approx(0.05 * 24.0, rel=1e-6)


def test_three_slabs_follow_a_wall_through_a_day() -> None:
    # Heat equation, a wall with both faces held at cos(w t): at y from its middle it
    # follows with the complex factor cosh(k y) / cosh(k d / 2), k = (1 + i) / delta,
    # delta = sqrt(2 alpha / w) (Carslaw and Jaeger, Conduction of Heat in Solids, ch. 3).
    # Its mean over the middle third is sinh(k d / 6) / (k d / 6) / cosh(k d / 2).
    oak = Layer(0.090, 0.16, 700.0, 1700.0)
    omega = 2 * np.pi / 86_400.0
    delta = np.sqrt(2 * oak.conductivity / (oak.density * oak.heat_capacity * omega))
    k = (1 + 1j) / delta
    third = k * oak.thickness_m / 6
    expected = np.sinh(third) / third / np.cosh(k * oak.thickness_m / 2)
    points = 24 * 20 + 1
    angle = omega * 3600.0 * np.arange(points)
    # All resistance in the wood; the air held to the outside by a gale of air change.
    panel = PanelModel("wall", 1.0, (oak,), rsi=1e-5, rse=1e-5)
    space = SpaceModel(10.0, (panel,), air_changes_h=1e6)
    outside = Outside(temp_c=np.cos(angle)[None], vapour_pa=np.full((1, points), 300.0))
    result = simulate(space, 1.0, outside, start_from_reading(space, outside, 1.0, 40.0))
    assert result.nodes_c.shape[2] == 4  # the air and three slabs
    found = 2.0 * np.mean(result.nodes_c[-24:, 0, 2] * np.exp(-1j * angle[-24:]))
    # 8 % of the outer swing is the price of three slabs for a wall this thick.
    assert abs(found - expected) < 0.08


def test_start_from_a_reading_is_that_reading() -> None:
    outside = Outside(temp_c=np.full((3, 2), 2.0), vapour_pa=np.full((3, 2), 500.0))
    panel = PanelModel("side", 12.0, (GRP,), rse=0.04)
    space = SpaceModel(15.0, (panel,), mass_j_k=5e5, buffer_kg=2.0)
    start = start_from_reading(space, outside, [8.0, 9.0, 10.0], 60.0)
    assert isinstance(start, SpaceState)
    result = simulate(space, 0.25, outside, start)
    np.testing.assert_allclose(result.air_c[:, 0], [8.0, 9.0, 10.0])
    np.testing.assert_allclose(result.rh_pct[:, 0], 60.0)
    # ISO 6946 for the panel between 10 °C and 2 °C: 10 - 0.13 / 0.20333 * 8 = 4.885.
    assert result.surface_c[0, 2, 0] == pytest.approx(4.885, abs=1e-3)
    np.testing.assert_allclose(result.vapour_pa[:, 0], vapour_pressure([8.0, 9.0, 10.0], 60.0))


@pytest.mark.parametrize(
    ("rsi", "convection"), [(0.10, 4.9), (0.13, 2.6), (0.17, 0.8), (0.25, 0.7)]
)
def test_what_radiation_leaves_of_a_surface_is_convection(rsi: float, convection: float) -> None:
    """ISO 6946:2017, annex C: 1 / Rsi = hc + hr, hr of a black body at 10 °C 5.1 W/m²K; hc upward
    5.0, sideways 2.5, downward 0.7 W/m²K, and never less."""
    panel = PanelModel("side", 1.0, (GRP,), rsi=rsi)
    assert panel.convection_w_m2k == pytest.approx(convection, abs=0.02 if rsi < 0.25 else 1e-9)
