"""Conditions at one surface over time: what the windows and the clocks work on."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from curewindow.findings import Finding
from curewindow.trust import Trust

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class SurfaceSeries:
    """Conditions at a surface and in the air before it, past and to come.

    Between grid points every field runs in a straight line; whoever judges them
    may rely on that. NaN is unknown, and unknown is never good enough.

    Attributes
    ----------
    space : str
        The space it is in, or 'outdoors'.
    surface : str
        What it is of: a panel, 'joinery', outdoors the job's substrate; '' where nothing names it.
    times : ndarray of datetime64[s], shape (T,)
        Regular UTC grid.
    air_c, rh_pct, dew_point_c, surface_c : ndarray, shape (M, T)
        Air temperature, relative humidity over water, dew point over water and
        temperature of the surface.
    wood_moisture_pct : ndarray, shape (M, T) or None
        Moisture content of bare wood there, where it is asked for.
    wind_ms, rain_mm_h, sun_w_m2 : ndarray, shape (M, T) or None
        Outdoors only.
    measured : ndarray of bool, shape (T,)
        True where a reading within the last hours carries the value.
    lead_h : ndarray, shape (T,)
        Hours since the last thing known for certain (reading or start of the
        forecast): uncertainty grows with it. 0 in the past.
    outdoors : bool
        True for outdoor work.
    notes : tuple of str
        What has to be said with any advice from it.
    trust : Trust or None
        What came of earlier windows told from the same feed.
    lying_kg_m2 : ndarray, shape (M, T) or None
        Water that dew or rain has left on the surface (:mod:`curewindow.windows.wet`);
        None: not looked at.
    """

    space: str
    surface: str
    times: NDArray[np.datetime64]
    air_c: FloatArray
    rh_pct: FloatArray
    dew_point_c: FloatArray
    surface_c: FloatArray
    wood_moisture_pct: FloatArray | None
    wind_ms: FloatArray | None
    rain_mm_h: FloatArray | None
    sun_w_m2: FloatArray | None
    measured: BoolArray
    lead_h: FloatArray
    outdoors: bool = False
    notes: tuple[Finding, ...] = field(default=())
    trust: Trust | None = None
    lying_kg_m2: FloatArray | None = None

    @property
    def where(self) -> str:
        """For people: 'saloon, hull side', 'outdoors'."""
        return f"{self.space}, {self.surface}" if self.surface else self.space

    @property
    def step_h(self) -> float:
        """Grid step in hours."""
        return float((self.times[1] - self.times[0]) / np.timedelta64(1, "s")) / 3600.0
