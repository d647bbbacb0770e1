"""Why a window opens and closes, and what stands in the way of a start: as findings."""

from __future__ import annotations

import numpy as np

from curewindow.findings import Finding, finding
from curewindow.rules.limits import DEW
from curewindow.series import SurfaceSeries
from curewindow.windows.faults import Fault
from curewindow.windows.grid import at_index
from curewindow.windows.judge import Verdict
from curewindow.windows.limits import LimitTrack


def surface_name(series: SurfaceSeries) -> str:
    """What the surface is called; 'surface' where no part is named."""
    return series.surface or "surface"


def broken(track: LimitTrack, series: SurfaceSeries, value: float) -> Finding:
    """A limit that is not kept, by the value it is held against."""
    frost = track.name == DEW.name and bool(np.any(series.surface_c < 0.0))
    return _of_limit("limit broken", track, series).changed(
        value=None if np.isnan(value) else round(value, 3), frost=frost or None
    )


def kept(track: LimitTrack, series: SurfaceSeries) -> Finding:
    """A limit that is kept from here on."""
    return _of_limit("limit kept", track, series)


def _of_limit(kind: str, track: LimitTrack, series: SurfaceSeries) -> Finding:
    return finding(
        kind,
        limit=track.name,
        bound=track.bound,
        limit_value=track.limit,
        unit=track.unit,
        surface=surface_name(series),
    )


def why_opens(verdict: Verdict, fault: Fault, start: int) -> Finding:
    """Why starts are good from ``start`` on; ``fault`` stood in the way of the one before."""
    at = at_index(verdict.series, start)
    if fault.kind == "hours":
        mixed = None if verdict.mixed is None else int(verdict.mixed[start])
        if mixed is not None and mixed < start:
            return finding("aboard", begins=at_index(verdict.series, max(mixed, 0)), at=at)
        return finding("aboard", begins=at)
    if fault.kind == "daylight":
        return finding("daylight", begins=at)
    if fault.kind == "limit":
        return kept(verdict.tracks[fault.track], verdict.series)
    if fault.kind == "given off":
        found = _given_off_track(verdict, start - 1)
        if found is None or found[0] is None:
            return verdict.earliest_because
        return finding(_lead(verdict), because=[kept(found[0], verdict.series)])
    if fault.kind == "unknown":
        return finding("known again", limit=_limit_name(verdict, fault))
    return verdict.earliest_because


def why_closes(verdict: Verdict, fault: Fault, start: int) -> Finding:
    """Why ``start`` is no longer good, the one before it was."""
    series = verdict.series
    if fault.kind == "latest":
        return verdict.latest_because
    if fault.kind in ("hours", "daylight"):
        ends = at_index(series, max(fault.at - 1, 0))
        return finding("nobody aboard" if fault.kind == "hours" else "dark", begins=ends)
    shown = at_index(series, min(fault.at, verdict.points - 1))
    if fault.kind == "limit":
        track = verdict.tracks[fault.track]
        found = broken(track, series, _first_value(track, fault))
        phase = "applying" if fault.at <= verdict.apply_end[start] else "setting"
        return found.changed(phase=phase, at=shown)
    if fault.kind == "given off":
        return given_off(verdict, start, at=fault.at) or verdict.latest_because
    if fault.kind == "unknown":
        return finding("limit unknown", limit=_limit_name(verdict, fault), at=shown)
    return finding("forecast ends")


def in_the_way(verdict: Verdict, fault: Fault, start: int) -> Finding:
    """What stands in the way of ``start``."""
    series = verdict.series
    if fault.kind == "earliest" and start >= verdict.first:
        return finding("induction")
    if fault.kind == "earliest":
        return finding("not before", at=at_index(series, min(verdict.first, verdict.points - 1)))
    if fault.kind == "latest":
        return finding("too late", because=[verdict.latest_because])
    if fault.kind == "hours" and fault.at < start:
        return finding("nobody to mix")
    if fault.kind in ("hours", "daylight") and fault.at == start:
        return finding("nobody aboard" if fault.kind == "hours" else "dark")
    if fault.kind in ("hours", "daylight"):
        short = "hours too short" if fault.kind == "hours" else "daylight too short"
        return finding(short, until=at_index(series, fault.at - 1))
    if fault.kind == "limit" and fault.at == start:
        track = verdict.tracks[fault.track]
        return broken(track, series, _first_value(track, fault))
    if fault.kind == "given off":
        return given_off(verdict, start) or finding("drying unknown")
    if fault.kind == "unknown" and fault.at == start:
        return finding("limit unknown", limit=_limit_name(verdict, fault))
    return why_closes(verdict, fault, start)


def given_off(verdict: Verdict, start: int, *, at: int | None = None) -> Finding | None:
    """What breaks with what the coat asks for and gives off; None where it was not looked at."""
    found = _given_off_track(verdict, start)
    if found is None:
        return None
    track, value = found
    why = finding("drying unknown") if track is None else broken(track, verdict.series, value)
    shown = None if at is None else at_index(verdict.series, min(at, verdict.points - 1))
    return finding(_lead(verdict), because=[why], at=shown)


def _lead(verdict: Verdict) -> str:
    assert verdict.given_off is not None
    return "aired" if verdict.given_off.aired else "own damp"


def _first_value(track: LimitTrack, fault: Fault) -> float:
    member = int(np.flatnonzero(fault.fails)[0])
    return float(track.value[member, fault.at])


def _given_off_track(verdict: Verdict, start: int) -> tuple[LimitTrack | None, float] | None:
    """The limit that breaks first in the middle failing member, and its value there."""
    given = verdict.given_off
    column = None if given is None else given.column(start)
    if given is None or column is None or given.ok[:, column].all():
        return None
    rows = np.flatnonzero(~given.ok[:, column] & (given.track[:, column] >= 0))
    if not rows.size:
        return None, float("nan")
    order = np.argsort(given.at[rows, column], kind="stable")
    member = int(rows[order[len(rows) // 2]])
    track = verdict.tracks[int(given.track[member, column])]
    return track, float(given.value[member, column])


def _limit_name(verdict: Verdict, fault: Fault) -> str | None:
    return None if fault.track < 0 else verdict.tracks[fault.track].name
