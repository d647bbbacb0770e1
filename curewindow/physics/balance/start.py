"""Where a simulation starts: from a reading, in balance with the weather, or corrected."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curewindow.physics.air import VAPOUR_GAS_CONSTANT, saturation_pressure, vapour_pressure
from curewindow.physics.balance.drive import grid_shape, panel_inputs
from curewindow.physics.balance.network import Network, steady_nodes
from curewindow.physics.balance.space import (
    AIR_NODE,
    MASS_NODE,
    Outside,
    SpaceModel,
    space_network,
)
from curewindow.physics.balance.state import SpaceState
from curewindow.physics.elementwise import ZERO_C_IN_K, FloatArray
from curewindow.physics.outdoors import external_resistance
from curewindow.physics.panel import RSE


def start_from_reading(
    space: SpaceModel,
    outside: Outside,
    air_c: npt.ArrayLike,
    rh_pct: npt.ArrayLike,
    *,
    members: int = 1,
    hours: float = 0.0,
    step_h: float = 1.0,
) -> SpaceState:
    """State of a space whose air was just measured, all else settled around it.

    Parameters
    ----------
    space : SpaceModel
    outside : Outside
        Its first `hours` are averaged (0: the first point alone).
    air_c, rh_pct : array_like, scalar or shape (M,)
        The reading [°C], [%].
    members : int
        M, if nothing else tells.
    hours, step_h : float
        Span to average, and the grid step [h].

    Returns
    -------
    SpaceState
        Mass at air temperature, panels steady between air and outside, buffer at the
        air's humidity, no dew (a panel below the dew point gets its first dew when
        the simulation begins).

    Raises
    ------
    ValueError
        If a value is out of range or an input a panel needs is missing.
    """
    inputs, _, wind = _means(space, outside, members, hours, step_h)
    count = inputs.shape[1]
    air = np.broadcast_to(np.asarray(air_c, dtype=np.float64), (count,))
    humidity = np.broadcast_to(np.asarray(rh_pct, dtype=np.float64), (count,))
    network = space_network(space, space.air_changes_h, wind).network
    nodes = _with_air_pinned(network, inputs, air)
    return SpaceState(
        nodes_c=_storing(network, nodes),
        vapour_pa=np.asarray(vapour_pressure(air, humidity), dtype=np.float64),
        buffer_rh_pct=np.array(humidity),
        condensate_kg_m2=np.zeros((len(space.panels), count)),
    )


def start_in_balance(
    space: SpaceModel,
    outside: Outside,
    *,
    members: int = 1,
    hours: float = 24.0,
    step_h: float = 1.0,
    heat_w: float = 0.0,
    moisture_kg_h: float = 0.0,
) -> SpaceState:
    """State of a space left alone in the mean weather of the first hours.

    Parameters
    ----------
    space : SpaceModel
    outside : Outside
    members : int
        M, if nothing else tells.
    hours, step_h : float
        Span to average, and the grid step [h].
    heat_w : float
        Steady heat to the air [W].
    moisture_kg_h : float
        Steady water given off inside [kg/h].

    Returns
    -------
    SpaceState
        Vapour as outside plus what the source adds by the space's own air change, but
        no more than the coldest panel lets stand.

    Raises
    ------
    ValueError
        If an input a panel needs is missing, or moisture is given off with no air change.
    """
    inputs, outside_pa, wind = _means(space, outside, members, hours, step_h)
    count = inputs.shape[1]
    model = space_network(space, space.air_changes_h, wind)
    nodes = steady_nodes(model.network, inputs, np.full((1, count), heat_w))
    if moisture_kg_h and not space.air_changes_h:
        raise ValueError("water given off with no air change has no steady state")
    vapour = outside_pa
    if moisture_kg_h:
        carried = space.air_changes_h * space.volume_m3
        per_pa = carried / (VAPOUR_GAS_CONSTANT * (nodes[AIR_NODE] + ZERO_C_IN_K))
        vapour = vapour + moisture_kg_h / per_pa
    coldest = np.min(nodes[[AIR_NODE, *model.inner]], axis=0)
    vapour = np.minimum(vapour, saturation_pressure(coldest))
    return SpaceState(
        nodes_c=_storing(model.network, nodes),
        vapour_pa=vapour,
        buffer_rh_pct=np.minimum(100.0 * vapour / saturation_pressure(nodes[MASS_NODE]), 100.0),
        condensate_kg_m2=np.zeros((len(space.panels), count)),
    )


def corrected(
    space: SpaceModel, state: SpaceState, air_c: npt.ArrayLike, rh_pct: npt.ArrayLike
) -> SpaceState:
    """State moved onto a reading taken at that moment.

    Parameters
    ----------
    space : SpaceModel
    state : SpaceState
    air_c, rh_pct : array_like, scalar or shape (M,)
        The reading [°C], [%].

    Returns
    -------
    SpaceState
        Air and vapour as read. Mass and panels move with the air by the share a lasting
        change of air temperature would move them; buffer and dew stay.

    Raises
    ------
    ValueError
        If the reading is out of range.
    """
    count = state.vapour_pa.shape[0]
    air = np.broadcast_to(np.asarray(air_c, dtype=np.float64), (count,))
    humidity = np.broadcast_to(np.asarray(rh_pct, dtype=np.float64), (count,))
    # The wind matters little to this share.
    network = space_network(space, space.air_changes_h, RSE).network
    still = np.zeros((network.boundary_w_k.shape[1] + network.ramped.shape[1], 1))
    share = _storing(network, _with_air_pinned(network, still, np.ones(1)))[0]
    off = air - state.nodes_c[:, AIR_NODE]
    return SpaceState(
        nodes_c=state.nodes_c + off[:, None] * share,
        vapour_pa=np.asarray(vapour_pressure(air, humidity), dtype=np.float64),
        buffer_rh_pct=state.buffer_rh_pct,
        condensate_kg_m2=state.condensate_kg_m2,
    )


def _means(
    space: SpaceModel, outside: Outside, members: int, hours: float, step_h: float
) -> tuple[FloatArray, FloatArray, float]:
    """Mean inputs (U, M), vapour outside (M,) and outer resistance over the first hours."""
    shape = grid_shape(outside, [], members)
    span = slice(0, max(1, round(hours / step_h) + 1 if hours else 1))
    inputs = panel_inputs(space, outside, shape[0], shape[1])[:, :, span].mean(axis=2)
    vapour = np.broadcast_to(outside.vapour_pa, shape)[:, span].mean(axis=1)
    wind = float(np.mean(np.broadcast_to(outside.wind_ms, shape)[:, span]))
    return inputs, np.asarray(vapour, dtype=np.float64), external_resistance(wind)


def _with_air_pinned(network: Network, inputs: FloatArray, air_c: FloatArray) -> FloatArray:
    """Steady temperatures with the air held, shape (N, M)."""
    rest = np.arange(1, network.capacity_j_k.size)
    pinned = Network(
        capacity_j_k=network.capacity_j_k[rest],
        link_w_k=network.link_w_k[np.ix_(rest, rest)],
        # The air becomes one more temperature outside.
        boundary_w_k=np.hstack([network.boundary_w_k[rest], network.link_w_k[rest][:, [AIR_NODE]]]),
        ramped=network.ramped[rest],
        held=network.held[rest],
    )
    outside_count = network.boundary_w_k.shape[1]
    stacked = np.vstack([inputs[:outside_count], air_c[None], inputs[outside_count:]])
    still = np.zeros((network.held.shape[1], air_c.size))
    return np.vstack([air_c[None], steady_nodes(pinned, stacked, still)])


def _storing(network: Network, nodes: FloatArray) -> FloatArray:
    return np.ascontiguousarray(nodes[network.capacity_j_k > 0].T)
