"""What more outside air does to a space within hours, laid on its course without it.

The course of the shut space is known: temperatures, vapour and what its heater gives. More
outside air of V' m³/h then takes ``q = V' c (T - T_out)`` of heat out of the air as it is shut,
and what it changes, d, follows the same network with that air change beside its own:

    C d' = -(L + V' c) d - q + more heat

Air and thin panels answer within minutes, lining and joinery within hours, so that what was
taken out longer ago than a film takes to dry is left out. The answer is taken to have gone on
for as long at every moment, which is the cold side as long as it is colder outside. A
thermostat gives more heat as far as the heater has some to spare; where that holds the air at
the setpoint, nothing behind it changes either.

Vapour follows within minutes, so it is in balance at each moment. All that the shut space
gives off goes on, ``n C (p - p_out)``; buffer and wet panels give off more by as much as the
air has got drier, and stay as wet as they are: the damp side while it is drier outside.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curewindow.physics.air import VAPOUR_GAS_CONSTANT, over_water
from curewindow.physics.balance.moisture import surface_uptake
from curewindow.physics.balance.network import exact_step
from curewindow.physics.balance.space import (
    AIR_J_M3K,
    AIR_NODE,
    MASS_NODE,
    SpaceModel,
    space_network,
)
from curewindow.physics.elementwise import ZERO_C_IN_K, FloatArray
from curewindow.physics.outdoors import external_resistance

ANSWERS_H: Final = 6.0
"""What was taken out of the air longer ago is left out. Of a dozen small spaces four hours or
twelve told the same of the starts in them (`tests/laws/test_far_starts.py`)."""
_DRIEST_PA: Final = 10.0
_LEAST_K: Final = 1e-9
_CALMER: Final = 0.75
"""Of the mean wind: bare skins lose less to calm air, so that what is taken out tells more."""


@dataclass(frozen=True, slots=True, eq=False)
class ShutCourse:
    """A space as it goes on without more air; arrays (M, T), or what broadcasts to it.

    Parameters
    ----------
    air_c, mass_c, vapour_pa : ndarray
        Air and joinery [°C], vapour in the air [Pa].
    surface_c : tuple of ndarray
        Inner surface of each panel [°C].
    wet : tuple of ndarray of bool
        Where water lies on each.
    heat_w, power_w : ndarray
        What the heater gives, and the most it has [W].
    setpoint_c : ndarray
        NaN: heater off.
    outside_c, outside_pa, wind_ms : ndarray
        Outside air [°C], its vapour [Pa], and wind at the boat [m/s].
    air_changes_h : ndarray
        With the outside [1/h].
    """

    air_c: FloatArray
    mass_c: FloatArray
    vapour_pa: FloatArray
    surface_c: tuple[FloatArray, ...]
    wet: tuple[NDArray[np.bool_], ...]
    heat_w: FloatArray
    power_w: FloatArray
    setpoint_c: FloatArray
    outside_c: FloatArray
    outside_pa: FloatArray
    wind_ms: FloatArray
    air_changes_h: FloatArray


def aired_course(
    space: SpaceModel,
    panel: int | None,
    step_h: float,
    shut: ShutCourse,
    airing_m3_h: float,
    water_kg_h: float = 0.0,
    flame_kg_kwh: float = 0.0,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """A space with more outside air, and with water given off in it, at one of its surfaces.

    Parameters
    ----------
    space : SpaceModel
    panel : int or None
        Whose inner surface; None: joinery, the colder of air and mass.
    step_h : float
    shut : ShutCourse
    airing_m3_h : float
        Outside air beside what comes in anyway [m³/h].
    water_kg_h : float
        Given off beside what is given off anyway [kg/h].
    flame_kg_kwh : float
        Water that more heat brings with it, of a flame without a flue.

    Returns
    -------
    air_c, vapour_pa, rh_pct, surface_c : ndarray, shape (M, T)
    """
    beside = shut.mass_c if panel is None else shut.surface_c[panel]
    air, heat_w = shut.air_c, np.zeros(1)
    if airing_m3_h > 0.0:
        air, beside, heat_w = _warmth(space, panel, step_h, shut, airing_m3_h, beside)
    most = over_water(air)
    given_kg_h = water_kg_h + heat_w * (flame_kg_kwh / 1000.0)
    vapour = np.clip(_vapour(space, shut, air, airing_m3_h, given_kg_h), _DRIEST_PA, most)
    surface = np.minimum(air, beside) if panel is None else beside
    return air, vapour, 100.0 * vapour / most, surface


def _warmth(
    space: SpaceModel,
    panel: int | None,
    step_h: float,
    shut: ShutCourse,
    airing_m3_h: float,
    beside: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Air and what is beside it [°C], and what the heater gives more [W]."""
    answer = _answer(
        space,
        step_h,
        round(float(shut.air_changes_h.mean()) + airing_m3_h / space.volume_m3, 2),
        round(_CALMER * float(shut.wind_ms.mean())),
        round(ANSWERS_H / step_h),
    )
    read = answer[:, [AIR_NODE, MASS_NODE if panel is None else MASS_NODE + 1 + panel]]
    taken = airing_m3_h * AIR_J_M3K / 3600.0 * (shut.air_c - shut.outside_c)
    taken = (taken[:, :-1] + taken[:, 1:]) / 2.0
    air, beside = (
        values - _behind(taken, each)
        for values, each in zip((shut.air_c, beside), read.T, strict=True)
    )
    # What holds at a point is what was set at the beginning of the step that ends there.
    setpoint = np.broadcast_to(shut.setpoint_c, air.shape)
    setpoint = np.concatenate([setpoint[:, :1], setpoint[:, :-1]], axis=1)
    wanted = setpoint - air
    if not np.any(wanted > 0.0):
        return air, beside, np.zeros(1)
    spare = np.where(np.isnan(shut.setpoint_c), 0.0, shut.power_w - shut.heat_w)
    spare = np.maximum(spare, 0.0)[:, :-1]
    more_air, more = (_behind(spare, each) for each in read.T)
    share = np.divide(wanted, more_air, out=np.zeros_like(air), where=more_air > _LEAST_K)
    share = np.clip(np.nan_to_num(share), 0.0, 1.0)
    heat_w = share[:, 1:] * spare
    off = np.isnan(setpoint)
    if off.any():
        # What the heater gave before it went off is still in what is slower than the air.
        share = np.where(off, 1.0, share)
        left_air, left = (_behind(heat_w, each) for each in read.T)
        more_air, more = np.where(off, left_air, more_air), np.where(off, left, more)
    by_point = np.concatenate([heat_w[:, :1], heat_w], axis=1)
    return air + share * more_air, beside + share * more, by_point


