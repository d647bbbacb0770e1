"""How sure a start is: from the members, and from what came of windows told before."""

from __future__ import annotations

from math import sqrt
from typing import Final, TypedDict

from curewindow.series import SurfaceSeries
from curewindow.windows.confidence import chance

_SUREST: Final = 0.99  # nothing that is forecast is certain (estimate)
_CHOSEN: Final = 0.5
"""What choosing costs, in binomial standard errors of a share (estimate)."""


class Sureness(TypedDict):
    """The two figures of a window: as shown, and before it was corrected."""

    confidence: float
    stated: float | None


def sureness(series: SurfaceSeries, start: int, share: float, smallest_sigmas: float) -> Sureness:
    """How sure a start is: as it stands, and as what came of earlier windows corrects it.

    Parameters
    ----------
    series : SurfaceSeries
        Of M members.
    start : int
        Its grid point.
    share : float
        Of the members, those in which it is good.
    smallest_sigmas : float
        Its smallest margin in standard errors.

    Returns
    -------
    Sureness
        ``stated`` is None where nothing is known that could correct it.
    """
    stated = confidence_of(int(series.air_c.shape[0]), share, smallest_sigmas)
    if series.trust is None:
        return {"confidence": round(stated, 3), "stated": None}
    corrected = series.trust.corrected(stated, float(series.lead_h[start]))
    return {"confidence": round(corrected, 3), "stated": round(stated, 3)}


def confidence_of(members: int, share: float, smallest_sigmas: float) -> float:
    """Chance that the best start of a window holds.

    Parameters
    ----------
    members : int
        M; with one the chance of the smallest margin is all there is.
    share : float
        k / M, of the members in which it is good.
    smallest_sigmas : float
        Its smallest margin in standard errors.

    Returns
    -------
    float
        Never above the share.

    Notes
    -----
    That all of a few members agree does not make a start certain: the share is taken as
    (k + 1) / (M + 2), Laplace's rule of succession. And a best start is chosen, of many
    that are nearly as good, by the very share that is then told, which finds the one
    with the most luck: half a standard error of the share, sqrt(p (1 - p) / (M + 2)),
    less where all starts agree (times 4 p (1 - p)). How much that is was tried on
    made-up weather, ``tests/calibration/test_synthetic.py``: with 16 members it is worth
    5 to 8 points between 40 and 80 %.
    """
    if members == 1:
        return min(chance(smallest_sigmas), _SUREST)
    p = (share * members + 1.0) / (members + 2.0)
    luck = _CHOSEN * 4.0 * p * (1.0 - p) * sqrt(p * (1.0 - p) / (members + 2.0))
    return min(share, p - luck)
