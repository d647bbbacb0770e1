"""Windows: runs of good starts, with what opens and closes them and how sure they are."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from curewindow.answers import After, Margin, Obstacle, Window
from curewindow.curing import IntArray, RecoatRule
from curewindow.findings import Finding, finding
from curewindow.rules.asked import PHASES
from curewindow.rules.chance import enough, share_needed
from curewindow.rules.uncertainty import MOST_SIGMAS
from curewindow.series import BoolArray, FloatArray
from curewindow.windows.after import what_follows
from curewindow.windows.confidence import sigmas
from curewindow.windows.faults import Fault, faults_at, margin_at
from curewindow.windows.grid import (
    at_index,
    first_at_or_after,
    last_at_or_before,
    next_bad,
    span_min,
)
from curewindow.windows.judge import Verdict
from curewindow.windows.reasons import in_the_way, why_closes, why_opens
from curewindow.windows.sureness import sureness
from curewindow.windows.tins import fetch_findings
from curewindow.windows.working import working_findings


def find_windows(
    verdict: Verdict,
    *,
    recoat: RecoatRule | None = None,
    threshold: float | None = None,
    sand_after: datetime | None = None,
) -> list[Window]:
    """Find the stretches of time in which a coat may be started.

    Parameters
    ----------
    verdict : Verdict
        From :func:`curewindow.windows.judge`.
    recoat : RecoatRule, optional
        The table for the coat after this one.
    threshold : float, optional
        Share of members in which a start must be good; else it falls from 0.8 to 0.5 with
        the days ahead (:func:`curewindow.rules.chance.share_needed`).
    sand_after : datetime, optional
        From here on the coat below has to be sanded first; said in the notes, and the
        best start is before it where there is one.

    Returns
    -------
    list of Window
        In order of time. The confidence is the share of members in which the best
        start is good (:mod:`curewindow.windows.sureness`); with one member the chance of
        its smallest margin, measured in standard errors that grow with lead time
        (:mod:`curewindow.windows.confidence`). What came of earlier windows of the same
        feed, where enough is known, corrects it (:class:`curewindow.trust.Trust`).
    """
    share = verdict.ok.mean(axis=0)
    starts = np.flatnonzero(verdict.good(threshold)).astype(np.int64)
    if starts.size == 0:
        return []
    errors = [sigmas(track, verdict.series.lead_h) for track in verdict.tracks]
    surest = np.full(verdict.points, -MOST_SIGMAS)
    surest[starts] = _smallest_sigmas(verdict, errors, starts)
    breaks = np.flatnonzero(np.diff(starts) > 1)
    opens = starts[np.concatenate(([0], breaks + 1))]
    closes = starts[np.concatenate((breaks, [starts.size - 1]))]
    dull = (
        verdict.points - 1 if sand_after is None else last_at_or_before(verdict.series, sand_after)
    )
    runs = [(int(i), int(j)) for i, j in zip(opens, closes, strict=True)]
    best = np.array([_best(i, j, share, surest, verdict.members, dull) for i, j in runs])
    return [
        Window(
            opens=at_index(verdict.series, i),
            closes=at_index(verdict.series, j),
            opens_because=_why_opens(verdict, i),
            closes_because=_why_closes(verdict, j),
            tightest=_tightest(verdict, errors, i, j),
            best_start=after.start,
            **sureness(verdict.series, int(k), float(share[k]), float(surest[k])),
            after=after,
            notes=_notes(verdict, (i, j), after, recoat, dull),
        )
        for (i, j), k, after in zip(runs, best, what_follows(verdict, best, recoat), strict=True)
    ]


def _best(
    opens: int, closes: int, share: FloatArray, surest: FloatArray, members: int, sand_after: int
) -> int:
    """Best start: without sanding before with it; then the surest, of equals the earliest."""
    last = sand_after if opens <= sand_after < closes else closes
    inside = np.arange(opens, last + 1)
    confidence = share[inside] if members > 1 else surest[inside]
    order = np.lexsort((inside, -np.round(surest[inside], 2), -np.round(confidence, 3)))
    return int(inside[order[0]])


def _notes(
    verdict: Verdict,
    run: tuple[int, int],
    after: After,
    recoat: RecoatRule | None,
    sand_after: int,
) -> list[Finding]:
    """What has to be said with a window."""
    opens, closes = run
    notes = [*verdict.series.notes]
    start = first_at_or_after(verdict.series, after.start)
    notes += working_findings(verdict, start)
    span = start, min(int(verdict.apply_end[start]), verdict.points - 1)
    notes += fetch_findings(
        verdict.series.tins, verdict.sheet, verdict.hands_on_h, verdict.series, 0, span
    )
    if opens > sand_after:
        notes.append(finding("sand first"))
    elif closes > sand_after:
        notes.append(finding("sand first", begins=at_index(verdict.series, sand_after)))
    if recoat is not None and recoat.note:
        notes.append(finding("remark", note=recoat.note))
    if verdict.sheet.applying.above_dew_point is None:
        notes.append(finding("dew point unlimited"))
    if after.extrapolated:
        notes.append(finding("outside table"))
    return notes


def _smallest_sigmas(verdict: Verdict, errors: list[FloatArray], starts: IntArray) -> FloatArray:
    """Smallest margin of each start in standard errors, in the middle member; shape (K,)."""
    found = np.full((verdict.members, starts.size), MOST_SIGMAS)
    for phase in PHASES:
        worst: FloatArray | None = None
        for track, value in zip(verdict.tracks, errors, strict=True):
            if track.phase == phase:
                worst = value if worst is None else np.minimum(worst, value)
        if worst is None:
            continue
        ends = verdict.apply_end[np.newaxis, :] if phase == "applying" else verdict.setting_end
        end = np.minimum(ends[:, starts], verdict.points - 1)
        found = np.minimum(found, span_min(worst, starts, end))
    if verdict.given_off is not None:
        for place, start in enumerate(starts.tolist()):
            column = verdict.given_off.column(start)
            if column is not None:
                own = verdict.given_off.sure[:, column]
                found[:, place] = np.minimum(found[:, place], own)
    # A start that is not good in a member is not helped by what is unknown there.
    found = np.where(verdict.ok[:, starts], found, np.fmin(found, 0.0))
    middle: FloatArray = np.median(found, axis=0)
    return middle


def _why_opens(verdict: Verdict, opens: int) -> Finding:
    if opens == 0:
        return verdict.earliest_because
    return why_opens(verdict, _changed(verdict, opens - 1, opens), opens)


def _why_closes(verdict: Verdict, closes: int) -> Finding:
    if closes == verdict.points - 1:
        return finding("forecast ends")
    return why_closes(verdict, _changed(verdict, closes + 1, closes), closes + 1)


def _changed(verdict: Verdict, bad: int, good: int) -> Fault:
    """The fault of a bad start that its good neighbour has least of."""
    faults = faults_at(verdict, bad)
    if len(faults) == 1:
        return faults[0]
    before = {(fault.kind, fault.track): fault.share for fault in faults_at(verdict, good)}
    gains = [fault.share - before.get((fault.kind, fault.track), 0.0) for fault in faults]
    return faults[int(np.argmax(np.round(gains, 3)))]


def _tightest(verdict: Verdict, errors: list[FloatArray], opens: int, closes: int) -> Margin | None:
    """The limit that comes closest in any start of a window, in standard errors."""
    tightest: Margin | None = None
    least = np.inf
    for track, error in zip(verdict.tracks, errors, strict=True):
        if not track.kind.graded:
            continue  # dry is dry: no margin to tell
        ends = verdict.span_end(track)[:, closes]
        last = int(np.median(np.minimum(ends, verdict.points - 1)))
        stretch = error[:, opens : last + 1]
        # The middle of the members in which the window holds from end to end.
        holds = verdict.ok[:, opens] & verdict.ok[:, closes]
        rows = np.flatnonzero(holds if holds.any() else verdict.ok.any(axis=1))
        lows = np.fmin.reduce(stretch[rows], axis=1, initial=np.inf)
        rows, lows = rows[np.isfinite(lows)], lows[np.isfinite(lows)]
        if rows.size == 0:
            continue
        member = int(rows[np.argsort(lows)[len(rows) // 2]])
        # The margin itself tells which point: beyond the surest, all points look alike.
        margin = track.margin[member, opens : last + 1]
        at = (
            int(np.nanargmin(margin))
            if lows.min() >= MOST_SIGMAS
            else int(np.nanargmin(stretch[member]))
        )
        value = float(stretch[member, at])
        if value < least:
            least = value
            tightest = margin_at(verdict.series, track, member, opens + at)
    return tightest


def find_obstacles(
    verdict: Verdict, at: datetime, *, threshold: float | None = None
) -> list[Obstacle]:
    """Find what stands in the way of starting at a moment, and when each of it ends.

    Parameters
    ----------
    verdict : Verdict
    at : datetime
        Aware; the grid point at or after it is looked at.
    threshold : float, optional
        Share of members that must be free of it; else as for :func:`find_windows`.

    Returns
    -------
    list of Obstacle
        What ends last first; what does not end within what is known before that.
        Empty where the start is good, or where the moment lies beyond the grid.
    """
    start = first_at_or_after(verdict.series, at)
    if start >= verdict.points:
        return [Obstacle(why=finding("beyond forecast"))]
    found: dict[tuple[str, str, str], tuple[int, Obstacle]] = {}
    faults = faults_at(verdict, start)
    if threshold is None:
        threshold = float(share_needed(verdict.series.lead_h[start : start + 1])[0])
    telling = [fault for fault in faults if not enough(1.0 - fault.share, threshold)]
    if not telling and not enough(verdict.ok[:, start].mean(), threshold):
        telling = faults  # none alone, but together
    for fault in telling:
        ends = _ends(verdict, fault, start, threshold)
        margin = None
        key = (fault.kind, "", "")
        if fault.track >= 0:
            track = verdict.tracks[fault.track]
            key = (fault.kind, track.name, track.bound if fault.kind == "limit" else "")
            margin = _worst(verdict, fault, start) if fault.kind == "limit" else None
        obstacle = Obstacle(
            why=in_the_way(verdict, fault, start),
            margin=margin,
            ends=None if ends is None else at_index(verdict.series, ends),
        )
        rank = verdict.points if ends is None else ends
        # One limit in both phases is one obstacle: the one that ends later.
        if key not in found or found[key][0] < rank:
            found[key] = (rank, obstacle)
    ordered = sorted(found.values(), key=lambda item: -item[0])
    return [obstacle for _, obstacle in ordered]


def _ends(verdict: Verdict, fault: Fault, start: int, threshold: float) -> int | None:
    """First later start free of a fault in enough members."""
    free: BoolArray
    if fault.kind == "earliest":
        first = verdict.first
        if verdict.mixed is not None:
            ready = np.flatnonzero(verdict.mixed >= verdict.mixed_first)
            first = max(first, int(ready[0])) if ready.size else verdict.points
        return first if first < verdict.points else None
    if fault.kind in ("latest", "beyond"):
        return None
    if fault.kind == "given off":
        given = verdict.given_off
        if given is None:
            return None
        good = given.starts[enough(given.ok.mean(axis=0), threshold)]
        after = good[good > start]
        return int(after[0]) if after.size else None
    if fault.kind in ("hours", "daylight"):
        hours, daylight = enough_of(verdict)
        free = (hours if fault.kind == "hours" else daylight)[np.newaxis, :]
    elif fault.kind == "limit":
        track = verdict.tracks[fault.track]
        inside = verdict.span_end(track) < verdict.points
        free = (verdict.first_bad(fault.track) >= verdict.points) & inside
    elif fault.track >= 0:
        inside = verdict.span_end(verdict.tracks[fault.track]) < verdict.points
        free = ~np.isnan(verdict.min_margin(fault.track)) & inside
    else:
        free = _free_spans(verdict.film_known, verdict.setting_end)
    later = np.flatnonzero(free.mean(axis=0)[start + 1 :] >= threshold)
    return start + 1 + int(later[0]) if later.size else None


def enough_of(verdict: Verdict) -> tuple[BoolArray, BoolArray]:
    """Starts whose work fits into the hours aboard, and into daylight; each of shape (T,)."""
    begins = np.arange(verdict.points)
    inside = verdict.apply_end < verdict.points
    since = begins if verdict.mixed is None else np.maximum(verdict.mixed, verdict.mixed_first)
    hours: BoolArray = (next_bad(~verdict.hours_ok)[since] > verdict.apply_end) & inside
    daylight: BoolArray = (next_bad(~verdict.daylight_ok)[begins] > verdict.apply_end) & inside
    return hours, daylight


def enough_time(verdict: Verdict) -> BoolArray:
    """Starts at which someone is there, in daylight where it counts, until the work is done."""
    hours, daylight = enough_of(verdict)
    return hours & daylight


def _free_spans(good: BoolArray, ends: IntArray) -> BoolArray:
    """True for starts whose whole span is good and within the grid."""
    points = good.shape[1]
    inside = ends < points
    spans = span_min(
        good.astype(np.float64),
        np.arange(points, dtype=np.int64),
        np.minimum(ends, points - 1),
    )
    free: BoolArray = (spans > 0.0) & inside
    return free


def _worst(verdict: Verdict, fault: Fault, start: int) -> Margin:
    """The worst of a broken limit in a start's span, in the middle failing member."""
    track = verdict.tracks[fault.track]
    ends = verdict.span_end(track)[:, start]
    last = int(np.median(np.minimum(ends, verdict.points - 1)))
    rows = np.flatnonzero(fault.fails)
    stretch = track.margin[rows, start : max(last, fault.at) + 1]
    lows = np.nanmin(stretch, axis=1)
    row = int(np.argsort(lows)[len(rows) // 2])
    at = int(np.nanargmin(stretch[row]))
    return margin_at(verdict.series, track, int(rows[row]), start + at)
