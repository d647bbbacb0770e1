"""One forecast: members by a regular UTC grid, whatever feed or file it came from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from curewindow.findings import Finding
from curewindow.trust import Trust

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Forecast:
    """Weather outside, over time.

    Attributes
    ----------
    times : ndarray of datetime64[s], shape (T,)
        Regular UTC grid.
    temp_c, vapour_pa, wind_ms, rain_mm_h, cloud_frac, sun_w_m2 : ndarray, shape (M, T)
        Air temperature, vapour pressure, wind at 10 m, precipitation rate, cloud
        cover 0-1 and global horizontal sunshine. NaN where the source has nothing.
    gap_h : ndarray, shape (T,)
        Hours between the source values an instant was interpolated from; above 1
        the values are less certain.
    source : str
        Feed or file, for people.
    attribution : str
        What the service's terms ask to be shown.
    issued_at : datetime or None
        When the service made it (aware UTC), if it says.
    fetched_at : datetime
        When it was got (aware UTC).
    notes : tuple of Finding
        What has to be said with any advice from it (stale, holes, estimated fields).
    spread : Finding or None
        How its members came about where the source had one; None for its own.
    trust : Trust or None
        What came of the windows told from this feed before; None: too little is known.
    taken_as_made : datetime or None
        When it counts as made where its source does not say so (aware UTC): lead time, and
        with it what is sure enough to be told, must not move with every minute.
    """

    times: NDArray[np.datetime64]
    temp_c: FloatArray
    vapour_pa: FloatArray
    wind_ms: FloatArray
    rain_mm_h: FloatArray
    cloud_frac: FloatArray
    sun_w_m2: FloatArray
    gap_h: FloatArray
    source: str
    attribution: str
    issued_at: datetime | None
    fetched_at: datetime
    notes: tuple[Finding, ...] = ()
    spread: Finding | None = None
    trust: Trust | None = None
    taken_as_made: datetime | None = None

    @property
    def made(self) -> datetime:
        """From when lead time counts: when it was made, taken as made, or got."""
        return self.issued_at or self.taken_as_made or self.fetched_at

    @property
    def step_h(self) -> float:
        """Grid step in hours."""
        return float((self.times[1] - self.times[0]) / np.timedelta64(1, "s")) / 3600.0

    @property
    def members(self) -> int:
        """Number of ensemble members."""
        return int(self.temp_c.shape[0])
