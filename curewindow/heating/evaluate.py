"""Heating candidates run in one batch and judged at once: which keep every limit, for how much.

A candidate is a setpoint and a lighting time, and, where solvent vapour asks for
airing, the start the airing is tied to. The heater is held on from lighting to the
end of the run: what comes after a start's milestone does not reach back, so every
start of every candidate is judged by one run, with its own heat up to its own milestone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from curewindow.boat.schema import Ventilation
from curewindow.conditions.routine import VENTILATION
from curewindow.curing import CureModel, IntArray
from curewindow.heating.coat import DRY_KG_M2, Below, HeatedCoat, bedtimes, series_of
from curewindow.heating.room import Room, heated, routine_heat_w
from curewindow.physics.balance import SpaceResult
from curewindow.series import BoolArray, FloatArray
from curewindow.windows import Verdict, judge
from curewindow.windows.grid import next_bad, position

VENTS: Final[tuple[Ventilation, ...]] = tuple(VENTILATION)
"""States of the vents, as candidates count them."""


@dataclass(frozen=True, slots=True, eq=False)
class Candidates:
    """Ways to heat, shapes (K,).

    ``light`` and ``start`` are grid points of the room; start -1: any, without airing.
    ``vents`` counts in :data:`VENTS`.
    """

    setpoint_c: FloatArray
    light: IntArray
    start: IntArray
    vents: IntArray

    def picked(self, rows: BoolArray | IntArray) -> Candidates:
        """Some of them."""
        return Candidates(
            self.setpoint_c[rows], self.light[rows], self.start[rows], self.vents[rows]
        )

    def __len__(self) -> int:
        return len(self.light)


@dataclass(frozen=True, slots=True, eq=False)
class EvaluatedStarts:
    """Candidates judged.

    Attributes
    ----------
    candidates : Candidates
    power_w : float
    start, end, dry : ndarray of int, shape (K,)
        Best start of each, its milestone and the end of its airing, grid points of the
        room; -1: none.
    energy_kwh : ndarray, shape (K,)
        Heat up to the milestone beyond what the routine gives anyway; inf where no start
        keeps every limit.
    beyond : ndarray of bool, shape (K,), or None
        Of candidates with a start of their own: it has not set by the end of the room.
    """

    candidates: Candidates
    power_w: float
    start: IntArray
    end: IntArray
    dry: IntArray
    energy_kwh: FloatArray
    beyond: BoolArray | None = None


def air_change(room: Room, ventilation: Ventilation) -> float:
    """Air change of a room in a state of its vents [1/h]."""
    return room.model.air_changes_h * VENTILATION[ventilation]


def own_air_changes(room: Room, vents: IntArray) -> FloatArray:
    """Air change of each candidate's vents, without any airing (K, 1) [1/h]."""
    share = np.array([VENTILATION[state] for state in VENTS])
    own: FloatArray = room.model.air_changes_h * share[vents][:, None]
    return own


def schedule_c(room: Room, candidates: Candidates) -> FloatArray:
    """Setpoints (K, T): the routine, from lighting on never below the candidate's."""
    lit = (np.arange(room.points) >= candidates.light[:, None]) & ~room.out_of_order
    held = np.fmax(candidates.setpoint_c[:, None], room.routine_c)
    return np.where(lit, held, room.routine_c)


def aired_h(task: HeatedCoat, room: Room, candidates: Candidates, dry: IntArray) -> FloatArray:
    """Air changes (K, T or 1): raised by the solvent's airing from start to touch dry."""
    own = own_air_changes(room, candidates.vents)
    if not task.airing_m3_h:
        return own
    index = np.arange(room.points)
    airing = (index >= candidates.start[:, None]) & (index < dry[:, None])
    return own + np.where(airing, task.airing_m3_h / room.model.volume_m3, 0.0)


def water_kg_h(task: HeatedCoat, room: Room, start: IntArray, dry: IntArray) -> FloatArray | float:
    """Water (K, T) a film gives off from start to touch dry, kg/h."""
    if not task.water_kg_h:
        return 0.0
    index = np.arange(room.points)
    return np.where((index >= start[:, None]) & (index < dry[:, None]), task.water_kg_h, 0.0)


