"""Candidates whose start ties the airing of solvent vapour: run from their own start on.

Up to the start a candidate is aired like any other, so one run serves all of them; from
each start on a short run, aired without end, tells exactly when the film is touch dry
and whether its limits hold until then. What is left is run whole, the cheapest first: heat up
to touch dry is never more than heat up to the milestone, so the rest need not be run
once it alone takes more than the best found.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from curewindow.curing import IntArray
from curewindow.heating.evaluate import (
    Candidates,
    Judged,
    air_change,
    evaluate,
    heat_up_to,
    recoat_allowed,
    routine_w,
    schedule_c,
    verdict_of,
)
from curewindow.heating.models import Ventilation
from curewindow.heating.room import Room, going_on, heated, up_to
from curewindow.heating.task import DRY_KG_M2, Task, margin_wanted
from curewindow.physics.balance import SpaceResult
from curewindow.series import BoolArray, FloatArray
from curewindow.windows.grid import next_bad

_DRY_WITHIN_H = 36.0
_AT_ONCE = 32


def evaluate_aired(
    task: Task,
    room: Room,
    candidates: Candidates,
    ventilation: Ventilation,
    power_w: float,
    least_kwh: float = np.inf,
) -> Judged:
    """Run and judge candidates with a start of their own, as `evaluate` does the others.

    Parameters
    ----------
    least_kwh : float
        Heat of the best way known already: those that take more are left out.
    """
    dry, floor_kwh = _until_dry(task, room, candidates, ventilation, power_w)
    count = len(candidates)
    start, end = np.full(count, -1, np.int64), np.full(count, -1, np.int64)
    energy = np.full(count, np.inf)
    order = np.argsort(floor_kwh, kind="stable")
    order = order[np.isfinite(floor_kwh[order])]
    for begin in range(0, len(order), _AT_ONCE):
        rows = order[begin : begin + _AT_ONCE]
        rows = rows[floor_kwh[rows] <= min(least_kwh, float(energy.min()))]
        if not rows.size:
            break
        part = evaluate(task, room, candidates.picked(rows), ventilation, power_w, dry[rows])
        start[rows], end[rows], energy[rows] = part.start, part.end, part.energy_kwh
    return Judged(candidates, ventilation, power_w, start, end, dry, energy)


def _until_dry(
    task: Task, room: Room, candidates: Candidates, ventilation: Ventilation, power_w: float
) -> tuple[IntArray, FloatArray]:
    """Touch dry of each candidate, grid point, and its heat up to there; inf where it fails."""
    plain = replace(task, airing_m3_h=0.0)
    ways, which = np.unique(
        np.stack([candidates.setpoint_c, candidates.light.astype(np.float64)]),
        axis=1,
        return_inverse=True,
    )
    which = which.ravel()
    light = ways[1].astype(np.int64)
    unique = Candidates(ways[0], light, np.full(light.shape, -1, np.int64))
    setpoints = schedule_c(room, unique)
    own = air_change(room, ventilation)
    base_w = routine_w(room)
    lead_in = up_to(room, int(candidates.start.max()) + 2)
    before = heated(lead_in, setpoints[:, : lead_in.points], power_w=power_w, air_changes_h=own)
    allowed = _may_start(plain, lead_in, before)
    spent = heat_up_to(lead_in, before)
    dry = np.full(len(candidates), -1, np.int64)
    cost = np.full(len(candidates), np.inf)
    aired = own + task.airing_m3_h / room.model.volume_m3
    points = round(_DRY_WITHIN_H / room.step_h)
    for begin in np.unique(candidates.start).tolist():
        rows = np.flatnonzero((candidates.start == begin) & allowed[which, begin])
        if not rows.size:
            continue
        runs = which[rows]
        after = going_on(room, before, begin, runs, points)
        stop = begin + after.points
        result = heated(after, setpoints[runs, begin:stop], power_w=power_w, air_changes_h=aired)
        reached, kept = _touch_dry(replace(plain, below=None), after, result)
        good = rows[kept]
        dry[good] = begin + reached[kept]
        more_w = np.nan_to_num(result.heat_w) - base_w[begin:stop]
        heat = more_w.cumsum(axis=1) * room.step_h / 1000.0
        cost[good] = spent[runs[kept], begin] + heat[kept, np.maximum(reached[kept] - 1, 0)]
    return dry, cost


def _may_start(task: Task, room: Room, before: SpaceResult) -> BoolArray:
    """True where the surface is dry and the coat below may be recoated, (K, T)."""
    allowed = np.ones(before.air_c.shape, np.bool_)
    if task.job.panel is not None:
        allowed = before.condensate_kg_m2[room.panel_index(task.job.panel)] <= DRY_KG_M2
    if task.below is not None:
        verdict = verdict_of(task, room, before)
        allowed = allowed & recoat_allowed(task.below, verdict)[:, -room.points :]
    return allowed


def _touch_dry(task: Task, room: Room, result: SpaceResult) -> tuple[IntArray, BoolArray]:
    """Touch dry of a film begun at the room's first point, and whether limits hold until then."""
    verdict = verdict_of(task, room, result)
    model = verdict.model
    milestone = "touch dry" if model.has("touch dry") else task.sheet.setting.until
    last = int(verdict.apply_end[0])
    rows = result.air_c.shape[0]
    if last >= room.points:
        return np.full(rows, -1, np.int64), np.zeros(rows, np.bool_)
    reached = model.milestone_end(milestone, np.array([float(last)]), "slow")[:, 0]
    kept = np.isfinite(reached)
    dry = np.where(kept, np.ceil(np.nan_to_num(reached)), -1).astype(np.int64)
    setting = np.minimum(verdict.setting_end[:, 0], dry)
    for track in verdict.tracks:
        bad = next_bad(~(track.margin >= margin_wanted(track)))[:, 0]
        kept &= bad > (last if track.phase == "applying" else setting)
    return dry, kept
