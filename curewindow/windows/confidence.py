"""How sure a margin is: growth of the forecast's error with lead time.

All figures are our estimates, no source; they are of the size that verification of
weather services shows for a point near the ground. With several members nobody
needs them: there the share of members speaks.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, sqrt
from typing import Final

import numpy as np

from curewindow.series import FloatArray
from curewindow.windows.limits import (
    AIR,
    DEW,
    HUMIDITY,
    MIXED,
    RAIN,
    SUN,
    SURFACE,
    TIN,
    WET,
    WIND,
    WOOD,
    LimitTrack,
)


@dataclass(frozen=True, slots=True)
class Growth:
    """Standard error now, its growth an hour, and where it stops growing."""

    now: float
    per_h: float
    most: float


_TEMPERATURE = Growth(0.7, 0.015, 4.0)  # K: 1.1 after a day, 2.5 after five
ERRORS: Final[dict[str, Growth]] = {
    AIR: _TEMPERATURE,
    SURFACE: _TEMPERATURE,
    TIN: _TEMPERATURE,
    MIXED: _TEMPERATURE,
    # Surface and dew point go up and down together: their difference is better known.
    DEW: Growth(0.5, 0.010, 3.0),  # K
    HUMIDITY: Growth(4.0, 0.06, 18.0),  # %
    WOOD: Growth(1.0, 0.01, 4.0),  # %, wood is slow
    WIND: Growth(1.0, 0.02, 4.0),  # m/s
}
"""Standard error by limit and lead time (estimates)."""

_SUN_SHARE, _SUN_LEAST_W_M2 = 0.25, 10.0  # a night is sure to be dark (estimate)
_DRY_SIGMAS, _DRY_DECAY_H = 1.6, 120.0  # 'no rain' holds at 95 % now, 72 % in five days (estimate)
MOST_SIGMAS: Final = 3.0
"""Beyond three standard errors a margin does not get surer: what is not modelled takes over."""


SHARE_OF_MEMBERS: Final = 0.8
"""Share of members in which a start within the next day must be good."""
SHARE_AHEAD: Final = 0.5
"""The same for a start some days ahead: something to plan on, told with its chance."""
_SURE_H, _AHEAD_H = 24.0, 72.0


def share_needed(lead_h: FloatArray) -> FloatArray:
    """Share of members in which a start must be good to be told.

    What is acted upon today has to hold in four members of five. Days ahead no forecast
    is as sure as that, and a start that is more likely good than not is worth planning
    on: from one day ahead to three the share falls in a straight line to one half.

    Parameters
    ----------
    lead_h : ndarray, shape (T,)
        Hours since the last thing known for certain.

    Returns
    -------
    ndarray, shape (T,)
    """
    return np.interp(lead_h, [_SURE_H, _AHEAD_H], [SHARE_OF_MEMBERS, SHARE_AHEAD])


def sigmas(track: LimitTrack, lead_h: FloatArray) -> FloatArray:
    """A limit's margin in standard errors.

    Parameters
    ----------
    track : LimitTrack
    lead_h : ndarray, shape (T,)
        Hours since the last thing known for certain.

    Returns
    -------
    ndarray, shape (M, T)
        Negative where broken, at most :data:`MOST_SIGMAS`, NaN where not known.
    """
    if track.name == RAIN:
        dry = _DRY_SIGMAS * np.exp(-lead_h / _DRY_DECAY_H)
        result = np.where(track.margin >= 0.0, dry, -MOST_SIGMAS)
        result[np.isnan(track.margin)] = np.nan
        return result
    if track.name == WET:
        # Dry is dry: how sure the night's dew is, dew point and rain tell themselves.
        return np.where(track.margin >= 0.0, MOST_SIGMAS, -MOST_SIGMAS)
    if track.name == SUN:
        error = _SUN_LEAST_W_M2 + _SUN_SHARE * track.value
    else:
        growth = ERRORS[track.name]
        error = np.minimum(growth.now + growth.per_h * lead_h, growth.most)
    return np.minimum(track.margin / error, MOST_SIGMAS)


def chance(smallest_sigmas: float) -> float:
    """Chance that limits hold, from the smallest margin in standard errors.

    The smallest stands for all: limits are not independent (one warm front moves
    them together), and adding doubts up would count the same error several times.
    """
    return 0.5 * (1.0 + erf(smallest_sigmas / sqrt(2.0)))
