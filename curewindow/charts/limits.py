"""A sheet's limits as a picture shows them: each once, with the stretches where it is broken."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curewindow.series import BoolArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.windows.limits import (
    AIR,
    DEW,
    HUMIDITY,
    MIXED,
    RAIN,
    SUN,
    SURFACE,
    TIN,
    WET,
    WIND,
    Bound,
    LimitTrack,
    Phase,
    limit_tracks,
)
from curewindow.windows.words import number

# What is said of a moment at which a limit is broken, by what is compared and which way.
_COMPLAINTS: dict[tuple[str, Bound], str] = {
    **{(name, "min"): "too cold" for name in (AIR, SURFACE, TIN, MIXED)},
    **{(name, "max"): "too warm" for name in (AIR, SURFACE, TIN, MIXED)},
    (HUMIDITY, "max"): "too damp",
    (HUMIDITY, "min"): "too dry",
    (DEW, "min"): "near dew",
    (WIND, "max"): "windy",
    (RAIN, "max"): "rain",
    (WET, "max"): "wet",
    (SUN, "max"): "sun on it",
}


@dataclass(frozen=True, slots=True, eq=False)
class DrawnLimit:
    """One limit, the stricter of both phases.

    Attributes
    ----------
    name : str
        As in :mod:`curewindow.windows.limits`.
    bound : {'min', 'max'}
    value : float
    unit : str
    phases : tuple of str
        In which it is asked for; where the phases differ the value is the stricter one.
    complaint : str
        What is said where it is broken, such as 'too cold'.
    subject : str
        What is compared, in words: 'tin', 'locker side', 'locker side above dew point'.
    broken : ndarray of bool, shape (T,)
        Where the middle member breaks it, or it is not known.
    """

    name: str
    bound: Bound
    value: float
    unit: str
    phases: tuple[Phase, ...]
    complaint: str
    subject: str
    broken: BoolArray


def drawn_limits(
    series: SurfaceSeries, sheet: Sheet, cut: slice, surface: str
) -> tuple[DrawnLimit, ...]:
    """The limits of a sheet held against a stretch of a surface.

    Parameters
    ----------
    series : SurfaceSeries
    sheet : Sheet
    cut : slice
        Grid points shown.
    surface : str
        What the surface is called.

    Returns
    -------
    tuple of DrawnLimit
        Wood moisture is left out: it depends on whether the wood is still bare.
    """
    tracks = [
        *limit_tracks(series, sheet.applying, "applying"),
        *limit_tracks(series, sheet.setting, "setting"),
    ]
    strictest: dict[tuple[str, Bound], LimitTrack] = {}
    phases: dict[tuple[str, Bound], tuple[Phase, ...]] = {}
    for track in tracks:
        key = (track.name, track.bound)
        held = strictest.get(key)
        phases[key] = (*phases.get(key, ()), track.phase)
        sign = 1.0 if track.bound == "min" else -1.0
        if held is None or sign * track.limit > sign * held.limit:
            strictest[key] = track
    return tuple(
        DrawnLimit(
            name=track.name,
            bound=track.bound,
            value=track.limit,
            unit=track.unit,
            phases=phases[key],
            complaint=_complaint(track),
            subject=_subject(track, surface),
            broken=~(np.median(track.margin[:, cut], axis=0) >= 0.0),
        )
        for key, track in strictest.items()
    )


def strictest(limits: tuple[DrawnLimit, ...], bound: Bound) -> DrawnLimit | None:
    """The strictest limit of temperature on one side; None where there is none."""
    sided = [limit for limit in limits if limit.unit == "°C" and limit.bound == bound]
    if not sided:
        return None
    return (max if bound == "min" else min)(sided, key=lambda limit: limit.value)


def limits_text(limits: tuple[DrawnLimit, ...]) -> str:
    """All limits in one line, in °C and K: 'air and locker side 5 °C to 35 °C, no rain'.

    What is limited alike is named together.
    """
    by_subject: dict[str, list[DrawnLimit]] = {}
    for limit in limits:
        by_subject.setdefault(limit.subject, []).append(limit)
    by_range: dict[str, list[str]] = {}
    for subject, both in by_subject.items():
        by_range.setdefault(_range(both), []).append(subject)
    return ", ".join(f"{_listed(names)} {text}".strip() for text, names in by_range.items())


def _range(limits: list[DrawnLimit]) -> str:
    if limits[0].name in (RAIN, SUN, WET) or (limits[0].name == DEW and limits[0].value == 0.0):
        return ""
    low, high = (
        next(
            (f"{number(limit.value)} {limit.unit}" for limit in limits if limit.bound == bound), ""
        )
        for bound in ("min", "max")
    )
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _complaint(track: LimitTrack) -> str:
    if track.name == DEW and track.limit == 0.0:
        return "wet"
    return _COMPLAINTS.get((track.name, track.bound), f"{track.name} {track.bound}")


def _subject(track: LimitTrack, surface: str) -> str:
    # a sheet that says nothing of the dew point still wants a dry surface
    dry = track.name == DEW and track.limit == 0.0
    return {
        AIR: "air",
        SURFACE: surface,
        TIN: "tin",
        MIXED: "mixed product",
        HUMIDITY: "humidity",
        DEW: f"{surface} dry" if dry else f"{surface} above dew point",
        RAIN: "no rain",
        WET: "no water on it",
        SUN: "no direct sun",
    }.get(track.name, track.name)
