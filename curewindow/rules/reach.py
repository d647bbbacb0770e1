"""Nobody is told to hold a temperature that the heater does not get to."""

from __future__ import annotations

import math
from typing import Final

REACH_K: Final = 0.5
"""So near a setpoint counts as reached."""


def within_reach(setpoint_c: float, reached_c: float) -> float:
    """The setpoint to tell: what the air gets to, in half degrees, where that is clearly less.

    Above what the heater gets to a thermostat changes nothing.

    Parameters
    ----------
    setpoint_c : float
    reached_c : float
        The warmest the air gets to; NaN: nothing is known, so the setpoint stands.
    """
    if not reached_c < setpoint_c - REACH_K:
        return setpoint_c
    return math.ceil(2.0 * reached_c) / 2.0
