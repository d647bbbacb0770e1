"""The mathematics of the fit against scipy's own, plain inverses, and ISO 6946 by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares

from curewindow.conditions.learned import tuned
from curewindow.fitting.next_reading import _updated
from curewindow.fitting.solve import _softened, _softened_slope
from curewindow.physics.balance import Layer, PanelModel, SpaceModel, space_network, steady_nodes
from tests.cases import cases


def test_the_loss_is_scipys_soft_l1() -> None:
    """Cost as scipy.optimize.least_squares reports it for loss='soft_l1'."""
    off = np.array([-7.0, -0.3, 0.0, 1e-9, 0.5, 40.0])
    reported = least_squares(lambda x: off + 0.0 * x, [0.0], loss="soft_l1", max_nfev=1).cost
    assert 0.5 * np.sum(_softened(off) ** 2) == pytest.approx(reported, rel=1e-12)


@given(st.floats(-50, 50))
@cases(50)
def test_its_slope(off: float) -> None:
    numeric = (_softened(np.array(off + 1e-5)) - _softened(np.array(off - 1e-5))) / 2e-5
    assert float(_softened_slope(np.array(off))) == pytest.approx(float(numeric), abs=1e-8)


def test_a_further_reading_as_by_plain_inverses() -> None:
    """Bayesian update of a normal law: information adds."""
    rng = np.random.default_rng(5)
    root = rng.normal(size=(4, 4))
    covariance = root @ root.T + np.eye(4)
    rows = rng.normal(size=(2, 4))
    after, gain = _updated(covariance, rows)
    plain = np.linalg.inv(np.linalg.inv(covariance) + rows.T @ rows)
    np.testing.assert_allclose(after, plain, atol=1e-12)
    assert gain == pytest.approx(
        np.log(np.linalg.det(covariance)) - np.log(np.linalg.det(plain)), rel=1e-10
    )


@pytest.mark.parametrize("times", [0.5, 1.0, 1.7])
def test_heat_loss_is_scaled_exactly(times: float) -> None:
    """ISO 6946: U = 1 / (Rsi + d/k + Rse); a lined and a bare panel, 20 K, at rest.

    Lined: 1/(0.13 + 0.05/0.035 + 0.04) = 0.6258; bare: 1/(0.13 + 0.00008 + 0.04) = 5.8796
    W/m²K; 10 m² and 2 m²: 18.02 W/K.
    """
    lined = PanelModel("lined", 10.0, (Layer(0.05, 0.035, 30.0, 1000.0),), rsi=0.13, rse=0.04)
    bare = PanelModel("bare", 2.0, (Layer(0.004, 50.0, 7850.0, 460.0),), rsi=0.13, rse=0.04)
    space = SpaceModel(20.0, (lined, bare), air_changes_h=0.0, mass_j_k=1e5)
    other = tuned(space, air_changes_h=0.0, heat_loss=times, mass_j_k=1e5, buffer_kg=0.0)
    network = space_network(other, 0.0, 0.04).network
    warm = steady_nodes(network, np.zeros((5, 1)), np.array([[18.0174 * 20.0 * times]]))
    assert warm[0, 0] == pytest.approx(20.0, abs=0.005)


def test_worse_insulation_makes_colder_surfaces_and_a_bare_skin_stays() -> None:
    """f_Rsi of ISO 13788: lined 1 - 0.13 U, with U = 1/(0.17 + 1.4286/2) = 1.131 at twice the
    loss of the layers; bare 1 - 0.13/0.17008, whatever the loss."""
    lined = PanelModel("lined", 10.0, (Layer(0.05, 0.035, 30.0, 1000.0),), rsi=0.13, rse=0.04)
    bare = PanelModel("bare", 2.0, (Layer(0.004, 50.0, 7850.0, 460.0),), rsi=0.13, rse=0.04)
    space = SpaceModel(20.0, (lined, bare), air_changes_h=0.0, mass_j_k=1e5)
    other = tuned(space, air_changes_h=0.0, heat_loss=2.0, mass_j_k=1e5, buffer_kg=0.0)
    nodes = space_network(other, 0.0, 0.04)
    found = steady_nodes(nodes.network, np.zeros((5, 1)), np.array([[500.0]]))
    share = [float(found[inner, 0] / found[0, 0]) for inner in nodes.inner]
    assert share[0] == pytest.approx(1.0 - 0.13 * 1.131, abs=0.001)
    assert share[1] == pytest.approx(1.0 - 0.13 / 0.17008, abs=0.001)
