"""The balance's loops over time, in numbers, for `compiled` to make machine code of.

Each step needs the one before it, so no array covers them all: loops over members, nodes and
panels are what is left. They keep to what compiles to code that stands for itself: arguments
are whole numbers and flat arrays in C order, what is found is written in place, nothing is
taken from the heap and nothing raises. The order of every sum is fixed, and NaN stays.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curewindow.physics.elementwise import FloatArray


def march_states(
    members: int,
    count: int,
    stores: int,
    nodes: int,
    regimes: int,
    shares: int,
    owns: int,
    decay: FloatArray,
    response: FloatArray,
    regime: npt.NDArray[np.int64],
    by_shared: FloatArray,
    shared: FloatArray,
    by_own: FloatArray,
    own: FloatArray,
    setpoint: FloatArray,
    least: FloatArray,
    most: FloatArray,
    worked_out: npt.NDArray[np.int64],
    driven: FloatArray,
    free: FloatArray,
    states: FloatArray,
    heat: FloatArray,
    reads: FloatArray,
) -> None:
    """States along a series of steps, the heater's power in each, and what nodes read.

    Parameters
    ----------
    members, count, stores, nodes, regimes, shares, owns : int
        M, T - 1, D, N, the M or 1 of `regime`, S, O.
    decay : ndarray, shape (K, D, D + 1 + N)
        For each regime, from each state to all at the end, what the thermostat reads
        there, and what the nodes do.
    response : ndarray, shape (K, D + 1 + N)
        From the heater's watt to them.
    regime : ndarray of int, shape (M or 1, T - 1)
    by_shared : ndarray, shape (K, S, D + 1 + N)
        From each input that all members share to them.
    shared : ndarray, shape (S, 1, T - 1)
    by_own : ndarray, shape (K, O, D + 1 + N)
        From each input of a member's own to them.
    own : ndarray, shape (O, M, T - 1)
    setpoint, least, most : ndarray, shape (M, T - 1)
    worked_out : ndarray of int, shape (K,)
        Room to work in, -1 at first: for which step `driven` is there.
    driven : ndarray, shape (K, D + 1 + N)
        Room to work in: what shared inputs do in each regime.
    free : ndarray, shape (D + 1 + N,)
        Room to work in.
    states : ndarray, shape (T, M, D)
        The first is given.
    heat : ndarray, shape (M, T - 1)
    reads : ndarray, shape (N, M, T)
        All but the first are written.
    """
    width = stores + 1 + nodes
    for k in range(count):
        for m in range(members):
            which = regime[(m if regimes > 1 else 0) * count + k]
            row = which * width
            if worked_out[which] != k:
                worked_out[which] = k
                for i in range(width):
                    driven[row + i] = 0.0
                for j in range(shares):
                    value = shared[j * count + k]
                    at = (which * shares + j) * width
                    for i in range(width):
                        driven[row + i] += by_shared[at + i] * value
            for i in range(width):
                free[i] = driven[row + i]
            step = m * count + k
            for j in range(owns):
                value = own[j * members * count + step]
                at = (which * owns + j) * width
                for i in range(width):
                    free[i] += by_own[at + i] * value
            now = (k * members + m) * stores
            for j in range(stores):
                value = states[now + j]
                at = (which * stores + j) * width
                for i in range(width):
                    free[i] += decay[at + i] * value
            power = 0.0
            wanted = setpoint[step]
            if wanted == wanted:  # NaN: off
                power = (wanted - free[stores]) / response[row + stores]
                # Where either is NaN, so is the larger or lesser of the two.
                if power < least[step] or least[step] != least[step]:
                    power = least[step]
                if power > most[step] or most[step] != most[step]:
                    power = most[step]
                for i in range(width):
                    free[i] += response[row + i] * power
            heat[step] = power
            then = now + members * stores
            for i in range(stores):
                states[then + i] = free[i]
            for i in range(nodes):
                reads[(i * members + m) * (count + 1) + k + 1] = free[stores + 1 + i]


def march_water(
    members: int,
    count: int,
    panels: int,
    two: FloatArray,
    limit: FloatArray,
    air: FloatArray,
    uptake: FloatArray,
    share: FloatArray,
    lays: FloatArray,
    lying: FloatArray,
    kink: FloatArray,
    above: FloatArray,
    vapour: FloatArray,
    buffer: FloatArray,
    dew: FloatArray,
    mean: FloatArray,
) -> None:
    """Vapour, buffer and dew along a series of steps.

    Water on a panel is reckoned as the pressure that would lay it there, or take it off,
    within a step: ``d = dew / (step G)``. So what lies there at the end is ``max(p - k, 0)``
    with the kink ``k = p_sat - d``, and p solves
    ``p + pull sum(G max(p - k, 0)) = free + pull sum(G d)``. Its left side rises and bends
    upward only, so Newton's method from the panels that were wet last comes to it in a few
    rounds, mostly in one. Air that would end above its own saturation is held there: the
    panels take up water as from saturated air, and the rest settles as fog.

    Parameters
    ----------
    members, count, panels : int
        M, T - 1, P.
    two : ndarray, shape (12, M, T - 1)
        Fields of `TwoState` but the first, in their order.
    limit : ndarray, shape (P, M, T)
        Saturation at each panel [Pa].
    air : ndarray, shape (M, T)
        Saturation in the air [Pa].
    uptake, share, lays : ndarray, shape (P,)
        G of each panel [kg/(s Pa)], its share of fog, and dew for each pascal of d
        [kg/(m² Pa)].
    lying, kink, above : ndarray, shape (P,)
        Room to work in: d, k, and G of the panels whose kink p is above, else 0.
    vapour, buffer : ndarray, shape (M, T)
        The first is given [Pa, 0-1].
    dew : ndarray, shape (P, M, T)
        The first is given [kg/m²].
    mean : ndarray, shape (M, T - 1)
        Mean vapour over each step [Pa].
    """
    points = count + 1
    field, panel = members * count, members * points
    for m in range(members):
        p = vapour[m * points]
        w = buffer[m * points]
        held = 0.0
        wet = False
        for i in range(panels):
            above[i] = 0.0
            lying[i] = dew[i * panel + m * points] / lays[i]
            held += uptake[i] * lying[i]
            wet = wet or lying[i] != 0.0
        for k in range(count):
            step = m * count + k
            then = m * points + k + 1
            free = two[step] * p + two[field + step] * w + two[2 * field + step]
            pull = two[3 * field + step]
            next_w = two[4 * field + step] * p + two[5 * field + step] * w + two[6 * field + step]
            between = two[8 * field + step] * p + two[9 * field + step] * w
            between += two[10 * field + step]
            end = free
            # What is not known to stay dry is reckoned with: so NaN comes through.
            dry = not wet and free <= air[then]
            for i in range(panels):
                dry = dry and free <= limit[i * panel + then]
            if not dry:
                for i in range(panels):
                    kink[i] = limit[i * panel + then] - lying[i]
                goal = free + pull * held
                for _ in range(panels + 2):  # more only where rounding cannot tell a kink from p
                    slope = 0.0
                    fixed = 0.0
                    for i in range(panels):
                        slope += above[i]
                        fixed += above[i] * kink[i]
                    end = (goal + pull * fixed) / (1.0 + pull * slope)
                    settled = True
                    for i in range(panels):
                        now = uptake[i] if end > kink[i] else 0.0
                        settled = settled and now == above[i]
                        above[i] = now
                    if settled:
                        break
                foggy = end > air[then]
                if foggy:
                    end = air[then]
                taken = -held
                held = 0.0
                for i in range(panels):
                    lying[i] = 0.0 if end <= kink[i] else end - kink[i]
                    held += uptake[i] * lying[i]
                fog = (goal - end) / pull - held
                if foggy and fog > 0.0:
                    held = 0.0
                    for i in range(panels):
                        lying[i] += fog * share[i] / uptake[i]
                        held += uptake[i] * lying[i]
                taken += held
                next_w -= two[7 * field + step] * taken
                between -= two[11 * field + step] * taken
                wet = False
                for i in range(panels):
                    wet = wet or lying[i] != 0.0
            p = end
            w = next_w
            vapour[then] = p
            buffer[then] = w
            mean[step] = between
            for i in range(panels):
                dew[i * panel + then] = lying[i] * lays[i]
