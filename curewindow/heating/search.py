"""The search: which setpoint, lit when, with which ventilation, takes the least heat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Final

import numpy as np

from curewindow.boat.schema import Ventilation
from curewindow.curing import IntArray
from curewindow.heating.aired import evaluate_aired
from curewindow.heating.choice import LOOK_H, Choice
from curewindow.heating.coat import HeatedCoat
from curewindow.heating.evaluate import VENTS, Candidates, EvaluatedStarts, evaluate
from curewindow.heating.room import Room, up_to
from curewindow.rules.limits import AIR, MIXED, TIN
from curewindow.series import BoolArray, FloatArray
from curewindow.windows.grid import at_index, first_at_or_after, last_at_or_before

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
        Between lighting times, besides the first and the last of each stretch aboard.
    start_every_h : float
        Between starts of a day, where a start ties the airing.
    leads_h : tuple of float
        Hours of heat before such a start.
    refined : bool
        Lit to the grid step and set to half a degree around the best.
    """

    setpoints: int
    light_every_h: float
    start_every_h: float
    leads_h: tuple[float, ...]
    refined: bool = True


ROUGH: Final = Effort(4, 8.0, 4.0, (0.5, 4.0, 16.0), refined=False)
"""Whether there is a way at all: for what is only thought of."""
USUAL: Final = Effort(4, 6.0, 4.0, (0.5, 4.0, 16.0))
FINE: Final = Effort(8, 3.0, 2.0, (0.5, 1.5, 4.0, 9.0, 16.0, 28.0, 52.0, 100.0))
_AT_ONCE: Final = 432
"""Columns of one run: more gain nothing by company."""


def setpoint_range(task: HeatedCoat) -> tuple[float, float]:
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


def setpoints_to_try(task: HeatedCoat, wanted_c: float | None, count: int) -> FloatArray:
    """Setpoints, at most ``count``, the lowest and the highest among them."""
    if wanted_c is not None:
        return np.array([wanted_c])
    low, high = setpoint_range(task)
    steps = max(2, min(count, round((high - low) / 0.5) + 1))
    return np.unique(np.round(np.linspace(low, high, steps) * 2.0) / 2.0)


