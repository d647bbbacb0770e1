"""What each step of the grid is worth to a law, on the slow, the typical and the quick side."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from curewindow.curing.laws import Law, basis_of, law_stop
from curewindow.physics.air import saturation_pressure
from curewindow.physics.cure import (
    BANDS,
    AmongRows,
    RateTable,
    Side,
    banded_rate,
    drying_factor,
    moisture_factor,
    rate_among,
)
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet

STANDARD_RH_PCT: Final = 50.0
"""Humidity of a table that names none: the standard atmosphere of ISO 3270, 23 °C and 50 %."""


@dataclass(frozen=True, slots=True, eq=False)
class StepEnds:
    """The ends of a surface's steps, with what all laws of a sheet share there.

    Attributes
    ----------
    series : SurfaceSeries
    """

    series: SurfaceSeries
    _films: list[tuple[FloatArray, FloatArray]] = field(default_factory=list, repr=False)
    _among: dict[tuple[Side, bytes], AmongRows] = field(default_factory=dict, repr=False)
    _outside: dict[bytes, BoolArray] = field(default_factory=dict, repr=False)
    _water: dict[tuple[int, Side], FloatArray | float] = field(default_factory=dict, repr=False)

    def film(self) -> tuple[FloatArray, FloatArray]:
        """Its smaller and its larger temperature in each step [°C]."""
        if not self._films:
            self._films.append(_ends(self.series.surface_c))
        return self._films[0]

    def among(self, temps_c: FloatArray, side: Side) -> AmongRows:
        """Where the film lies among a table's rows."""
        key = (side, temps_c.tobytes())
        if key not in self._among:
            self._among[key] = AmongRows.of(_end(*self.film(), side), temps_c)
        return self._among[key]

    def outside(self, temps_c: FloatArray) -> BoolArray:
        """True where a step touches temperatures outside a table's rows."""
        key = temps_c.tobytes()
        if key not in self._outside:
            low, high = self.film()
            self._outside[key] = (low < temps_c[0]) | (high > temps_c[-1])
        return self._outside[key]

    def water(self, sheet: Sheet, side: Side) -> FloatArray | float:
        """What the water in the air does to the rate of a sheet's tables."""
        key = (id(sheet), side)
        if key not in self._water:
            low, high = self.film()
            film, other = _end(low, high, side), _end(high, low, side)
            self._water[key] = _water_factor(sheet, self.series, film, other, side)
        return self._water[key]


def step_rates(
    law: Law, sheet: Sheet, series: SurfaceSeries, side: Side, ends: StepEnds | None = None
) -> tuple[FloatArray, BoolArray]:
    """Rate of a law in each step of the grid.

    Every quantity runs in a straight line through a step, and every rate rises or
    falls with each quantity throughout; so the rate at the worst (or best) end of
    each quantity bounds the rate in the whole step.

    Parameters
    ----------
    law : Law
    sheet : Sheet
    series : SurfaceSeries
    side : {'slow', 'typical', 'quick'}
        The least, the middle or the most each step can be worth.
    ends : StepEnds, optional
        Of this series, where other laws of the sheet have been asked for as well.

    Returns
    -------
    rate_per_h : ndarray, shape (M, T - 1)
        NaN where an end of the step is unknown.
    outside : ndarray of bool, shape (M, T - 1)
        True where the step touches temperatures outside the table.
    """
    basis = basis_of(sheet)
    ends = StepEnds(series) if ends is None else ends
    if law.table is None:
        film = _end(*ends.film(), side)
        outside = np.zeros(film.shape, np.bool_)
        rate = _depth_rate(law, sheet, series, side)
        stop = law_stop(sheet, side)
        rate = np.where(film < stop, 0.0, rate)
        rate[np.isnan(film)] = np.nan
    else:
        table = law.table if side != "quick" else _explicit_stop_only(law.table, sheet)
        rate = rate_among(ends.among(table.temps_c, side), table, side)
        outside = ends.outside(table.temps_c)
        rate = rate * ends.water(sheet, side)
    humid = sheet.cure.stops_above_humidity
    if humid is not None:
        low, high = _ends(series.rh_pct)
        damp = _end(high, low, side)
        rate = np.where(damp > humid, 0.0, rate)
        rate[np.isnan(damp)] = np.nan
    return banded_rate(rate, outside, basis, side), outside


def _water_factor(
    sheet: Sheet, series: SurfaceSeries, film: FloatArray, other: FloatArray, side: Side
) -> FloatArray | float:
    """What the water in the air does to the table's rate; never more than 1 on the slow side."""
    table_rh = STANDARD_RH_PCT if sheet.cure.humidity is None else sheet.cure.humidity
    if sheet.chemistry == "waterborne":
        low, high = _ends(series.dew_point_c)
        dew = _end(high, low, side)
        return drying_factor(film, saturation_pressure(dew), table_rh, side)
    if sheet.chemistry == "moisture curing":
        factor = _vapour(series, side, other, table_rh)
        return np.minimum(factor, 1.0) if side == "slow" else factor
    return 1.0


def _depth_rate(law: Law, sheet: Sheet, series: SurfaceSeries, side: Side) -> FloatArray:
    depth = sheet.depth_cure
    assert depth is not None  # a depth law is only made from one
    factor = _vapour(series, side, np.asarray(depth.temp), depth.humidity)
    return (np.minimum(factor, 1.0) if side == "slow" else factor) / law.depth_h


def _vapour(
    series: SurfaceSeries, side: Side, sheet_c: FloatArray, sheet_rh_pct: float
) -> FloatArray:
    """Water vapour in the air relative to that of the sheet's own air."""
    air_low, air_high = _ends(series.air_c)
    rh_low, rh_high = _ends(series.rh_pct)
    air, rh = _end(air_low, air_high, side), _end(rh_low, rh_high, side)
    return moisture_factor(air, rh, sheet_c, sheet_rh_pct)


def _ends(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The smaller and the larger end of each step; NaN where either is."""
    start, end = values[:, :-1], values[:, 1:]
    return np.minimum(start, end), np.maximum(start, end)


def _end(slow: FloatArray, quick: FloatArray, side: Side) -> FloatArray:
    """What holds on a side, of the two ends of each step; their middle is the typical one."""
    if side == "typical":
        return (slow + quick) / 2.0
    return slow if side == "slow" else quick


def _explicit_stop_only(table: RateTable, sheet: Sheet) -> RateTable:
    return RateTable(
        table.temps_c, table.hours, table.activation_energy_j_mol, law_stop(sheet, "quick")
    )


def fastest_rate(law: Law, sheet: Sheet, rate: FloatArray) -> float:
    """What an unknown hour may have been worth at most: the hottest row, or the fastest known."""
    slowest_h = law.depth_h if law.table is None else float(law.table.hours[-1])
    hottest = (1.0 + BANDS[basis_of(sheet)]) / slowest_h
    known = rate[np.isfinite(rate)]
    return max(hottest, float(known.max())) if known.size else hottest
