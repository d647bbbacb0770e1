"""Saturation pressure of water and ice by Sonntag's formula, and its inverse.

The bare formulas, in logarithms and without range checks: `curewindow.physics.air`
is what the rest of the house calls.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from curewindow.physics.elementwise import ZERO_C_IN_K, FloatArray

Phase = Literal["water", "ice"]

# Sonntag (1990), Zeitschrift für Meteorologie 70, 340-344, on the ITS-90 scale:
# ln(e/Pa) = a/T + b + c T + d T² + f ln T. Stated for -100..100 °C over water
# and -100..0.01 °C over ice.
SONNTAG: dict[str, tuple[float, float, float, float, float]] = {
    "water": (-6096.9385, 21.2409642, -2.711193e-2, 1.673952e-5, 2.433502),
    "ice": (-6024.5282, 29.32707, 1.0613868e-2, -1.3198825e-5, -0.49382577),
}
RANGE_C: dict[str, tuple[float, float]] = {"water": (-100.0, 100.0), "ice": (-100.0, 0.01)}

# Magnus form (WMO-No. 8, annex 4.B): only the first guess of the inversion.
_MAGNUS: dict[str, tuple[float, float, float]] = {
    "water": (6.4154, 17.62, 243.12),  # ln(611.2), slope, offset
    "ice": (6.4154, 22.46, 272.62),
}


def log_saturation(temp_c: FloatArray, over: str) -> FloatArray:
    """ln of the saturation pressure in Pa."""
    a, b, c, d, f = SONNTAG[over]
    t_k = temp_c + ZERO_C_IN_K
    return np.asarray(a / t_k + b + t_k * (c + d * t_k) + f * np.log(t_k))


def log_slope(temp_c: FloatArray, over: str) -> FloatArray:
    """Derivative of `log_saturation` by temperature, 1/K."""
    a, _, c, d, f = SONNTAG[over]
    t_k = temp_c + ZERO_C_IN_K
    return np.asarray((f - a / t_k) / t_k + c + 2.0 * d * t_k)


def temperature_at(log_e: FloatArray, over: str) -> FloatArray:
    """Temperature in °C whose log saturation pressure is `log_e`.

    The Magnus guess is within 1 K for -100..100 °C. ln e against T is so nearly
    straight that a Newton step leaves about a hundredth of the square of the
    error in kelvin: two steps reach 1e-6 K, three rounding.
    """
    start, slope, offset = _MAGNUS[over]
    y = log_e - start
    temp_c = offset * y / (slope - y)
    for _step in range(3):
        temp_c = temp_c - (log_saturation(temp_c, over) - log_e) / log_slope(temp_c, over)
    return temp_c