def search(
    task: HeatedCoat,
    room: Room,
    *,
    setpoint_c: float | None = None,
    power_w: float | None = None,
    look_h: float = LOOK_H,
    effort: Effort = USUAL,
    ventilation: tuple[Ventilation, ...] = VENTS,
) -> Choice | None:
    """Find the way to heat that keeps every limit with a margin for the least heat.

    Parameters
    ----------
    task : HeatedCoat
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
    ventilation : tuple of str
        States of the vents to try.

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
    # Whoever asks for one start asks for no heat behind it.
    look = min(look, begin + _starts_for(task, room, begin))
    lights = light_points(task, short, look, effort.light_every_h)
    allowed = room.vents_allowed(ventilation)
    states = np.array([VENTS.index(state) for state in allowed], dtype=np.int64)
    if task.tied:
        candidates = _tied(bounded, short, setpoints, states, begin, look, effort)
    else:
        candidates = crossed(setpoints, lights, states)
    if not len(candidates):
        return None
    best = least(_evaluated(bounded, short, candidates, power))
    if best is None or not effort.refined:
        return best
    return _refined(bounded, short, best, setpoint_c, effort)


def _starts_for(task: HeatedCoat, room: Room, begin: int) -> int:
    """Grid points from the first start a coat may have to its last."""
    if task.latest is None:
        return room.points
    last = last_at_or_before(task.base, task.latest) - room.first
    return max(last - begin, 0)


def can_light(task: HeatedCoat, room: Room) -> BoolArray:
    """Grid points at which someone is aboard to light a heater that works, shape (T,)."""
    found: BoolArray = _aboard(task, room) & ~room.out_of_order
    return found


def _aboard(task: HeatedCoat, room: Room) -> BoolArray:
    return task.hours_ok[room.first : room.first + room.points]


def light_points(task: HeatedCoat, room: Room, last: int, every_h: float) -> IntArray:
    """Grid points to light at: first and last of each stretch aboard, and every so often.

    Counted from midnight and not from now, so that an hour later they are the same.
    """
    here = can_light(task, room)
    seconds = room.times.astype("datetime64[s]").astype(np.int64)
    even = seconds % max(round(every_h * 3600.0), 1) == 0
    before, after = np.roll(here, 1), np.roll(here, -1)
    before[0] = after[-1] = False
    found = np.flatnonzero(here & (even | ~before | ~after))
    return found[found < max(last, 1)].astype(np.int64)


def _evaluated(
    task: HeatedCoat, room: Room, candidates: Candidates, power_w: float, least_kwh: float = np.inf
) -> EvaluatedStarts:
    if task.tied:
        return evaluate_aired(task, room, candidates, power_w, least_kwh)
    parts = [
        evaluate(
            task,
            room,
            candidates.picked(np.arange(first, min(first + _AT_ONCE, len(candidates)))),
            power_w,
        )
        for first in range(0, len(candidates), _AT_ONCE)
    ]
    return EvaluatedStarts(
        candidates,
        power_w,
        np.concatenate([part.start for part in parts]),
        np.concatenate([part.end for part in parts]),
        np.concatenate([part.dry for part in parts]),
        np.concatenate([part.energy_kwh for part in parts]),
    )


def least(judged: EvaluatedStarts, best: Choice | None = None) -> Choice | None:
    """The candidate that takes the least heat, of equals the one lit last; else ``best``."""
    if not np.isfinite(judged.energy_kwh).any():
        return best
    order = np.lexsort((-judged.candidates.light, np.round(judged.energy_kwh, 6)))
    choice = _choice(judged, int(order[0]))
    return choice if best is None or choice.energy_kwh < best.energy_kwh - 1e-9 else best


def latest_light(task: HeatedCoat, room: Room, choice: Choice) -> int:
    """Last grid point at which the heater may be lit for the plan's start and setpoint."""
    short = up_to(room, choice.end + round(SETTING_H / room.step_h) + 1)
    lights = np.arange(choice.light, choice.start + 1, dtype=np.int64)
    lights = lights[can_light(task, short)[lights]]
    if not lights.size:
        return choice.light
    candidates = _around(choice, np.array([choice.setpoint_c]), lights, tied=True)
    only = _only_at(task, room, choice.start)
    judged = _evaluated(only, short, candidates, choice.power_w)
    works = np.isfinite(judged.energy_kwh)
    return int(lights[np.flatnonzero(works)[-1]]) if works.any() else choice.light


def _choice(judged: EvaluatedStarts, row: int) -> Choice:
    return Choice(
        setpoint_c=float(judged.candidates.setpoint_c[row]),
        light=int(judged.candidates.light[row]),
        start=int(judged.start[row]),
        end=int(judged.end[row]),
        dry=int(judged.dry[row]),
        ventilation=VENTS[int(judged.candidates.vents[row])],
        power_w=judged.power_w,
        energy_kwh=float(judged.energy_kwh[row]),
    )


def _until(task: HeatedCoat, latest: np.datetime64) -> HeatedCoat:
    index = int(np.searchsorted(task.base.times, latest, side="right")) - 1
    bound = at_index(task.base, index)
    return replace(task, latest=bound if task.latest is None else min(bound, task.latest))


def _only_at(task: HeatedCoat, room: Room, start: int) -> HeatedCoat:
    moment = at_index(task.base, room.first + start)
    return replace(task, earliest=moment, latest=moment + timedelta(seconds=1))


