"""Conditions at one surface over time: what the windows and the clocks work on."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from curewindow.findings import Finding
from curewindow.trust import Trust

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class TinAsked:
    """What has to be known of a product to follow its tin.

    Attributes
    ----------
    sheet : str
        Its sheet's file name; '' where it has none.
    litres : float
        What a tin of its kind usually holds.
    capacity_kj_l : float
        Heat a litre takes up, kJ/(L K).
    most_c : float or None
        The most it may have, of a tin that could be brought in two ways.
    hands_h : float
        So long it is out while it is worked with.
    """

    sheet: str
    litres: float
    capacity_kj_l: float
    most_c: float | None
    hands_h: float


@dataclass(frozen=True, slots=True)
class TinFetch:
    """How a tin that is kept elsewhere gets to a start warm enough.

    Attributes
    ----------
    at : int
        Grid point at which it has to be at the work; the start itself: fetched right then.
    kept : str or None
        Where it is kept.
    arrives_c : float
        How warm it is as it arrives.
    lasts_h : float
        So long after the start it is warm enough, as far as is known.
    """

    at: int
    kept: str | None
    arrives_c: float
    lasts_h: float


class TinsAboard(Protocol):
    """Tins followed to where the work is (:class:`curewindow.conditions.tins.TinsKept`)."""

    def course(self, asked: TinAsked) -> FloatArray:
        """A tin as it is worked with, shape (M, T); NaN is unknown."""
        ...

    def in_air(self, asked: TinAsked, air_c: FloatArray, first: int) -> FloatArray:
        """The same where the air is another one from a grid point on, shape (K, P)."""
        ...

    def begun_in(self, asked: TinAsked, air_c: FloatArray, first: int) -> FloatArray:
        """The tin at the first stroke of starts in that other air, shape (K, P)."""
        ...

    def begun_with(self, asked: TinAsked, rows: IntArray, index: IntArray) -> FloatArray:
        """The tin at the first stroke of starts, each in a member of its own, shape (C,)."""
        ...

    def fetch(
        self, asked: TinAsked, least_c: float, air_c: FloatArray, first: int, span: tuple[int, int]
    ) -> TinFetch | None:
        """How it comes to a start; None: it is there, or warm enough however it comes."""
        ...

    def carried_c(self, asked: TinAsked, at: int) -> FloatArray:
        """One carried aboard from a warm home at a grid point, in each member, shape (M,)."""
        ...

    def lags_h(self, asked: TinAsked) -> float:
        """Its time constant [h]."""
        ...

    def of_rows(self, rows: slice) -> TinsAboard:
        """The same in some of the members."""
        ...


@dataclass(frozen=True, slots=True)
class AirAsked:
    """What a coat does to the air of its space while it goes on and until it is touch dry.

    Attributes
    ----------
    airing_m3_h : float
        Outside air that its vapour asks for [m³/h]; 0: none.
    water_kg_h : float
        Water it gives off [kg/h].
    """

    airing_m3_h: float = 0.0
    water_kg_h: float = 0.0

    @property
    def anything(self) -> bool:
        """Is the air another one for it?"""
        return self.airing_m3_h > 0.0 or self.water_kg_h > 0.0


class SpaceBehind(Protocol):
    """The space a surface is in, as it would be with other air
    (:class:`curewindow.conditions.aired.SpaceAired`)."""

    def aired(self, asked: AirAsked) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Air, humidity, dew point and surface, (M, T) each, aired for hours at any moment."""
        ...

    def of_rows(self, rows: slice) -> SpaceBehind:
        """The same in some of the members."""
        ...


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
    tin_c : ndarray, shape (M, T) or None
        Of the tin that is worked with, as it is mixed and put on; None: not followed, so
        unknown (:func:`curewindow.rules.tins.with_tin`).
    tins : TinsAboard or None
        What it is followed by.
    behind : SpaceBehind or None
        The space it is in; None: outdoors, or nobody described it.
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
    tin_c: FloatArray | None = None
    tins: TinsAboard | None = None
    behind: SpaceBehind | None = None

    @property
    def where(self) -> str:
        """For people: 'saloon, hull side', 'outdoors'."""
        return f"{self.space}, {self.surface}" if self.surface else self.space

    @property
    def step_h(self) -> float:
        """Grid step in hours."""
        return float((self.times[1] - self.times[0]) / np.timedelta64(1, "s")) / 3600.0
