"""Every limit of a sheet at one start: its worst moment, and whether it is kept."""

from __future__ import annotations

import numpy as np

from curewindow.answers import Margin
from curewindow.explain.models import STATES, LimitAt, State
from curewindow.findings import Finding, finding
from curewindow.rules.chance import enough, share_needed
from curewindow.windows import Verdict
from curewindow.windows.confidence import sigmas
from curewindow.windows.faults import margin_at
from curewindow.windows.limits import LimitTrack
from curewindow.windows.reasons import broken, surface_name


def limits_at(verdict: Verdict, start: int) -> list[LimitAt]:
    """Hold every limit against the span of one start.

    Parameters
    ----------
    verdict : Verdict
    start : int
        Grid point.

    Returns
    -------
    list of LimitAt
        Broken ones first, of each state the tightest first (in standard errors of the
        forecast).
    """
    found = [_limit_at(verdict, index, start) for index in range(len(verdict.tracks))]
    found.sort(key=lambda item: (STATES.index(item[1].state), item[0]))
    return [limit for _, limit in found]


def _limit_at(verdict: Verdict, index: int, start: int) -> tuple[float, LimitAt]:
    track = verdict.tracks[index]
    end = np.broadcast_to(verdict.span_end(track), verdict.setting_end.shape)[:, start]
    inside = end < verdict.points
    last = np.minimum(end, verdict.points - 1)
    # what is known of each member's span, behind its end nothing
    stretch = track.margin[:, start : int(last.max()) + 1].copy()
    stretch[np.arange(stretch.shape[1]) > (last - start)[:, np.newaxis]] = np.inf
    lows = np.where(np.isnan(stretch), np.inf, stretch).min(axis=1)
    fails = lows < 0.0
    known = inside & ~np.isnan(stretch).any(axis=1)
    kept = known & ~fails
    needed = float(share_needed(verdict.series.lead_h[start : start + 1])[0])
    state = _state(float(kept.mean()), bool(fails.any()), float(fails.mean()), needed)
    rows = np.flatnonzero(fails if state in ("broken", "doubtful") else np.isfinite(lows))
    worst, tightness = None, 0.0
    if rows.size:
        member = int(rows[np.argsort(lows[rows])[rows.size // 2]])
        at = start + int(np.nanargmin(np.where(np.isinf(stretch[member]), np.nan, stretch[member])))
        worst = margin_at(verdict.series, track, member, at)
        tightness = float(sigmas(track, verdict.series.lead_h)[member, at])
    beyond = state == "unknown" and not inside.all()
    why = None
    if state == "unknown":
        why = finding("forecast ends") if beyond else finding("limit unknown", limit=track.name)
    elif worst is not None and worst.by < 0.0:
        why = broken(track, verdict.series, worst.value)
    margin = why if state == "unknown" and why is not None else _margin(track, verdict, worst)
    return tightness, LimitAt(
        limit=track.name,
        phase=track.phase,
        bound=track.bound,
        limit_value=track.limit,
        unit=track.unit,
        state=state,
        worst=worst,
        holds_in=round(float(kept.mean()), 3),
        margin=margin,
        why=why,
    )


def _state(kept: float, any_broken: bool, broken: float, needed: float) -> State:
    if not enough(1.0 - broken, needed):
        return "broken"
    if not enough(kept, needed):
        return "unknown"
    return "doubtful" if any_broken else "kept"


def _margin(track: LimitTrack, verdict: Verdict, worst: Margin | None) -> Finding:
    return finding(
        "limit margin",
        limit=track.name,
        bound=track.bound,
        limit_value=track.limit,
        unit=track.unit,
        surface=surface_name(verdict.series),
        value=None if worst is None else worst.value,
        by=0.0 if worst is None else worst.by,
    )
