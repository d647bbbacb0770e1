"""A sheet's limits as a picture shows them: each once, with the stretches where it is broken."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curewindow.rules.asked import Bound, Phase
from curewindow.rules.limits import LimitKind
from curewindow.series import BoolArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.voice import picture
from curewindow.windows.limits import LimitTrack, limit_tracks
from curewindow.wording import Wording


@dataclass(frozen=True, slots=True, eq=False)
class DrawnLimit:
    """One limit, the stricter of both phases.

    Attributes
    ----------
    kind : LimitKind
    bound : {'min', 'max'}
    value : float
    phases : tuple of str
        In which it is asked for; where the phases differ the value is the stricter one.
    complaint : str
        What is said where it is broken, such as 'too cold'.
    subject : str
        What is compared, in words: 'tin', 'locker side', 'locker side above dew point'.
    broken : ndarray of bool, shape (T,)
        Where the middle member breaks it, or it is not known.
    """

    kind: LimitKind
    bound: Bound
    value: float
    phases: tuple[Phase, ...]
    complaint: str
    subject: str
    broken: BoolArray

    @property
    def unit(self) -> str:
        """Of its value."""
        return self.kind.unit


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
            kind=track.kind,
            bound=track.bound,
            value=track.limit,
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


def limits_text(limits: tuple[DrawnLimit, ...], words: Wording) -> str:
    """All limits in one line: 'limits: air and locker side 5 °C to 35 °C, no rain'.

    What is limited alike is named together.
    """
    by_subject: dict[str, list[DrawnLimit]] = {}
    for limit in limits:
        by_subject.setdefault(limit.subject, []).append(limit)
    by_range: dict[str, list[str]] = {}
    for subject, both in by_subject.items():
        by_range.setdefault(_range(both, words), []).append(subject)
    return picture.limits_text(by_range)


def _range(limits: list[DrawnLimit], words: Wording) -> str:
    if limits[0].kind.said(limits[0].value).kept:
        return ""
    found: dict[Bound, float] = {limit.bound: limit.value for limit in reversed(limits)}
    return picture.range_text(found.get("min"), found.get("max"), limits[0].unit, words)


def _complaint(track: LimitTrack) -> str:
    words = track.kind.said(track.limit)
    return words.too_low if track.bound == "min" else words.too_high


def _subject(track: LimitTrack, surface: str) -> str:
    words = track.kind.said(track.limit)
    return (words.drawn or words.subject).format(surface=surface)
