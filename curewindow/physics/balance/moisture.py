"""Water in a space: vapour in the air, a buffer of wood and cushions, dew on cold panels.

Over a step temperatures, air change and sources hold still. Air and buffer are two
linear equations, solved exactly by their matrix exponential:

    C dp/dt = n C (p_out - p) + S - K (p / p_sat - w) - Q,    C = V / (R_v T)
      dw/dt = (p / p_sat - w) / tau,                            K = buffer / tau

with p the vapour pressure, w the buffer's humidity (0-1) and Q what condenses.
Each panel i takes ``q_i = max(G_i (p_end - p_sat,i), -dew_i / step)`` through the step:
judged by its end, so nothing overshoots, no more evaporates than lies there, and a
panel that ends the step below the dew point has dew on it. p_end falls with Q and
Q rises with p_end, so there is one solution, and it is piecewise linear. Air that would
end above its own saturation ends at it, and the rest of its water settles as fog.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Final

import numpy as np

from curewindow.physics.air import VAPOUR_GAS_CONSTANT, over_water, saturation_pressure
from curewindow.physics.balance.network import first_phi
from curewindow.physics.balance.space import SpaceModel
from curewindow.physics.elementwise import ZERO_C_IN_K, FloatArray

# Lewis relation at 10 °C: G = hc / (rho cp R_v T Le^(2/3)), Le = 0.85 (Incropera and
# DeWitt, mass transfer; properties of air at 10 °C). kg/(s Pa) for each W/K.
VAPOUR_PER_HEAT: Final[float] = 1.0 / (
    1.247 * 1006.0 * VAPOUR_GAS_CONSTANT * 283.15 * 0.85 ** (2.0 / 3.0)
)

_PIECE: Final = 8192  # values worked on at a time


@dataclass(frozen=True, slots=True, eq=False)
class Moisture:
    """Water in a space along a series of steps.

    vapour_pa (M, T); buffer_rh_pct (M, T); condensate_kg_m2 (P, M, T); vented_kg
    (M, T - 1), water carried out in each step; capacity_kg_pa (M, T - 1), vapour in the
    air for each Pa.
    """

    vapour_pa: FloatArray
    buffer_rh_pct: FloatArray
    condensate_kg_m2: FloatArray
    vented_kg: FloatArray
    capacity_kg_pa: FloatArray


def surface_uptake(space: SpaceModel) -> FloatArray:
    """Vapour each panel takes up [kg/(s Pa)], shape (P,), by the Lewis relation."""
    return np.array([p.area_m2 * p.convection_w_m2k for p in space.panels]) * VAPOUR_PER_HEAT


def march_moisture(
    space: SpaceModel,
    step_s: float,
    temps: tuple[FloatArray, FloatArray, FloatArray],
    inflow_pa: FloatArray,
    air_changes_h: FloatArray,
    source_kg_h: FloatArray,
    start: tuple[FloatArray, FloatArray, FloatArray],
) -> Moisture:
    """Vapour, buffer and dew of a space along a series of steps.

    Parameters
    ----------
    space : SpaceModel
    step_s : float
        Step [s].
    temps : tuple of ndarray
        Air (M, T), mass (M, T) and inner surfaces (P, M, T) [°C].
    inflow_pa : ndarray, shape (M, T - 1)
        Vapour pressure of the air coming in, in the middle of each step [Pa].
    air_changes_h, source_kg_h : ndarray, shape (M, T - 1)
        Air change [1/h] and water given off inside [kg/h] in each step.
    start : tuple of ndarray
        Vapour pressure (M,) [Pa], buffer humidity (M,) [%] and dew (P, M) [kg/m²].

    Returns
    -------
    Moisture
    """
    from curewindow.physics.balance import compiled

    air_c, mass_c, surface_c = temps
    areas = np.array([panel.area_m2 for panel in space.panels])
    uptake = surface_uptake(space)
    capacity, two = _two_states(
        space,
        step_s,
        (_middle(air_c), _middle(mass_c)),
        inflow_pa,
        air_changes_h,
        source_kg_h,
    )
    vapour, buffer, dew = np.empty(air_c.shape), np.empty(air_c.shape), np.empty(surface_c.shape)
    vapour[:, 0], buffer[:, 0] = start[0], start[1] / 100.0
    # Where the vapour is unknown nothing is known of the dew either.
    dew[:, :, 0] = np.where(np.isnan(vapour[:, 0]), np.nan, start[2])
    mean = np.empty(capacity.shape)
    compiled.run(
        "march_water",
        *(*capacity.shape, len(areas)),
        two,
        np.ascontiguousarray(saturation_pressure(surface_c)),
        np.ascontiguousarray(saturation_pressure(air_c)),
        uptake,
        areas / areas.sum(),
        step_s * uptake / areas,
        *np.empty((3, len(areas))),
        vapour,
        buffer,
        dew,
        mean,
    )
    return Moisture(
        vapour_pa=vapour,
        buffer_rh_pct=buffer * 100.0,
        condensate_kg_m2=dew,
        vented_kg=(air_changes_h * step_s / 3600.0) * capacity * (mean - inflow_pa),
        capacity_kg_pa=capacity,
    )


def condensing(
    free: FloatArray, pull: FloatArray, sat: FloatArray, uptake: FloatArray, lying: FloatArray
) -> FloatArray:
    """Rate at which each panel takes up water [kg/s], shape (P, M), below 0 where it dries.

    Solves ``p = free - pull * sum(max(uptake (p - sat), -lying))``. The side of each
    panel's kink on which p lies follows from the sign of the equation at that kink.
    """
    kink = sat - lying / uptake
    taken = np.maximum(uptake * (kink[:, None] - sat), -lying).sum(axis=1)
    open_ = kink + pull * taken < free
    slope = np.where(open_, uptake, 0.0)
    fixed = np.where(open_, uptake * sat, lying).sum(axis=0)
    end = (free + pull * fixed) / (1.0 + pull * slope.sum(axis=0))
    return np.asarray(np.where(open_, uptake * (end - sat), -lying), dtype=np.float64)


def settling_fog(
    free: FloatArray,
    pull: FloatArray,
    sat: FloatArray,
    uptake: FloatArray,
    lying: FloatArray,
    taken: FloatArray,
    air_pa: FloatArray,
) -> FloatArray | None:
    """Rate at which fog settles [kg/s], shape (M,); `taken` is cut down where there is fog.

    None where there is none.

    Air that ends the step above its own saturation is held there: the panels take up
    water as from saturated air, and what is left over settles as fog, all through the step.
    """
    over = free - pull * taken.sum(axis=0) > air_pa
    if not over.any():
        return None
    taken[:, over] = np.maximum(uptake * (air_pa - sat), -lying)[:, over]
    left = (free - air_pa) / pull - taken.sum(axis=0)
    return np.asarray(np.where(over, np.maximum(left, 0.0), 0.0), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class TwoState:
    """Air and buffer over a step: their end, the mean, and the pull of a constant sink.

    All of one shape, (M,) for a step or (M, T - 1) for a series of them.
    """

    capacity: FloatArray
    pp: FloatArray
    pw: FloatArray
    p0: FloatArray
    p_pull: FloatArray
    wp: FloatArray
    ww: FloatArray
    w0: FloatArray
    w_pull: FloatArray
    mp: FloatArray
    mw: FloatArray
    m0: FloatArray
    m_pull: FloatArray


def _middle(values: FloatArray) -> FloatArray:
    return (values[:, :-1] + values[:, 1:]) / 2.0


def _two_states(
    space: SpaceModel,
    step_s: float,
    middle_c: tuple[FloatArray, FloatArray],
    inflow_pa: FloatArray,
    air_changes_h: FloatArray,
    source_kg_h: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Fields of `two_state` for a series of steps: the first, and the others (12, M, T - 1).

    Some members at a time, so that what lies between stays in the processor's cache.
    """
    members, count = middle_c[0].shape
    names = [each.name for each in fields(TwoState)]
    whole = np.empty((len(names), members, count))
    length = max(1, _PIECE // count)
    for first in range(0, members, length):
        piece = slice(first, first + length)
        part = two_state(
            space,
            step_s,
            (middle_c[0][piece], middle_c[1][piece]),
            inflow_pa[piece],
            air_changes_h[piece],
            source_kg_h[piece],
        )
        for place, name in zip(whole, names, strict=True):
            place[piece] = getattr(part, name)
    return whole[0], whole[1:]


def two_state(
    space: SpaceModel,
    step_s: float,
    middle_c: tuple[FloatArray, FloatArray],
    inflow_pa: FloatArray,
    air_changes_h: FloatArray,
    source_kg_h: FloatArray,
) -> TwoState:
    """Air and buffer over steps in whose middle air and mass are at `middle_c`."""
    capacity = space.volume_m3 / (VAPOUR_GAS_CONSTANT * (middle_c[0] + ZERO_C_IN_K))
    change = air_changes_h / 3600.0
    give = change * inflow_pa + source_kg_h / 3600.0 / capacity  # Pa/s
    sat = over_water(middle_c[1])
    tau = space.buffer_hours * 3600.0
    a12 = space.buffer_kg / tau / capacity
    a11 = -(change + a12 / sat)
    # With no buffer its humidity stands still and takes no part.
    follows = 1.0 if space.buffer_kg > 0 else 0.0
    a21 = follows / (tau * sat)
    a22 = -follows / tau

    # Newton's form of a function of a 2 x 2 matrix; both rates are real, as a12 a21 >= 0.
    gap = np.maximum(np.sqrt((a11 - a22) ** 2 + 4.0 * a12 * a21), 1e-15)
    slow = np.minimum((a11 + a22 + gap) / 2.0, 0.0)
    fast = slow - gap
    z = np.array([slow, fast]) * -step_s
    one, two = first_phi(z)
    gone = np.exp(-z)
    # exp, phi_1 and phi_2 of the matrix: each is at_fast + tilt (A - fast).
    at_fast = np.array([gone[1], one[1], two[1]])
    tilt = (np.array([gone[0], one[0], two[0]]) - at_fast) / gap
    above = a11 - fast
    pp, mp, m11 = at_fast + tilt * above
    pw, mw, _ = tilt * a12
    wp, h21, _ = tilt * a21
    h11, h21, m11 = step_s * mp, step_s * h21, step_s * m11
    return TwoState(
        capacity=capacity,
        pp=pp,
        pw=pw,
        p0=h11 * give,
        p_pull=h11 / capacity,
        wp=wp,
        ww=at_fast[0] + tilt[0] * (a22 - fast),
        w0=h21 * give,
        w_pull=h21 / capacity,
        mp=mp,
        mw=mw,
        m0=m11 * give,
        m_pull=m11 / capacity,
    )