def crossed(setpoints: FloatArray, lights: IntArray, vents: IntArray) -> Candidates:
    grid = np.meshgrid(setpoints, lights, vents, indexing="ij")
    light = grid[1].ravel().astype(np.int64)
    return Candidates(
        grid[0].ravel(),
        light,
        np.full(light.shape, -1, np.int64),
        grid[2].ravel().astype(np.int64),
    )


def _around(choice: Choice, setpoints: FloatArray, lights: IntArray, *, tied: bool) -> Candidates:
    """Other setpoints and lighting times with a choice's vents, and with its start if tied."""
    vents = np.array([VENTS.index(choice.ventilation)], dtype=np.int64)
    found = crossed(setpoints, lights, vents)
    return replace(found, start=np.full(len(found), choice.start, np.int64)) if tied else found


def _tied(
    task: HeatedCoat,
    room: Room,
    setpoints: FloatArray,
    vents: IntArray,
    begin: int,
    look: int,
    effort: Effort,
) -> Candidates:
    """Setpoints and vents by starts by hours of heat before them, lit while someone is aboard."""
    starts = starts_to_try(task, room, begin, look, effort.start_every_h)
    return tied_to(task, room, starts, setpoints, vents, effort.leads_h)


def starts_to_try(task: HeatedCoat, room: Room, begin: int, look: int, every_h: float) -> list[int]:
    """Starts in the owner's hours: first and last of each stretch aboard, and every so often."""
    hands = int(np.ceil(task.hands_on_h / room.step_h - 1e-9))
    here = _aboard(task, room)
    seconds = room.times.astype("datetime64[s]").astype(np.int64)
    even = seconds % max(round(every_h * 3600.0), 1) == 0
    last = min(look + 1, room.points - hands)
    fits = [index for index in range(begin, last) if here[index : index + hands + 1].all()]
    known = set(fits)
    return [
        index for index in fits if even[index] or index - 1 not in known or index + 1 not in known
    ]


def tied_to(
    task: HeatedCoat,
    room: Room,
    starts: Sequence[int],
    setpoints: FloatArray,
    vents: IntArray,
    leads_h: tuple[float, ...],
) -> Candidates:
    """Each start by setpoints, vents and hours of heat before it, lit while someone is aboard."""
    points = np.flatnonzero(can_light(task, room))
    pairs: set[tuple[int, int]] = set()
    for start in starts:
        for lead in leads_h:
            wanted = max(start - round(lead / room.step_h), 0)
            at = int(np.searchsorted(points, wanted, side="right"))
            # where nobody is aboard so long before: when they leave, or when they come
            near = points[max(at - 1, 0) : at + 1]
            pairs |= {(start, int(light)) for light in near if light <= start}
    rows = [
        (setpoint, light, start, state)
        for setpoint in setpoints
        for start, light in sorted(pairs)
        for state in vents
    ]
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    return Candidates(
        table[:, 0],
        table[:, 1].astype(np.int64),
        table[:, 2].astype(np.int64),
        table[:, 3].astype(np.int64),
    )


def _refined(
    task: HeatedCoat, room: Room, best: Choice, setpoint_c: float | None, effort: Effort
) -> Choice:
    """Lit and set more finely around a choice, with its ventilation; never worse than it."""
    later = round(effort.light_every_h / room.step_h)
    here = can_light(task, room)
    for _ in range(2):
        last = best.start if task.tied else max(best.start, best.light)
        lights = np.arange(best.light, min(best.light + later, last) + 1, dtype=np.int64)
        lights = lights[here[lights]]
        around = [best.setpoint_c]
        if setpoint_c is None:
            low, high = setpoint_range(task)
            near = best.setpoint_c + np.array([-2.0, -1.0, -0.5, 0.5, 1.0])
            around += [float(value) for value in near if low <= value <= high]
        candidates = _around(best, np.array(around), lights, tied=task.tied)
        near_best = _evaluated(task, room, candidates, best.power_w, best.energy_kwh)
        choice = least(near_best, best)
        if choice is best or choice is None:
            break
        best = choice
    return best
