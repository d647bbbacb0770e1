"""How fast a tin takes the temperature of the air it stands in: Newton's law of cooling.

A tin is one lump, dT/dt = (T_air - T) / tau with tau = C / (U A). Its surface gives heat by
free convection and radiation as a wall's does (ISO 6946); the liquid inside resists too, as
it is moved by nothing but its own warmth.
"""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

# ISO 6946: still air at a vertical face 2.5 W/m²K, radiation 0.9 x 5.13 W/m²K at 10 °C; a
# label, lacquer or plastic shines like paint.
_FILM_W_M2K = 2.5 + 0.9 * 5.13
# Free convection inside a litre of something like oil or paint (Nu of 15 to 20): estimate.
_INSIDE_W_M2K = 30.0
# kJ/(L K): organic liquid 0.9 kg/L and 2.0 kJ/(kg K); pigment and filler 2.8 kg/L and 0.85;
# water 4.18. By volume they differ little, by mass threefold. Handbook values, from memory.
_LIQUID, _SOLID, _WATER = 1.8, 2.4, 4.18
_LIQUID_KG_L, _SOLID_KG_L = 0.9, 2.8
_TIN_KJ_K_M2 = 1.1  # sheet steel 0.3 mm: 7850 x 0.46 x 0.0003
_LEAST_L, _MOST_L = 0.005, 250.0


def heat_capacity_kj_l(density_kg_l: float = 1.1, water_g_l: float = 0.0) -> float:
    """Heat a litre of a product takes up for each kelvin.

    Parameters
    ----------
    density_kg_l : float
        From its data sheet: what it is above a liquid's is pigment or filler.
    water_g_l : float
        Water in it.

    Returns
    -------
    float
        kJ/(L K).
    """
    water = min(max(water_g_l / 1000.0, 0.0), 1.0)
    rest = density_kg_l - water
    dry = max(1.0 - water, 1e-9)
    solid = min(max((rest / dry - _LIQUID_KG_L) / (_SOLID_KG_L - _LIQUID_KG_L), 0.0), 1.0)
    return water * _WATER + (1.0 - water) * (_LIQUID + solid * (_SOLID - _LIQUID))


def time_constant_h(litres: float, capacity_kj_l: float = 2.0) -> float:
    """Time in which a tin comes 63 % of the way to the temperature of still air.

    Parameters
    ----------
    litres : float
        What it holds, 0.005 to 250 L. As high as wide, it stands on a shelf: half of its
        bottom counts.
    capacity_kj_l : float
        From :func:`heat_capacity_kj_l`.

    Returns
    -------
    float
        Hours.

    Raises
    ------
    ValueError
        Litres out of range.
    """
    if not _LEAST_L <= litres <= _MOST_L:
        raise ValueError(f"a tin holds {_LEAST_L:g} to {_MOST_L:g} L, got {litres:g} L")
    wide_m = float((4.0 * litres / 1000.0 / pi) ** (1.0 / 3.0))
    area_m2 = pi * wide_m**2 + 1.5 * pi * wide_m**2 / 4.0
    u = 1.0 / (1.0 / _FILM_W_M2K + 1.0 / _INSIDE_W_M2K)
    joules = 1000.0 * (capacity_kj_l * litres + _TIN_KJ_K_M2 * area_m2)
    return joules / (u * area_m2) / 3600.0


def lagged(
    air_c: FloatArray, start_c: FloatArray, step_h: float, time_constant_h: float
) -> FloatArray:
    """Temperature of tins in air that runs in straight lines between grid points.

    Parameters
    ----------
    air_c : ndarray, shape (M, T)
        Without NaN.
    start_c : ndarray, shape (M,)
        At the first point.
    step_h : float
    time_constant_h : float

    Returns
    -------
    ndarray, shape (M, T)
        Exact at the grid points: over a step y' = x' - s tau + (y - x + s tau) e^(-dt/tau)
        with the slope s, as a linear recurrence summed in doubling strides.
    """
    keeps = float(np.exp(-step_h / time_constant_h))
    ramp = time_constant_h / step_h * (1.0 - keeps)
    points = air_c.shape[1]
    found = np.empty((len(air_c), points))
    found[:, 0] = start_c
    found[:, 1:] = (1.0 - ramp) * air_c[:, 1:] + (ramp - keeps) * air_c[:, :-1]
    stride = 1
    while stride < points and keeps**stride > 1e-12:
        found[:, stride:] = found[:, stride:] + keeps**stride * found[:, :-stride]
        stride *= 2
    return found
