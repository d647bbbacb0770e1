"""Hull sides, decks and windows: heat loss and the inner surface.

Steady state throughout, by ISO 6946 and ISO 13788. How a panel warms up over
time is the heat balance's business. The outer surface is in `outdoors` and is
handed on here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, overload

import numpy as np
from numpy.typing import ArrayLike

from curewindow.physics.elementwise import (
    FloatArray,
    as_floats,
    handed_back,
    within,
)
from curewindow.physics.materials import MATERIALS, Material
from curewindow.physics.outdoors import (
    external_resistance,
    outdoor_surface_temp,
    sky_emissivity,
    sky_temperature,
)

__all__ = [
    "MATERIALS",
    "RSE",
    "RSE_WATER",
    "RSI_DOWN",
    "RSI_HORIZONTAL",
    "RSI_SHELTERED",
    "RSI_UP",
    "Material",
    "air_gap_resistance",
    "external_resistance",
    "layer_of",
    "outdoor_surface_temp",
    "sky_emissivity",
    "sky_temperature",
    "surface_temp",
    "thermal_transmittance",
]

Flow = Literal["sideways", "up", "down"]

RSI_HORIZONTAL = 0.13
"""Inner surface resistance, heat flowing sideways, m²K/W (ISO 6946, table 1)."""
RSI_UP = 0.10
"""Inner surface resistance, heat flowing up: a deckhead, m²K/W (ISO 6946, table 1)."""
RSI_DOWN = 0.17
"""Inner surface resistance, heat flowing down: a sole, m²K/W (ISO 6946, table 1)."""
RSI_SHELTERED = 0.25
"""Inner surface resistance for judging mould and surface condensation where air
hardly moves (corners, behind furniture), m²K/W (ISO 13788, 4.4.1)."""
RSE = 0.04
"""Outer surface resistance in air, m²K/W (ISO 6946, table 1)."""
RSE_WATER = 0.005
"""Outer surface resistance of a hull afloat, m²K/W.