def evaluate(
    task: HeatedCoat,
    room: Room,
    candidates: Candidates,
    power_w: float,
    dry: IntArray | None = None,
    usual_w: FloatArray | None = None,
) -> EvaluatedStarts:
    """Run and judge candidates in one member of the weather.

    Parameters
    ----------
    task : HeatedCoat
    room : Room
        Of one member.
    candidates : Candidates
    power_w : float
        Of the heater.
    dry : ndarray of int, shape (K,), optional
        End of each candidate's airing, where the task asks for it.
    usual_w : ndarray, shape (T,), optional
        From `routine_w`, if it is known already.

    Returns
    -------
    Judged
        Every limit kept with the margins of :attr:`curewindow.rules.limits.LimitKind.spare`.
    """
    if dry is None:
        dry = np.full(len(candidates), -1, np.int64)
    cost, end = start_costs(task, room, candidates, power_w, dry, usual_w)
    best = np.argmin(cost, axis=1)
    rows = np.arange(len(candidates))
    energy = cost[rows, best]
    none = ~np.isfinite(energy)
    return EvaluatedStarts(
        candidates,
        power_w,
        np.where(none, -1, best),
        np.where(none, -1, end[rows, best]),
        dry,
        energy,
        end[rows, np.maximum(candidates.start, 0)] >= room.points if task.tied else None,
    )


def start_costs(
    task: HeatedCoat,
    room: Room,
    candidates: Candidates,
    power_w: float,
    dry: IntArray,
    usual_w: FloatArray | None = None,
) -> tuple[FloatArray, IntArray]:
    """Heat that each start of each candidate takes, and its milestone.

    Parameters
    ----------
    task, room, candidates, power_w, dry, usual_w
        As for :func:`evaluate`.

    Returns
    -------
    kwh : ndarray, shape (K, T)
        Inf where a start does not keep every limit.
    end : ndarray of int, shape (K, T)
        Grid points of the room.
    """
    result = run(task, room, candidates, power_w, dry)
    usual = routine_w(room) if usual_w is None else usual_w
    shut = shut_of(task, room, candidates, power_w)
    return costs_in(task, room, candidates, result, usual, shut)


def run(
    task: HeatedCoat, room: Room, candidates: Candidates, power_w: float, dry: IntArray
) -> SpaceResult:
    """Run candidates, a row each, heat held on to the end of the room."""
    return heated(
        room,
        schedule_c(room, candidates),
        power_w=power_w,
        air_changes_h=aired_h(task, room, candidates, dry),
        moisture_kg_h=water_kg_h(task, room, candidates.start, dry),
    )


def shut_of(
    task: HeatedCoat, room: Room, candidates: Candidates, power_w: float, *, margins: bool = True
) -> tuple[BoolArray, IntArray] | None:
    """Their starts in the space shut (:func:`shut_starts`); None: the coat changes no air."""
    if not task.tied:
        return None
    own = own_air_changes(room, candidates.vents)
    return shut_starts(task, room, schedule_c(room, candidates), own, power_w, margins=margins)


def costs_in(
    task: HeatedCoat,
    room: Room,
    candidates: Candidates,
    result: SpaceResult,
    usual_w: FloatArray,
    shut: tuple[BoolArray, IntArray] | None,
) -> tuple[FloatArray, IntArray]:
    """As :func:`start_costs`, of candidates that have been run.

    ``shut``: from :func:`shut_in` or :func:`shut_starts`, of a task that is tied.
    """
    verdict = verdict_of(task, room, result)
    ok = good_starts(task, room, result, verdict)
    offset = verdict.points - room.points
    ok, end = ok[:, offset:], verdict.setting_end[:, offset:] - offset
    index = np.arange(room.points)
    if shut is not None:
        ok, end = ok & shut[0], np.maximum(end, shut[1])
    ok &= index >= candidates.light[:, None]
    ok &= room.run_allowed(candidates.light[:, None], end)
    if task.tied:
        ok &= index == candidates.start[:, None]
    spent = heat_up_to(room, result, usual_w)
    cost = np.where(ok, np.take_along_axis(spent, np.minimum(end, room.points - 1), axis=1), np.inf)
    return cost, end


