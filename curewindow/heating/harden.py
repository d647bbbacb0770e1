"""Heat over a film that is on: which run brings the next step forward, for how much.

A film hardens as slowly as it is cold, for days on end after the heat that opened its start is
off. What is put on next needs no heat of its own then, only the film below far enough along.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import numpy as np

from curewindow.curing import CureModel, IntArray, RecoatRule
from curewindow.heating.coat import HeatedCoat, series_of
from curewindow.heating.evaluate import heat_up_to, routine_w
from curewindow.heating.room import Room, heated, of_member, of_rows
from curewindow.heating.search import can_light, light_points, setpoint_range, setpoints_to_try
from curewindow.physics.balance import SpaceResult
from curewindow.rules.milestones import Milestones
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.windows.grid import next_bad, position
from curewindow.windows.limits import limit_tracks

LIT_WITHIN_H: Final = 48.0
"""What is lit in days to come is decided by the weather of then."""
A_DAY_H: Final = 24.0
"""Sooner by less is no reason to light a fire (a judgement of ours, no source)."""
_LIGHT_EVERY_H: Final = 6.0
_SETPOINTS: Final = 4
_HOLDS_FROM: Final = 3
"""Of so many of the best runs it is looked at whether they may end sooner."""
_KEPT: Final = 3
_LIGHTS_TRIED: Final = 12
_HELD_BEHIND_H: Final = 0.5
LIT_LATE_H: Final = 3.0
"""Who lights it so much later goes on at the time told all the same."""


@dataclass(frozen=True, slots=True, eq=False)
class HardeningFilm:
    """A film that is on where heat is thought of.

    Attributes
    ----------
    task : HeatedCoat
        The film as the coat it was; its ``base`` is how its surface goes on as things are.
    first_stroke, last_stroke : datetime
    names : tuple of str
        The first of these milestones its sheet has is waited for; none: only its limits count.
    rule : RecoatRule or None
        Its 'from' is waited for.
    """

    task: HeatedCoat
    first_stroke: datetime
    last_stroke: datetime
    names: Milestones = ()
    rule: RecoatRule | None = None


@dataclass(frozen=True, slots=True, eq=False)
class NextWork:
    """What the films are waited for with.

    Attributes
    ----------
    here : ndarray of bool, shape (T,)
        Grid points of the room at which it may be begun, were the films far enough along.
    day_kwh : float
        What a day sooner is worth in heat.
    """

    here: BoolArray
    day_kwh: float


@dataclass(frozen=True, slots=True)
class HardeningRun:
    """A heater run over films that are on, in grid points of the room.

    ``end``: the heat goes off. ``ripe``: all films are as far as they have to be. ``begin``: the
    next step begins, and ``otherwise`` without the run. ``energy_kwh``: beyond the routine's.
    """

    setpoint_c: float
    light: int
    end: int
    ripe: int
    begin: int
    otherwise: int
    energy_kwh: float


@dataclass(frozen=True, slots=True, eq=False)
class ProvedHardening:
    """A run in every member of the weather.

    Attributes
    ----------
    run : HardeningRun
    result, usual : SpaceResult
        With it, and by the routine alone.
    share : float
        Of the members: in so many the limits of the films are kept; 0: they are not ripe in all.
    """

    run: HardeningRun
    result: SpaceResult
    usual: SpaceResult
    share: float


def hardening_runs(
    films: Sequence[HardeningFilm],
    room: Room,
    work: NextWork,
    lights: BoolArray,
    setpoint_c: float | None = None,
) -> list[HardeningRun]:
    """The runs that bring the next step forward by a day or more, what is worth most first.

    Parameters
    ----------
    films : sequence of HardeningFilm
        All that lie there and have not set, and those that are waited for.
    room : Room
        Of one member of the weather.
    work : NextWork
    lights : ndarray of bool, shape (T,)
        Where the heater may be lit at all.
    setpoint_c : float, optional
        Only this one.

    Returns
    -------
    list of HardeningRun
        One for each moment the next step might begin at; each is worth more than it takes.
    """
    soon = round(LIT_WITHIN_H / room.step_h)
    points = light_points(films[0].task, room, soon, _LIGHT_EVERY_H)
    points = points[lights[points]]
    setpoints = _setpoints(films, setpoint_c)
    if not points.size or not setpoints.size or room.power_w <= 0.0:
        return []
    last = _allowed_until(room)
    grid = np.meshgrid(setpoints, points, indexing="ij")
    setpoint, light = grid[0].ravel(), grid[1].ravel().astype(np.int64)
    looked = _looked_at(films, room, work, setpoint, light, last[light])
    near = [each for run in looked[:_HOLDS_FROM] for each in _near(films, room, run, setpoints)]
    if near:
        between, lit, until = (np.array(column) for column in zip(*near, strict=True))
        again = _looked_at(films, room, work, between, lit, np.minimum(until, last[lit]))
        looked = sorted([*looked, *again], key=lambda run: _rank(run, room, work))
    found: dict[int, HardeningRun] = {}
    for run in looked:
        found.setdefault(run.begin, run)
    return list(found.values())[:_KEPT]


def prove_hardening(
    films: Sequence[HardeningFilm], room: Room, work: NextWork, run: HardeningRun
) -> ProvedHardening:
    """A run in every member of the weather, held until the slowest film in any of them is ripe.

    Parameters
    ----------
    films, work
        As for :func:`hardening_runs`.
    room : Room
        Of all members.
    run : HardeningRun
        Found in one of them.
    """
    members = room.members
    setpoint, light = np.full(members, run.setpoint_c), np.full(members, run.light)
    to_the_end = run.ripe <= run.end
    most = int(_allowed_until(room)[run.light]) if to_the_end else run.end
    result = _run(room, setpoint, light, np.full(members, most))
    ripe = _ripe(films, room, result)
    end = most
    if to_the_end and (ripe < room.points).any():
        end = min(most, int(ripe[ripe < room.points].max()) + _behind(room))
        result = _run(room, setpoint, light, np.full(members, end))
    usual = heated(room, room.routine_c)
    good = _limits_kept(films, room, result, usual, light, spare=False)
    # A film counts as ripe where it is in every member: so the judgement has it.
    last = int(ripe.max()) + round(LIT_LATE_H / room.step_h)
    begin = int(_begins(work, np.array([min(last, room.points - 1)]))[0])
    held = replace(run, end=end, ripe=int(ripe.max()), begin=begin)
    good &= last < room.points
    return ProvedHardening(held, result, usual, float(good.mean()))


def latest_light_of(
    films: Sequence[HardeningFilm], room: Room, proved: ProvedHardening, begin: int
) -> int:
    """Last grid point at which the heater may be lit for the step to begin at ``begin``.

    In the member the films take longest in.
    """
    run = proved.run
    slowest = int(np.argmax(_ripe(films, room, proved.result)))
    one = of_member(room, slowest)
    here = can_light(films[0].task, one)
    here[: run.light] = False
    here[max(min(run.end, begin), run.light + 1) :] = False
    lights = np.flatnonzero(here).astype(np.int64)
    while lights.size:
        some = lights[np.unique(np.linspace(0, lights.size - 1, _LIGHTS_TRIED).astype(np.int64))]
        each = np.full(some.size, run.setpoint_c)
        result = _run(one, each, some, np.full(some.size, run.end))
        in_time = np.flatnonzero(_ripe(films, one, result) <= begin)
        if not in_time.size:
            return run.light
        last = int(in_time[-1])
        if last == some.size - 1 or lights.size <= _LIGHTS_TRIED:
            return int(some[last])
        lights = lights[(lights >= some[last]) & (lights < some[last + 1])]
    return run.light


def _setpoints(films: Sequence[HardeningFilm], wanted_c: float | None) -> FloatArray:
    """Setpoints that every film there bears, at most a few."""
    if wanted_c is not None:
        return np.array([wanted_c])
    tasks = [film.task for film in films]
    most = min(setpoint_range(task)[1] for task in tasks)
    tried = setpoints_to_try(tasks[0], None, _SETPOINTS)
    found: FloatArray = tried[tried <= most]
    return found


def _allowed_until(room: Room) -> IntArray:
    """Last grid point to which its heater may be alight without a break, from each one."""
    if room.may_run is None:
        return np.full(room.points, room.points - 1, np.int64)
    return np.asarray(next_bad(~room.may_run) - 1, dtype=np.int64)


def _near(
    films: Sequence[HardeningFilm], room: Room, run: HardeningRun, setpoints_c: FloatArray
) -> list[tuple[float, int, int]]:
    """Runs like one that may do as well for less: setpoint, lighting, and until when at most.

    Set between those tried; and put out by whoever leaves before it is over.
    """
    here = can_light(films[0].task, room)
    leaves = np.flatnonzero((here & ~np.append(here[1:], False))[: run.end])
    shorter = [(run.setpoint_c, run.light, int(end)) for end in leaves if end > run.light]
    if setpoints_c.size < 2:
        return shorter
    half = float(np.diff(setpoints_c).min()) / 2.0
    low, high = float(setpoints_c.min()), float(setpoints_c.max())
    beside = [round(2.0 * (run.setpoint_c + more)) / 2.0 for more in (-half, half)]
    return shorter + [(at, run.light, room.points - 1) for at in beside if low < at < high]


def _looked_at(
    films: Sequence[HardeningFilm],
    room: Room,
    work: NextWork,
    setpoint_c: FloatArray,
    light: IntArray,
    until: IntArray,
) -> list[HardeningRun]:
    """Those of some runs, held no longer than ``until``, that are worth it; the best first."""
    held = until > light
    setpoint_c, light, until = setpoint_c[held], light[held], until[held]
    if not light.size:
        return []
    result = _run(room, setpoint_c, light, until)
    usual = heated(room, room.routine_c)
    ripe = _ripe(films, room, result)
    kept = _limits_kept(films, room, result, usual, light, spare=True)
    late = round(LIT_LATE_H / room.step_h)
    end = np.minimum(until, ripe + _behind(room))
    kwh = heat_up_to(room, result, routine_w(room))
    begin = _begins(work, np.minimum(ripe + late, room.points - 1))
    as_is = np.minimum(_ripe(films, room, usual), room.points - 1)
    otherwise = int(_begins(work, as_is)[0])
    rows = np.flatnonzero(kept & (ripe + late < room.points))
    runs = [
        HardeningRun(
            float(setpoint_c[row]),
            int(light[row]),
            int(end[row]),
            int(ripe[row]),
            int(begin[row]),
            otherwise,
            max(float(kwh[row, end[row]]), 0.0),
        )
        for row in rows
    ]
    worth = [run for run in runs if _worth_it(run, room, work)]
    return sorted(worth, key=lambda run: _rank(run, room, work))


def _worth_it(run: HardeningRun, room: Room, work: NextWork) -> bool:
    gained_h = (run.otherwise - run.begin) * room.step_h
    return gained_h >= A_DAY_H and _rank(run, room, work)[0] < 0.0


def _rank(run: HardeningRun, room: Room, work: NextWork) -> tuple[float, int]:
    """What a run takes less what the days are worth that it gains; then lit as late as may be."""
    days = (run.otherwise - run.begin) * room.step_h / 24.0
    return run.energy_kwh - work.day_kwh * days, -run.light


def _behind(room: Room) -> int:
    """Grid points for which the heat is held when the films are as far as asked for."""
    return round(_HELD_BEHIND_H / room.step_h)


def _run(room: Room, setpoint_c: FloatArray, light: IntArray, end: IntArray) -> SpaceResult:
    """Runs, a row each, each held from its lighting to its own end."""
    index = np.arange(room.points)
    lit = (index >= light[:, None]) & (index < end[:, None]) & ~room.out_of_order
    held = np.fmax(setpoint_c[:, None], room.routine_c)
    each = room if room.members == len(light) else of_rows(room, np.zeros(len(light), np.int64))
    return heated(each, np.where(lit, held, room.routine_c), power_w=room.power_w)


def _series(film: HardeningFilm, room: Room, result: SpaceResult) -> SurfaceSeries:
    """Conditions at a film's surface in runs, from its first stroke on."""
    first = int(np.floor(position(film.task.base, film.first_stroke)))
    rows = len(result.air_c)
    each = room if room.members == rows else of_rows(room, np.zeros(rows, np.int64))
    return series_of(film.task, each, result, int(np.clip(first, 0, room.first)))


