"""The search: which setpoint, lit when, with which ventilation, takes the least heat."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Final

import numpy as np

from curewindow.boat.schema import Ventilation
from curewindow.conditions.routine import VENTILATION
from curewindow.curing import IntArray
from curewindow.heating.aired import evaluate_aired
from curewindow.heating.evaluate import Candidates, Judged, evaluate
from curewindow.heating.room import Room, up_to
from curewindow.heating.task import Task
from curewindow.rules.limits import AIR, MIXED, TIN
from curewindow.series import FloatArray
from curewindow.windows.grid import at_index, first_at_or_after

LOOK_H: Final = 72.0
"""A plan begins its coat within this long from the earliest moment it may."""
SETTING_H: Final = 72.0
"""Room behind the last start for the film to set in."""
WARMEST_C: Final = 30.0
"""No plan goes above it: who works there sweats, and the film skins (estimate)."""
_COOLEST_C: Final = 6.0


@dataclass(frozen=True, slots=True)
class Effort:
    """How finely is searched.

    Attributes
    ----------
    setpoints : int
        Most setpoints tried.
    light_every_h : float
        Between lighting times.
    start_every_h : float
        Between starts of a day, where a start ties the airing.
    leads_h : tuple of float
        Hours of heat before such a start.
    refined : bool
        Lit to the grid step and set to half a degree around the best.
    ventilation : tuple of str
        States of the vents tried.
    """

    setpoints: int
    light_every_h: float
    start_every_h: float
    leads_h: tuple[float, ...]
    refined: bool = True
    ventilation: tuple[Ventilation, ...] = tuple(VENTILATION)


QUICK: Final = Effort(4, 8.0, 4.0, (0.5, 4.0, 16.0), refined=False)
AT_A_GLANCE: Final = Effort(4, 6.0, 4.0, (0.5, 4.0, 16.0), ventilation=("normal", "open"))
USUAL: Final = Effort(8, 4.0, 2.0, (0.5, 1.5, 4.0, 9.0, 16.0, 28.0))
FINE: Final = Effort(12, 2.0, 2.0, (0.5, 1.5, 4.0, 9.0, 16.0, 28.0, 40.0))


@dataclass(frozen=True, slots=True)
class Choice:
    """The way chosen, in grid points of the room.

    ``dry``: end of the airing, -1 without. ``energy_kwh``: heat beyond the routine's.
    """

    setpoint_c: float
    light: int
    start: int
    end: int
    dry: int
    ventilation: Ventilation
    power_w: float
    energy_kwh: float


def setpoint_range(task: Task) -> tuple[float, float]:
    """Lowest and highest setpoint worth trying: what the sheet's limits leave, with margin."""
    lows, highs = [_COOLEST_C], [WARMEST_C]
    for phase, limits in (("applying", task.sheet.applying), ("setting", task.sheet.setting)):
        for kind in (AIR, TIN, MIXED):
            if phase in kind.phases:
                asked = kind.form.asks(limits, phase)
                lows += [ask.limit + kind.spare for ask in asked if ask.bound == "min"]
                highs += [ask.limit - kind.spare for ask in asked if ask.bound == "max"]
    low, high = max(lows), min(highs)
    return low, max(high, low)


def setpoints_to_try(task: Task, wanted_c: float | None, count: int) -> FloatArray:
    """Setpoints, at most ``count``, the lowest and the highest among them."""
    if wanted_c is not None:
        return np.array([wanted_c])
    low, high = setpoint_range(task)
    steps = max(2, min(count, round((high - low) / 0.5) + 1))
    return np.unique(np.round(np.linspace(low, high, steps) * 2.0) / 2.0)


def search(
    task: Task,
    room: Room,
    *,
    setpoint_c: float | None = None,
    power_w: float | None = None,
    look_h: float = LOOK_H,
    effort: Effort = USUAL,
    ventilation: tuple[Ventilation, ...] | None = None,
) -> Choice | None:
    """Find the way to heat that keeps every limit with a margin for the least heat.

    Parameters
    ----------
    task : Task
    room : Room
        Of one member of the weather.
    setpoint_c : float, optional
        Only this one.
    power_w : float, optional
        Else the heater's.
    look_h : float
        How long from the earliest moment on a coat may be begun.
    effort : Effort
        How finely to search.
    ventilation : tuple of str, optional
        States of the vents to try, instead of the effort's.

    Returns
    -------
    Choice or None
    """
    power = room.power_w if power_w is None else power_w
    begin = max(first_at_or_after(task.base, task.earliest) - room.first, 0)
    look = begin + round(look_h / room.step_h)
    if begin >= room.points or power <= 0.0:
        return None
    short = up_to(room, look + round(SETTING_H / room.step_h) + 1)
    look = min(look, short.points - 1)
    latest = task.base.times[min(room.first + look, len(task.base.times) - 1)]
    bounded = _until(task, latest)
    setpoints = setpoints_to_try(task, setpoint_c, effort.setpoints)
    if task.tied:
        candidates = _tied(bounded, short, setpoints, begin, look, effort)
    else:
        every = max(round(effort.light_every_h / room.step_h), 1)
        lights = np.arange(0, look, every, dtype=np.int64)
        candidates = _crossed(setpoints, lights)
    if not len(candidates):
        return None
    best: Choice | None = None
    for state in room.vents_allowed(ventilation or effort.ventilation):
        spent = np.inf if best is None else best.energy_kwh
        best = least(_evaluated(bounded, short, candidates, state, power, spent), best)
    if best is None or not effort.refined:
        return best
    return _refined(bounded, short, best, setpoint_c, effort)


