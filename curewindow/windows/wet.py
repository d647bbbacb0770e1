"""Water that has come onto a surface and still lies there when the air is dry again.

Dew and rain lay it down, the air takes it up by the difference of vapour pressure
(Lewis relation, as in `physics.balance.moisture`). Drying water cools what it lies on:
of a surface that gets no heat for it the air takes up the share gamma / (gamma + Delta) of
that (Penman 1948, without radiation), and so much is reckoned with, the slow side. A film
holds no more than runs off, and what the log has as wiped dry was dry then.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Final

import numpy as np

from curewindow.physics.air import saturation_pressure
from curewindow.physics.balance.moisture import VAPOUR_PER_HEAT
from curewindow.rules.limits import above_dew
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.windows.grid import first_at_or_after

# Convective coefficients W/m²K: still air indoors on an upright face, and 4 + 4 v outdoors
# (ISO 6946, annex C, both).
_INDOORS_W_M2K: Final = 2.5
_OUTDOORS_W_M2K: Final = 4.0
_BY_WIND: Final = 4.0
# Wind at the surface against the forecast's at 10 m: as `conditions.surfaces` has it.
_SHELTERED: Final = 0.6
_MOST_KG_M2: Final = 0.1
"""A tenth of a millimetre stays in drops and films on paint, more runs off (estimate)."""
_PSYCHROMETRIC_PA_K: Final = 66.0  # WMO-No. 8, annex 4.B: 6.53e-4 /K times 101 325 Pa
_PROBE_K: Final = 0.1
_S_PER_H: Final = 3600.0


def water_lying(series: SurfaceSeries, wiped: Iterable[datetime] = ()) -> FloatArray:
    """Water on a surface over time.

    Parameters
    ----------
    series : SurfaceSeries
        It begins dry.
    wiped : iterable of datetime
        Aware; the surface was dry at these moments.

    Returns
    -------
    ndarray, shape (M, T)
        kg/m², never NaN: hours nothing is known of leave it as it was.
    """
    rain = series.rain_mm_h if series.outdoors else None
    wet = above_dew(series) <= 0.0
    if rain is not None:
        wet |= rain > 0.0
    lying = np.zeros(wet.shape)
    if not wet.any():
        return lying
    shift = np.nan_to_num(_moved(series))
    if rain is not None:
        shift = shift + np.nan_to_num(rain) * series.step_h  # 1 mm is 1 kg/m²
    # Between two points it is no wetter than at the wetter of them.
    shift[:, :-1] = np.maximum(shift[:, :-1], shift[:, 1:])
    most = np.full(wet.shape, _MOST_KG_M2)
    for when in wiped:
        # Dry at the first point from then on: what came before counts for nothing.
        point = first_at_or_after(series, when) - 1
        if 0 <= point < len(series.times):
            most[:, point] = 0.0
    lying[:, 1:] = _kept_between(shift, most)[:, :-1]
    return lying


def _kept_between(shift: FloatArray, most: FloatArray) -> FloatArray:
    """The sum of shifts from 0 on, held between 0 and ``most`` after each; shape (M, T).

    A step maps what lies there to ``clip(x + shift, least, most)``. Two such maps one after
    the other are one more of the kind, so all sums are made in log2(T) rounds.
    """
    least = np.zeros_like(most)
    apart = 1
    while apart < shift.shape[1]:
        low, high, later = least[:, apart:], most[:, apart:], shift[:, apart:]
        first_low = np.clip(least[:, :-apart] + later, low, high)
        first_high = np.clip(most[:, :-apart] + later, low, high)
        shift = np.concatenate([shift[:, :apart], shift[:, :-apart] + later], axis=1)
        least = np.concatenate([least[:, :apart], first_low], axis=1)
        most = np.concatenate([most[:, :apart], first_high], axis=1)
        apart *= 2
    return np.clip(shift, least, most)


def _moved(series: SurfaceSeries) -> FloatArray:
    """Water the air lays down, below 0: takes up, in the step from each point, kg/m²."""
    surface = series.surface_c
    held = np.where(
        surface < 0.0,
        saturation_pressure(np.minimum(surface, 0.0), "ice"),
        saturation_pressure(surface),
    )
    # The slope over water also below 0 °C: close enough for a share.
    rise = np.asarray(saturation_pressure(surface + _PROBE_K)) - saturation_pressure(surface)
    steep = rise / _PROBE_K
    over = np.asarray(saturation_pressure(series.dew_point_c), dtype=np.float64) - held
    drying = _PSYCHROMETRIC_PA_K / (_PSYCHROMETRIC_PA_K + steep)
    coefficient: FloatArray | float = _INDOORS_W_M2K
    if series.outdoors and series.wind_ms is not None:
        coefficient = _OUTDOORS_W_M2K + _BY_WIND * _SHELTERED * np.nan_to_num(series.wind_ms)
    rate = VAPOUR_PER_HEAT * coefficient * np.where(over < 0.0, over * drying, over)
    moved: FloatArray = rate * series.step_h * _S_PER_H
    return moved
