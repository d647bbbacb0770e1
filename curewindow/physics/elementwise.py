"""What every function of this floor does with its numbers on the way in and out.

Scalars and arrays alike come in and are broadcast; a float goes out when all
that came in was scalar, else an array. NaN passes through; a value outside the
range a formula is good for is an error that names the value.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670374419e-8
"""Stefan-Boltzmann constant, W/m²K⁴ (CODATA 2018, exact)."""

ZERO_C_IN_K = 273.15
"""0 °C in kelvin (exact)."""

GAS_CONSTANT = 8.314462618
"""Molar gas constant, J/mol K (CODATA 2018, exact)."""


def as_floats(value: ArrayLike) -> FloatArray:
    """The value as float64, without a copy where it is one already."""
    return np.asarray(value, dtype=np.float64)


def within(name: str, value: ArrayLike, low: float, high: float, unit: str) -> FloatArray:
    """The value as float64, once all of it (NaN apart) lies in a closed range.

    Parameters
    ----------
    name : str
        What the number is, for the message.
    value : array_like
        Any shape; NaN passes.
    low, high : float
        Bounds, both allowed.
    unit : str
        Unit of value and bounds, for the message.

    Raises
    ------
    ValueError
        A value lies outside; the message gives the worst one and the bounds.
    """
    values = as_floats(value)
    # fmin and fmax step over NaN, and over all-NaN without a warning.
    least = np.fmin.reduce(values, axis=None, initial=np.inf)
    most = np.fmax.reduce(values, axis=None, initial=-np.inf)
    if least < low or most > high:
        worst = least if least < low else most
        raise ValueError(f"{name} is {worst:g} {unit}; it must lie in {low:g} to {high:g} {unit}")
    return values


def handed_back(result: FloatArray | np.float64) -> float | FloatArray:
    """A float where the result is scalar, else the array."""
    return float(result) if np.ndim(result) == 0 else np.asarray(result)
