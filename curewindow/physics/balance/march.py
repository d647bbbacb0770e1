"""Carrying a network through a series of steps, with a thermostat, all members at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curewindow.physics.balance.network import ExactStep
from curewindow.physics.elementwise import FloatArray

Indices = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Thermostat:
    """A heater that holds one node at a temperature as far as its power goes.

    Parameters
    ----------
    node : int
        The node whose temperature is held.
    setpoint_c : ndarray, shape (M, T - 1)
        Temperature to be reached at the end of each step [°C]; NaN: heater off.
    least_w, most_w : ndarray, shape (M, T - 1)
        Power the heater can give [W]; below zero is cooling.
    """

    node: int
    setpoint_c: FloatArray
    least_w: FloatArray
    most_w: FloatArray


def march(
    steps: Sequence[ExactStep],
    regime: Indices,
    start: FloatArray,
    inputs: FloatArray,
    gains_w: FloatArray,
    thermostat: Thermostat | None = None,
) -> tuple[FloatArray, FloatArray]:
    """States of a network along a series of steps.

    Parameters
    ----------
    steps : sequence of ExactStep
        One for each regime; all of the same network shape. The first held power is the
        heater's.
    regime : ndarray of int, shape (M, T - 1)
        Which of them holds in each step.
    start : ndarray, shape (M, D)
        Nodes that store heat, at the first point [°C].
    inputs : ndarray, shape (U, M, T)
        Temperatures outside and ramped powers.
    gains_w : ndarray, shape (H, M, T - 1)
        Held powers in each step, the first besides the heater's [W].
    thermostat : Thermostat, optional
        It gives exactly the power, held over the step, that ends the step on the
        setpoint, within its limits.

    Returns
    -------
    states : ndarray, shape (T, M, D)
        Temperatures [°C]; NaN from the first unknown input on.
    heat_w : ndarray, shape (M, T - 1)
        Power of the heater in each step [W].
    """
    members, count = regime.shape
    forcing = np.empty((count, members, start.shape[1]))
    node_input = np.zeros((count, members))
    for index, step in enumerate(steps):
        where = regime == index
        if not where.any():
            continue
        begin, end = inputs[:, :, :-1][:, where], inputs[:, :, 1:][:, where]
        moved = step.from_start @ begin + step.from_end @ end
        forcing.transpose(1, 0, 2)[where] = (moved + step.from_held @ gains_w[:, where]).T
        if thermostat is not None:
            reading = step.node_input[thermostat.node] @ end
            reading += step.node_held[thermostat.node] @ gains_w[:, where]
            node_input.T[where] = reading

    decay = np.stack([step.decay for step in steps])
    # Most often all members share a regime, and one product serves them all.
    shared = np.where(np.all(regime == regime[:1], axis=0), regime[0], -1).tolist()
    by_step = np.ascontiguousarray(regime.T)
    states = np.empty((count + 1, members, start.shape[1]))
    states[0] = start
    heat = np.zeros((count, members))
    control = None if thermostat is None else _control(steps, thermostat)
    for k in range(count):
        now, which = states[k], by_step[k]
        if shared[k] >= 0:
            free = now @ decay[shared[k]].T
        else:
            free = np.matmul(decay[which], now[:, :, None])[:, :, 0]
        free += forcing[k]
        if control is not None and control.on[k]:
            reading = np.einsum("md,md->m", free, control.row[which]) + node_input[k]
            wanted = (control.setpoint[k] - reading) / control.gain[which]
            power = np.minimum(np.maximum(wanted, control.least[k]), control.most[k])
            power = np.where(control.off[k], 0.0, power)
            free += control.response[which] * power[:, None]
            heat[k] = power
        states[k + 1] = free
    return states, np.ascontiguousarray(heat.T)


@dataclass(frozen=True, slots=True, eq=False)
class _Control:
    """A thermostat laid out by step, and what a watt does in each regime."""

    on: list[bool]  # (T - 1,) any member heats
    off: npt.NDArray[np.bool_]  # (T - 1, M)
    setpoint: FloatArray
    least: FloatArray
    most: FloatArray
    row: FloatArray  # (K, D) state to reading
    response: FloatArray  # (K, D) watt to state
    gain: FloatArray  # (K,) watt to reading


def _control(steps: Sequence[ExactStep], thermostat: Thermostat) -> _Control:
    row = np.stack([step.node_state[thermostat.node] for step in steps])
    response = np.stack([step.from_held[:, 0] for step in steps])
    direct = np.array([step.node_held[thermostat.node, 0] for step in steps])
    off = np.isnan(thermostat.setpoint_c).T
    return _Control(
        on=[bool(row) for row in np.any(~off, axis=1)],
        off=np.ascontiguousarray(off),
        setpoint=np.ascontiguousarray(thermostat.setpoint_c.T),
        least=np.ascontiguousarray(thermostat.least_w.T),
        most=np.ascontiguousarray(thermostat.most_w.T),
        row=row,
        response=response,
        gain=np.einsum("kd,kd->k", row, response) + direct,
    )


def nodes_at(
    steps: Sequence[ExactStep],
    regime: Indices,
    states: FloatArray,
    inputs: FloatArray,
    power_w: FloatArray,
    nodes: Sequence[int],
) -> FloatArray:
    """Temperatures of chosen nodes at all points, surfaces included.

    Parameters
    ----------
    steps, regime, inputs
        As for `march`.
    states : ndarray, shape (T, M, D)
        From `march`.
    power_w : ndarray, shape (H, M, T - 1)
        All held powers in each step, heater included [W].
    nodes : sequence of int

    Returns
    -------
    ndarray, shape (len(nodes), M, T)
        At the end of each step in that step's regime; the first point in the first
        regime and without power.
    """
    pick = list(nodes)
    regimes = np.concatenate([regime[:, :1], regime], axis=1)
    power = np.concatenate([np.zeros_like(power_w[:, :, :1]), power_w], axis=2)
    flat = states.transpose(2, 1, 0)  # (D, M, T)
    found = np.empty((len(pick), *regimes.shape))
    for index, step in enumerate(steps):
        where = regimes == index
        found[:, where] = (
            step.node_state[pick] @ flat[:, where]
            + step.node_input[pick] @ inputs[:, where]
            + step.node_held[pick] @ power[:, where]
        )
    return found


def mean_nodes(
    steps: Sequence[ExactStep],
    regime: Indices,
    states: FloatArray,
    inputs: FloatArray,
    power_w: FloatArray,
    nodes: Sequence[int],
) -> FloatArray:
    """Exact mean of chosen nodes over each step, shape (len(nodes), M, T - 1).

    Parameters are those of `nodes_at`.
    """
    pick = list(nodes)
    flat = states.transpose(2, 1, 0)[:, :, :-1]
    found = np.empty((len(pick), *regime.shape))
    for index, step in enumerate(steps):
        where = regime == index
        begin, end = inputs[:, :, :-1][:, where], inputs[:, :, 1:][:, where]
        power = power_w[:, where]
        mean = (
            step.mean_decay @ flat[:, where]
            + step.mean_start @ begin
            + step.mean_end @ end
            + step.mean_held @ power
        )
        found[:, where] = (
            step.node_state[pick] @ mean
            + step.node_input[pick] @ ((begin + end) / 2.0)
            + step.node_held[pick] @ power
        )
    return found
