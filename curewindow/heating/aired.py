"""Candidates whose start ties airing, or the film's own water: run from their own start on.

Up to the start a candidate is aired like any other, so one run serves all of them; from
the starts on a short run, aired without end, one column each, tells exactly when the film
is touch dry and whether its limits hold until then. What is left is run whole, the
cheapest first: heat up to touch dry is never more than heat up to the milestone, so the
rest need not be run once it alone takes more than the best found.
"""

from __future__ import annotations

import numpy as np

from curewindow.curing import CureModel, IntArray
from curewindow.heating.coat import DRY_KG_M2, HeatedCoat
from curewindow.heating.columns import columns, film_series, stretch
from curewindow.heating.evaluate import (
    Candidates,
    EvaluatedStarts,
    evaluate,
    heat_up_to,
    own_air_changes,
    recoat_allowed,
    routine_w,
    schedule_c,
    verdict_of,
)
from curewindow.heating.lit import run_from_light
from curewindow.heating.room import Room, heated, states_at, up_to, warm
from curewindow.physics.balance import SpaceResult
from curewindow.rules.tins import tin_asked
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.windows.grid import next_bad
from curewindow.windows.limits import limit_tracks

_DRY_WITHIN_H = (10.0, 36.0)  # looked at in turn: most are dry or out by the first
_SET_WITHIN_H = 18.0
_AT_ONCE = 32
_COLUMNS = 800


def evaluate_aired(
    task: HeatedCoat,
    room: Room,
    candidates: Candidates,
    power_w: float,
    least_kwh: float = np.inf,
) -> EvaluatedStarts:
    """Run and judge candidates with a start of their own, as `evaluate` does the others.

    Parameters
    ----------
    least_kwh : float
        Heat of the best way known already: those that take more are left out.
    """
    dry, floor_kwh = until_dry(task, room, candidates, power_w)
    count = len(candidates)
    start, end = np.full(count, -1, np.int64), np.full(count, -1, np.int64)
    energy = np.full(count, np.inf)
    usual = routine_w(room)
    sets_dry = task.sheet.setting.until == "touch dry"
    ahead = round(_SET_WITHIN_H / room.step_h)
    order = np.argsort(floor_kwh, kind="stable")
    order = order[np.isfinite(floor_kwh[order])]
    for begin in range(0, len(order), _AT_ONCE):
        rows = order[begin : begin + _AT_ONCE]
        rows = rows[floor_kwh[rows] <= min(least_kwh, float(energy.min()))]
        if not rows.size:
            break
        # No longer than it takes most films to set; what has not by then is run on to the end.
        near = int(dry[rows].max()) + 2 + (0 if sets_dry else ahead)
        for points in (near, room.points):
            some = candidates.picked(rows)
            short = up_to(room, points)
            part = evaluate(task, short, some, power_w, dry[rows], usual[: short.points])
            start[rows], end[rows], energy[rows] = part.start, part.end, part.energy_kwh
            rows = rows[part.beyond]
            if not rows.size or points >= room.points:
                break
    return EvaluatedStarts(candidates, power_w, start, end, dry, energy)


