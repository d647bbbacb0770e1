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

FaultKind = Literal[
    "latest", "earliest", "hours", "daylight", "limit", "given off", "unknown", "beyond"
]
# Which fault is named where several begin at once: the one that explains most.
_PRIORITY: dict[str, int] = {
    name: rank
    for rank, name in enumerate(
        ("latest", "earliest", "hours", "daylight", "limit", "given off", "unknown", "beyond")
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
    begins = start if verdict.mixed is None else int(verdict.mixed[start])
    if begins < verdict.mixed_first and start >= verdict.first:
        found.append(Fault("earliest", -1, everywhere, start))
    apply_last = min(int(verdict.apply_end[start]), verdict.points - 1)
    masks: tuple[tuple[FaultKind, BoolArray], ...] = (
        ("hours", verdict.hours_ok),
        ("daylight", verdict.daylight_ok),
    )
    for kind, mask in masks:
        since = max(begins, 0) if kind == "hours" else start
        off = np.flatnonzero(~mask[since : apply_last + 1])
        if off.size:
            found.append(Fault(kind, -1, everywhere, since + int(off[0])))

    ends = np.minimum(verdict.setting_end[:, start], verdict.points - 1)
    beyond = (verdict.setting_end[:, start] >= verdict.points) | (
        verdict.apply_end[start] >= verdict.points
    )
    stretch = slice(start, int(ends.max()) + 1)
    lost = _first_in(~verdict.film_known[:, stretch], start, ends, verdict.points)
    unknown = [(-1, lost, lost < verdict.points)]
    for index, track in enumerate(verdict.tracks):
        last = ends if track.phase == "setting" else np.full_like(ends, apply_last)
        reach = track.margin[:, start : int(last.max()) + 1]
        if reach.min() >= 0.0:
            continue  # kept and known in every member: nothing to find
        at = _first_in(~(reach >= 0.0), start, last, verdict.points)
        shown = np.minimum(at, verdict.points - 1)
        value = track.margin[np.arange(verdict.members), shown]
        dark = (at < verdict.points) & np.isnan(value)
        # Where the film itself is unknown, that says it all.
        unknown.append((index, at, dark & (at < lost)))
        broken = (at < verdict.points) & ~dark
        if broken.any():
            found.append(Fault("limit", index, broken, _middle(at[broken])))
    tail = None
    for index, at, dark in unknown:
        if not dark.any():
            continue
        tail = last_known(verdict.series) if tail is None else tail
        over = dark & (at > tail)  # unknown to the end: that is where the forecast ends
        beyond = beyond | over
        missing = dark & ~over
        if missing.any():
            found.append(Fault("unknown", index, missing, _middle(at[missing])))
    given = verdict.given_off
    column = None if given is None else given.column(start)
    if given is not None and column is not None:
        # Members that fail as things stand are spoken for above.
        fails = ~given.ok[:, column] & given_off_alone(verdict, start)
        if fails.any():
            found.append(Fault("given off", -1, fails, _middle(given.at[fails, column])))
    if beyond.any():
        tail = last_known(verdict.series) if tail is None else tail
        found.append(Fault("beyond", -1, beyond, int(np.clip(tail.max(), 0, verdict.points - 1))))
    return sorted(
        found, key=lambda fault: (-round(fault.share, 1), _PRIORITY[fault.kind], fault.at)
    )


def given_off_alone(verdict: Verdict, start: int) -> BoolArray:
    """Members in which every limit holds for a start as things stand, shape (M,)."""
    holds = verdict.setting_end[:, start] < verdict.points
    for index in range(len(verdict.tracks)):
        holds = holds & (verdict.first_bad(index)[:, start] >= verdict.points)
    return holds


def _first_in(bad: BoolArray, start: int, ends: IntArray, points: int) -> IntArray:
    """First bad point of a stretch from a start, up to each member's end; T where there is none."""
    where = bad.argmax(axis=1)
    at = np.where(bad[np.arange(bad.shape[0]), where], start + where, points)
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
