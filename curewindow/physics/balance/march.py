"""Carrying a network through a series of steps, with a thermostat, all members at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curewindow.physics.balance.network import ExactStep
from curewindow.physics.elementwise import FloatArray

Indices = npt.NDArray[np.intp]
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
    nodes: Sequence[int] = (),
) -> tuple[FloatArray, FloatArray, FloatArray]:
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
    nodes : sequence of int
        Read at all points, surfaces included.

    Returns
    -------
    states : ndarray, shape (T, M, D)
        Temperatures [°C]; NaN from the first unknown input on.
    heat_w : ndarray, shape (M, T - 1)
        Power of the heater in each step [W].
    nodes_c : ndarray, shape (len(nodes), M, T)
        At the end of each step in that step's regime; the first point in the first
        regime and without power [°C].
    """
    from curewindow.physics.balance import compiled

    (members, stores), count = start.shape, regime.shape[1]
    if thermostat is None:
        off = np.broadcast_to(np.nan, (members, count))
        thermostat = Thermostat(0, off, off, off)
    # What is read at the end of a step stands behind the states: the thermostat's node first.
    reads = [thermostat.node, *nodes]
    ends = [_with_reading(step, step.from_end, reads) for step in steps]
    held = [_with_reading(step, step.from_held, reads) for step in steps]
    for step, end, power in zip(steps, ends, held, strict=True):
        end[stores:] += step.node_input[reads]
        power[stores:] += step.node_held[reads]
    starts = [_with_reading(step, step.from_start, reads) for step in steps]
    terms = [(inputs[:, :, :-1], starts), (inputs[:, :, 1:], ends), (gains_w, held)]
    shared, by_shared = _columns([each for each in terms if each[0].shape[1] == 1], count)
    own, by_own = _columns([each for each in terms if each[0].shape[1] > 1], count)
    states = np.empty((count + 1, members, stores))
    states[0] = start
    heat, found = np.empty((members, count)), np.empty((len(nodes), members, count + 1))
    found[:, :, 0] = first_nodes(steps, regime, start, inputs, nodes)
    kinds, width = len(steps), stores + len(reads)
    compiled.run(
        "march_states",
        *(members, count, stores, len(nodes), len(regime), len(shared), len(own)),
        _by_column([_with_reading(step, step.decay, reads) for step in steps]),
        np.array([power[:, 0] for power in held]),
        np.ascontiguousarray(regime, dtype=np.int64),
        _by_column(by_shared),
        shared,
        _by_column(by_own),
        own,
        np.ascontiguousarray(thermostat.setpoint_c),
        np.ascontiguousarray(thermostat.least_w),
        np.ascontiguousarray(thermostat.most_w),
        np.full(kinds, -1, dtype=np.int64),
        np.empty((kinds, width)),
        np.empty(width),
        states,
        heat,
        found,
    )
    return states, heat, found


def _columns(
    terms: Sequence[tuple[FloatArray, Sequence[FloatArray]]], count: int
) -> tuple[FloatArray, list[FloatArray]]:
    """Values (C, M or 1, T - 1) and matrices (R, C) of several terms together, as for `_summed`."""
    values: list[FloatArray] = []
    matrices: list[Sequence[FloatArray]] = []
    for given, by_regime in terms:
        used = _used(given, by_regime)
        values += [given[n] for n in used]
        matrices.append([matrix[:, used] for matrix in by_regime])
    if not values:
        return np.empty((0, 1, count)), []
    joined = [np.concatenate(each, axis=1) for each in zip(*matrices, strict=True)]
    return np.stack(values), joined


def _used(values: FloatArray, matrices: Sequence[FloatArray]) -> list[int]:
    """Those of the values that are not zero throughout, nor is what becomes of them."""
    return [
        n
        for n in range(values.shape[0])
        if any(np.any(m[:, n]) for m in matrices) and np.any(values[n])
    ]


def _by_column(matrices: Sequence[FloatArray]) -> FloatArray:
    """Matrices (R, C) of all regimes as (K, C, R)."""
    return np.array([matrix.T for matrix in matrices], dtype=np.float64, order="C")


def shared_regimes(regime: Indices) -> list[int]:
    """Regime of each step where all members share one, else -1."""
    same = np.all(regime == regime[:1], axis=0)
    return [int(value) for value in np.where(same, regime[0], -1)]


def forcing_of(
    steps: Sequence[ExactStep], regime: Indices, inputs: FloatArray, gains_w: FloatArray
) -> FloatArray:
    """What inputs and gains add to the states in each step, shape (T - 1, M or 1, D)."""
    return _summed(
        regime,
        [
            (inputs[:, :, :-1], [step.from_start for step in steps]),
            (inputs[:, :, 1:], [step.from_end for step in steps]),
            (gains_w, [step.from_held for step in steps]),
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
        used = _used(values, matrices)
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


def mean_nodes(
    steps: Sequence[ExactStep],
    regime: Indices,
    states: FloatArray,
    inputs: FloatArray,
    power_w: FloatArray,
    nodes: Sequence[int],
) -> FloatArray:
    """Exact mean of chosen nodes over each step, shape (len(nodes), M, T - 1).

    Parameters
    ----------
    steps, regime, inputs
        As for `march`.
    states : ndarray, shape (T, M, D)
        From `march`.
    power_w : ndarray, shape (H, M or 1, T - 1)
        All held powers in each step, heater included [W].
    nodes : sequence of int
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
