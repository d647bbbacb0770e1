"""A sheet's cure at a surface: when a film put on at any moment comes to a milestone."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from curewindow.curing.laws import Law, RecoatRule, milestone_laws, recoat_law
from curewindow.curing.rates import StepEnds, fastest_rate, step_rates
from curewindow.physics.cure import Side, milestone_index_from
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Milestone, Sheet

IntArray = NDArray[np.int64]
Unknown = Literal["stands", "fast"]


@dataclass(frozen=True, slots=True, eq=False)
class CureModel:
    """A sheet's cure at a surface; counts are made when asked for and kept.

    Attributes
    ----------
    sheet : Sheet
    series : SurfaceSeries
    """

    sheet: Sheet
    series: SurfaceSeries
    _kept: dict[tuple[str, Side, Unknown], tuple[FloatArray, BoolArray]] = field(
        default_factory=dict, repr=False
    )
    _ends: list[StepEnds] = field(default_factory=list, repr=False)

    def has(self, milestone: Milestone) -> bool:
        """True where the sheet gives times for the milestone."""
        return self.sheet.cure.hours(milestone) is not None

    def milestone_end(
        self,
        milestone: Milestone,
        starts: FloatArray,
        side: Side = "slow",
        unknown: Unknown | None = None,
        times: float = 1.0,
    ) -> FloatArray:
        """Grid index at which a film put on at each start comes to a milestone.

        Parameters
        ----------
        milestone : str
            One the sheet has.
        starts : ndarray, shape (K,) or (M, K)
            Grid indices, fractions allowed.
        side : {'slow', 'typical', 'quick'}
        unknown : {'stands', 'fast'}, optional
            What unknown hours count: nothing, or the fastest rate the sheet or the
            series knows. Else nothing, and fast on the quick side.
        times : float
            Or when it has aged so many times as long.

        Returns
        -------
        ndarray, shape (M, K)
            Fractional index; NaN beyond the grid.

        Raises
        ------
        SheetError
            The sheet has no such row.
        """
        laws = milestone_laws(self.sheet, milestone)
        return self._reach(laws, starts, side, unknown, times)

    def recoat_end(
        self,
        rule: RecoatRule,
        bound: Literal["from", "until"],
        starts: FloatArray,
        side: Side,
        unknown: Unknown | None = None,
    ) -> FloatArray:
        """Grid index at which recoating opens ('from') or closes ('until'); NaN beyond the grid.

        See :meth:`milestone_end`. A table without 'until' gives NaN throughout.
        """
        law = recoat_law(self.sheet, rule, bound)
        if law is None:
            return np.full((self.series.air_c.shape[0], starts.shape[-1]), np.nan)
        return self._reach((law,), starts, side, unknown)

    def progress(self, law: Law, side: Side, unknown: Unknown = "stands") -> FloatArray:
        """Progress towards a law's time since the first grid point, in shares of it; (M, T)."""
        return self._count(law, side, unknown)[0]

    def extrapolated(self, laws: tuple[Law, ...], start: int, end: int) -> bool:
        """True where a clock ran outside its table between two grid points, in any member."""
        for law in laws:
            outside = self._count(law, "slow", "stands")[1]
            if bool(outside[:, start : max(end, start)].any()):
                return True
        return False

    def _reach(
        self,
        laws: tuple[Law, ...],
        starts: FloatArray,
        side: Side,
        unknown: Unknown | None,
        times: float = 1.0,
    ) -> FloatArray:
        held: Unknown = unknown or ("fast" if side == "quick" else "stands")
        ends = [
            np.atleast_2d(milestone_index_from(self._count(law, side, held)[0], starts, times))
            for law in laws
        ]
        latest = ends[0]
        for end in ends[1:]:
            latest = np.maximum(latest, end)  # NaN, beyond, stays NaN
        return latest

    def _count(self, law: Law, side: Side, unknown: Unknown) -> tuple[FloatArray, BoolArray]:
        """Progress (M, T) since the first grid point; steps (M, T - 1) run outside the table."""
        key = (law.name, side, unknown)
        if key not in self._kept:
            if not self._ends:
                self._ends.append(StepEnds(self.series))
            rate, outside = step_rates(law, self.sheet, self.series, side, self._ends[0])
            fill = fastest_rate(law, self.sheet, rate) if unknown == "fast" else 0.0
            rate = np.where(np.isnan(rate), fill, rate)
            progress = np.zeros(self.series.air_c.shape)
            np.cumsum(rate * self.series.step_h, axis=1, out=progress[:, 1:])
            self._kept[key] = (progress, outside & (rate > 0.0))
        return self._kept[key]
