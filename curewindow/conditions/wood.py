"""Moisture of bare wood at a surface: what it has taken up by now and will give off."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from curewindow.conditions.course import hours_since
from curewindow.conditions.draw import LoggedValues
from curewindow.conditions.weather_around import bridged
from curewindow.physics.air import relative_humidity
from curewindow.physics.wood import equilibrium_moisture, moisture_over_time
from curewindow.series import FloatArray

USUAL_THICKNESS_M = 0.020
_FIRST_DAY_H = 24.0


def wood_moisture(
    times: NDArray[np.datetime64],
    surface_c: FloatArray,
    dew_point_c: FloatArray,
    logged: LoggedValues,
    thickness_m: float,
    exposed_faces: int,
) -> FloatArray:
    """Moisture content of bare wood over time.

    Parameters
    ----------
    times : ndarray of datetime64[s], shape (T,)
        Grid.
    surface_c, dew_point_c : ndarray, shape (M, T)
        Of the wood and of the air before it.
    logged : LoggedValues
        Moisture read there, %; the course goes on from each reading.
    thickness_m : float
        Across the grain.
    exposed_faces : {1, 2}
        Faces open to the air.

    Returns
    -------
    ndarray, shape (M, T)
        % of the dry mass. It begins in balance with the mean of the first day, or on
        the way there from a reading before it.
    """
    # A hole in the weather does not make the wood forget: it is bridged, and unknown itself.
    unknown = ~(np.isfinite(surface_c) & np.isfinite(dew_point_c))
    surface_c, dew_point_c = bridged(times, surface_c), bridged(times, dew_point_c)
    # The humidity of the air at the wood's own temperature: cold wood takes up more.
    humidity = np.minimum(np.asarray(relative_humidity(surface_c, dew_point_c)), 100.0)
    settles = np.asarray(equilibrium_moisture(surface_c, humidity), dtype=np.float64)
    hours = hours_since(times, times[0])
    read_h = hours_since(logged.at, times[0])
    out = np.empty_like(settles)
    first_day = hours <= _FIRST_DAY_H
    start = settles[:, first_day].mean(axis=1)
    # From a reading before the grid on the wood went towards balance with the first day:
    # nothing else is known of the time between.
    before = np.flatnonzero(read_h <= 0.0)
    if before.size:
        last = before[-1]
        start = moisture_over_time(
            np.array([min(float(read_h[last]), -1e-6), 0.0]),
            np.repeat(start[:, np.newaxis], 2, axis=1),
            np.full(start.shape, logged.value[last]),
            thickness_m,
            np.repeat(surface_c[:, first_day].mean(axis=1)[:, np.newaxis], 2, axis=1),
            exposed_faces,
        )[:, -1]
    begin = 0
    for reading in [*np.flatnonzero((read_h > 0.0) & (read_h <= hours[-1])), None]:
        end = hours.size if reading is None else int(np.searchsorted(hours, read_h[reading]))
        if end > begin:
            out[:, begin:end] = moisture_over_time(
                hours[begin:end],
                settles[:, begin:end],
                start,
                thickness_m,
                surface_c[:, begin:end],
                exposed_faces,
            )
        if reading is not None:
            start = np.full(settles.shape[0], logged.value[reading])
        begin = end
    return np.where(unknown, np.nan, out)
