"""Heat and moisture of one space through time, all members at once.

Inputs are linear between grid points; heater, gains and air change are held over a
step. Wind and air change alter the network itself, so each pair of their classes
is a regime with matrices of its own. Heat is solved first and moisture
after it: the heat that dew gives off is left out (a known simplification).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curewindow.physics.air import (
    dew_point_from_pressure,
    relative_humidity_from_pressure,
    saturation_pressure,
)
from curewindow.physics.balance.drive import grid_shape, panel_inputs, regimes_of
from curewindow.physics.balance.march import (
    Indices,
    Thermostat,
    march,
    mean_nodes,
    nodes_at,
)
from curewindow.physics.balance.moisture import VAPOUR_PER_HEAT, march_moisture
from curewindow.physics.balance.network import ExactStep, exact_step
from curewindow.physics.balance.space import AIR_NODE, MASS_NODE, Outside, SpaceModel, SpaceNodes
from curewindow.physics.elementwise import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class SpaceState:
    """A space at one moment, to start from.

    Parameters
    ----------
    nodes_c : ndarray, shape (M, D)
        Air, mass and panel slabs that store heat [°C].
    vapour_pa : ndarray, shape (M,)
        Vapour pressure of the air [Pa].
    buffer_rh_pct : ndarray, shape (M,)
        Humidity with which wood and cushions are in balance [%].
    condensate_kg_m2 : ndarray, shape (P, M)
        Water lying on each panel [kg/m²].
    """

    nodes_c: FloatArray
    vapour_pa: FloatArray
    buffer_rh_pct: FloatArray
    condensate_kg_m2: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class SpaceResult:
    """Conditions in a space at every grid point.

    Parameters
    ----------
    air_c, mass_c, vapour_pa, rh_pct, dew_point_c, buffer_rh_pct : ndarray, shape (M, T)
    surface_c, condensate_kg_m2 : ndarray, shape (P, M, T)
        Inner surfaces [°C] and the water on them [kg/m²], panels in the model's order.
    panel_names : tuple of str
    heat_w : ndarray, shape (M, T)
        Heater, held from each point to the next [W]; 0 at the last point.
    loss_w : ndarray, shape (P + 1, M, T)
        Mean heat out over the step from each point: by air change first, then by each
        panel [W]; 0 at the last point.
    vented_kg : ndarray, shape (M, T)
        Water carried out by air change in the step from each point [kg]; 0 at the last.
    known : ndarray of bool, shape (M, T)
        False from the first missing input on. Vapour, humidity and dew are NaN there, and
        temperatures too unless it was the vapour outside that is missing.
    nodes_c : ndarray, shape (T, M, D)
        All that stores heat, for `state_at`.
    """

    air_c: FloatArray
    mass_c: FloatArray
    vapour_pa: FloatArray
    rh_pct: FloatArray
    dew_point_c: FloatArray
    buffer_rh_pct: FloatArray
    surface_c: FloatArray
    condensate_kg_m2: FloatArray
    panel_names: tuple[str, ...]
    heat_w: FloatArray
    loss_w: FloatArray
    vented_kg: FloatArray
    known: npt.NDArray[np.bool_]
    nodes_c: FloatArray

    def state_at(self, index: int) -> SpaceState:
        """State at a grid point, from which another run can go on."""
        return SpaceState(
            nodes_c=self.nodes_c[index],
            vapour_pa=self.vapour_pa[:, index],
            buffer_rh_pct=self.buffer_rh_pct[:, index],
            condensate_kg_m2=self.condensate_kg_m2[:, :, index],
        )


def simulate(
    space: SpaceModel,
    step_h: float,
    outside: Outside,
    start: SpaceState,
    *,
    setpoint_c: npt.ArrayLike = np.nan,
    power_limit_w: npt.ArrayLike = 0.0,
    gains_w: npt.ArrayLike = 0.0,
    moisture_kg_h: npt.ArrayLike = 0.0,
    air_changes_h: npt.ArrayLike | None = None,
) -> SpaceResult:
    """Simulate a space along a regular grid.

    Heating candidates are told apart as members: stack them along M.

    Parameters
    ----------
    space : SpaceModel
    step_h : float
        Grid step [h].
    outside : Outside
        Its arrays broadcast to (M, T), T two at least.
    start : SpaceState
        State at the first grid point, of M members or of one.
    setpoint_c : array_like, broadcast to (M, T)
        Thermostat, held from each point to the next [°C]; NaN: heater off.
    power_limit_w : array_like, broadcast to (M, T)
        Most the heater gives [W]. A heater that cannot go low cycles; this is its mean.
    gains_w : array_like, broadcast to (M, T)
        Heat of people, lamps and sun through glass, to the air [W].
    moisture_kg_h : array_like, broadcast to (M, T)
        Water given off inside: people, wet work, an unvented flame [kg/h].
    air_changes_h : array_like, broadcast to (M, T), optional
        Air change from each point to the next [1/h]; the space's own if not given.

    Returns
    -------
    SpaceResult

    Raises
    ------
    ValueError
        If shapes do not fit, an input a panel needs is missing, or a power, moisture,
        wind or air change is negative.

    Notes
    -----
    Values held over a step are read at the point where it begins; the last is not used.
    """
    ach = space.air_changes_h if air_changes_h is None else air_changes_h
    held = [np.asarray(v, dtype=np.float64) for v in (power_limit_w, gains_w, moisture_kg_h, ach)]
    setpoint = np.asarray(setpoint_c, dtype=np.float64)
    members, points = grid_shape(outside, [*held, setpoint], len(start.vapour_pa))
    if points < 2:
        raise ValueError("a simulation needs two grid points at least")
    if np.any(held[0] < 0) or np.any(held[2] < 0) or np.any(held[3] < 0):
        raise ValueError("power_limit_w, moisture_kg_h and air_changes_h must not be negative")
    # Each (M, T - 1), read where its step begins.
    limit, gains, source, change = (np.broadcast_to(v, (members, points))[:, :-1] for v in held)
    wanted = np.broadcast_to(setpoint, (members, points))[:, :-1]

    # Heating candidates share one weather: what it does is then worked out once.
    weathers = grid_shape(outside, [np.zeros((1, points))], 1)[0]
    inputs = panel_inputs(space, outside, weathers, points)
    wind = np.broadcast_to(outside.wind_ms, (weathers, points))
    once = np.atleast_2d(held[3])
    once = np.broadcast_to(once, (max(weathers, once.shape[0]), points))[:, :-1]
    regime, models = regimes_of(space, (wind[:, :-1] + wind[:, 1:]) / 2.0, once)
    steps = [exact_step(model.network, step_h * 3600.0) for model in models]
    inputs[:, np.isnan(wind)] = np.nan
    gains = np.where(np.isnan(change), np.nan, gains)[None]

    start = _spread(start, (members, steps[0].decay.shape[0]), len(space.panels))
    thermostat = Thermostat(AIR_NODE, wanted, np.zeros_like(limit), limit)
    states, heat = march(steps, regime, start.nodes_c, inputs, gains, thermostat)
    power = heat + gains
    nodes = nodes_at(steps, regime, states, inputs, power, [AIR_NODE, MASS_NODE, *models[0].inner])
    air, mass, surface = nodes[0], nodes[1], nodes[2:]
    loss = _losses(steps, models, regime, states, inputs, power)

    outside_pa = np.broadcast_to(np.asarray(outside.vapour_pa, dtype=np.float64), air.shape)
    dew = _wet_at_start(space, start, surface[:, :, 0])
    water = march_moisture(
        space,
        step_h * 3600.0,
        (air, mass, surface),
        outside_pa,
        change,
        source,
        (start.vapour_pa, start.buffer_rh_pct, dew),
    )
    known = np.isfinite(air) & np.isfinite(water.vapour_pa)
    vapour = np.where(known, water.vapour_pa, np.nan)
    # Vapour is never above saturation; the minimum below only takes off rounding.
    return SpaceResult(
        air_c=air,
        mass_c=mass,
        vapour_pa=vapour,
        rh_pct=np.minimum(relative_humidity_from_pressure(air, vapour), 100.0),
        dew_point_c=np.asarray(dew_point_from_pressure(vapour), dtype=np.float64),
        buffer_rh_pct=water.buffer_rh_pct,
        surface_c=surface,
        condensate_kg_m2=water.condensate_kg_m2,
        panel_names=tuple(panel.name for panel in space.panels),
        heat_w=_to_points(heat),
        loss_w=_to_points(loss),
        vented_kg=_to_points(water.vented_kg),
        known=known,
        nodes_c=states,
    )


def _spread(start: SpaceState, shape: tuple[int, int], panels: int) -> SpaceState:
    """The start for each member; one of a single member serves them all."""
    members = shape[0]
    try:
        return SpaceState(
            nodes_c=np.broadcast_to(start.nodes_c, shape),
            vapour_pa=np.broadcast_to(start.vapour_pa, (members,)),
            buffer_rh_pct=np.broadcast_to(start.buffer_rh_pct, (members,)),
            condensate_kg_m2=np.broadcast_to(start.condensate_kg_m2, (panels, members)),
        )
    except ValueError:
        raise ValueError(
            f"the start has nodes {np.shape(start.nodes_c)}, this space and its inputs need {shape}"
        ) from None


def _losses(
    steps: list[ExactStep],
    models: list[SpaceNodes],
    regime: Indices,
    states: FloatArray,
    inputs: FloatArray,
    power: FloatArray,
) -> FloatArray:
    """Mean heat out over each step, by air change and by panel, shape (P + 1, M, T - 1)."""
    ends = [AIR_NODE, *models[0].outer]
    mean = mean_nodes(steps, regime, states, inputs, power, ends)
    beyond = inputs[: len(ends)]
    conductance = np.array(
        [model.network.boundary_w_k[ends, range(len(ends))] for model in models]
    )  # (K, P + 1)
    drop = mean - (beyond[:, :, :-1] + beyond[:, :, 1:]) / 2.0
    return np.asarray(conductance[regime].transpose(2, 0, 1) * drop, dtype=np.float64)


def _wet_at_start(space: SpaceModel, start: SpaceState, surface_c: FloatArray) -> FloatArray:
    """Dew at the first point: a panel colder than the dew point has some already.

    Estimate, no source: what ten minutes of such air lay there.
    """
    excess = np.maximum(start.vapour_pa - saturation_pressure(surface_c), 0.0)
    convection = np.array([panel.convection_w_m2k for panel in space.panels])[:, None]
    return np.maximum(start.condensate_kg_m2, VAPOUR_PER_HEAT * convection * excess * 600.0)


def _to_points(by_step: FloatArray) -> FloatArray:
    return np.concatenate([by_step, np.zeros((*by_step.shape[:-1], 1))], axis=-1)
