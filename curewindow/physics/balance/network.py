"""Heat in a network of capacities and conductances, solved exactly over a step.

    C x' = -L x + Gb u_b + J q

with node temperatures x, temperatures outside u_b, powers q. Nodes without a
capacity (surfaces) follow at once and are eliminated. What is left is made symmetric
by the square root of the capacities, so its modes are real and never grow, and
the matrix exponential is one symmetric eigenvalue problem.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import factorial
from typing import Final

import numpy as np
import numpy.typing as npt

from curewindow.physics.elementwise import FloatArray

_NEAR: Final = 2e-3
_PHI3: Final = tuple(1.0 / factorial(n + 3) for n in range(14))


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Nodes, what joins them, and what drives them.

    Parameters
    ----------
    capacity_j_k : ndarray, shape (N,)
        Heat capacity of each node, 0 for one that stores nothing [J/K].
    link_w_k : ndarray, shape (N, N)
        Conductance between nodes, symmetric, diagonal ignored [W/K].
    boundary_w_k : ndarray, shape (N, B)
        Conductance from each node to each temperature outside [W/K].
    ramped : ndarray, shape (N, Q)
        Share in each node of powers that change linearly over a step [W per unit].
    held : ndarray, shape (N, H)
        Share in each node of powers held over a step [W per unit].
    """

    capacity_j_k: FloatArray
    link_w_k: FloatArray
    boundary_w_k: FloatArray
    ramped: FloatArray
    held: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class ExactStep:
    """One step of a network, exact for inputs that are linear (or held) over it.

    With x the D nodes that store heat, u = [temperatures outside, ramped powers] and
    q the held powers: ``x1 = decay @ x0 + from_start @ u0 + from_end @ u1 +
    from_held @ q``; the mean over the step has the same form with the `mean_`
    matrices; every node is ``node_state @ x + node_input @ u + node_held @ q``.
    """

    decay: FloatArray  # (D, D)
    from_start: FloatArray  # (D, B + Q)
    from_end: FloatArray  # (D, B + Q)
    from_held: FloatArray  # (D, H)
    mean_decay: FloatArray
    mean_start: FloatArray
    mean_end: FloatArray
    mean_held: FloatArray
    node_state: FloatArray  # (N, D)
    node_input: FloatArray  # (N, B + Q)
    node_held: FloatArray  # (N, H)


# A plan asks for the same few networks over and over: the last of them are kept.
_KNOWN: Final = 512
_known: dict[tuple[object, ...], ExactStep] = {}


def exact_step(network: Network, step_s: float) -> ExactStep:
    """Matrices that carry a network over one step.

    Parameters
    ----------
    network : Network
    step_s : float
        Length of the step [s].

    Returns
    -------
    ExactStep

    Raises
    ------
    ValueError
        If the step is not above zero, a value is negative or not finite, or a node
        without capacity hangs on nothing.
    """
    if not step_s > 0:
        raise ValueError(f"step_s must be above 0 s, got {step_s}")
    parts = (getattr(network, each.name) for each in fields(network))
    key = (step_s, *((array.shape, array.tobytes()) for array in parts))
    if key not in _known:
        if len(_known) >= _KNOWN:
            _known.pop(next(iter(_known)))
        _known[key] = _exact_step(network, step_s)
    return _known[key]


def _exact_step(network: Network, step_s: float) -> ExactStep:
    stores, laplacian, drive, held = _assembled(network)
    rests = ~stores
    n_nodes, n_states = stores.size, int(stores.sum())

    # Surfaces first: L_rr x_r = J_r u - L_rs x_s (Schur complement).
    inner = laplacian[np.ix_(rests, rests)]
    across = laplacian[np.ix_(rests, stores)]
    rest_state = -_solved(inner, across)
    rest_drive = _solved(inner, drive[rests])
    rest_held = _solved(inner, held[rests])
    reduced = laplacian[np.ix_(stores, stores)] + across.T @ rest_state
    reduced_drive = drive[stores] - across.T @ rest_drive
    reduced_held = held[stores] - across.T @ rest_held

    root = np.sqrt(network.capacity_j_k[stores])
    rates, modes = np.linalg.eigh(reduced / np.outer(root, root))
    z = np.maximum(rates, 0.0) * step_s
    left = modes / root[:, None]
    right = modes.T * root

    def function(values: FloatArray) -> FloatArray:
        """f of the state matrix -C^-1 L, from f at its eigenvalues."""
        return np.asarray((left * values) @ right, dtype=np.float64)

    inv_c = 1.0 / network.capacity_j_k[stores]
    one, two, three = phi_functions(z)
    hold = function(step_s * one) * inv_c
    end = function(step_s * two) * inv_c
    mean_hold = end
    mean_end = function(step_s * three) * inv_c

    node_state = np.zeros((n_nodes, n_states))
    node_state[stores] = np.eye(n_states)
    node_state[rests] = rest_state
    node_input = np.zeros((n_nodes, drive.shape[1]))
    node_input[rests] = rest_drive
    node_held = np.zeros((n_nodes, held.shape[1]))
    node_held[rests] = rest_held
    return ExactStep(
        decay=function(np.exp(-z)),
        from_start=(hold - end) @ reduced_drive,
        from_end=end @ reduced_drive,
        from_held=hold @ reduced_held,
        mean_decay=function(one),
        mean_start=(mean_hold - mean_end) @ reduced_drive,
        mean_end=mean_end @ reduced_drive,
        mean_held=mean_hold @ reduced_held,
        node_state=node_state,
        node_input=node_input,
        node_held=node_held,
    )