def until_dry(
    task: HeatedCoat, room: Room, candidates: Candidates, power_w: float
) -> tuple[IntArray, FloatArray]:
    """Touch dry of each candidate, grid point, and its heat up to there; inf where it fails."""
    ways, which = np.unique(
        np.stack(
            [
                candidates.setpoint_c,
                candidates.light.astype(np.float64),
                candidates.vents.astype(np.float64),
            ]
        ),
        axis=1,
        return_inverse=True,
    )
    which = which.ravel()
    light = ways[1].astype(np.int64)
    unique = Candidates(
        ways[0], light, np.full(light.shape, -1, np.int64), ways[2].astype(np.int64)
    )
    setpoints = schedule_c(room, unique)
    own = own_air_changes(room, unique.vents)
    base_w = routine_w(room)
    lead_in = up_to(room, int(candidates.start.max()) + 2)
    until = np.zeros(len(unique), np.int64)
    np.maximum.at(until, which, candidates.start + 1)
    before = run_from_light(
        room,
        unique,
        np.zeros(len(unique), np.int64),
        until,
        power_w=power_w,
        air_changes_h=own,
    )
    allowed = _may_start(task, lead_in, before)
    spent = heat_up_to(lead_in, before, base_w[: lead_in.points])
    dry = np.full(len(candidates), -1, np.int64)
    cost = np.full(len(candidates), np.inf)
    aired = own + task.airing_m3_h / room.model.volume_m3
    tin = None
    if task.base.tins is not None:
        asked = tin_asked(task.sheet, task.hands_on_h)
        tin = task.base.tins.begun_in(asked, before.air_c, room.first)
    todo = np.flatnonzero(allowed[which, candidates.start])
    for hours in _DRY_WITHIN_H:
        points, later = round(hours / room.step_h), []
        for first in range(0, len(todo), _COLUMNS):
            some = todo[first : first + _COLUMNS]
            begin, runs = candidates.start[some], which[some]
            weather = np.zeros_like(begin)
            state = states_at(before, begin, runs)
            after = columns(warm(room), begin, weather, points, state)
            result = heated(
                after,
                stretch(setpoints, begin, runs, points, held=True),
                power_w=power_w,
                air_changes_h=aired[runs],
                moisture_kg_h=task.water_kg_h,
            )
            begun = None if tin is None else tin[runs, begin]
            series = film_series(task, room, after, result, begin, weather, begun)
            reached, kept = _touch_dry(task, series)
            done = kept & (reached >= 0)
            good = some[done]
            dry[good] = (begin + reached)[done]
            usual = stretch(base_w[None], begin, weather, points, held=True)
            heat = (np.nan_to_num(result.heat_w) - usual).cumsum(axis=1) * room.step_h / 1000.0
            last = np.maximum(reached[done] - 1, 0)
            cost[good] = spent[runs[done], begin[done]] + heat[done, last]
            later.append(some[kept & (reached < 0)])
        todo = np.concatenate(later) if later else todo[:0]
    return dry, cost


def _may_start(task: HeatedCoat, room: Room, before: SpaceResult) -> BoolArray:
    """True where the surface is dry and the coat below may be recoated, (K, T)."""
    allowed = np.ones(before.air_c.shape, np.bool_)
    if task.job.panel is not None:
        allowed = before.condensate_kg_m2[room.panel_index(task.job.panel)] <= DRY_KG_M2
    if task.below is not None:
        verdict = verdict_of(task, room, before)
        allowed = allowed & recoat_allowed(task.below, verdict)[:, -room.points :]
    return allowed


def _touch_dry(task: HeatedCoat, series: SurfaceSeries) -> tuple[IntArray, BoolArray]:
    """Touch dry of films begun at the first point, and whether limits hold until then.

    -1: not within the series; then whether they hold so far. Wood dries with the heat of
    the whole run, so its limit waits for that.
    """
    points = series.air_c.shape[1]
    last = int(np.ceil(task.hands_on_h / series.step_h - 1e-9))
    rows = len(series.air_c)
    if last >= points:
        return np.full(rows, -1, np.int64), np.zeros(rows, np.bool_)
    model = CureModel(task.sheet, series)
    milestone = "touch dry" if model.has("touch dry") else task.sheet.setting.until
    stroke = np.array([float(last)])
    reached = model.milestone_end(milestone, stroke, "slow")[:, 0]
    set_by = model.milestone_end(task.sheet.setting.until, stroke, "slow")[:, 0]
    dry = np.where(np.isfinite(reached), np.ceil(np.nan_to_num(reached)), -1).astype(np.int64)
    end = np.where(dry >= 0, dry, points - 1)
    end = np.minimum(end, np.where(np.isfinite(set_by), np.ceil(np.nan_to_num(set_by)), end))
    kept = np.ones(rows, np.bool_)
    for track in (
        *limit_tracks(series, task.sheet.applying, "applying"),
        *limit_tracks(series, task.sheet.setting, "setting"),
    ):
        bad = next_bad(~(track.margin >= track.kind.spare))[:, 0]
        kept &= bad > (last if track.phase == "applying" else end)
    return dry, kept
