"""How sure a margin is, and how sure a start must be to be told.

With several members nobody needs the errors of :mod:`curewindow.rules.doubt`: there the
share of members speaks.
"""

from __future__ import annotations

from math import erf, sqrt
from typing import Final

import numpy as np

from curewindow.series import FloatArray
from curewindow.windows.limits import LimitTrack

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
    """A limit's margin in standard errors (:meth:`curewindow.rules.doubt.Doubt.sigmas`)."""
    return track.kind.doubt.sigmas(track.value, track.margin, lead_h)


def chance(smallest_sigmas: float) -> float:
    """Chance that limits hold, from the smallest margin in standard errors.

    The smallest stands for all: limits are not independent (one warm front moves
    them together), and adding doubts up would count the same error several times.
    """
    return 0.5 * (1.0 + erf(smallest_sigmas / sqrt(2.0)))
