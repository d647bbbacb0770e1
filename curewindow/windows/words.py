"""How the trade would say it: why a window opens and closes, what stands in the way.

Temperatures are written in °C and differences in K; times by the boat's clock.
"""

from __future__ import annotations

from datetime import datetime

import numpy as np

from curewindow.rules.limits import LimitWords
from curewindow.series import SurfaceSeries
from curewindow.windows.faults import Fault
from curewindow.windows.grid import at_index
from curewindow.windows.judge import Verdict
from curewindow.windows.limits import LimitTrack
from curewindow.wording import WEEKDAYS, Wording


def surface_name(series: SurfaceSeries) -> str:
    """'hull side'; 'surface' where nothing names it."""
    return series.surface or "surface"


def number(value: float) -> str:
    """A limit as a sheet prints it: 8, 12.5."""
    return f"{round(value, 1):g}".replace("-", "−")


def broken_text(track: LimitTrack, series: SurfaceSeries, value: float) -> str:
    """What it is like where a limit is broken: 'air below 8 °C', 'dew on the hull side'."""
    words = track.kind.said(0.0 if value < 0.0 else track.limit)
    template = words.below if track.bound == "min" else words.above
    return _filled(template, words, track, series)


def kept_text(track: LimitTrack, series: SurfaceSeries) -> str:
    """What it is like once a limit is kept: 'hull side is 3 K above dew point'."""
    words = track.kind.said(track.limit)
    return _filled(words.up if track.bound == "min" else words.down, words, track, series)


def _filled(template: str, words: LimitWords, track: LimitTrack, series: SurfaceSeries) -> str:
    surface = surface_name(series)
    return template.format(
        subject=words.subject.format(surface=surface),
        surface=surface,
        limit=f"{number(track.limit)} {track.unit}",
        water="dew or frost" if bool(np.any(series.surface_c < 0.0)) else "dew",
    )


def opens_text(verdict: Verdict, fault: Fault, start: int, words: Wording) -> str:
    """Why starts are good from ``start`` on; ``fault`` stood in the way of the one before."""
    clock = words.clock(at_index(verdict.series, start))
    if fault.kind == "earliest":
        return verdict.earliest_because
    if fault.kind == "hours":
        if verdict.mixed is not None and verdict.mixed[start] < start:
            mixed = words.clock(at_index(verdict.series, max(int(verdict.mixed[start]), 0)))
            return f"aboard and mixed from {mixed}"
        return f"aboard from {clock}"
    if fault.kind == "daylight":
        return f"daylight from {clock}"
    if fault.kind == "limit":
        return f"{kept_text(verdict.tracks[fault.track], verdict.series)} from here"
    if fault.kind == "given off":
        return _given_off_kept(verdict, start - 1)
    if fault.kind == "unknown":
        return f"{_what(verdict, fault)} known from here"
    return verdict.earliest_because


def closes_text(verdict: Verdict, fault: Fault, start: int, words: Wording) -> str:
    """Why ``start`` is no longer good, the one before it was."""
    series = verdict.series
    if fault.kind == "latest":
        return verdict.latest_because
    if fault.kind in ("hours", "daylight"):
        ends = words.clock(at_index(series, max(fault.at - 1, 0)))
        return f"nobody aboard after {ends}" if fault.kind == "hours" else f"dark after {ends}"
    if fault.kind == "limit":
        text = fault_text(verdict, fault)
        shown, near = at_index(series, fault.at), at_index(series, start)
        if fault.at <= verdict.apply_end[start]:
            return f"{text} {_since(words, shown, near)}"
        return f"setting would run into {text} {_when(words, shown, near)}"
    if fault.kind == "given off":
        shown, near = at_index(series, min(fault.at, verdict.points - 1)), at_index(series, start)
        return f"{given_off_text(verdict, start)} {_since(words, shown, near)}"
    if fault.kind == "unknown":
        shown, near = at_index(series, fault.at), at_index(series, start)
        return f"{_what(verdict, fault)} not known {_since(words, shown, near)}"
    return "it would still be setting where the forecast ends"


def obstacle_text(verdict: Verdict, fault: Fault, start: int, words: Wording) -> str:
    """What stands in the way of ``start``."""
    series = verdict.series
    if fault.kind == "earliest" and start >= verdict.first:
        return "it waits after mixing before it goes on"
    if fault.kind == "earliest":
        return f"not before {words.when(at_index(series, min(verdict.first, verdict.points - 1)))}"
    if fault.kind == "latest":
        return f"too late: {verdict.latest_because}"
    if fault.kind == "hours" and fault.at < start:
        return "nobody aboard to mix it, as it waits before it goes on"
    if fault.kind in ("hours", "daylight") and fault.at == start:
        return "nobody aboard" if fault.kind == "hours" else "dark"
    if fault.kind in ("hours", "daylight"):
        ends = words.clock(at_index(series, fault.at - 1))
        what = "someone is aboard" if fault.kind == "hours" else "there is daylight"
        return f"the work takes longer than {what}, until {ends}"
    if fault.kind == "limit" and fault.at == start:
        return fault_text(verdict, fault)
    if fault.kind == "given off":
        return given_off_text(verdict, start)
    if fault.kind == "unknown" and fault.at == start:
        return f"{_what(verdict, fault)} not known"
    return closes_text(verdict, fault, start, words)


def fault_text(verdict: Verdict, fault: Fault) -> str:
    """The broken limit of a fault in words, by its value where it first fails."""
    track = verdict.tracks[fault.track]
    member = int(np.flatnonzero(fault.fails)[0])
    return broken_text(track, verdict.series, float(track.value[member, fault.at]))


def given_off_text(verdict: Verdict, start: int) -> str:
    """What breaks with what the coat asks for and gives off; '' where it was not looked at."""
    found = _given_off_track(verdict, start)
    if found is None:
        return ""
    assert verdict.given_off is not None
    lead, (track, value) = verdict.given_off.lead, found
    if track is None:
        return f"{lead}when it would be dry is not known"
    return f"{lead}{broken_text(track, verdict.series, value)}"


def _given_off_kept(verdict: Verdict, start: int) -> str:
    found = _given_off_track(verdict, start)
    if found is None or found[0] is None:
        return verdict.earliest_because
    assert verdict.given_off is not None
    return f"{verdict.given_off.lead}{kept_text(found[0], verdict.series)} from here"


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


def _what(verdict: Verdict, fault: Fault) -> str:
    """What is not known: 'wood moisture is'."""
    return "conditions are" if fault.track < 0 else f"{verdict.tracks[fault.track].name} is"


def _when(words: Wording, moment: datetime, near: datetime) -> str:
    """'at 17:10' on the day of ``near``, else with the day: 'on Thu 03:00', 'tomorrow 03:00'."""
    if words.local(moment).date() == words.local(near).date():
        return f"at {words.clock(moment)}"
    text = words.when(moment)
    return f"on {text}" if text[:3] in WEEKDAYS else text


def _since(words: Wording, moment: datetime, near: datetime) -> str:
    """'from 17:10', 'from Thu 03:00'."""
    return f"from {_when(words, moment, near).removeprefix('at ').removeprefix('on ')}"
