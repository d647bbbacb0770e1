"""How likely something must be to be told, and below which chance the chance is told with it."""

from __future__ import annotations

from typing import Final

import numpy as np

from curewindow.series import BoolArray, FloatArray

SHARE_OF_MEMBERS: Final = 0.8
"""Share of members in which a start within the next day must be good."""
SHARE_AHEAD: Final = 0.5
"""The same for a start some days ahead: something to plan on, told with its chance."""
_SURE_H, _AHEAD_H = 24.0, 72.0
_ROUNDING = 1e-9

WORTH_SAYING: Final = 0.8
"""Below this chance whatever is told says its chance too."""


def worth_saying(chance: float) -> bool:
    """Is a chance to be told with what it is of?"""
    return chance < WORTH_SAYING


def enough(share: FloatArray | float, needed: FloatArray | float) -> BoolArray:
    """True where a share of members is as large as is needed, broadcast.

    Four of five are four fifths, whatever the last digit of either says.
    """
    found: BoolArray = np.asarray(share) >= np.asarray(needed) - _ROUNDING
    return found


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
