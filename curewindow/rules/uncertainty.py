"""How far off the forecast may be of what a limit is held against, by lead time.

All figures are our estimates, no source; they are of the size that verification of
weather services shows for a point near the ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np

from curewindow.series import FloatArray

MOST_SIGMAS: Final = 3.0
"""Beyond three standard errors a margin does not get surer: what is not modelled takes over."""


class Uncertainty(Protocol):
    """Turns margins into standard errors of the forecast."""

    def sigmas(self, value: FloatArray, margin: FloatArray, lead_h: FloatArray) -> FloatArray:
        """Margins in standard errors.

        Parameters
        ----------
        value, margin : ndarray, shape (M, T)
            What is compared, and by how much it is kept, in the limit's unit.
        lead_h : ndarray, shape (T,) or (M, T)
            Hours since the last thing known for certain.

        Returns
        -------
        ndarray, shape (M, T)
            Negative where broken, at most :data:`MOST_SIGMAS`, NaN where not known.
        """
        ...


@dataclass(frozen=True, slots=True)
class Growth:
    """Standard error now, its growth an hour, and where it stops growing; the limit's unit."""

    now: float
    per_h: float
    most: float

    def sigmas(self, value: FloatArray, margin: FloatArray, lead_h: FloatArray) -> FloatArray:
        """As :meth:`Uncertainty.sigmas`."""
        error = np.minimum(self.now + self.per_h * lead_h, self.most)
        return np.minimum(margin / error, MOST_SIGMAS)


@dataclass(frozen=True, slots=True)
class ShareOfValue:
    """Standard error as a share of the value, on top of a least one in the limit's unit."""

    least: float
    share: float

    def sigmas(self, value: FloatArray, margin: FloatArray, lead_h: FloatArray) -> FloatArray:
        """As :meth:`Uncertainty.sigmas`."""
        return np.minimum(margin / (self.least + self.share * value), MOST_SIGMAS)


@dataclass(frozen=True, slots=True)
class Fading:
    """Kept or broken without degrees: so sure now, less so with a decay time [h]."""

    now_sigmas: float
    decay_h: float

    def sigmas(self, value: FloatArray, margin: FloatArray, lead_h: FloatArray) -> FloatArray:
        """As :meth:`Uncertainty.sigmas`."""
        kept = self.now_sigmas * np.exp(-lead_h / self.decay_h)
        return _by_sign(margin, np.broadcast_to(kept, margin.shape))


@dataclass(frozen=True, slots=True)
class Certain:
    """Kept or broken, with no doubt of its own: other limits tell how sure its causes are."""

    def sigmas(self, value: FloatArray, margin: FloatArray, lead_h: FloatArray) -> FloatArray:
        """As :meth:`Uncertainty.sigmas`."""
        return _by_sign(margin, np.full(margin.shape, MOST_SIGMAS))


def _by_sign(margin: FloatArray, kept: FloatArray) -> FloatArray:
    found = np.where(margin >= 0.0, kept, -MOST_SIGMAS)
    found[np.isnan(margin)] = np.nan
    return found
