"""Heat and moisture of one space through time, all members at once.

Inputs are linear between grid points; heater, gains and air change are held over a
step. Wind and air change alter the network itself, so each pair of their classes
is a regime with matrices of its own. Plainly, heat is solved first and moisture after
it, and the heat that dew gives off is left out; with a heater that cannot go low, a
dehumidifier or that heat asked for, both are marched together (`together`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from curewindow.physics.air import (
    dew_point_from_pressure,
    relative_humidity_from_pressure,
    saturation_pressure,
)
from curewindow.physics.balance.dehumidifier import Dehumidifier
from curewindow.physics.balance.drive import grid_shape, panel_inputs, regimes_of
from curewindow.physics.balance.heater import HeaterModel, reach_w
from curewindow.physics.balance.iteration import Devices
from curewindow.physics.balance.march import (
    Indices,
    Thermostat,
    first_nodes,
    march,
    mean_nodes,
)
from curewindow.physics.balance.moisture import VAPOUR_PER_HEAT, march_moisture
from curewindow.physics.balance.network import ExactStep, exact_step
from curewindow.physics.balance.space import (
    AIR_NODE,
    MASS_NODE,
    Doorway,
    Outside,
    SpaceModel,
    SpaceNodes,
)
from curewindow.physics.balance.state import SpaceResult, SpaceState
from curewindow.physics.balance.together import Water, march_together
from curewindow.physics.elementwise import FloatArray


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
    heater: HeaterModel | None = None,
    cap_w: npt.ArrayLike = np.inf,
    dehumidifier: Dehumidifier | None = None,
    drying: npt.ArrayLike = 1.0,
    doors: Sequence[Doorway] = (),
    latent_heat: bool = False,
    losses: bool = True,
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
    heater : HeaterModel, optional
        A heater with its least burn, warm-up and flue, in place of one that gives just
        what is wanted up to `power_limit_w`, which then does not count. It begins cold.
    cap_w : array_like, broadcast to (M, T)
        Most that is to be had of the heater once it is warm, where that is less than its
        own: to tell candidates apart, or as from some time on [W].
    dehumidifier : Dehumidifier, optional
        It holds its target.
    drying : array_like, broadcast to (M, T)
        Share of the dehumidifier that works, from each point to the next: 0 where it is
        off, 1 where it is on, 2 for two of them.
    doors : sequence of Doorway
        Air exchanged with other spaces.
    latent_heat : bool
        Let dew and frost warm and cool the panels they form on and leave, and take
        saturation over ice and book frost below 0 °C. Otherwise dew carries no heat and
        saturation is over water throughout, the later dew of the two.
    losses : bool
        Work out where the heat goes, too; else `loss_w` is NaN, and it is quicker.

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
    reach = power_limit_w if heater is None else cap_w
    given = (reach, gains_w, moisture_kg_h, ach, drying)
    held = [np.asarray(v, dtype=np.float64) for v in given]
    setpoint = np.asarray(setpoint_c, dtype=np.float64)
    flows = [np.asarray(door.airflow_m3_h, dtype=np.float64) for door in doors]
    behind = [v for door in doors for v in (door.temp_c, door.vapour_pa)]
    members, points = grid_shape(outside, [*held, *flows, *behind, setpoint], len(start.vapour_pa))
    if points < 2:
        raise ValueError("a simulation needs two grid points at least")
    if any(np.any(values < 0) for values in (held[0], *held[2:], *flows)):
        raise ValueError(
            "power_limit_w, cap_w, moisture_kg_h, drying and air changes must not be negative"
        )
    # Each (M, T - 1), read where its step begins.
    limit, source, change, works = (
        np.broadcast_to(v, (members, points))[:, :-1] for v in (held[0], *held[2:])
    )
    gains = _by_step(held[1], points)
    wanted = np.broadcast_to(setpoint, (members, points))[:, :-1]

    # Heating candidates share one weather: what it does is then worked out once.
    weathers = grid_shape(outside, [np.zeros((1, points)), *behind], 1)[0]
    inputs = panel_inputs(space, outside, weathers, points, doors)
    wind = np.broadcast_to(outside.wind_ms, (weathers, points))
    # A heater that goes down to nothing gives just what is wanted, once it is warm.
    cycles = heater is not None and heater.least_w > 0.0
    together = cycles or dehumidifier is not None or latent_heat
    regime, models = regimes_of(
        space,
        (wind[:, :-1] + wind[:, 1:]) / 2.0,
        _by_step(held[3], points),
        [_by_step(flow, points) for flow in flows],
        heated_surfaces=together,
    )
    steps = [exact_step(model.network, step_h * 3600.0) for model in models]
    inputs[:, np.isnan(wind)] = np.nan
    inflow_pa, inflow_h = _inflow(space, outside, doors, flows, change, (members, points))
    unknown = np.isnan(inflow_h)
    # What members share of it stays shared: it is then worked out once.
    gains = (np.where(unknown, np.nan, gains) if unknown.any() else gains)[None]

    start = _spread(start, (members, steps[0].decay.shape[0]), len(space.panels))
    thermostat = Thermostat(AIR_NODE, wanted, np.zeros_like(limit), limit)
    picked = [AIR_NODE, MASS_NODE, *models[0].inner]
    nothing = np.broadcast_to(0.0, (len(space.panels), members, points))
    frost, latent, dryer_w, dried = nothing, nothing, nothing[0], nothing[0]
    if together:
        gains = np.concatenate([gains, np.zeros((len(space.panels), *gains.shape[1:]))])
        surface = first_nodes(steps, regime, start.nodes_c, inputs, models[0].inner)
        dew = _wet_at_start(space, start, surface)
        icy = np.where(surface < 0.0, dew, 0.0) if latent_heat else np.zeros_like(dew)
        if latent_heat and start.frost_kg_m2 is not None:
            icy = start.frost_kg_m2
        course = march_together(
            space,
            step_h * 3600.0,
            steps,
            regime,
            models[0].inner,
            start.nodes_c,
            inputs,
            gains,
            thermostat,
            Water(
                inflow_pa, inflow_h, source, works, start.vapour_pa, start.buffer_rh_pct, dew, icy
            ),
            Devices(heater, dehumidifier, latent_heat),
        )
        states, heat, nodes, water = course.states, course.heat_w, course.nodes_c, course.moisture
        power = course.power_w + gains
        frost, latent = course.frost_kg_m2, _to_points(course.power_w[1:])
        dryer_w, dried = _to_points(course.drying_w), _to_points(course.removed_kg)
    else:
        if heater is not None:
            limit = reach_w(heater, wanted, step_h, limit)
            thermostat = Thermostat(AIR_NODE, wanted, np.zeros_like(limit), limit)
        states, heat, nodes = march(steps, regime, start.nodes_c, inputs, gains, thermostat, picked)
        power = heat + gains
        if heater is not None and heater.water_kg_kwh > 0.0:
            source = source + heat / 1000.0 * heater.water_kg_kwh
        water = march_moisture(
            space,
            step_h * 3600.0,
            (nodes[0], nodes[1], nodes[2:]),
            inflow_pa,
            inflow_h,
            source,
            (
                start.vapour_pa,
                start.buffer_rh_pct,
                _wet_at_start(space, start, nodes[2:, :, 0]),
            ),
        )
    air, mass = nodes[0], nodes[1]
    if losses:
        loss = _losses(steps, models, regime, states, inputs, power)
    else:
        ways = len(space.panels) + 1
        loss = np.broadcast_to(np.nan, (ways, members, points - 1))
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
        surface_c=nodes[2:],
        condensate_kg_m2=water.condensate_kg_m2,
        panel_names=tuple(panel.name for panel in space.panels),
        heat_w=_to_points(heat),
        loss_w=_to_points(loss),
        vented_kg=_to_points(water.vented_kg),
        known=known,
        nodes_c=states,
        frost_kg_m2=frost,
        latent_w=latent,
        dried_kg=dried,
        drying_w=dryer_w,
    )


def _by_step(values: FloatArray, points: int) -> FloatArray:
    """Values held over each step, (M or 1, T - 1)."""
    rows = np.atleast_2d(values)
    return np.broadcast_to(rows, (rows.shape[0], points))[:, :-1]


def _inflow(
    space: SpaceModel,
    outside: Outside,
    doors: Sequence[Doorway],
    flows: Sequence[FloatArray],
    change: FloatArray,
    shape: tuple[int, int],
) -> tuple[FloatArray, FloatArray]:
    """Vapour pressure of all air coming in, mid-step [Pa], and its change [1/h]."""

    def middle(values: npt.ArrayLike) -> FloatArray:
        grid = np.broadcast_to(np.asarray(values, dtype=np.float64), shape)
        return (grid[:, :-1] + grid[:, 1:]) / 2.0

    pressure, total = middle(outside.vapour_pa), change
    for door, flow in zip(doors, flows, strict=True):
        more = np.broadcast_to(flow, shape)[:, :-1] / space.volume_m3
        share = np.divide(more, total + more, out=np.zeros(more.shape), where=total + more > 0.0)
        pressure = np.where(
            share > 0.0, (1.0 - share) * pressure + share * middle(door.vapour_pa), pressure
        )
        total = np.where(np.isnan(more), np.nan, total + more)
    return pressure, total


def _spread(start: SpaceState, shape: tuple[int, int], panels: int) -> SpaceState:
    """The start for each member; one of a single member serves them all."""
    members = shape[0]
    try:
        return SpaceState(
            nodes_c=np.broadcast_to(start.nodes_c, shape),
            vapour_pa=np.broadcast_to(start.vapour_pa, (members,)),
            buffer_rh_pct=np.broadcast_to(start.buffer_rh_pct, (members,)),
            condensate_kg_m2=np.broadcast_to(start.condensate_kg_m2, (panels, members)),
            frost_kg_m2=None
            if start.frost_kg_m2 is None
            else np.broadcast_to(start.frost_kg_m2, (panels, members)),
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
    by_air_and_panel = [AIR_NODE, *models[0].outer]
    doors = models[0].network.boundary_w_k.shape[1] - len(by_air_and_panel)
    ends = by_air_and_panel + [AIR_NODE] * doors
    mean = mean_nodes(steps, regime, states, inputs, power, ends)
    beyond = inputs[: len(ends)]
    conductance = np.array(
        [model.network.boundary_w_k[ends, range(len(ends))] for model in models]
    )  # (K, P + 1 + doors)
    drop = mean - (beyond[:, :, :-1] + beyond[:, :, 1:]) / 2.0
    loss = np.asarray(conductance[regime].transpose(2, 0, 1) * drop, dtype=np.float64)
    loss[0] += loss[len(by_air_and_panel) :].sum(axis=0)
    return loss[: len(by_air_and_panel)]


def _wet_at_start(space: SpaceModel, start: SpaceState, surface_c: FloatArray) -> FloatArray:
    """Dew at the first point: a panel colder than the dew point has some already.

    Estimate, no source: what ten minutes of such air lay there.
    """
    excess = np.maximum(start.vapour_pa - saturation_pressure(surface_c), 0.0)
    convection = np.array([panel.convection_w_m2k for panel in space.panels])[:, None]
    return np.maximum(start.condensate_kg_m2, VAPOUR_PER_HEAT * convection * excess * 600.0)


def _to_points(by_step: FloatArray) -> FloatArray:
    return np.concatenate([by_step, np.zeros((*by_step.shape[:-1], 1))], axis=-1)
