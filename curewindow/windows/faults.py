"""What is wrong with a start, and which point in time shows it first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from curewindow.answers import Margin
from curewindow.curing import IntArray
from curewindow.series import BoolArray, SurfaceSeries
from curewindow.windows.grid import at_index, last_known
from curewindow.windows.judge import Verdict
from curewindow.windows.limits import LimitTrack

FaultKind = Literal["latest", "earliest", "hours", "daylight", "limit", "unknown", "beyond"]
# Which fault is named where several begin at once: the one that explains most.
_PRIORITY: dict[str, int] = {
    name: rank
    for rank, name in enumerate(
        ("latest", "earliest", "hours", "daylight", "limit", "unknown", "beyond")
    )
}


@dataclass(frozen=True, slots=True, eq=False)
class Fault:
    """One thing that is wrong with one start.

    Attributes
    ----------
    kind : str
    track : int
        Index of the limit in ``verdict.tracks``, also of one that is not known; -1 where
        it is no limit.
    fails : ndarray of bool, shape (M,)
        In which members.
    at : int
        Grid point that shows it first, in the middle one of those members.
    """

    kind: FaultKind
    track: int
    fails: BoolArray
    at: int

    @property
    def share(self) -> float:
        """Share of members in which it fails."""
        return float(np.mean(self.fails))


def faults_at(verdict: Verdict, start: int) -> list[Fault]:
    """Everything that is wrong with one start, most telling first.

    Parameters
    ----------
    verdict : Verdict
    start : int
        Grid point.

    Returns
    -------
    list of Fault
        Empty where the start is good in every member.
    """
    everywhere = np.ones(verdict.members, np.bool_)
    found: list[Fault] = []
    if start > verdict.last:
        found.append(Fault("latest", -1, everywhere, start))
    if start < verdict.first:
        found.append(Fault("earliest", -1, everywhere, start))
    apply_last = min(int(verdict.apply_end[start]), verdict.points - 1)
    masks: tuple[tuple[FaultKind, BoolArray], ...] = (
        ("hours", verdict.hours_ok),
        ("daylight", verdict.daylight_ok),
    )
    for kind, mask in masks:
        off = np.flatnonzero(~mask[start : apply_last + 1])
        if off.size:
            found.append(Fault(kind, -1, everywhere, start + int(off[0])))

    ends = np.minimum(verdict.setting_end[:, start], verdict.points - 1)
    tail = last_known(verdict.series)
    beyond = (verdict.setting_end[:, start] >= verdict.points) | (
        verdict.apply_end[start] >= verdict.points
    )
    lost = _first_in(~verdict.film_known, start, ends)
    unknown = [(-1, lost, lost < verdict.points)]
    for index, track in enumerate(verdict.tracks):
        last = ends if track.phase == "setting" else np.full_like(ends, apply_last)
        at = _first_in(~(track.margin >= 0.0), start, last)
        shown = np.minimum(at, verdict.points - 1)
        value = track.margin[np.arange(verdict.members), shown]
        dark = (at < verdict.points) & np.isnan(value)
        # Where the film itself is unknown, that says it all.
        unknown.append((index, at, dark & (at < lost)))
        broken = (at < verdict.points) & ~dark
        if broken.any():
            found.append(Fault("limit", index, broken, _middle(at[broken])))
    for index, at, dark in unknown:
        over = dark & (at > tail)  # unknown to the end: that is where the forecast ends
        beyond = beyond | over
        missing = dark & ~over
        if missing.any():
            found.append(Fault("unknown", index, missing, _middle(at[missing])))
    if beyond.any():
        found.append(Fault("beyond", -1, beyond, int(np.clip(tail.max(), 0, verdict.points - 1))))
    return sorted(
        found, key=lambda fault: (-round(fault.share, 1), _PRIORITY[fault.kind], fault.at)
    )


def _first_in(bad: BoolArray, start: int, ends: IntArray) -> IntArray:
    """First bad point from a start to each member's end; T where there is none."""
    points = bad.shape[1]
    stretch = bad[:, start : int(ends.max()) + 1]
    at = np.where(stretch.any(axis=1), start + stretch.argmax(axis=1), points)
    first: IntArray = np.where(at <= ends, at, points)
    return first


def _middle(values: IntArray) -> int:
    return int(np.sort(values)[len(values) // 2])


def margin_at(verdict_series: SurfaceSeries, track: LimitTrack, member: int, at: int) -> Margin:
    """The margin of one limit at one grid point, as an answer."""
    return Margin(
        limit=track.name,
        phase=track.phase,
        bound=track.bound,
        value=round(float(track.value[member, at]), 3),
        limit_value=track.limit,
        by=round(float(track.margin[member, at]), 3),
        unit=track.unit,
        where=verdict_series.where,
        at=at_index(verdict_series, at),
    )