def _evaluated(
    task: Task,
    room: Room,
    candidates: Candidates,
    ventilation: Ventilation,
    power_w: float,
    least_kwh: float = np.inf,
) -> Judged:
    if task.tied:
        return evaluate_aired(task, room, candidates, ventilation, power_w, least_kwh)
    return evaluate(task, room, candidates, ventilation, power_w)


def least(judged: Judged, best: Choice | None = None) -> Choice | None:
    """The candidate that takes the least heat, of equals the one lit last; else ``best``."""
    if not np.isfinite(judged.energy_kwh).any():
        return best
    order = np.lexsort((-judged.candidates.light, np.round(judged.energy_kwh, 6)))
    choice = _choice(judged, int(order[0]))
    return choice if best is None or choice.energy_kwh < best.energy_kwh - 1e-9 else best


def latest_lighting(task: Task, room: Room, choice: Choice) -> int:
    """Last grid point at which the heater may be lit for the plan's start and setpoint."""
    lights = np.arange(choice.light, choice.start + 1, dtype=np.int64)
    short = up_to(room, choice.end + round(SETTING_H / room.step_h) + 1)
    candidates = Candidates(
        np.full(len(lights), choice.setpoint_c), lights, np.full(len(lights), choice.start)
    )
    only = _only_at(task, room, choice.start)
    judged = _evaluated(only, short, candidates, choice.ventilation, choice.power_w)
    works = np.isfinite(judged.energy_kwh)
    return int(lights[np.flatnonzero(works)[-1]]) if works.any() else choice.light


def _choice(judged: Judged, row: int) -> Choice:
    return Choice(
        setpoint_c=float(judged.candidates.setpoint_c[row]),
        light=int(judged.candidates.light[row]),
        start=int(judged.start[row]),
        end=int(judged.end[row]),
        dry=int(judged.dry[row]),
        ventilation=judged.ventilation,
        power_w=judged.power_w,
        energy_kwh=float(judged.energy_kwh[row]),
    )


def _until(task: Task, latest: np.datetime64) -> Task:
    index = int(np.searchsorted(task.base.times, latest, side="right")) - 1
    bound = at_index(task.base, index)
    return replace(task, latest=bound if task.latest is None else min(bound, task.latest))


def _only_at(task: Task, room: Room, start: int) -> Task:
    moment = at_index(task.base, room.first + start)
    return replace(task, earliest=moment, latest=moment + timedelta(seconds=1))


def _crossed(setpoints: FloatArray, lights: IntArray) -> Candidates:
    grid = np.meshgrid(setpoints, lights, indexing="ij")
    light = grid[1].ravel().astype(np.int64)
    return Candidates(grid[0].ravel(), light, np.full(light.shape, -1, np.int64))


def _tied(
    task: Task, room: Room, setpoints: FloatArray, begin: int, look: int, effort: Effort
) -> Candidates:
    """Setpoints by starts by hours of heat before them."""
    hands = int(np.ceil(task.hands_on_h / room.step_h - 1e-9))
    hours = task.hours_ok[room.first :]
    fits = {
        index
        for index in range(begin, min(look + 1, room.points - hands))
        if hours[index : index + hands + 1].all()
    }
    spacing = max(round(effort.start_every_h / room.step_h), 1)
    starts: list[int] = []
    for index in sorted(fits):
        # the first of each stretch aboard, then every so often
        if not starts or index - starts[-1] >= spacing or index - 1 not in fits:
            starts.append(index)
    pairs = sorted(
        {
            (start, max(start - round(lead / room.step_h), 0))
            for start in starts
            for lead in effort.leads_h
        }
    )
    rows = [(setpoint, light, start) for setpoint in setpoints for start, light in pairs]
    if not rows:
        return Candidates(np.zeros(0), np.zeros(0, np.int64), np.zeros(0, np.int64))
    table = np.array(rows)
    return Candidates(table[:, 0], table[:, 1].astype(np.int64), table[:, 2].astype(np.int64))


def _refined(
    task: Task, room: Room, best: Choice, setpoint_c: float | None, effort: Effort
) -> Choice:
    """Lit and set more finely around the best, with its ventilation; never worse than it."""
    later = round(effort.light_every_h / room.step_h)
    tied = task.tied
    last = best.start if tied else max(best.start, best.light)
    for _ in range(2):
        lights = np.arange(best.light, min(best.light + later, last) + 1, dtype=np.int64)
        around = [best.setpoint_c]
        if setpoint_c is None:
            low, high = setpoint_range(task)
            near = best.setpoint_c + np.array([-2.0, -1.0, -0.5, 0.5, 1.0])
            around += [float(value) for value in near if low <= value <= high]
        candidates = _crossed(np.array(around), lights)
        if tied:
            candidates = Candidates(
                candidates.setpoint_c,
                candidates.light,
                np.full(len(candidates), best.start, np.int64),
            )
        near_best = _evaluated(
            task, room, candidates, best.ventilation, best.power_w, best.energy_kwh
        )
        choice = least(near_best, best)
        if choice is best or choice is None:
            break
        best = choice
        last = max(best.start, best.light) if not tied else best.start
    return best
