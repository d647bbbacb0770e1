"""Carrying a network through a series of steps, with a thermostat, all members at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curewindow.physics.balance.network import ExactStep
from curewindow.physics.elementwise import FloatArray

Indices = npt.NDArray[np.intp]
# So many multiplications at once are worth it; more would be spread over the processor's
# cores, and two that wait for each other at every step take a hundred times as long.
_AT_ONCE = 400_000
_PIECE = 8192  # rows of values worked on at a time


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

    What is the same for all members may be given once, with 1 in place of M.

    Parameters
    ----------
    steps : sequence of ExactStep
        One for each regime; all of the same network shape. The first held power is the
        heater's.
    regime : ndarray of int, shape (M or 1, T - 1)
        Which of them holds in each step.
    start : ndarray, shape (M, D)
        Nodes that store heat, at the first point [°C].
    inputs : ndarray, shape (U, M or 1, T)
        Temperatures outside and ramped powers.
    gains_w : ndarray, shape (H, M or 1, T - 1)
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
    members, count = start.shape[0], regime.shape[1]
    stores = start.shape[1]
    control = None if thermostat is None else _control(steps, regime, thermostat)
    # What the thermostat reads at the end of a step stands behind the states.
    reads = [] if control is None else [control.node]
    decay = np.stack([_with_reading(step, step.decay, reads) for step in steps])
    forcing = _forcing_with(steps, regime, inputs, gains_w, reads)
    shared = shared_regimes(regime)
    # All regimes at once for all members, then each its own: quicker than a matrix each
    # as long as there are few of either.
    few = members * decay.size <= _AT_ONCE
    side_by_side = np.ascontiguousarray(decay.transpose(2, 0, 1)).reshape(stores, -1)
    by_step = np.ascontiguousarray(regime.T)
    own = np.arange(members) * len(steps) + by_step
    states = np.empty((count + 1, members, stores))
    states[0] = start
    heat = np.zeros((count, members))
    for k in range(count):
        now, which = states[k], by_step[k]
        if shared[k] >= 0:
            free = now @ decay[shared[k]].T
        elif few:
            free = (now @ side_by_side).reshape(members * len(steps), -1).take(own[k], axis=0)
        else:
            free = np.matmul(decay[which], now[:, :, None])[:, :, 0]
        free += forcing[k]
        if control is not None:
            if control.on[k]:
                power = control.setpoint[k] - free[:, stores]
                power /= control.gain[k]
                np.maximum(power, control.least[k], out=power)
                np.minimum(power, control.most[k], out=power)
                if control.some_off[k]:
                    power = np.where(control.off[k], 0.0, power)
                heat[k] = power
                warmed = control.response.take(which, axis=0) * power[:, None]
                np.add(free[:, :stores], warmed, out=states[k + 1])
            else:
                states[k + 1] = free[:, :stores]
        else:
            states[k + 1] = free
    return states, np.ascontiguousarray(heat.T)


def shared_regimes(regime: Indices) -> list[int]:
    """Regime of each step where all members share one, else -1."""
    same = np.all(regime == regime[:1], axis=0)
    return [int(value) for value in np.where(same, regime[0], -1)]


def forcing_of(
    steps: Sequence[ExactStep], regime: Indices, inputs: FloatArray, gains_w: FloatArray
) -> FloatArray:
    """What inputs and gains add to the states in each step, shape (T - 1, M or 1, D)."""
    return _forcing_with(steps, regime, inputs, gains_w, [])


def _forcing_with(
    steps: Sequence[ExactStep],
    regime: Indices,
    inputs: FloatArray,
    gains_w: FloatArray,
    reads: list[int],
) -> FloatArray:
    """As `forcing_of`, and what they put on nodes at the end behind it, (T - 1, M or 1, D + N)."""
    ends = [_with_reading(step, step.from_end, reads) for step in steps]
    held = [_with_reading(step, step.from_held, reads) for step in steps]
    for step, end, power in zip(steps, ends, held, strict=True):
        end[len(step.decay) :] += step.node_input[reads]
        power[len(step.decay) :] += step.node_held[reads]
    return _summed(
        regime,
        [
            (inputs[:, :, :-1], [_with_reading(step, step.from_start, reads) for step in steps]),
            (inputs[:, :, 1:], ends),
            (gains_w, held),
        ],
    )


def _with_reading(step: ExactStep, into: FloatArray, reads: list[int]) -> FloatArray:
    """A matrix that ends in the states, and behind it what nodes read of these."""
    return np.concatenate([into, step.node_state[reads] @ into])


def at_end_of(
    steps: Sequence[ExactStep],
    regime: Indices,
    inputs: FloatArray,
    gains_w: FloatArray,
    nodes: Sequence[int],
) -> FloatArray:
    """What inputs and gains put on nodes at the end of each step, (T - 1, M or 1, N)."""
    pick = list(nodes)
    return _summed(
        regime,
        [
            (inputs[:, :, 1:], [step.node_input[pick] for step in steps]),
            (gains_w, [step.node_held[pick] for step in steps]),
        ],
    )


def first_nodes(
    steps: Sequence[ExactStep],
    regime: Indices,
    start: FloatArray,
    inputs: FloatArray,
    nodes: Sequence[int],
) -> FloatArray:
    """Nodes at the first point, in the first regime and without power, shape (N, M)."""
    pick = list(nodes)
    found = _summed(
        regime[:, :1],
        [
            (start.T[:, :, None], [step.node_state[pick] for step in steps]),
            (inputs[:, :, :1], [step.node_input[pick] for step in steps]),
        ],
    )
    return np.asarray(found[0].T, dtype=np.float64)


def _summed(
    regime: Indices, terms: Sequence[tuple[FloatArray, Sequence[FloatArray]]]
) -> FloatArray:
    """Sum of matrix times values, the matrix by regime.

    Parameters
    ----------
    regime : ndarray of int, shape (M or 1, T)
    terms : sequence of (values, matrices)
        Values (N, M or 1, T); matrices (R, N), one for each regime. Those that are
        zero throughout take no part.

    Returns
    -------
    ndarray, shape (T, M or 1, R)
    """
    rows = terms[0][1][0].shape[0]
    members, count = max(regime.shape[0], *(v.shape[1] for v, _ in terms)), regime.shape[1]
    total = np.zeros((count, members, rows))
    # What members share is worked out once, so terms of as many members go together; where
    # values are shared, so are those of all members with the same regimes throughout.
    together: dict[bool, list[tuple[FloatArray, Sequence[FloatArray]]]] = {}
    for values, matrices in terms:
        used = [
            n
            for n in range(values.shape[0])
            if any(np.any(m[:, n]) for m in matrices) and np.any(values[n])
        ]
        if used:
            term = values[used], [matrix[:, used] for matrix in matrices]
            together.setdefault(values.shape[1] == 1, []).append(term)
    for shared, group in together.items():
        kinds, of_kind = _kinds(regime) if shared else (regime, None)
        across = max(kinds.shape[0], group[0][0].shape[1])
        columns = [column for values, _ in group for column in values]
        joined = [
            np.ascontiguousarray(np.concatenate(of_regime, axis=1).T)
            for of_regime in zip(*(matrices for _, matrices in group), strict=True)
        ]
        # Piece by piece, so that each stays in the processor's cache.
        length = max(1, _PIECE // across)
        for first in range(0, count, length):
            piece = slice(first, min(first + length, count))
            which = kinds[:, piece].T
            flat = np.empty((which.shape[0], across, len(columns)))
            for number, column in enumerate(columns):
                flat[:, :, number] = column[:, piece].T
            which = np.ascontiguousarray(np.broadcast_to(which, flat.shape[:2])).reshape(-1)
            found = _by_regime(flat.reshape(-1, len(columns)), which, joined)
            found = found.reshape(flat.shape[0], across, rows)
            total[piece] += found if of_kind is None else found[:, of_kind]
    return total


def _kinds(regime: Indices) -> tuple[Indices, Indices | None]:
    """Courses of regimes that members have (K, T), and which of them each has (M,).

    None: each has its own, or all the same.
    """
    if regime.shape[0] == 1:
        return regime, None
    seen: dict[bytes, int] = {}
    place = np.array([seen.setdefault(row.tobytes(), len(seen)) for row in regime], np.intp)
    if len(seen) == regime.shape[0]:
        return regime, None
    first = np.unique(place, return_index=True)[1]
    return regime[first], place


def _by_regime(values: FloatArray, which: Indices, matrices: list[FloatArray]) -> FloatArray:
    """Each row of values times the matrix of its own regime, sorted by regime on the way."""
    lengths = np.bincount(which, minlength=len(matrices)).tolist()
    present = [(index, length) for index, length in enumerate(lengths) if length]
    if len(present) == 1:
        return np.asarray(values @ matrices[present[0][0]])
    # Few bits are sorted by counting; there are far fewer regimes.
    order = np.argsort(which.astype(np.uint16), kind="stable")
    ordered = values[order]
    found = np.empty((values.shape[0], matrices[0].shape[1]))
    begin = 0
    for index, length in present:
        span = slice(begin, begin + length)
        found[order[span]] = ordered[span] @ matrices[index]
        begin += length
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Control:
    """A thermostat laid out by step, and what a watt does in each regime."""

    node: int
    on: list[bool]  # (T - 1,) any member heats
    some_off: list[bool]  # (T - 1,) and any does not
    off: npt.NDArray[np.bool_]  # (T - 1, M)
    setpoint: FloatArray
    least: FloatArray
    most: FloatArray
    response: FloatArray  # (K, D) watt to state
    gain: FloatArray  # (T - 1, M or 1) watt to reading


def _control(steps: Sequence[ExactStep], regime: Indices, thermostat: Thermostat) -> _Control:
    row = np.stack([step.node_state[thermostat.node] for step in steps])
    response = np.stack([step.from_held[:, 0] for step in steps])
    direct = np.array([step.node_held[thermostat.node, 0] for step in steps])
    off = np.isnan(thermostat.setpoint_c).T
    gain = np.einsum("kd,kd->k", row, response) + direct
    return _Control(
        node=thermostat.node,
        on=np.any(~off, axis=1).tolist(),
        some_off=np.any(off, axis=1).tolist(),
        off=np.ascontiguousarray(off),
        setpoint=np.ascontiguousarray(thermostat.setpoint_c.T),
        least=np.ascontiguousarray(thermostat.least_w.T),
        most=np.ascontiguousarray(thermostat.most_w.T),
        response=response,
        gain=gain[np.ascontiguousarray(regime.T)],
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
    power_w : ndarray, shape (H, M or 1, T - 1)
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
    still = np.zeros((*power_w.shape[:2], 1))
    power = np.concatenate([still, power_w], axis=2)
    found = _summed(
        regimes,
        [
            (states.transpose(2, 1, 0), [step.node_state[pick] for step in steps]),
            (inputs, [step.node_input[pick] for step in steps]),
            (power, [step.node_held[pick] for step in steps]),
        ],
    )
    return np.ascontiguousarray(found.transpose(2, 1, 0))


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
    rows = [step.node_state[pick] for step in steps]
    direct = [step.node_input[pick] / 2.0 for step in steps]
    found = _summed(
        regime,
        [
            (
                states.transpose(2, 1, 0)[:, :, :-1],
                [row @ step.mean_decay for row, step in zip(rows, steps, strict=True)],
            ),
            (
                inputs[:, :, :-1],
                [r @ s.mean_start + d for r, s, d in zip(rows, steps, direct, strict=True)],
            ),
            (
                inputs[:, :, 1:],
                [r @ s.mean_end + d for r, s, d in zip(rows, steps, direct, strict=True)],
            ),
            (
                power_w,
                [r @ s.mean_held + s.node_held[pick] for r, s in zip(rows, steps, strict=True)],
            ),
        ],
    )
    return np.ascontiguousarray(found.transpose(2, 1, 0))
