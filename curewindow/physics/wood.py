"""Moisture in bare wood: where it settles, and how fast it gets there."""

from __future__ import annotations

from typing import overload

import numpy as np
from numpy.typing import ArrayLike

from curewindow.physics.elementwise import (
    GAS_CONSTANT,
    ZERO_C_IN_K,
    FloatArray,
    as_floats,
    handed_back,
    within,
)

TABLE_START_C = -1.1
"""Coldest row of the published table, 30 °F."""

DIFFUSIVITY_20C_M2_S = 1.0e-10
"""Diffusion of moisture across the grain at 20 °C, m²/s.

Estimate: published values for softwoods and light hardwoods at 8..15 % run from
about 1e-10 to 4e-10 (Siau, Transport Processes in Wood, 1984; from memory). The
slow end, because believing wood dry too early spoils the coat.
"""

DIFFUSION_ENERGY_J_MOL = 35_500.0
"""Activation energy of that diffusion, J/mol.

About 8500 cal/mol (Stamm, Wood and Cellulose Science, 1964; from memory).
"""


@overload
def equilibrium_moisture(temp_c: float, rh_pct: float) -> float: ...
@overload
def equilibrium_moisture(temp_c: ArrayLike, rh_pct: ArrayLike) -> FloatArray: ...
def equilibrium_moisture(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | FloatArray:
    """Moisture content wood settles at in air, any species.

    Parameters
    ----------
    temp_c : array_like
        Air temperature, °C, -40 to 132. The published table begins at -1.1 °C;
        below it the value at -1.1 °C is held (estimate: measured values go on
        rising a little in the cold, while the fitted polynomials turn down).
    rh_pct : array_like
        Relative humidity over water, %, 0 to 100. The table ends at 95 %;
        above it wood takes up more than any formula says with certainty.

    Returns
    -------
    float or ndarray
        Equilibrium moisture content, % of the dry mass, broadcast.

    Raises
    ------
    ValueError
        A value outside its range.

    Notes
    -----
    Single species differ by a point or two, and drying wood stays a little
    above wood that takes up moisture: a meter on the piece has the last word.

    References
    ----------
    Hailwood and Horrobin's two-hydrate model as fitted in USDA Forest Products
    Laboratory, Wood Handbook, FPL-GTR-282 (2021), equation 4-5, °C
    coefficients, and table 4-2.
    """
    t = within("temperature", temp_c, -40.0, 132.0, "°C")
    h = 0.01 * within("relative humidity", rh_pct, -1e-6, 100.0 + 1e-6, "%")
    t = np.maximum(t, TABLE_START_C)
    w = 349.0 + t * (1.29 + t * 0.0135)
    k = 0.805 + t * (0.000736 - t * 0.00000273)
    k1 = 6.27 - t * (0.00938 + t * 0.000303)
    k2 = 1.91 + t * (0.0407 - t * 0.000293)
    kh = k * h
    one, two = k1 * kh, k1 * k2 * kh * kh
    return handed_back(1800.0 / w * (kh / (1.0 - kh) + (one + 2.0 * two) / (1.0 + one + two)))


@overload
def response_time(
    thickness_m: float,
    temp_c: float = ...,
    exposed_faces: int = ...,
    diffusivity_20c_m2_s: float = ...,
) -> float: ...
@overload
def response_time(
    thickness_m: ArrayLike,
    temp_c: ArrayLike = ...,
    exposed_faces: int = ...,
    diffusivity_20c_m2_s: float = ...,
) -> FloatArray: ...
def response_time(
    thickness_m: ArrayLike,
    temp_c: ArrayLike = 20.0,
    exposed_faces: int = 2,
    diffusivity_20c_m2_s: float = DIFFUSIVITY_20C_M2_S,
) -> float | FloatArray:
    """Time constant with which a board's mean moisture follows the air.

    Parameters
    ----------
    thickness_m : array_like
        Thickness across the grain, m, 0.0005 to 0.5.
    temp_c : array_like
        Temperature of the wood, °C, -40 to 132.
    exposed_faces : {1, 2}
        Faces open to the air; one for wood glued or coated on its back.
    diffusivity_20c_m2_s : float
        Diffusion across the grain at 20 °C, m²/s.

    Returns
    -------
    float or ndarray
        Time constant, h, broadcast.

    Raises
    ------
    ValueError
        A value outside its range.

    References
    ----------
    Slowest mode of diffusion in a slab, L²/(π² D) with both faces open
    (Crank, The Mathematics of Diffusion, 1975, section 4.3.2).
    """
    if exposed_faces not in (1, 2):
        raise ValueError(f"exposed_faces is {exposed_faces}; it must be 1 or 2")
    if not diffusivity_20c_m2_s > 0.0:
        raise ValueError(f"diffusivity is {diffusivity_20c_m2_s:g} m²/s; it must be above 0")
    thick = within("thickness", thickness_m, 0.0005, 0.5, "m")
    t_k = within("temperature", temp_c, -40.0, 132.0, "°C") + ZERO_C_IN_K
    path = thick * (2.0 / exposed_faces)
    arrhenius = DIFFUSION_ENERGY_J_MOL / GAS_CONSTANT * (1.0 / t_k - 1.0 / (20.0 + ZERO_C_IN_K))
    seconds = path**2 / (np.pi**2 * diffusivity_20c_m2_s) * np.exp(arrhenius)
    return handed_back(seconds / 3600.0)


def moisture_over_time(
    times_h: ArrayLike,
    emc_pct: ArrayLike,
    start_pct: ArrayLike,
    thickness_m: float,
    temp_c: ArrayLike = 20.0,
    exposed_faces: int = 2,
    diffusivity_20c_m2_s: float = DIFFUSIVITY_20C_M2_S,
) -> FloatArray:
    """Mean moisture content of bare wood as the air around it changes.

    Parameters
    ----------
    times_h : array_like, shape (T,)
        Times, h, rising.
    emc_pct : array_like, shape (..., T) or scalar
        Equilibrium moisture of the air at those times, %; a straight line
        between them. NaN makes everything after it NaN.
    start_pct : array_like, shape (...) or scalar
        Moisture content at the first time, %.
    thickness_m : float
        Thickness across the grain, m.
    temp_c : array_like, shape (..., T) or scalar
        Temperature of the wood, °C; the mean over each step counts.
    exposed_faces : {1, 2}
        Faces open to the air.
    diffusivity_20c_m2_s : float
        Diffusion across the grain at 20 °C, m²/s.

    Returns
    -------
    ndarray, shape (..., T)
        Mean moisture content, %.

    Raises
    ------
    ValueError
        Times that do not rise, or a value outside its range.

    Notes
    -----
    First-order relaxation dM/dt = (EMC - M)/τ, solved exactly a step, τ from
    `response_time`. Estimate: real boards start faster than this and end alike,
    and a coating, end grain or the film of air at the face are left out. So
    drying wood is called wet somewhat too long, which is the safe side; the
    outermost fibres follow the air within hours either way.
    """
    times = as_floats(times_h)
    if times.ndim != 1 or times.size == 0 or not np.all(np.diff(times) > 0.0):
        raise ValueError("times_h must be one row of rising times in hours")
    start = within("moisture content", start_pct, 0.0, 200.0, "%")
    emc = within("equilibrium moisture", emc_pct, 0.0, 200.0, "%")
    temps = as_floats(temp_c)
    shape = np.broadcast_shapes(emc.shape, temps.shape, (*start.shape, 1), times.shape)
    emc, temps = np.broadcast_to(emc, shape), np.broadcast_to(temps, shape)
    mean_temps = 0.5 * (temps[..., 1:] + temps[..., :-1])
    tau = as_floats(response_time(thickness_m, mean_temps, exposed_faces, diffusivity_20c_m2_s))
    x = np.diff(times) / tau
    kept = np.exp(-x)
    # Mean weight of a ramp: (1 - e^-x)/x, written so that small steps keep digits.
    ramp = -np.expm1(-x) / x
    moisture = np.empty(shape)
    moisture[..., 0] = start
    for i in range(times.size - 1):
        moisture[..., i + 1] = (
            kept[..., i] * moisture[..., i]
            + (ramp[..., i] - kept[..., i]) * emc[..., i]
            + (1.0 - ramp[..., i]) * emc[..., i + 1]
        )
    return moisture
