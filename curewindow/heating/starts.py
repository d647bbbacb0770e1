"""Starts as things stand, each run with what the coat asks for and gives off.

Up to a start one run of the shut space serves all of them. From each start on a run of its
own: outside air for solvent vapour and the water of a waterborne film until touch dry,
then the space as it is again. All starts and members are columns of one run.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from curewindow.curing import CureModel, IntArray
from curewindow.heating.coat import HeatedCoat, laid_on, surface_of
from curewindow.heating.columns import columns, film_series, stretch, tin_in
from curewindow.heating.room import Room, heated, states_at, warm
from curewindow.physics.balance import SpaceResult
from curewindow.rules.tins import tin_asked
from curewindow.rules.uncertainty import MOST_SIGMAS
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Milestone
from curewindow.windows.confidence import sigmas
from curewindow.windows.grid import next_bad
from curewindow.windows.limits import LimitTrack, limit_tracks

DRY_WITHIN_H: Final = 36.0
"""A film not touch dry by then is not waited for with the hatches open."""
_SET_WITHIN_H: Final = 72.0
_RECOVERS_H: Final = 48.0
"""So long after the airing the space is followed before it counts as never aired."""
_LONGER: Final = (1.3, 2.5)  # than in the shut space it may take; the rest is run again


@dataclass(frozen=True, slots=True, eq=False)
class Habits:
    """How the space is heated and aired as things stand, broadcast to (M, T) of the room.

    ``power_w`` None: the heater's own.
    """

    setpoint_c: FloatArray
    air_changes_h: FloatArray | float
    power_w: FloatArray | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """Starts held against their own runs, C columns; grid points of the room.

    ok, dry, end, sure, track, at, value as in `windows.given_off.GivenOff`.
    """

    ok: BoolArray
    dry: IntArray
    end: IntArray
    sure: FloatArray
    track: IntArray
    at: IntArray
    value: FloatArray


def hold(
    task: HeatedCoat,
    room: Room,
    habits: Habits,
    before: SpaceResult,
    begin: IntArray,
    rows: IntArray,
) -> Held:
    """Hold starts against what their coat asks for and gives off.

    Parameters
    ----------
    task : HeatedCoat
        With its ``airing_m3_h`` and ``water_kg_h``.
    room : Room
        Of all members of the weather.
    habits : Habits
    before : SpaceResult
        The room as things stand, all the time known; from :func:`as_it_stands`.
    begin, rows : ndarray of int, shape (C,)
        Grid point of the room and member of each column.

    Returns
    -------
    Held
    """
    count = len(begin)
    held = Held(
        ok=np.zeros(count, np.bool_),
        dry=np.full(count, room.points),
        end=np.full(count, room.points),
        sure=np.full(count, -MOST_SIGMAS),
        track=np.full(count, -1),
        at=np.minimum(begin, room.points - 1),
        value=np.full(count, np.nan),
    )
    if not count:
        return held
    near, far, most = _looks(task, room, begin)
    todo = np.arange(count)
    for points in sorted({near, far, most}):
        films = _films(task, room, habits, before, begin[todo], rows[todo], points)
        _judge(task, films, held, todo)
        # Not dry within what was looked at: once more, for longer; what breaks a limit in the
        # time it may well take is looked at no further.
        again = ~films.is_dry
        if points >= far:
            again &= ~held.ok[todo] & (held.track[todo] < 0)
        todo = todo[again]
        if not todo.size:
            break
    return held


def courses_of(
    task: HeatedCoat, room: Room, habits: Habits, before: SpaceResult, starts: IntArray
) -> list[tuple[FloatArray, FloatArray, FloatArray, FloatArray]]:
    """Air, humidity, dew point and surface from each start on in every member, (M, L) each.

    ``starts`` are grid points of the room; L as far as the airing still tells, NaN beyond.
    """
    near, _, most = _looks(task, room, starts)
    after = round(_RECOVERS_H / room.step_h)
    found: dict[int, tuple[FloatArray, FloatArray, FloatArray, FloatArray]] = {}
    todo = np.arange(len(starts))
    for points in sorted({near, most}):
        rows = np.tile(np.arange(room.members), len(todo))
        begin = np.repeat(starts[todo], room.members)
        films = _films(task, room, habits, before, begin, rows, points, after)
        dry = films.is_dry.reshape(-1, room.members).all(axis=1) | (points == most)
        series = films.series
        for place in np.flatnonzero(dry):
            own = slice(place * room.members, (place + 1) * room.members)
            found[int(todo[place])] = (
                series.air_c[own],
                series.rh_pct[own],
                series.dew_point_c[own],
                series.surface_c[own],
            )
        todo = todo[~dry]
        if not todo.size:
            break
    return [found[number] for number in range(len(starts))]


@dataclass(frozen=True, slots=True, eq=False)
class _Films:
    """Columns run: conditions from the first stroke on, and how far the film has come."""

    begin: IntArray
    room_points: int
    series: SurfaceSeries
    lead_h: FloatArray
    applied: int
    is_dry: BoolArray
    dry: IntArray  # from the first stroke on; of no account where not dry
    end: IntArray  # of the setting limits; the length of the series where beyond


def as_it_stands(room: Room, habits: Habits) -> SpaceResult:
    """The room without any coat."""
    return heated(
        room, habits.setpoint_c, power_w=habits.power_w, air_changes_h=habits.air_changes_h
    )


def _looks(task: HeatedCoat, room: Room, begin: IntArray) -> tuple[int, int, int]:
    """Points to run: somewhat longer than the film takes in the shut space, far longer, all."""
    most = round(DRY_WITHIN_H / room.step_h)
    model = CureModel(task.sheet, task.base)
    hands = _hands(task, room)
    strokes = np.unique(begin + room.first + hands).astype(np.float64)
    strokes = strokes[strokes < len(task.base.times)]
    if not strokes.size:
        return most, most, most
    takes = model.milestone_end(_dry_name(task, model), strokes, "slow") - strokes
    known = takes[np.isfinite(takes)]
    longest = float(known.max()) if known.size else most
    near, far = (min(hands + int(np.ceil(times * longest)) + 2, most) for times in _LONGER)
    return near, far, most


def _hands(task: HeatedCoat, room: Room) -> int:
    return int(np.ceil(task.hands_on_h / room.step_h - 1e-9))


def _dry_name(task: HeatedCoat, model: CureModel) -> Milestone:
    return "touch dry" if model.has("touch dry") else task.sheet.setting.until


def _films(
    task: HeatedCoat,
    room: Room,
    habits: Habits,
    before: SpaceResult,
    begin: IntArray,
    rows: IntArray,
    points: int,
    after: int | None = None,
) -> _Films:
    """Run columns until dry with what the coat does to the air, then as things stand.

    ``after``: points to go on behind the driest; else only where the setting limits ask for it.
    """
    here = columns(warm(room), begin, rows, points, states_at(before, begin, rows))
    setpoint, power, own = _habits(habits, begin, rows, points)
    volume = room.model.volume_m3
    result = heated(
        here,
        setpoint,
        power_w=power,
        air_changes_h=own + task.airing_m3_h / volume,
        moisture_kg_h=task.water_kg_h,
    )
    series = _laid_on(
        task, room, film_series(task, room, here, result, begin, rows), before, begin, rows
    )
    applied = _hands(task, room)
    model = CureModel(task.sheet, series)
    last = np.array([float(applied)])
    reached = (
        model.milestone_end(_dry_name(task, model), last, "slow")[:, 0]
        if applied < points - 1
        else np.full(len(begin), np.nan)
    )
    is_dry = np.isfinite(reached)
    dry = np.where(is_dry, np.ceil(np.nan_to_num(reached)), points - 1).astype(np.int64)
    until = task.sheet.setting.until
    more = after
    if after is None and until != _dry_name(task, model) and is_dry.any():
        set_in_air = model.milestone_end(until, last, "slow")[:, 0]
        # Where it sets while still aired nothing is wanted behind.
        if not (set_in_air <= dry)[is_dry].all():
            more = round(_SET_WITHIN_H / room.step_h)
    if more:
        here = columns(
            warm(room), begin + dry, rows, more, states_at(result, dry, np.arange(len(begin)))
        )
        setpoint, power, own = _habits(habits, begin + dry, rows, more)
        shut = heated(here, setpoint, power_w=power, air_changes_h=own)
        tail = film_series(task, room, here, shut, begin + dry, rows)
        tail = _laid_on(task, room, tail, before, begin + dry, rows)
        series = _joined(series, tail, dry)
        model = CureModel(task.sheet, series)
    length = series.air_c.shape[1]
    if applied < length - 1:
        milestone = model.milestone_end(until, last, "slow")[:, 0]
    else:
        milestone = np.full(len(begin), np.nan)
    end = np.where(np.isfinite(milestone), np.ceil(np.nan_to_num(milestone)), length)
    lead = stretch(task.base.lead_h[None], begin + room.first, np.zeros_like(rows), length)
    return _Films(
        begin=begin,
        room_points=room.points,
        series=series,
        lead_h=np.nan_to_num(lead, nan=float(task.base.lead_h.max())),
        applied=applied,
        is_dry=is_dry,
        dry=dry,
        end=end.astype(np.int64),
    )


def _laid_on(
    task: HeatedCoat,
    room: Room,
    run: SurfaceSeries,
    stands: SpaceResult,
    begin: IntArray,
    rows: IntArray,
) -> SurfaceSeries:
    """The conditions of the job, changed by what the coat changes in its room.

    They hold more of what was read than a run from the last reading on does; a coat that
    changes nothing leaves them as they are.
    """
    points, base = run.air_c.shape[1], task.base
    index = begin + room.first

    def of(values: FloatArray, since: IntArray) -> FloatArray:
        return stretch(values, since, rows, points)

    air, rh, dew, surface = laid_on(
        (of(base.air_c, index), of(base.dew_point_c, index), of(base.surface_c, index)),
        (run.air_c, run.dew_point_c, run.surface_c),
        (
            of(stands.air_c, begin),
            of(stands.dew_point_c, begin),
            of(surface_of(task, room, stands), begin),
        ),
    )
    tin = None
    if base.tins is not None:
        asked = tin_asked(task.sheet, task.hands_on_h)
        tin = tin_in(task, air, base.tins.begun_with(asked, rows, index), room.step_h)
    return replace(
        run,
        tin_c=tin,
        air_c=air,
        rh_pct=rh,
        dew_point_c=dew,
        surface_c=surface,
    )


def _habits(
    habits: Habits, begin: IntArray, rows: IntArray, points: int
) -> tuple[FloatArray, FloatArray | None, FloatArray | float]:
    def part(values: FloatArray) -> FloatArray:
        if values.ndim == 0:
            return values
        # The last known goes on: weather is unknown there, and nothing is told of it.
        return stretch(np.atleast_2d(values), begin, rows, points, held=True)

    power = None if habits.power_w is None else part(np.asarray(habits.power_w))
    return part(habits.setpoint_c), power, part(np.asarray(habits.air_changes_h, np.float64))


def _joined(first: SurfaceSeries, then: SurfaceSeries, at: IntArray) -> SurfaceSeries:
    """Two courses a column, the second from its own point ``at`` of the first on."""
    length = int(at.max()) + then.air_c.shape[1]
    index = np.broadcast_to(np.arange(length), (len(at), length))
    later = index - at[:, None]

    def joined(a: FloatArray, b: FloatArray) -> FloatArray:
        head = np.take_along_axis(a, np.minimum(index, a.shape[1] - 1), axis=1)
        tail = np.take_along_axis(b, np.clip(later, 0, b.shape[1] - 1), axis=1)
        tail = np.where(later < b.shape[1], tail, np.nan)
        return np.where(later <= 0, head, tail)

    wood = None
    if first.wood_moisture_pct is not None and then.wood_moisture_pct is not None:
        wood = joined(first.wood_moisture_pct, then.wood_moisture_pct)
    tin = None
    if first.tin_c is not None:  # behind the last stroke there is none
        tin = joined(first.tin_c, np.full(then.air_c.shape, np.nan))
    step = first.times[1] - first.times[0]
    return replace(
        first,
        times=first.times[0] + np.arange(length) * step,
        air_c=joined(first.air_c, then.air_c),
        rh_pct=joined(first.rh_pct, then.rh_pct),
        dew_point_c=joined(first.dew_point_c, then.dew_point_c),
        surface_c=joined(first.surface_c, then.surface_c),
        wood_moisture_pct=wood,
        tin_c=tin,
        measured=np.zeros(length, np.bool_),
        lead_h=np.zeros(length),
    )


def _judge(task: HeatedCoat, films: _Films, held: Held, where: IntArray) -> None:
    """Write down what became of columns ``where`` of ``held``."""
    length = films.series.air_c.shape[1]
    tracks: list[LimitTrack] = [
        *limit_tracks(films.series, task.sheet.applying, "applying", bare_wood=task.bare_wood),
        *limit_tracks(films.series, task.sheet.setting, "setting", bare_wood=task.bare_wood),
    ]
    ok = films.is_dry & (films.end < length)
    first = np.full(len(where), length)
    which = np.full(len(where), -1)
    value = np.full(len(where), np.nan)
    sure = np.full(len(where), MOST_SIGMAS)
    index = np.arange(length)
    applied = np.full(len(where), min(films.applied, length - 1))
    for number, track in enumerate(tracks):
        last = applied if track.phase == "applying" else np.minimum(films.end, length - 1)
        bad = next_bad(~(track.margin >= 0.0))[:, 0]
        broken = bad <= last
        sooner = broken & (bad < first)
        first = np.where(sooner, bad, first)
        which = np.where(sooner, number, which)
        shown = track.value[np.arange(len(where)), np.minimum(bad, length - 1)]
        value = np.where(sooner, shown, value)
        ok &= ~broken
        inside = index <= last[:, None]
        margins = np.where(inside, sigmas(track, films.lead_h), np.inf)
        sure = np.minimum(sure, np.where(np.isnan(margins), -MOST_SIGMAS, margins).min(axis=1))
    # What is not known of the weather is no limit that breaks: it is just not known.
    dark = np.isnan(value)
    held.ok[where] = ok
    held.dry[where] = np.where(films.is_dry, films.begin + films.dry, films.room_points)
    held.end[where] = np.where(films.end < length, films.begin + films.end, films.room_points)
    held.sure[where] = np.where(ok, sure, np.minimum(sure, 0.0))
    held.track[where] = np.where(dark, -1, which)
    held.at[where] = np.minimum(films.begin + np.minimum(first, films.applied), films.room_points)
    held.at[where] = np.where(which >= 0, films.begin + first, held.at[where])
    held.value[where] = value