def _ripe(films: Sequence[HardeningFilm], room: Room, result: SpaceResult) -> IntArray:
    """Grid point of the room at which all films are as far as asked for, (K,); T: not known."""
    latest = np.zeros(len(result.air_c))
    for film in films:
        if not film.names and film.rule is None:
            continue
        series = _series(film, room, result)
        model = CureModel(film.task.sheet, series)
        begun = np.array([max(position(series, film.last_stroke), 0.0)])
        ends = []
        if film.rule is not None:
            ends.append(model.recoat_end(film.rule, "from", begun, "slow"))
        ends += [
            model.milestone_end(name, begun, "slow")
            for name in [each for each in film.names if model.has(each)][:1]
        ]
        offset = len(series.times) - room.points
        for end in ends:
            reached = np.where(np.isnan(end[:, 0]), np.inf, np.ceil(end[:, 0]) - offset)
            latest = np.maximum(latest, reached)
    found: IntArray = np.minimum(latest, room.points).astype(np.int64)
    return found


def _limits_kept(
    films: Sequence[HardeningFilm],
    room: Room,
    result: SpaceResult,
    usual: SpaceResult,
    light: IntArray,
    *,
    spare: bool,
) -> BoolArray:
    """Runs that break no limit of a film that has not set, nor bring it nearer one, (K,).

    What is broken as things are is no fault of the heat that makes it better.
    """
    kept = np.ones(len(light), np.bool_)
    index = np.arange(room.points)
    for film in films:
        sheet = film.task.sheet
        series, as_is = _series(film, room, result), _series(film, room, usual)
        offset = len(series.times) - room.points
        begun = np.array([max(position(series, film.last_stroke), 0.0)])
        model = CureModel(sheet, series)
        ends = model.milestone_end(sheet.setting.until, begun, "slow")[:, 0] - offset
        ends = np.where(np.isnan(ends), room.points, ends)
        asked = (index >= light[:, None]) & (index <= ends[:, None])
        bare = film.task.bare_wood
        tracks = limit_tracks(series, sheet.setting, "setting", bare_wood=bare)
        before = limit_tracks(as_is, sheet.setting, "setting", bare_wood=bare)
        for track, other in zip(tracks, before, strict=True):
            least = np.minimum(other.margin[:, offset:], track.kind.spare if spare else 0.0)
            known = np.isfinite(other.margin[:, offset:])
            bad = known & ~(track.margin[:, offset:] >= least - 1e-6)
            kept &= ~(bad & asked).any(axis=1)
    return kept


def _begins(work: NextWork, ripe: IntArray) -> IntArray:
    """First grid point from each on at which the next step may begin; T: none."""
    points = len(work.here)
    found = np.full(points, points, np.int64)
    found[work.here] = np.flatnonzero(work.here)
    first: IntArray = np.minimum.accumulate(found[::-1])[::-1][ripe]
    return first