def shut_starts(
    task: HeatedCoat,
    room: Room,
    setpoint_c: FloatArray,
    air_changes_h: FloatArray,
    power_w: float,
    *,
    margins: bool = True,
) -> tuple[BoolArray, IntArray]:
    """Starts that also hold with the space heated but not aired, and nothing given off.

    The day sheet tells a start only where it holds both ways (`windows.given_off`): who airs less
    than is asked for is not to find his coat spoilt. Heat is told for no other.

    Returns
    -------
    ok : ndarray of bool, shape (K, T)
    end : ndarray of int, shape (K, T)
        The milestone, grid points of the room.
    """
    result = heated(room, setpoint_c, power_w=power_w, air_changes_h=air_changes_h)
    return shut_in(task, room, result, margins=margins)


def shut_in(
    task: HeatedCoat, room: Room, result: SpaceResult, *, margins: bool = True
) -> tuple[BoolArray, IntArray]:
    """As :func:`shut_starts`, of what has been run."""
    verdict = verdict_of(task, room, result)
    offset = verdict.points - room.points
    ok = good_starts(task, room, result, verdict, margins=margins)
    return ok[:, offset:], verdict.setting_end[:, offset:] - offset


def heat_up_to(room: Room, result: SpaceResult, usual_w: FloatArray) -> FloatArray:
    """Heat up to each point beyond what the routine gives anyway, `routine_w` (K, T) [kWh]."""
    more = np.nan_to_num(result.heat_w) - usual_w
    spent = np.zeros(more.shape)
    np.cumsum(more[:, :-1] * room.step_h / 1000.0, axis=1, out=spent[:, 1:])
    return spent


@lru_cache(maxsize=16)  # a room is itself alone: it is told apart by which one it is
def routine_w(room: Room) -> FloatArray:
    """Heat of the usual routine (T,) [W]; room of one member."""
    if np.isnan(room.routine_c).all():
        return np.zeros(room.points)
    heat: FloatArray = np.nan_to_num(routine_heat_w(room)[0])
    return heat


def verdict_of(task: HeatedCoat, room: Room, result: SpaceResult) -> Verdict:
    """Judge a heated room's runs, each row a member; with the past where a coat is below."""
    since = room.first
    if task.below is not None:
        since = int(np.clip(np.floor(position(task.base, task.below.first_stroke)), 0, since))
    series = series_of(task, room, result, since)
    return judge(
        series,
        task.sheet,
        task.hands_on_h,
        hours_ok=task.hours_ok[since : since + len(series.times)],
        bare_wood=task.bare_wood,
        earliest=task.earliest,
        latest=task.latest,
    )


def good_starts(
    task: HeatedCoat, room: Room, result: SpaceResult, verdict: Verdict, *, margins: bool = True
) -> BoolArray:
    """True where a start keeps all there is to keep, shape (K, points of the verdict)."""
    ok = verdict.ok.copy()
    offset = verdict.points - room.points
    for track in verdict.tracks if margins else ():
        close = next_bad(~(track.margin >= track.kind.spare))
        ok &= close > verdict.span_end(track)
    if task.job.panel is not None:
        wet = result.condensate_kg_m2[room.panel_index(task.job.panel)] > DRY_KG_M2
        ok[:, offset:] &= ~wet
    if task.by_bedtime:
        ok &= verdict.setting_end <= bedtimes(task, verdict.series)
    if task.below is not None:
        ok &= recoat_allowed(task.below, verdict)
    ok[:, :offset] = False
    return ok


def recoat_allowed(below: Below, verdict: Verdict) -> BoolArray:
    """True where the coat below, heated along, may be recoated; shape (K, points)."""
    model = CureModel(below.sheet, verdict.series)
    first, last = (
        np.array([max(position(verdict.series, at), 0.0)])
        for at in (below.first_stroke, below.last_stroke)
    )
    index = np.arange(verdict.points)
    allowed: BoolArray = index >= _beyond(model.recoat_end(below.rule, "from", last, "slow"))
    if below.binding and below.rule.recoat.until is not None:
        allowed &= index <= _beyond(model.recoat_end(below.rule, "until", first, "quick"))
    return allowed


def _beyond(index: FloatArray) -> FloatArray:
    return np.where(np.isnan(index), np.inf, index)
