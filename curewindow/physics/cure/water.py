"""Water in the air as brake and as fuel: waterborne coats dry by it, sealants cure with it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curewindow.physics.air import saturation_pressure, vapour_density
from curewindow.physics.cure.rates import Side
from curewindow.physics.elementwise import FloatArray


def drying_factor(
    film_c: npt.ArrayLike,
    vapour_pa: npt.ArrayLike,
    table_rh_pct: npt.ArrayLike,
    side: Side = "typical",
) -> FloatArray:
    """Drying power of the air over a wet film, relative to that of a table's humidity.

    Parameters
    ----------
    film_c : array_like
        Temperature of the film, not of the air [°C].
    vapour_pa : array_like
        Vapour pressure of the air [Pa].
    table_rh_pct : array_like
        Humidity at which the table of times was measured [%], at the same temperature.
    side : {'slow', 'typical', 'quick'}
        'slow' never exceeds 1: drier air is not trusted to beat the table.

    Returns
    -------
    ndarray
        Vapour pressure deficit over the deficit at the table's humidity. 0 where the
        air holds as much vapour as the film (about 100 % humidity at the film) or
        more: nothing dries, the clock stops. NaN in, NaN out.

    Raises
    ------
    ValueError
        If a vapour pressure is negative or a table humidity is outside 0 to below 100 %.

    Notes
    -----
    Evaporation in proportion to the deficit is Dalton's law. That a paint's whole
    drying time scales with it is our estimate, no source: it holds while water is
    leaving, less so in the last, diffusion-bound part.
    """
    vapour = np.asarray(vapour_pa, dtype=np.float64)
    table_rh = np.asarray(table_rh_pct, dtype=np.float64)
    if np.any(vapour < 0):
        raise ValueError("vapour_pa must not be negative")
    if np.any((table_rh < 0) | (table_rh >= 100)):
        raise ValueError(f"table_rh_pct must be from 0 to below 100 %, got {table_rh}")
    saturated = saturation_pressure(film_c)
    factor = (saturated - vapour) / (saturated * (1.0 - table_rh / 100.0))
    factor = np.maximum(factor, 0.0)
    if side == "slow":
        factor = np.minimum(factor, 1.0)
    return np.asarray(factor, dtype=np.float64)


def moisture_factor(
    temp_c: npt.ArrayLike,
    rh_pct: npt.ArrayLike,
    ref_temp_c: npt.ArrayLike,
    ref_rh_pct: npt.ArrayLike,
) -> FloatArray:
    """Water vapour a moisture-curing product finds, relative to its sheet's conditions.

    Parameters
    ----------
    temp_c, ref_temp_c : array_like
        Temperature now and that of the sheet [°C].
    rh_pct, ref_rh_pct : array_like
        Humidity now and that of the sheet [%].

    Returns
    -------
    ndarray
        Ratio of vapour densities; skin time is the sheet's divided by it.

    Raises
    ------
    ValueError
        If the reference air holds no vapour, or outside the range of `vapour_density`.

    Notes
    -----
    Supply of vapour in proportion to the cure: Comyn (1998), see `cure_depth_mm`, with
    density for pressure (they differ by the ratio of absolute temperatures). For
    the skin it is our estimate, no source.
    """
    reference = np.asarray(vapour_density(ref_temp_c, ref_rh_pct), dtype=np.float64)
    if np.any(reference <= 0):
        raise ValueError("the reference air must hold some vapour")
    return np.asarray(vapour_density(temp_c, rh_pct) / reference, dtype=np.float64)


def cure_depth_mm(
    exposure_h: npt.ArrayLike, sheet_depth_mm: npt.ArrayLike, sheet_hours: npt.ArrayLike = 24.0
) -> FloatArray:
    """Depth to which a moisture-curing product has cured from its open face.

    Parameters
    ----------
    exposure_h : array_like
        Hours weighted by `moisture_factor`: its cumulative sum [h of the sheet's air].
    sheet_depth_mm : array_like
        Depth the sheet gives [mm] ...
    sheet_hours : array_like
        ... after this time in its own conditions [h].

    Returns
    -------
    ndarray
        Depth [mm], growing with the square root of the exposure.

    Raises
    ------
    ValueError
        If an exposure is negative or a sheet value is not above zero.

    References
    ----------
    Comyn, J. (1998), Moisture cure of adhesives and sealants, Int. J. Adhesion and
    Adhesives 18, 247-253: a sharp front whose advance is set by the water permeating
    the cured part, ``z = sqrt(2 V P p t)``.
    """
    exposure = np.asarray(exposure_h, dtype=np.float64)
    depth, hours = _sheet_pair(sheet_depth_mm, sheet_hours)
    if np.any(exposure < 0):
        raise ValueError("exposure_h must not be negative")
    return np.asarray(depth * np.sqrt(exposure / hours), dtype=np.float64)


def exposure_for_depth_h(
    depth_mm: npt.ArrayLike, sheet_depth_mm: npt.ArrayLike, sheet_hours: npt.ArrayLike = 24.0
) -> FloatArray:
    """Exposure needed to cure to a depth: the inverse of `cure_depth_mm`.

    Parameters
    ----------
    depth_mm : array_like
        Depth wanted [mm].
    sheet_depth_mm, sheet_hours : array_like
        Depth and time the sheet gives [mm], [h].

    Returns
    -------
    ndarray
        Hours in the sheet's own air; the target for a cumulative `moisture_factor`.

    Raises
    ------
    ValueError
        If a depth is negative or a sheet value is not above zero.
    """
    wanted = np.asarray(depth_mm, dtype=np.float64)
    depth, hours = _sheet_pair(sheet_depth_mm, sheet_hours)
    if np.any(wanted < 0):
        raise ValueError("depth_mm must not be negative")
    return np.asarray(hours * (wanted / depth) ** 2, dtype=np.float64)


def _sheet_pair(depth_mm: npt.ArrayLike, hours: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    depth = np.asarray(depth_mm, dtype=np.float64)
    time = np.asarray(hours, dtype=np.float64)
    if np.any(depth <= 0) or np.any(time <= 0):
        raise ValueError("the sheet's depth of cure and its time must be above zero")
    return depth, time
