"""How sure a margin is.

With several members nobody needs the errors of :mod:`curewindow.rules.uncertainty`: there the
share of members speaks.
"""

from __future__ import annotations

from math import erf, sqrt

from curewindow.series import FloatArray
from curewindow.windows.limits import LimitTrack


def sigmas(track: LimitTrack, lead_h: FloatArray) -> FloatArray:
    """A limit's margin in standard errors (:mod:`curewindow.rules.uncertainty`)."""
    return track.kind.doubt.sigmas(track.value, track.margin, lead_h)


def chance(smallest_sigmas: float) -> float:
    """Chance that limits hold, from the smallest margin in standard errors.

    The smallest stands for all: limits are not independent (one warm front moves
    them together), and adding doubts up would count the same error several times.
    """
    return 0.5 * (1.0 + erf(smallest_sigmas / sqrt(2.0)))