Estimate, no source: free convection at a wall in still water, about 200 W/m²K.
"""

# ISO 6946, unventilated air layers between ordinary surfaces: thickness in m and
# resistance in m²K/W by the direction the heat flows.
_GAP_M = np.array([0.0, 0.005, 0.007, 0.010, 0.015, 0.025, 0.050, 0.100, 0.300])
_GAP_R: dict[str, FloatArray] = {
    "sideways": np.array([0.0, 0.11, 0.13, 0.15, 0.17, 0.18, 0.18, 0.18, 0.18]),
    "up": np.array([0.0, 0.11, 0.13, 0.15, 0.16, 0.16, 0.16, 0.16, 0.16]),
    "down": np.array([0.0, 0.11, 0.13, 0.15, 0.17, 0.19, 0.21, 0.22, 0.23]),
}


@overload
def air_gap_resistance(thickness_m: float, flow: Flow = ...) -> float: ...
@overload
def air_gap_resistance(thickness_m: ArrayLike, flow: Flow = ...) -> FloatArray: ...
def air_gap_resistance(thickness_m: ArrayLike, flow: Flow = "sideways") -> float | FloatArray:
    """Thermal resistance of an unventilated air gap.

    Parameters
    ----------
    thickness_m : array_like
        Width of the gap, m, 0 to 0.3.
    flow : {'sideways', 'up', 'down'}
        The way the heat flows.

    Returns
    -------
    float or ndarray
        Resistance, m²K/W: straight lines between the table's rows.

    Raises
    ------
    ValueError
        A wider gap, or another word for `flow`.

    References
    ----------
    ISO 6946:2007, table 2 (from memory).
    """
    if flow not in _GAP_R:
        raise ValueError(f"flow is {flow!r}; it must be 'sideways', 'up' or 'down'")
    gap = within("width of the air gap", thickness_m, 0.0, 0.3, "m")
    return handed_back(np.interp(gap, _GAP_M, _GAP_R[flow]))


def layer_of(material: str, thickness_m: float, flow: Flow = "sideways") -> tuple[float, float]:
    """A layer for `thermal_transmittance` from the material's name.

    Parameters
    ----------
    material : str
        A name in `MATERIALS`. 'air gap' gets the conductivity that gives its
        resistance at this width.
    thickness_m : float
        Thickness, m, above 0.
    flow : {'sideways', 'up', 'down'}
        The way the heat flows; matters for air gaps only.

    Returns
    -------
    tuple of float
        Thickness, m, and conductivity, W/m K.

    Raises
    ------
    ValueError
        An unknown material or no thickness.
    """
    if material not in MATERIALS:
        raise ValueError(f"{material!r} is no known material; known: {', '.join(MATERIALS)}")
    if not thickness_m > 0.0:
        raise ValueError(f"thickness of {material} is {thickness_m:g} m; it must be above 0")
    if material == "air gap":
        return thickness_m, thickness_m / air_gap_resistance(thickness_m, flow)
    return thickness_m, MATERIALS[material].conductivity_w_mk


@overload
def thermal_transmittance(
    layers: Sequence[tuple[float, float]], rsi: float = ..., rse: float = ...
) -> float: ...
@overload
def thermal_transmittance(
    layers: Sequence[tuple[ArrayLike, ArrayLike]], rsi: ArrayLike = ..., rse: ArrayLike = ...
) -> FloatArray: ...
def thermal_transmittance(
    layers: Sequence[tuple[ArrayLike, ArrayLike]],
    rsi: ArrayLike = RSI_HORIZONTAL,
    rse: ArrayLike = RSE,
) -> float | FloatArray:
    """Heat lost through a panel for each degree between its two sides.

    Parameters
    ----------
    layers : sequence of (thickness_m, conductivity)
        Layers in any order: m, W/m K; scalars or arrays that broadcast. An empty
        sequence is a film without resistance of its own.
    rsi, rse : array_like
        Inner and outer surface resistance, m²K/W.

    Returns
    -------
    float or ndarray
        Thermal transmittance (U-value), W/m²K.

    Raises
    ------
    ValueError
        A negative thickness or resistance, no conductivity, or no resistance
        at all.

    References
    ----------
    ISO 6946: U = 1/(Rsi + Σ d/λ + Rse).
    """
    total = within("inner surface resistance", rsi, 0.0, 10.0, "m²K/W") + within(
        "outer surface resistance", rse, 0.0, 10.0, "m²K/W"
    )
    for thickness_m, conductivity in layers:
        thick = within("thickness of a layer", thickness_m, 0.0, 10.0, "m")
        total = total + thick / within("conductivity of a layer", conductivity, 1e-3, 1e4, "W/mK")
    if np.any(total == 0.0):
        raise ValueError("a panel without any resistance has no thermal transmittance")
    return handed_back(1.0 / total)


@overload
def surface_temp(inside_c: float, outside_c: float, u_value: float, rsi: float = ...) -> float: ...
@overload
def surface_temp(
    inside_c: ArrayLike, outside_c: ArrayLike, u_value: ArrayLike, rsi: ArrayLike = ...
) -> FloatArray: ...
def surface_temp(
    inside_c: ArrayLike,
    outside_c: ArrayLike,
    u_value: ArrayLike,
    rsi: ArrayLike = RSI_HORIZONTAL,
) -> float | FloatArray:
    """Temperature of a panel's inner surface.

    Parameters
    ----------
    inside_c, outside_c : array_like
        Air (or water) temperature on either side, °C.
    u_value : array_like
        Thermal transmittance reckoned with the same `rsi`, W/m²K.
    rsi : array_like
        Inner surface resistance, m²K/W.

    Returns
    -------
    float or ndarray
        Surface temperature, °C, broadcast.

    Raises
    ------
    ValueError
        `u_value` and `rsi` that cannot belong together (their product is above 1).

    References
    ----------
    ISO 13788: θsi = θi - U Rsi (θi - θe).
    """
    inside, outside = as_floats(inside_c), as_floats(outside_c)
    film = within("inner surface resistance", rsi, 0.0, 10.0, "m²K/W")
    u = within("thermal transmittance", u_value, 0.0, np.inf, "W/m²K")
    drop = within("u_value times rsi, the film's share of the resistance", u * film, 0.0, 1.0, "")
    return handed_back(inside - drop * (inside - outside))
