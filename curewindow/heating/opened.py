"""All starts that heat opens in the days ahead, each with the run that takes least.

Where `search` asks for the one start that takes least, a plan has to choose among them all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from curewindow.boat.schema import Ventilation
from curewindow.curing import IntArray
from curewindow.heating.aired import until_dry
from curewindow.heating.coat import HeatedCoat, series_of
from curewindow.heating.evaluate import (
    VENTS,
    Candidates,
    aired_h,
    costs_in,
    good_starts,
    own_air_changes,
    routine_w,
    run,
    shut_in,
    start_costs,
    verdict_of,
    water_kg_h,
)
from curewindow.heating.lit import run_from_light
from curewindow.heating.room import Room, of_member, of_rows, up_to
from curewindow.heating.search import crossed, light_points, starts_to_try, tied_to
from curewindow.physics.balance import SpaceResult
from curewindow.rules.chance import SHARE_OF_MEMBERS, enough, share_needed
from curewindow.series import BoolArray, FloatArray, SurfaceSeries

LEADS_H: Final = (0.5, 4.0, 16.0, 52.0)
"""Hours of heat before a start that ties the airing."""
EVERY_H: Final = 4.0
"""Between the starts of a day that are looked at."""
STATES: Final[tuple[Ventilation, ...]] = ("normal", "open")
"""Of the vents: shut ones keep the damp in, and are left to the search for one start."""
LIGHT_EVERY_H: Final = 6.0
LENIENT: Final = 0.75
"""Of the members that a start has to hold in so many are enough to ask about it: a plan is made
with few members, from the coldest to the warmest, and what it takes is judged in all of them."""
_LONGEST_LEAD_H: Final = 100.0
_SETS_AHEAD_H: Final = 18.0
"""Behind touch dry most films have set by then; what has not is run on to the end."""
_SETS_LATER_H: Final = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class OpenedRuns:
    """Starts with runs that keep every limit, shapes (K,); grid points of the room.

    Attributes
    ----------
    ways : Candidates
    end : ndarray of int
        The milestone at which the heat may go off.
    dry : ndarray of int
        The end of the airing; -1: none is asked for.
    energy_kwh : ndarray
        Beyond what the routine gives anyway.
    """

    ways: Candidates
    end: IntArray
    dry: IntArray
    energy_kwh: FloatArray

    def picked(self, rows: BoolArray | IntArray) -> OpenedRuns:
        """Some of them."""
        return OpenedRuns(
            self.ways.picked(rows), self.end[rows], self.dry[rows], self.energy_kwh[rows]
        )

    def arrays(self) -> dict[str, FloatArray]:
        """All of it by name, to be kept."""
        ways = self.ways
        named = {
            "setpoint_c": ways.setpoint_c,
            "light": ways.light,
            "start": ways.start,
            "vents": ways.vents,
            "end": self.end,
            "dry": self.dry,
            "energy_kwh": self.energy_kwh,
        }
        return {name: values.astype(np.float64) for name, values in named.items()}

    @staticmethod
    def of(kept: dict[str, FloatArray]) -> OpenedRuns:
        """What :meth:`arrays` gave."""
        light, start, vents, end, dry = (
            kept[name].astype(np.int64) for name in ("light", "start", "vents", "end", "dry")
        )
        ways = Candidates(kept["setpoint_c"], light, start, vents)
        return OpenedRuns(ways, end, dry, kept["energy_kwh"])


def opened_starts(
    task: HeatedCoat, room: Room, member: int, setpoints_c: FloatArray, last: int
) -> OpenedRuns | None:
    """Find the starts that heat opens.

    Parameters
    ----------
    task : HeatedCoat
    room : Room
        Nobody is told of heat behind its end.
    member : int
        Of the weather, in which runs are made; each has to hold in enough of the others too.
    setpoints_c : ndarray
        Those tried.
    last : int
        Grid point of the room up to which a coat may begin.

    Returns
    -------
    OpenedRuns or None
        None: heat opens no start.
    """
    if room.power_w <= 0.0 or not setpoints_c.size:
        return None
    one = _of_one(room, member)
    starts = starts_to_try(task, one, 0, last, EVERY_H)
    vents = np.array([VENTS.index(state) for state in room.vents_allowed(STATES)], np.int64)
    if not starts:
        return None
    found = (_tied if task.tied else _untied)(task, one, setpoints_c, vents, starts)
    if found is None or not len(found.ways):
        return None
    found = _least_that_hold(task, room, found)
    return found if len(found.ways) else None


def _least_that_hold(task: HeatedCoat, room: Room, found: OpenedRuns) -> OpenedRuns:
    """Of each start the run with the least heat that holds in enough members: few are dearer."""
    holds = np.zeros(len(found.ways), np.bool_)
    left = np.ones(len(found.ways), np.bool_)
    while left.any():
        rows = np.flatnonzero(left)
        next_ = rows[
            least_by(found.ways.start[rows], found.energy_kwh[rows], found.ways.light[rows])
        ]
        if not next_.size:
            break
        left[next_] = False
        good = next_[_held_in_enough(task, room, found.picked(next_))]
        holds[good] = True
        left &= ~np.isin(found.ways.start, found.ways.start[good])
    held = np.flatnonzero(holds)
    return found.picked(held[np.argsort(found.ways.start[held], kind="stable")])


def series_in(task: HeatedCoat, room: Room, member: int, found: OpenedRuns) -> SurfaceSeries:
    """Conditions at the surface in each run, (K, T of the room): heat held on to the end."""
    one = _of_one(room, member)
    return series_of(task, one, run(task, one, found.ways, one.power_w, found.dry), one.first)


@lru_cache(maxsize=16)  # the coats of a space share it, with all that is kept by room
def _of_one(room: Room, member: int) -> Room:
    return of_member(room, member)


def _shut_from_light(
    task: HeatedCoat,
    room: Room,
    rows: IntArray,
    ways: Candidates,
    until: IntArray,
    *,
    margins: bool = True,
) -> tuple[BoolArray, IntArray] | None:
    """The same with the space shut, judged (`evaluate.shut_starts`); None: nothing is aired."""
    if not task.tied:
        return None
    short = up_to(room, int(until.max()) + 1)
    own = own_air_changes(short, ways.vents)
    result = run_from_light(room, ways, rows, until, power_w=room.power_w, air_changes_h=own)
    return shut_in(task, of_rows(short, rows), result, margins=margins)


def _from_light(
    task: HeatedCoat, room: Room, rows: IntArray, ways: Candidates, dry: IntArray, until: IntArray
) -> tuple[Room, SpaceResult]:
    """Runs in a member each, from the lighting up to a grid point; the room up to the last."""
    short = up_to(room, int(until.max()) + 1)
    result = run_from_light(
        room,
        ways,
        rows,
        until,
        power_w=room.power_w,
        air_changes_h=aired_h(task, short, ways, dry),
        moisture_kg_h=water_kg_h(task, short, ways.start, dry),
    )
    return short, result


def _held_in_enough(task: HeatedCoat, room: Room, found: OpenedRuns) -> BoolArray:
    """Runs that keep every limit in as many members as a start has to, without the spare."""
    count, members = len(found.ways), room.members
    each = found.picked(np.repeat(np.arange(count), members))
    rows = np.tile(np.arange(members), count)
    good = np.zeros(len(rows), np.bool_)
    # Most members set about when the one planned for does; the rest is run on to the end.
    near = each.end + (each.end - each.ways.start) // 4 + round(_SETS_LATER_H / room.step_h)
    todo = np.arange(len(rows))
    for until in (np.minimum(near, room.points - 1), np.full(len(rows), room.points - 1)):
        some = each.picked(todo)
        short, result = _from_light(task, room, rows[todo], some.ways, some.dry, until[todo])
        in_them = of_rows(short, rows[todo])
        verdict = verdict_of(task, in_them, result)
        column = np.arange(len(todo))
        at = some.ways.start + verdict.points - short.points
        good[todo] = good_starts(task, in_them, result, verdict, margins=False)[column, at]
        sets = verdict.setting_end[column, at] - (verdict.points - short.points)
        shut = _shut_from_light(task, room, rows[todo], some.ways, until[todo], margins=False)
        if shut is not None:
            good[todo] &= shut[0][column, some.ways.start]
            sets = np.maximum(sets, shut[1][column, some.ways.start])
        beyond = sets > until[todo]
        todo = todo[beyond & (until[todo] < room.points - 1)]
        if not todo.size:
            break
    share = good.reshape(count, members).mean(axis=1)
    needed = share_needed(task.base.lead_h[room.first + found.ways.start])
    needed = LENIENT * np.maximum(needed, SHARE_OF_MEMBERS)
    holds: BoolArray = enough(share, needed) & (share > 0.0)
    return holds


def _tied(
    task: HeatedCoat, room: Room, setpoints_c: FloatArray, vents: IntArray, starts: list[int]
) -> OpenedRuns | None:
    ways = tied_to(task, room, starts, setpoints_c, vents, LEADS_H)
    ways = ways.picked(room.run_allowed(ways.light, ways.start))
    if not len(ways):
        return None
    dry, floor_kwh = until_dry(task, room, ways, room.power_w)
    group = _by_start_and_setpoint(ways)
    longest = np.where(np.isfinite(floor_kwh), ways.light, np.inf)
    # Aired, a short lead may do; shut, which has to hold too, often only a long one does.
    some = np.union1d(
        least_by(group, floor_kwh, ways.light), least_by(group, longest, ways.light)
    ).astype(np.int64)
    if not some.size:
        return None
    picked, dried = ways.picked(some), dry[some]
    kwh, end = np.full(len(some), np.inf), np.full(len(some), room.points)
    ahead = round((0.0 if task.sheet.setting.until == "touch dry" else _SETS_AHEAD_H) / room.step_h)
    near = np.minimum(dried + ahead + round(_SETS_LATER_H / room.step_h), room.points - 1)
    todo = np.arange(len(some))
    for until in (near, np.full(len(some), room.points - 1)):
        ways = picked.picked(todo)
        none = np.zeros(len(todo), np.int64)
        short, result = _from_light(task, room, none, ways, dried[todo], until[todo])
        shut = _shut_from_light(task, room, none, ways, until[todo])
        cost, ends = costs_in(task, short, ways, result, routine_w(room)[: short.points], shut)
        column = np.arange(len(todo))
        kwh[todo], end[todo] = cost[column, ways.start], ends[column, ways.start]
        todo = todo[(end[todo] > until[todo]) & (until[todo] < room.points - 1)]
        if not todo.size:
            break
    return OpenedRuns(picked, end, dried, kwh).picked(np.isfinite(kwh))


def _untied(
    task: HeatedCoat, room: Room, setpoints_c: FloatArray, vents: IntArray, starts: list[int]
) -> OpenedRuns | None:
    lights = light_points(task, room, starts[-1] + 1, LIGHT_EVERY_H)
    ways = crossed(setpoints_c, lights, vents)
    if not len(ways):
        return None
    never = np.full(len(ways), -1, np.int64)
    cost, end = start_costs(task, room, ways, room.power_w, never)
    at = np.array(starts, np.int64)
    lead = (at - ways.light[:, None]) * room.step_h
    cost = np.where(lead <= _LONGEST_LEAD_H, cost[:, at], np.inf)
    row, column = (part.ravel() for part in np.indices(cost.shape))
    each = replace(ways.picked(row), start=at[column])
    some = least_by(_by_start_and_setpoint(each), cost.ravel(), each.light)
    if not some.size:
        return None
    row, begin = row[some], at[column[some]]
    return OpenedRuns(each.picked(some), end[row, begin], never[row], cost.ravel()[some])


def _by_start_and_setpoint(ways: Candidates) -> IntArray:
    """A number of each pair of start and setpoint."""
    pairs = np.stack([ways.start.astype(np.float64), ways.setpoint_c])
    found: IntArray = np.unique(pairs, axis=1, return_inverse=True)[1].ravel().astype(np.int64)
    return found


def least_by(group: IntArray, kwh: FloatArray, light: IntArray) -> IntArray:
    """Row with the least heat of each group, where any is finite; of equals the one lit last."""
    if not group.size:
        return group
    order = np.lexsort((-light, np.round(kwh, 6), group))
    first = np.concatenate(([True], np.diff(group[order]) > 0))
    best: IntArray = order[first].astype(np.int64)
    return best[np.isfinite(kwh[best])]