def steady_nodes(network: Network, inputs: FloatArray, held: FloatArray) -> FloatArray:
    """Temperatures of all nodes once nothing changes any more.

    Parameters
    ----------
    network : Network
    inputs : ndarray, shape (B + Q, M)
        Temperatures outside [°C] and ramped powers [W].
    held : ndarray, shape (H, M)
        Held powers [W].

    Returns
    -------
    ndarray, shape (N, M)
        Temperatures [°C].

    Raises
    ------
    ValueError
        If some node has no way to the outside.
    """
    _, laplacian, drive, shares = _assembled(network)
    return _solved(laplacian, drive @ inputs + shares @ held)


def _assembled(
    network: Network,
) -> tuple[npt.NDArray[np.bool_], FloatArray, FloatArray, FloatArray]:
    parts = (network.capacity_j_k, network.link_w_k, network.boundary_w_k)
    if any(np.any(~np.isfinite(part)) or np.any(part < 0) for part in parts):
        raise ValueError("capacities and conductances must be finite and not negative")
    if not np.allclose(network.link_w_k, network.link_w_k.T, rtol=1e-12, atol=0.0):
        raise ValueError("conductances between nodes must be symmetric")
    link = network.link_w_k - np.diag(np.diag(network.link_w_k))
    laplacian = np.diag(link.sum(axis=1) + network.boundary_w_k.sum(axis=1)) - link
    drive = np.hstack([network.boundary_w_k, network.ramped])
    return network.capacity_j_k > 0, laplacian, drive, network.held


def _solved(matrix: FloatArray, right: FloatArray) -> FloatArray:
    if matrix.shape[0] == 0:
        return np.zeros((0, right.shape[1]))
    try:
        return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    except np.linalg.LinAlgError:
        raise ValueError("a node of the network hangs on nothing: join it to something") from None


def first_phi(z: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The first two of `phi_functions`, with fewer digits near zero (1e-12) and in less time."""
    x = np.maximum(z, 1e-300)
    one = -np.expm1(-x) / x
    near = x < _NEAR
    two = (1.0 - one) / x
    if near.any():
        two = np.where(near, 0.5 - x * (1.0 / 6.0 - x * (1.0 / 24.0 - x / 120.0)), two)
    return one, two


def phi_functions(z: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Integrals of ``exp(-z (1 - s))`` over s in 0..1 for the inputs 1, s and s²/2.

    Parameters
    ----------
    z : ndarray
        Step times decay rate, not negative.

    Returns
    -------
    phi1, phi2, phi3 : ndarray
        ``phi_k(x) = (phi_{k-1}(x) - 1/(k-1)!) / x`` at x = -z, phi_0 = exp; by their
        power series near zero, where the recursion loses its digits.
    """
    small = z < 0.5
    x = np.where(small, -1.0, -z)
    one = np.expm1(x) / x
    two = (one - 1.0) / x
    three = (two - 0.5) / x
    near = np.where(small, -z, 0.0)
    # phi_3(x) = sum x^n / (n + 3)!, fourteen terms: below 1e-18 for |x| < 0.5. The other
    # two follow by the recursion the other way, which loses nothing there.
    series = np.full_like(near, _PHI3[-1])
    for coefficient in _PHI3[-2::-1]:
        series = series * near + coefficient
    lower = near * series + 0.5
    return (
        np.where(small, near * lower + 1.0, one),
        np.where(small, lower, two),
        np.where(small, series, three),
    )
