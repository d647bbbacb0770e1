"""A sheet's limits held against a surface: one track of margins a limit.

Values run in a straight line between grid points, so does each margin, and a
limit kept at two grid points is kept between them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from curewindow.physics.air import frost_point
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.sheets.schema import Limits, PercentRange, TempRange

Phase = Literal["applying", "setting"]
Bound = Literal["min", "max"]

_WET_K = 1e-6
DRY_G_M2 = 0.1
"""Less water than this on a surface is none any more: no hand or meter tells it (estimate)."""

DIRECT_SUN_W_M2 = 120.0
"""Sunshine from here on counts as direct: the threshold of sunshine duration in WMO-No. 8,
part I, chapter 8, there of the direct beam; held against all sunshine it errs on the safe side."""

# What is compared, in which unit: names are those of answers.Margin.
AIR = "air temperature"
SURFACE = "surface temperature"
TIN = "tin temperature"
MIXED = "mixed product temperature"
HUMIDITY = "relative humidity"
DEW = "surface above dew point"
WOOD = "wood moisture"
WIND = "wind"
RAIN = "rain"
SUN = "direct sun"
WET = "water on the surface"
UNITS: dict[str, str] = {
    AIR: "°C",
    SURFACE: "°C",
    TIN: "°C",
    MIXED: "°C",
    HUMIDITY: "%",
    DEW: "K",
    WOOD: "%",
    WIND: "m/s",
    RAIN: "mm/h",
    SUN: "W/m²",
    WET: "g/m²",
}


@dataclass(frozen=True, slots=True, eq=False)
class LimitTrack:
    """One limit over time.

    Attributes
    ----------
    name : str
        Such as 'air temperature'; a key of :data:`UNITS`.
    bound : {'min', 'max'}
    unit : str
    value : ndarray, shape (M, T)
        What is compared; NaN where it is not known.
    limit : float
    margin : ndarray, shape (M, T)
        Positive where kept, negative where broken, NaN where not known.
    phase : {'applying', 'setting'}
    """

    name: str
    bound: Bound
    unit: str
    value: FloatArray
    limit: float
    margin: FloatArray
    phase: Phase


def limit_tracks(
    series: SurfaceSeries, limits: Limits, phase: Phase, *, bare_wood: bool = False
) -> list[LimitTrack]:
    """Hold the limits of one phase against a surface.

    The tin and the mixed product are taken to be as warm as the air of the space,
    and count only while applying. Wood moisture counts on bare wood, wind, rain and
    sun outdoors. A limit whose quantity the series does not have is a track of NaN.
    A sheet that says nothing of the dew point is not taken to allow a wet surface: while
    applying, the surface must lie above the point at which dew or frost forms on it.

    Parameters
    ----------
    series : SurfaceSeries
    limits : Limits
        ``sheet.applying`` or ``sheet.setting``.
    phase : {'applying', 'setting'}
    bare_wood : bool
        Does the sheet's wood moisture apply?

    Nor is anything put on water that dew or rain has left there.

    Returns
    -------
    list of LimitTrack
        Only limits the sheet has, and those of the dry surface.
    """
    unknown = np.full(series.air_c.shape, np.nan)
    tracks: list[LimitTrack] = []

    def add(name: str, bound: Bound, values: FloatArray | None, limit: float | None) -> None:
        if limit is None:
            return
        value = unknown if values is None else values
        margin = value - limit if bound == "min" else limit - value
        tracks.append(LimitTrack(name, bound, UNITS[name], value, limit, margin, phase))

    def add_range(name: str, values: FloatArray | None, allowed: TempRange | PercentRange) -> None:
        add(name, "min", values, allowed.min)
        add(name, "max", values, allowed.max)

    add_range(AIR, series.air_c, limits.air)
    add_range(SURFACE, series.surface_c, limits.surface)
    if phase == "applying":
        add_range(TIN, series.air_c, limits.product)
        add_range(MIXED, series.air_c, limits.mixed)
    add_range(HUMIDITY, series.rh_pct, limits.humidity)
    if limits.above_dew_point is not None:
        add(DEW, "min", above_dew(series), limits.above_dew_point)
    elif phase == "applying":
        above = above_dew(series)
        # At the dew point itself it is wet: no margin is one too few.
        dry = np.where(above > 0.0, above, np.minimum(above, -_WET_K))
        tracks.append(LimitTrack(DEW, "min", UNITS[DEW], above, 0.0, dry, phase))
    if phase == "applying" and series.lying_kg_m2 is not None:
        add(WET, "max", 1000.0 * series.lying_kg_m2, DRY_G_M2)
    if bare_wood:
        add_range(WOOD, series.wood_moisture_pct, limits.wood_moisture)
    if series.outdoors:
        add(WIND, "max", series.wind_ms, limits.wind_max)
        add(RAIN, "max", series.rain_mm_h, None if limits.rain else 0.0)
        add(SUN, "max", series.sun_w_m2, None if limits.direct_sun else DIRECT_SUN_W_M2)
    return tracks


def above_dew(series: SurfaceSeries) -> FloatArray:
    """Height of the surface above the point at which water comes out of the air onto it, K.

    That is the dew point, and below 0 °C the frost point, which lies above it
    (saturation over ice is the lower: WMO-No. 8, annex 4.B).
    """
    point = series.dew_point_c
    frozen = (series.surface_c < 0.0) & (point < 0.0)
    if frozen.any():
        # Air saturated at the dew point has the frost point of all air with it.
        point = point.copy()
        point[frozen] = np.asarray(frost_point(point[frozen], 100.0), dtype=np.float64)
    above: FloatArray = series.surface_c - point
    return above
