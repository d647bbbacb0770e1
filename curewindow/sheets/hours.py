"""Hours as tables give them: read between their columns, and printed as a sheet prints them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from curewindow.physics.cure import table_hours

_SHORTEST_H = 1e-6  # a table may say '0 min': not at all


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
    return float(hours_over(temps, hours, np.float64(at_c)))


def hours_over(
    temps: Sequence[float], hours: Sequence[float], temps_c: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    """The same at many temperatures [°C]; NaN where one is NaN."""
    known = [max(hour, _SHORTEST_H) for hour in hours]
    return table_hours(temps_c, temps, known)


def shown(hours: float) -> str:
    """Hours as a data sheet prints them, without rounding away: '40 min', '16 h', '7 d'."""
    if hours < 1.45:
        return f"{hours * 60:.3g} min"
    return f"{hours:.3g} h" if hours < 71 else f"{hours / 24:.3g} d"
