"""A forecast packed small: rounded to what it is good for, and compressed.

Kept are the hours to two days ahead, every third hour to six days and every sixth
after that (the steps of the ensembles themselves), of every member: temperature and
dew point to 0.1 K, wind to 0.5 m/s, rain to 0.1 mm/h (any rain at all counts as 0.1),
cloud to a tenth, sunshine to 10 W/m². What is unknown stays unknown. Each column goes
as differences from hour to hour, low bytes apart from high ones, through zlib.
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curewindow.physics.air import dew_point_from_pressure, saturation_pressure
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray, TimeArray

HOURLY_TO_H, THIRD_TO_H = 48, 144
STEPS: dict[str, float] = {
    "temp_c": 0.1,
    "dew_point_c": 0.1,
    "wind_ms": 0.5,
    "rain_mm_h": 0.1,
    "cloud_frac": 0.1,
    "sun_w_m2": 10.0,
}
"""What each column is rounded to, in its own unit."""
_FORM = 1
_HEAD = struct.Struct("<BHHq")  # form, members, hours, first hour in seconds since 1970
_UNKNOWN = -32768
_HOUR_S = 3600
_DRIEST_PA = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Packed:
    """What comes out of a packed forecast.

    Attributes
    ----------
    times : ndarray of datetime64[s], shape (N,)
        Full hours UTC, thinner further ahead.
    columns : dict of str to ndarray, shape (M, N)
        By the keys of :data:`STEPS`.
    """

    times: TimeArray
    columns: dict[str, FloatArray]


def pack(forecast: Forecast, since: np.datetime64) -> bytes:
    """Pack a forecast from a moment on.

    Parameters
    ----------
    forecast : Forecast
    since : datetime64
        Earlier hours are left out; lead time counts from here.

    Returns
    -------
    bytes
        The same for the same forecast and moment; empty where no hour is left.
    """
    seconds = forecast.times.astype("datetime64[s]").astype(np.int64)
    first = int(since.astype("datetime64[s]").astype(np.int64)) // _HOUR_S * _HOUR_S
    ahead_h = (seconds - first) // _HOUR_S
    wanted = (seconds % _HOUR_S == 0) & (ahead_h >= 0)
    thinned = ((ahead_h <= THIRD_TO_H) & (ahead_h % 3 == 0)) | (ahead_h % 6 == 0)
    wanted &= (ahead_h <= HOURLY_TO_H) | thinned
    if not wanted.any():
        return b""
    vapour = np.maximum(forecast.vapour_pa[:, wanted], _DRIEST_PA)
    planes = []
    for name, step in STEPS.items():
        if name == "dew_point_c":
            values = np.asarray(dew_point_from_pressure(vapour), dtype=np.float64)
        else:
            values = getattr(forecast, name)[:, wanted]
        whole = np.round(values / step)
        if name == "rain_mm_h":
            whole = np.where((values > 0.0) & (whole < 1.0), 1.0, whole)
        known = np.isfinite(whole)
        counted = np.where(known, np.clip(whole, -32000, 32000), _UNKNOWN).astype(np.int16)
        moved = np.diff(counted, axis=1, prepend=counted[:, :1] * 0).astype(np.int16)
        planes.append((moved.view(np.uint16) & 0xFF).astype(np.uint8))
        planes.append((moved.view(np.uint16) >> 8).astype(np.uint8))
    hours = ahead_h[wanted].astype(np.int16)
    head = _HEAD.pack(_FORM, forecast.members, hours.size, first)
    body = hours.tobytes() + b"".join(plane.tobytes() for plane in planes)
    return head + zlib.compress(body, 6)


def unpack(packed: bytes) -> Packed:
    """What :func:`pack` packed, rounded.

    Raises
    ------
    ValueError
        Of another form, or not whole.
    """
    try:
        form, members, count, first = _HEAD.unpack_from(packed)
        body = zlib.decompress(packed[_HEAD.size :])
    except (struct.error, zlib.error) as bad:
        raise ValueError(f"a kept forecast is not whole: {bad}") from None
    size = members * count
    if form != _FORM or len(body) != 2 * count + 2 * size * len(STEPS):
        raise ValueError("a kept forecast is of another form")
    hours = np.frombuffer(body, np.int16, count).astype(np.int64)
    columns: dict[str, FloatArray] = {}
    at = 2 * count
    for name, step in STEPS.items():
        low = np.frombuffer(body, np.uint8, size, at).astype(np.uint16)
        high = np.frombuffer(body, np.uint8, size, at + size).astype(np.uint16)
        at += 2 * size
        moved: NDArray[np.int16] = (low | (high << 8)).view(np.int16).reshape(members, count)
        counted = np.cumsum(moved, axis=1, dtype=np.int16)
        columns[name] = np.where(counted == _UNKNOWN, np.nan, counted * step)
    return Packed((first + hours * _HOUR_S).astype("datetime64[s]"), columns)


def vapour_of(dew_point_c: FloatArray) -> FloatArray:
    """Vapour pressure of dew points that may be unknown, Pa."""
    inside = np.clip(dew_point_c, -80.0, 60.0)
    return np.asarray(saturation_pressure(inside), dtype=np.float64)
