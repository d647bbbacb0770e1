"""Every kind of limit a sheet can set, one record each: what the whole house reads.

Judge, reasons, sheet page, check of a sheet and picture know no limit by themselves; they
go through :data:`KINDS`. A new limit is a record here with its values, the key in
:class:`curewindow.sheets.schema.Limits`, and the same rule written a second time,
independently, in ``tests/checker.py``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from curewindow.physics.air import frost_point
from curewindow.rules.asked import (
    PHASES,
    Always,
    AtLeast,
    AtMost,
    Between,
    Bound,
    Form,
    Phase,
    Unless,
)
from curewindow.rules.uncertainty import Certain, Fading, Growth, ShareOfValue, Uncertainty
from curewindow.series import FloatArray, SurfaceSeries

DRY_G_M2: Final = 0.1
"""Less water than this on a surface is none any more: no hand or meter tells it (estimate)."""

DIRECT_SUN_W_M2: Final = 120.0
"""Sunshine from here on counts as direct: the threshold of sunshine duration in WMO-No. 8,
part I, chapter 8, there of the direct beam; held against all sunshine it errs on the safe side."""

Scope = Literal["anywhere", "outdoors", "bare wood", "where followed"]
"""Where a limit counts; 'where followed': where its quantity was worked out at all."""


@dataclass(frozen=True, slots=True)
class LimitWords:
    """How a limit is said.

    In the templates '{surface}' stands for what the surface is called, '{limit}' for the
    bound with its unit, '{by}' for the margin, '{subject}' for `subject`, and '{water}' for
    'dew', or 'dew or frost' where it may freeze.

    Attributes
    ----------
    subject : str
        What is compared.
    below, above : str
        What it is like where the lower, and the upper, bound is broken.
    up, down : str
        What it is like once the lower, and the upper, bound is kept again.
    too_low, too_high : str
        The same as `below` and `above` in a word or two, for a strip in a picture.
    drawn : str
        What is compared, in a picture's line of limits; '' as `subject`.
    on_sheet : str
        Its row on the page of a sheet; outdoors what stands before the figure.
    broken, kept : str
        How it is where its bound is no figure anyone counts in ('rain', 'no rain'); else ''.
    allowed : str
        On the page of a sheet that allows what others forbid; '' leaves it out.
    """

    subject: str
    below: str = "{subject} below {limit}"
    above: str = "{subject} above {limit}"
    up: str = "{subject} is up to {limit}"
    down: str = "{subject} is down to {limit}"
    too_low: str = ""
    too_high: str = ""
    drawn: str = ""
    on_sheet: str = ""
    broken: str = ""
    kept: str = ""
    allowed: str = ""


@dataclass(frozen=True, slots=True)
class Sane:
    """Between which figures a sheet makes sense; in the texts '{value}' is the one written."""

    least: float | None = None
    too_low: str = ""
    usual_most: float | None = None
    too_high: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class LimitKind:
    """One kind of limit.

    Attributes
    ----------
    name : str
        What is compared, as answers call it: 'air temperature'.
    unit : str
        Of values, bounds and margins.
    form : Form
        How a sheet asks for it, and under which key.
    values : callable
        From a surface's series what is compared, shape (M, T); None: not known there.
    words : LimitWords
    doubt : Uncertainty
        How its margin turns into standard errors of the forecast.
    spare : float
        By how much a plan of heating keeps it, in its unit (estimate).
    phases : tuple of str
        In which it counts.
    scope : str
        Where it counts.
    figures : bool
        False where it is kept or broken and its bound is no figure anyone counts in.
    graded : bool
        False where a margin tells nothing of how close it came.
    at_zero : LimitWords or None
        Words where the bound is 0, and where the value has fallen below that.
    sane : Sane or None
        What the check of a sheet holds its figure against, beside what its unit tells.
    """

    name: str
    unit: str
    form: Form
    values: Callable[[SurfaceSeries], FloatArray | None]
    words: LimitWords
    doubt: Uncertainty
    spare: float
    phases: tuple[Phase, ...] = PHASES
    scope: Scope = "anywhere"
    figures: bool = True
    graded: bool = True
    at_zero: LimitWords | None = None
    sane: Sane | None = None

    def said(self, limit: float) -> LimitWords:
        """The words for one bound."""
        return self.at_zero if self.at_zero is not None and limit == 0.0 else self.words

    def counts(self, series: SurfaceSeries, phase: Phase, *, bare_wood: bool) -> bool:
        """Does it count at a surface in a phase, if the sheet asks for it?"""
        if phase not in self.phases:
            return False
        if self.scope == "outdoors":
            return series.outdoors
        if self.scope == "bare wood":
            return bare_wood
        return self.scope == "anywhere" or self.values(series) is not None


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


def _tin(series: SurfaceSeries) -> FloatArray | None:
    """Of the tin; the mixed product comes out of it as warm."""
    return series.tin_c


def _lying_g_m2(series: SurfaceSeries) -> FloatArray | None:
    lying = series.lying_kg_m2
    return None if lying is None else 1000.0 * lying


_TEMPERATURE = Growth(0.7, 0.015, 4.0)  # K: 1.1 after a day, 2.5 after five
_COLD: Final[dict[str, str]] = {"too_low": "too cold", "too_high": "too warm"}

AIR: Final = LimitKind(
    name="air temperature",
    unit="°C",
    form=Between("air"),
    values=lambda series: series.air_c,
    words=LimitWords("air", on_sheet="air", **_COLD),
    doubt=_TEMPERATURE,
    spare=1.0,
)
SURFACE: Final = LimitKind(
    name="surface temperature",
    unit="°C",
    form=Between("surface"),
    values=lambda series: series.surface_c,
    words=LimitWords("{surface}", on_sheet="surface", **_COLD),
    doubt=_TEMPERATURE,
    spare=1.0,
)
TIN: Final = LimitKind(
    name="tin temperature",
    unit="°C",
    form=Between("product"),
    values=_tin,
    words=LimitWords("tin", on_sheet="product", **_COLD),
    doubt=_TEMPERATURE,
    spare=1.0,
    phases=("applying",),
)
MIXED: Final = LimitKind(
    name="mixed product temperature",
    unit="°C",
    form=Between("mixed"),
    values=_tin,
    words=LimitWords("mixed product", on_sheet="mixed", **_COLD),
    doubt=_TEMPERATURE,
    spare=1.0,
    phases=("applying",),
)
HUMIDITY: Final = LimitKind(
    name="relative humidity",
    unit="%",
    form=Between("humidity"),
    values=lambda series: series.rh_pct,
    words=LimitWords("humidity", too_low="too dry", too_high="too damp", on_sheet="humidity"),
    doubt=Growth(4.0, 0.06, 18.0),
    spare=3.0,
)
DEW: Final = LimitKind(
    name="surface above dew point",
    unit="K",
    # A sheet that says nothing of the dew point is not taken to allow a wet surface.
    form=AtLeast("above_dew_point", unsaid=0.0),
    values=above_dew,
    words=LimitWords(
        "{surface}",
        below="{surface} less than {limit} above dew point",
        up="{surface} is {limit} above dew point",
        too_low="near dew",
        drawn="{surface} above dew point",
        on_sheet="above dew point",
    ),
    at_zero=LimitWords(
        "{surface}",
        below="{water} on the {surface}",
        up="{surface} is above dew point",
        too_low="wet",
        drawn="{surface} dry",
        on_sheet="above dew point",
        broken="water forms on it",
        kept="{by} above dew point",
    ),
    # Surface and dew point go up and down together: their difference is better known.
    doubt=Growth(0.5, 0.010, 3.0),
    spare=1.0,
    sane=Sane(
        least=0.0,
        too_low="{value} is below the dew point; write the height above it, such as '3 K'",
        usual_most=8.0,
        too_high="{value} above the dew point is unusual (3 K is usual)",
    ),
)
WET: Final = LimitKind(
    name="water on the surface",
    unit="g/m²",
    form=Always(DRY_G_M2),
    values=_lying_g_m2,
    words=LimitWords(
        "{surface}",
        above="{surface} still wet",
        down="the {surface} has dried",
        too_high="wet",
        drawn="no water on it",
        broken="the surface is still wet",
        kept="the surface is dry",
    ),
    # Dry is dry: how sure the night's dew is, dew point and rain tell themselves.
    doubt=Certain(),
    spare=0.0,
    phases=("applying",),
    scope="where followed",
    figures=False,
    graded=False,
)
WOOD: Final = LimitKind(
    name="wood moisture",
    unit="%",
    form=Between("wood_moisture"),
    values=lambda series: series.wood_moisture_pct,
    words=LimitWords(
        "wood",
        below="wood drier than {limit}",
        above="wood wetter than {limit}",
        too_low="wood too dry",
        too_high="wood too wet",
        drawn="wood moisture",
        on_sheet="wood moisture",
    ),
    doubt=Growth(1.0, 0.01, 4.0),  # wood is slow
    spare=1.0,
    scope="bare wood",
)
WIND: Final = LimitKind(
    name="wind",
    unit="m/s",
    form=AtMost("wind_max"),
    values=lambda series: series.wind_ms,
    words=LimitWords("wind", too_high="windy", on_sheet="wind"),
    doubt=Growth(1.0, 0.02, 4.0),
    spare=0.0,
    scope="outdoors",
)
RAIN: Final = LimitKind(
    name="rain",
    unit="mm/h",
    form=Unless("rain", 0.0),
    values=lambda series: series.rain_mm_h,
    words=LimitWords(
        "rain",
        above="rain",
        down="the rain has stopped",
        too_high="rain",
        drawn="no rain",
        broken="rain",
        kept="no rain",
        allowed="rain allowed",
    ),
    doubt=Fading(1.6, 120.0),  # 'no rain' holds at 95 % now, 72 % in five days (estimate)
    spare=0.0,
    scope="outdoors",
    figures=False,
    graded=False,
)
SUN: Final = LimitKind(
    name="direct sun",
    unit="W/m²",
    form=Unless("direct_sun", DIRECT_SUN_W_M2),
    values=lambda series: series.sun_w_m2,
    words=LimitWords(
        "sun",
        above="direct sun on the {surface}",
        down="the sun is off the {surface}",
        too_high="sun on it",
        drawn="no direct sun",
        broken="direct sun on it",
        kept="no direct sun",
    ),
    doubt=ShareOfValue(10.0, 0.25),  # a night is sure to be dark (estimate)
    spare=0.0,
    scope="outdoors",
    figures=False,
)

KINDS: Final[tuple[LimitKind, ...]] = (
    AIR,
    SURFACE,
    TIN,
    MIXED,
    HUMIDITY,
    DEW,
    WET,
    WOOD,
    WIND,
    RAIN,
    SUN,
)
"""All of them, in the order in which a sheet's page shows them."""

BY_NAME: Final[dict[str, LimitKind]] = {kind.name: kind for kind in KINDS}

__all__ = [
    "AIR",
    "BY_NAME",
    "DEW",
    "DIRECT_SUN_W_M2",
    "DRY_G_M2",
    "HUMIDITY",
    "KINDS",
    "MIXED",
    "RAIN",
    "SUN",
    "SURFACE",
    "TIN",
    "WET",
    "WIND",
    "WOOD",
    "Bound",
    "LimitKind",
    "LimitWords",
    "Phase",
    "Sane",
    "Scope",
    "above_dew",
]
