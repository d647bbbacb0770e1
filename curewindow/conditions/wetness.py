"""Where water comes out of the air onto a surface: as dew, or as frost."""

from __future__ import annotations

import numpy as np

from curewindow.physics.air import frost_point
from curewindow.series import BoolArray, FloatArray


def dew_and_frost(surface_c: FloatArray, dew_point_c: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Where dew and where frost forms on a surface.

    Parameters
    ----------
    surface_c, dew_point_c : ndarray of one shape
        Surface and dew point over water, °C; NaN: nothing is said there.

    Returns
    -------
    dew, frost : ndarray of bool
        Frost where the surface is below 0 °C and below the frost point, which lies
        above the dew point there (saturation over ice is the lower: WMO-No. 8); dew
        where it is not that cold and below the dew point. What has formed before and
        not dried yet is not in it.
    """
    known = np.isfinite(surface_c) & np.isfinite(dew_point_c)
    surface = np.where(known, surface_c, np.nan)
    freezing = surface < 0.0
    # Air that is saturated at the dew point has the frost point of all air with it.
    frost_from = np.full(surface.shape, np.nan)
    cold = freezing & (dew_point_c < 0.0)
    if cold.any():
        frost_from[cold] = np.asarray(frost_point(dew_point_c[cold], 100.0), dtype=np.float64)
    # A dew point of 0 °C and more is above any frozen surface.
    frost = freezing & ((surface < frost_from) | (dew_point_c >= 0.0))
    dew = ~freezing & (surface < dew_point_c)
    return dew, frost
