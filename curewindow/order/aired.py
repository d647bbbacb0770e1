"""Starts that hold with what a coat does to the air of its space, beyond the forecast too.

A start counts only where it holds both ways, as the judgement has it near: in the space shut,
and with the air its vapour asks for, and the water it gives off, from the first stroke until
it is touch dry, shut again from then on.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from curewindow.curing import CureModel, IntArray, milestone_laws
from curewindow.heating.starts import DRY_WITHIN_H
from curewindow.series import AirAsked, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Milestone
from curewindow.windows import Verdict
from curewindow.windows.grid import next_bad
from curewindow.windows.limits import limit_tracks

_EPS: Final = 1e-9


def held_aired(verdict: Verdict, asked: AirAsked) -> Verdict:
    """Keep only starts that also hold with what the coat does to the air.

    Parameters
    ----------
    verdict : Verdict
        In the space shut; its series knows the space.
    asked : AirAsked

    Returns
    -------
    Verdict
        The same where nothing is asked for, or nobody described the space.
    """
    shut = verdict.series
    starts = np.flatnonzero(verdict.ok.any(axis=0))
    if not asked.anything or shut.behind is None or not starts.size:
        return verdict
    aired = _with_air(shut, asked)
    points, rows = verdict.points, np.arange(verdict.members)[:, None]
    model, until = CureModel(verdict.sheet, aired), verdict.sheet.setting.until
    dry_name: Milestone = "touch dry" if model.has("touch dry") else until
    applied = verdict.apply_end[starts]
    dry = _at_or_after(model.milestone_end(dry_name, applied.astype(np.float64), "slow"), points)
    within = dry - starts <= round(DRY_WITHIN_H / shut.step_h)
    sets = dry
    if until != dry_name:
        sets = _at_or_after(model.milestone_end(until, applied.astype(np.float64), "slow"), points)
    tracks = [
        *limit_tracks(aired, verdict.sheet.applying, "applying", bare_wood=verdict.bare_wood),
        *limit_tracks(aired, verdict.sheet.setting, "setting", bare_wood=verdict.bare_wood),
    ]
    bad = {"applying": np.zeros(aired.air_c.shape, np.bool_)}
    bad["setting"] = np.isnan(aired.surface_c)
    for track in tracks:
        bad[track.phase] = bad[track.phase] | ~(track.margin >= 0.0)
    last = np.minimum(np.minimum(dry, sets), points)
    held = within & (dry < points)
    # At the first stroke itself the air is still that of the space shut.
    held &= next_bad(bad["applying"])[:, starts + 1] > applied
    held &= next_bad(bad["setting"])[:, starts + 1] > last
    if np.any(sets > dry):
        after = _set_once_shut(verdict, model, applied, np.minimum(dry, points - 1))
        shut_bad = ~verdict.film_known
        for track in verdict.tracks:
            if track.phase == "setting":
                shut_bad = shut_bad | ~(track.margin >= 0.0)
        goes_on = next_bad(shut_bad)[rows, np.minimum(dry, points - 1)] > after
        held &= (sets <= dry) | goes_on
    ok = np.zeros_like(verdict.ok)
    ok[:, starts] = verdict.ok[:, starts] & held
    return replace(verdict, ok=ok)


def _with_air(shut: SurfaceSeries, asked: AirAsked) -> SurfaceSeries:
    assert shut.behind is not None
    air, rh, dew, surface = shut.behind.aired(asked)
    return replace(
        shut, air_c=air, rh_pct=rh, dew_point_c=dew, surface_c=surface, tins=None, behind=None
    )


def _at_or_after(reached: FloatArray, points: int) -> IntArray:
    found: IntArray = np.where(np.isnan(reached), points, np.ceil(np.nan_to_num(reached))).astype(
        np.int64
    )
    return found


def _set_once_shut(
    verdict: Verdict, aired: CureModel, applied: IntArray, dry: IntArray
) -> IntArray:
    """Grid point at which films have set that are aired until dry and shut from then on."""
    latest = np.zeros(dry.shape, np.int64)
    points = verdict.points
    for law in milestone_laws(verdict.sheet, verdict.sheet.setting.until):
        before = aired.progress(law, "slow")
        after = verdict.model.progress(law, "slow")
        for row in range(len(dry)):
            gained = before[row][dry[row]] - before[row][np.minimum(applied, points - 1)]
            goal = after[row][dry[row]] + 1.0 - gained - _EPS
            latest[row] = np.maximum(latest[row], np.searchsorted(after[row], goal))
    return latest
