"""What if: the heater goes out in the night; one more coat goes on behind."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from typing import Final

import numpy as np

from curewindow.boat.schema import Heating
from curewindow.findings import finding
from curewindow.heating.coat import HeatedCoat
from curewindow.heating.evaluate import good_starts, verdict_of
from curewindow.heating.fuel import fuel_use
from curewindow.heating.models import OneMoreCoat, Outage
from curewindow.heating.plan import (
    Proved,
    kwh_between,
    plan_air_changes,
    plan_setpoints,
    plan_water,
)
from curewindow.heating.room import Room, heated, routine_heat_w
from curewindow.physics.balance import SpaceResult
from curewindow.series import FloatArray
from curewindow.windows import Verdict
from curewindow.windows.faults import margin_at
from curewindow.windows.find import enough_time
from curewindow.windows.grid import at_index, first_at_or_after
from curewindow.windows.reasons import broken

OUT_AT: Final = time(2)
_TRIES = 8


def outage_of(task: HeatedCoat, proved: Proved) -> Outage | None:
    """The heater goes out at the first 02:00 of the plan and stays out; None: no such hour."""
    choice, room = proved.choice, proved.cold
    out = _first_night(task, proved)
    if out is None:
        return None
    index = first_at_or_after(task.base, out) - room.first
    setpoint = plan_setpoints(room, choice)
    setpoint[:, index:] = np.nan
    result = heated(
        room,
        setpoint,
        power_w=choice.power_w,
        air_changes_h=plan_air_changes(task, room, choice),
        moisture_kg_h=plan_water(task, room, choice),
    )
    verdict = verdict_of(task, room, result)
    start = choice.start + verdict.points - room.points
    end = int(verdict.setting_end[0, start])
    set_at = at_index(verdict.series, end) if end < verdict.points else None
    firsts = [int(verdict.first_bad(k)[0, start]) for k in range(len(verdict.tracks))]
    at = min(firsts, default=verdict.points)
    if at >= verdict.points:
        told = finding("heater goes out", at=out, until=set_at)
        return Outage(at=out, breaks=None, set_at=set_at, said=told)
    track = verdict.tracks[firsts.index(at)]
    why = broken(track, verdict.series, float(track.value[0, at]))
    moment = at_index(verdict.series, at)
    after = (moment - out) / timedelta(hours=1)
    return Outage(
        at=out,
        breaks=margin_at(verdict.series, track, 0, at),
        set_at=set_at,
        said=finding("heater goes out", at=out, hours=after, begins=moment, because=[why]),
    )


def _first_night(task: HeatedCoat, proved: Proved) -> datetime | None:
    begins = proved.moment(proved.choice.light)
    ends = proved.moment(proved.choice.end)
    day = begins.astimezone(task.zone).date()
    for later in (0, 1):
        night = datetime.combine(day + timedelta(days=later), OUT_AT, task.zone).astimezone(UTC)
        if begins < night < ends:
            return night
    return None


def one_more_coat(task: HeatedCoat, proved: Proved, heating: Heating | None) -> OneMoreCoat | None:
    """One more coat of the same, heat held on until it has set; None: none follows."""
    rule = task.next_rule
    if rule is None:
        return None
    choice, room = proved.choice, proved.cold
    setpoint = _held_on(room, proved)
    first_airing = plan_air_changes(task, room, choice)
    first_water = plan_water(task, room, choice)
    result = heated(
        room,
        setpoint,
        power_w=choice.power_w,
        air_changes_h=first_airing,
        moisture_kg_h=first_water,
    )
    verdict = verdict_of(task, room, result)
    offset = verdict.points - room.points
    start = choice.start + offset
    last = np.array([float(verdict.apply_end[start])])
    opens = float(verdict.model.recoat_end(rule, "from", last, "slow")[0, 0])
    if not np.isfinite(opens):
        return OneMoreCoat(said=finding("one more coat", state="beyond"))
    closes = float(verdict.model.recoat_end(rule, "until", np.array([float(start)]), "quick")[0, 0])
    ready = at_index(verdict.series, int(np.ceil(opens)))
    later = replace(task, earliest=ready, latest=None, below=None)
    found = _second(
        later,
        room,
        setpoint,
        (first_airing, first_water),
        result,
        int(np.ceil(opens)) - offset,
        proved,
    )
    if found is None:
        return OneMoreCoat(said=finding("one more coat", state="no start", begins=ready))
    begin, end, run = found
    if not room.run_allowed(np.array(choice.light), np.array(end)):
        return OneMoreCoat(
            said=finding(
                "one more coat", state="no flue" if room.unflued else "left alone", begins=ready
            )
        )
    routine = routine_heat_w(room)
    more, usual = (kwh_between(room, heat, choice.end, end) for heat in (run.heat_w, routine))
    more = max(more - usual, 0.0)
    hours = (end - choice.end) * room.step_h
    use = fuel_use(more, heating)
    start_at, until = proved.moment(begin), proved.moment(end)
    late = np.isfinite(closes) and begin + offset > closes
    return OneMoreCoat(
        start=start_at,
        hold_until=until,
        more_h=round(hours, 2),
        more=use,
        said=finding(
            "one more coat",
            state="on",
            begins=start_at,
            until=until,
            hours=hours,
            after=rule.recoat.after if late else None,
            fuel=use.fuel,
            fuel_amount=use.amount,
            fuel_unit=use.unit,
        ),
    )


def _held_on(room: Room, proved: Proved) -> FloatArray:
    choice = proved.choice
    lit = (np.arange(room.points) >= choice.light) & ~room.out_of_order
    held = np.where(lit, np.fmax(choice.setpoint_c, room.routine_c), room.routine_c)
    return np.atleast_2d(held)


def _second(
    task: HeatedCoat,
    room: Room,
    setpoint: FloatArray,
    first: tuple[FloatArray | float, FloatArray | float],
    result: SpaceResult,
    ready: int,
    proved: Proved,
) -> tuple[int, int, SpaceResult] | None:
    """First start of the second coat that keeps everything, its milestone, and the run."""
    verdict = verdict_of(task, room, result)
    offset = verdict.points - room.points
    if not task.tied:
        good = np.flatnonzero(good_starts(task, room, result, verdict)[0, offset:])
        good = good[good >= ready]
        if not good.size:
            return None
        begin = int(good[0])
        return begin, int(verdict.setting_end[0, begin + offset]) - offset, result
    fits = np.flatnonzero(enough_time(verdict)[offset:])
    spacing = max(round(2.0 / room.step_h), 1)
    tries: list[int] = []
    for index in fits[fits >= ready].tolist():
        if not tries or index - tries[-1] >= spacing:
            tries.append(index)
    power = proved.choice.power_w
    more = task.airing_m3_h / room.model.volume_m3
    grid = np.arange(room.points)
    own, wet = (
        np.broadcast_to(np.asarray(each, dtype=np.float64), setpoint.shape) for each in first
    )
    for begin in tries[:_TRIES]:
        endless = grid >= begin
        run = heated(
            room,
            setpoint,
            power_w=power,
            air_changes_h=own + np.where(endless, more, 0.0),
            moisture_kg_h=wet + np.where(endless, task.water_kg_h, 0.0),
        )
        dry = _dry(task, verdict_of(task, room, run), begin + offset)
        if dry is None:
            continue
        while_wet = endless & (grid < dry - offset)
        run = heated(
            room,
            setpoint,
            power_w=power,
            air_changes_h=own + np.where(while_wet, more, 0.0),
            moisture_kg_h=wet + np.where(while_wet, task.water_kg_h, 0.0),
        )
        judged = verdict_of(task, room, run)
        if good_starts(task, room, run, judged)[0, begin + offset]:
            return begin, int(judged.setting_end[0, begin + offset]) - offset, run
    return None


def _dry(task: HeatedCoat, verdict: Verdict, start: int) -> int | None:
    model = verdict.model
    milestone = "touch dry" if model.has("touch dry") else task.sheet.setting.until
    last = np.array([float(verdict.apply_end[start])])
    reached = float(model.milestone_end(milestone, last, "slow")[0, 0])
    return int(np.ceil(reached)) if np.isfinite(reached) else None
