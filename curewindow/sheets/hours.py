"""Hours as tables give them: read between their columns, and printed as a sheet prints them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def hours_at(temps: Sequence[float], hours: Sequence[float], at_c: float) -> float:
    """Hours at a temperature within a table.

    Parameters
    ----------
    temps, hours : sequence of float, same length
        A row of a table [°C, h], temperatures increasing.
    at_c : float
        Temperature [°C] within the table; outside it the nearest column holds.

    Returns
    -------
    float
        Hours: ln(hours) is linear in 1/T between columns (Arrhenius).
    """
    inverse = 1.0 / (np.asarray(temps, dtype=np.float64)[::-1] + 273.15)
    logs = np.log(np.maximum(np.asarray(hours, dtype=np.float64)[::-1], 1e-6))
    return float(np.exp(np.interp(1.0 / (at_c + 273.15), inverse, logs)))


def shown(hours: float) -> str:
    """Hours as a data sheet prints them, without rounding away: '40 min', '16 h', '7 d'."""
    if hours < 1.45:
        return f"{hours * 60:.3g} min"
    return f"{hours:.3g} h" if hours < 71 else f"{hours / 24:.3g} d"
