"""What each step of the grid is worth to a law, on the slow, the typical and the quick side."""

from __future__ import annotations

from typing import Final

import numpy as np

from curewindow.curing.laws import Law, basis_of, law_stop
from curewindow.physics.air import saturation_pressure
from curewindow.physics.cure import (
    BANDS,
    RateTable,
    Side,
    banded_rate,
    drying_factor,
    moisture_factor,
    table_rate,
)
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet

STANDARD_RH_PCT: Final = 50.0
"""Humidity of a table that names none: the standard atmosphere of ISO 3270, 23 °C and 50 %."""


def step_rates(
    law: Law, sheet: Sheet, series: SurfaceSeries, side: Side
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

    Returns
    -------
    rate_per_h : ndarray, shape (M, T - 1)
        NaN where an end of the step is unknown.
    outside : ndarray of bool, shape (M, T - 1)
        True where the step touches temperatures outside the table.
    """
    basis = basis_of(sheet)
    film_low, film_high = _ends(series.surface_c)
    film, other = _end(film_low, film_high, side), _end(film_high, film_low, side)
    if law.table is None:
        outside = np.zeros(film.shape, np.bool_)
        rate = _depth_rate(law, sheet, series, side)
        stop = law_stop(sheet, side)
        rate = np.where(film < stop, 0.0, rate)
        rate[np.isnan(film)] = np.nan
    else:
        table = law.table if side != "quick" else _explicit_stop_only(law.table, sheet)
        rate, _ = table_rate(film, table, side)
        outside = (film_low < table.temps_c[0]) | (film_high > table.temps_c[-1])
        rate = rate * _water_factor(sheet, series, film, other, side)
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