def _vapour(
    space: SpaceModel,
    shut: ShutCourse,
    air_c: FloatArray,
    airing_m3_h: float,
    given_kg_h: FloatArray,
) -> FloatArray:
    """Vapour in the air [Pa], where it is in balance with what comes in, goes and is given off."""
    change_kg_pa = space.volume_m3 / (VAPOUR_GAS_CONSTANT * (air_c + ZERO_C_IN_K))
    more = airing_m3_h / space.volume_m3 * change_kg_pa  # kg/(h Pa), as all that follows
    uptake = 3600.0 * surface_uptake(space)
    holds = shut.air_changes_h * change_kg_pa
    holds = holds + space.buffer_kg / space.buffer_hours / over_water(shut.mass_c)
    for rate, wet in zip(uptake, shut.wet, strict=True):
        holds = holds + rate * wet
    comes = more * shut.outside_pa + holds * shut.vapour_pa + given_kg_h
    goes = more + holds
    vapour = np.asarray(comes / goes)
    if not np.any(given_kg_h > 0.0):
        return vapour
    # Dry panels that are colder than the dew point take some: reckoned once, on the damp side.
    for surface, wet, rate in zip(shut.surface_c, shut.wet, uptake, strict=True):
        limit = over_water(surface)
        falls = rate * (~wet & (vapour > limit))
        comes, goes = comes + falls * limit, goes + falls
    return np.asarray(comes / goes)


@lru_cache(maxsize=256)
def _answer(
    space: SpaceModel, step_h: float, air_changes_h: float, wind_ms: float, points: int
) -> FloatArray:
    """What a watt to the air in one step does at the end of this and later ones, (A, 2 + P) [K]."""
    nodes = space_network(space, air_changes_h, external_resistance(wind_ms))
    step = exact_step(nodes.network, step_h * 3600.0)
    read = step.node_state[[AIR_NODE, MASS_NODE, *nodes.inner]]
    state = step.from_held[:, AIR_NODE]
    found = np.empty((points, len(read)))
    for lag in range(points):
        found[lag] = read @ state
        state = step.decay @ state
    return found


def _behind(by_step_w: FloatArray, answer: FloatArray) -> FloatArray:
    """What powers do to a node, (M, T), each held over its step, (M, T - 1)."""
    # As if the first power had been there before.
    before = np.repeat(by_step_w[:, :1], len(answer), axis=1)
    return np.array(
        [
            np.convolve(np.concatenate([lead_in, values]), answer, "valid")
            for lead_in, values in zip(before, by_step_w, strict=True)
        ]
    )
