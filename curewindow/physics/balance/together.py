"""Heat and moisture marched together: dew that warms, frost, real heaters, dehumidifiers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from curewindow.physics.balance.heater import Burning, thermostat_acts
from curewindow.physics.balance.iteration import Devices, Guess, StepSolver, UnsettledStep, times
from curewindow.physics.balance.march import (
    Indices,
    Thermostat,
    at_end_of,
    first_nodes,
    forcing_of,
    shared_regimes,
)
from curewindow.physics.balance.moisture import Moisture
from curewindow.physics.balance.network import ExactStep
from curewindow.physics.balance.space import AIR_NODE, MASS_NODE, SpaceModel
from curewindow.physics.elementwise import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Water:
    """What moisture needs of a run: (M, T - 1) but for the start.

    inflow_pa, air_changes_h, source_kg_h, works (share of the dehumidifier); vapour_pa (M,),
    buffer_rh_pct (M,), and water and frost on the panels at the start (P, M) [kg/m²].
    """

    inflow_pa: FloatArray
    air_changes_h: FloatArray
    source_kg_h: FloatArray
    works: FloatArray
    vapour_pa: FloatArray
    buffer_rh_pct: FloatArray
    condensate_kg_m2: FloatArray
    frost_kg_m2: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class JointRun:
    """A run: states (T, M, D), nodes (2 + P, M, T), and (M, T - 1) but where said.

    heat_w; power_w (1 + P, M, T - 1), all held powers but gains; drying_w, heat of the
    dehumidifier; removed_kg; frost_kg_m2 (P, M, T); moisture.
    """

    states: FloatArray
    nodes_c: FloatArray
    heat_w: FloatArray
    power_w: FloatArray
    drying_w: FloatArray
    removed_kg: FloatArray
    frost_kg_m2: FloatArray
    moisture: Moisture


def march_together(
    space: SpaceModel,
    step_s: float,
    steps: Sequence[ExactStep],
    regime: Indices,
    inner: Sequence[int],
    start_c: FloatArray,
    inputs: FloatArray,
    gains_w: FloatArray,
    thermostat: Thermostat,
    water: Water,
    devices: Devices,
) -> JointRun:
    """Carry heat and moisture of a space along a series of steps.

    Parameters
    ----------
    space : SpaceModel
    step_s : float
        Step [s].
    steps, regime, inputs, gains_w, thermostat
        As for `march.march`; held powers are the air's, then each inner surface's.
        `gains_w` is (1 + P, M or 1, T - 1).
    inner : sequence of int
        Node of each panel's inner surface.
    start_c : ndarray, shape (M, D)
    water : Water
    devices : Devices

    Returns
    -------
    Course
    """
    members, count, panels = start_c.shape[0], regime.shape[1], len(inner)
    nodes = [AIR_NODE, MASS_NODE, *inner]
    forcing = forcing_of(steps, regime, inputs, gains_w)
    at_end = at_end_of(steps, regime, inputs, gains_w, nodes)
    decay = np.stack([step.decay for step in steps])
    row = np.stack([step.node_state[nodes] for step in steps])
    into = np.stack([step.from_held for step in steps])
    answer = row @ into + np.stack([step.node_held[nodes] for step in steps])
    own = answer[:, range(2, 2 + panels), range(1, 1 + panels)]
    shared, by_step = shared_regimes(regime), np.ascontiguousarray(regime.T)
    warmed = [bool(each) for each in np.any(~np.isnan(thermostat.setpoint_c), axis=0)]
    room = StepSolver.of(space, step_s, devices)

    states = np.empty((count + 1, members, start_c.shape[1]))
    reads = np.empty((count + 1, members, len(nodes)))
    power = np.empty((count, members, 1 + panels))
    heat, drying, removed = (np.zeros((count, members)) for _ in range(3))
    vented, capacity = np.empty((count, members)), np.empty((count, members))
    vapour, buffer = np.empty((count + 1, members)), np.empty((count + 1, members))
    lying, frost = (np.empty((count + 1, panels, members)) for _ in range(2))
    states[0] = start_c
    reads[0] = first_nodes(steps, regime, start_c, inputs, nodes).T
    vapour[0], buffer[0] = water.vapour_pa, water.buffer_rh_pct / 100.0
    lying[0], frost[0] = water.condensate_kg_m2 * room.area, water.frost_kg_m2 * room.area
    burning = Burning.cold(members)
    guess = was = Guess.nothing(panels, members)
    for k in range(count):
        which: Indices | slice = by_step[k] if shared[k] < 0 else slice(shared[k], shared[k] + 1)
        free = times(decay[which], states[k]) + forcing[k]
        unsettled = UnsettledStep(
            base=times(row[which], free) + at_end[k],
            answer=answer[which],
            own=own[which].T,
            warmed=warmed[k],
            before=reads[k],
            setpoint=thermostat.setpoint_c[:, k],
            least=thermostat.least_w[:, k],
            most=thermostat.most_w[:, k],
            inflow=water.inflow_pa[:, k],
            change=water.air_changes_h[:, k],
            source=water.source_kg_h[:, k],
            vapour=vapour[k],
            buffer=buffer[k],
            lying=lying[k],
            frost=frost[k],
            works=water.works[:, k],
            guess=guess,
        )
        if devices.heater is not None:
            burning = thermostat_acts(
                devices.heater, burning, reads[k, :, 0], thermostat.setpoint_c[:, k]
            )
        now = room.settled(unsettled, burning)
        guess, was = now.found.onward(was), now.found
        states[k + 1] = free + times(into[which], now.power)
        reads[k + 1], power[k], heat[k] = now.reads, now.power, now.heat
        vapour[k + 1], buffer[k + 1] = now.vapour, now.buffer
        lying[k + 1], frost[k + 1] = now.lying, now.frost
        drying[k], removed[k] = now.found.drying, now.removal * step_s
        vented[k], capacity[k] = now.vented, now.capacity
        burning = Burning(burning.lit, np.where(burning.lit, burning.for_h + step_s / 3600.0, 0.0))
    unknown = np.isnan(vapour)[:, None]
    lying[np.broadcast_to(unknown, lying.shape)] = np.nan
    frost[np.broadcast_to(unknown, frost.shape)] = np.nan
    return JointRun(
        states=states,
        nodes_c=np.ascontiguousarray(reads.transpose(2, 1, 0)),
        heat_w=np.ascontiguousarray(heat.T),
        power_w=np.ascontiguousarray(power.transpose(2, 1, 0)),
        drying_w=np.ascontiguousarray(drying.T),
        removed_kg=np.ascontiguousarray(removed.T),
        frost_kg_m2=np.ascontiguousarray((frost / room.area).transpose(1, 2, 0)),
        moisture=Moisture(
            vapour_pa=np.ascontiguousarray(vapour.T),
            buffer_rh_pct=np.ascontiguousarray(buffer.T) * 100.0,
            condensate_kg_m2=np.ascontiguousarray((lying / room.area).transpose(1, 2, 0)),
            vented_kg=np.ascontiguousarray(vented.T),
            capacity_kg_pa=np.ascontiguousarray(capacity.T),
        ),
    )
