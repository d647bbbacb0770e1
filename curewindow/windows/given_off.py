"""What a coat itself does to the air it dries in: aired for its vapour, damper by its water.

The limits of a shut space are not those of the space in which its hatches stand open
for the vapour. So every start that holds as things stand is held against a run of
its own too (:mod:`curewindow.heating.starts` makes them), and both must hold.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.windows.grid import IntArray


@dataclass(frozen=True, slots=True, eq=False)
class GivenOff:
    """Starts held against what the coat asks for and gives off.

    Attributes
    ----------
    starts : ndarray of int, shape (K,)
        Grid points looked at, in order.
    ok : ndarray of bool, shape (M, K)
        True where every limit holds: while aired or wet, and afterwards until the milestone.
    dry, end : ndarray of int, shape (M, K)
        Grid point at which it is touch dry, and the milestone until which the setting
        limits hold; T where beyond what is known.
    sure : ndarray, shape (M, K)
        Smallest margin in standard errors.
    track : ndarray of int, shape (M, K)
        Which of the verdict's limits breaks first; -1: none, or it is not known when it dries.
    at : ndarray of int, shape (M, K)
        Grid point at which it breaks.
    value : ndarray, shape (M, K)
        What the limit is held against there; NaN: not known.
    aired : bool
        Outside air is let in for solvent vapour; else only the water it gives off counts.
    courses : callable
        Conditions at the surface for each of some starts, grid as the verdict's series.
    """

    starts: IntArray
    ok: BoolArray
    dry: IntArray
    end: IntArray
    sure: FloatArray
    track: IntArray
    at: IntArray
    value: FloatArray
    aired: bool
    courses: Callable[[IntArray], list[SurfaceSeries]]

    def column(self, start: int) -> int | None:
        """Place of a start among those looked at; None: it was not."""
        found = int(np.searchsorted(self.starts, start))
        return found if found < len(self.starts) and self.starts[found] == start else None
