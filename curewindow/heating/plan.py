"""The heating plan of a job: lit when, how warm, held until when, for how much, and what if."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from curewindow.answers import Margin
from curewindow.boat.schema import Heating
from curewindow.heating.evaluate import (
    Candidates,
    air_change,
    aired_h,
    good_starts,
    schedule_c,
    verdict_of,
)
from curewindow.heating.fuel import fuel_notes, fuel_use, least_power_w
from curewindow.heating.models import Airing, HeatPlan
from curewindow.heating.room import Room, coldest_member, heated, of_member
from curewindow.heating.search import FINE, USUAL, Choice, Effort, latest_lighting, search
from curewindow.heating.task import MARGINS, Task
from curewindow.physics.balance import SpaceResult
from curewindow.series import BoolArray
from curewindow.windows import SHARE_OF_MEMBERS, Verdict
from curewindow.windows.confidence import chance, sigmas
from curewindow.windows.faults import margin_at
from curewindow.windows.grid import at_index, span_min

_SUREST = 0.99
_TRIES = 3
_COLDER_K = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Proved:
    """A choice run again by itself, in every member of the weather.

    Attributes
    ----------
    choice : Choice
    room : Room
        Of all members.
    result : SpaceResult
        The heater by its routine again from ``choice.end`` on.
    verdict : Verdict
    holds : ndarray of bool, shape (M,)
        True where the start keeps every limit (without the plan's margins in members
        other than the one it was made in).
    """

    choice: Choice
    room: Room
    result: SpaceResult
    verdict: Verdict
    holds: BoolArray

    @property
    def offset(self) -> int:
        """What a grid point of the room is short of one of the verdict."""
        return self.verdict.points - self.room.points

    def moment(self, index: int) -> datetime:
        """Instant of a grid point of the room."""
        return at_index(self.verdict.series, index + self.offset)


def prove(task: Task, room: Room, choice: Choice) -> Proved:
    """Run a choice alone, the heater back to its routine at the milestone, and judge it."""
    result = heated(
        room,
        plan_setpoints(room, choice),
        power_w=choice.power_w,
        air_changes_h=plan_air_changes(task, room, choice),
    )
    verdict = verdict_of(task, room, result)
    ok = good_starts(task, room, result, verdict, margins=False)
    return Proved(choice, room, result, verdict, ok[:, choice.start + verdict.points - room.points])


def plan_setpoints(room: Room, choice: Choice) -> np.ndarray:
    """Setpoints (1, T) of a plan: the routine before lighting and from the milestone on."""
    held = schedule_c(room, _alone(choice))
    return np.where(np.arange(room.points) < choice.end, held, room.routine_c)


def plan_air_changes(task: Task, room: Room, choice: Choice) -> np.ndarray | float:
    """Air changes (1, T) of a plan, airing included."""
    return aired_h(task, room, choice.ventilation, np.array([choice.start]), np.array([choice.dry]))


def _alone(choice: Choice) -> Candidates:
    return Candidates(
        np.array([choice.setpoint_c]), np.array([choice.light]), np.array([choice.start])
    )


def find(
    task: Task,
    room: Room,
    *,
    setpoint_c: float | None = None,
    efforts: Sequence[Effort] = (USUAL, FINE),
) -> Proved | None:
    """The cheapest plan that holds in enough members of the weather; None: heat cannot.

    With an ensemble the plan is made in its coldest member; where that does not hold in
    enough of them, it is made again for one degree warmer.
    """
    cold = of_member(room, coldest_member(room.outside.temp_c))
    wanted = setpoint_c
    for _ in range(_TRIES):
        tried = (search(task, cold, setpoint_c=wanted, effort=effort) for effort in efforts)
        choice = next((choice for choice in tried if choice is not None), None)
        if choice is None:
            return None
        proved = prove(task, room, choice)
        if float(proved.holds.mean()) >= SHARE_OF_MEMBERS:
            return proved
        if setpoint_c is not None:
            return None
        wanted = choice.setpoint_c + _COLDER_K
    return None


def describe_plan(
    task: Task, proved: Proved, heating: Heating | None, *, quick: bool = False
) -> HeatPlan:
    """A plan that was found, as an answer; sentence and what-ifs are added by the caller."""
    choice, room = proved.choice, proved.room
    cold = of_member(room, coldest_member(room.outside.temp_c))
    latest = None if quick else latest_lighting(task, cold, choice)
    moment = proved.moment
    routine = heated(room, room.routine_c)
    total = kwh_between(room, proved.result, choice.light, choice.end)
    start = moment(choice.start)
    return HeatPlan(
        job=task.job.name,
        where=task.base.where,
        status="possible",
        sentence="",
        setpoint_c=choice.setpoint_c,
        light_at=moment(choice.light),
        latest_light_at=None if latest is None else moment(latest),
        start=start,
        applied=start + timedelta(hours=task.hands_on_h),
        hold_until=moment(choice.end),
        milestone=task.sheet.setting.until,
        ventilation=choice.ventilation,
        air_changes_h=round(air_change(room, choice.ventilation), 3),
        airing=_airing(task, proved),
        use=fuel_use(total, heating),
        routine_kwh=round(kwh_between(room, routine, choice.light, choice.end), 2),
        peak_w=round(float(proved.result.heat_w[:, choice.light : choice.end].max()), 0),
        power_w=choice.power_w,
        tightest=tightest(proved),
        confidence=confidence(proved),
        notes=_notes(task, proved, heating, total),
    )


def kwh_between(room: Room, result: SpaceResult, begin: int, end: int) -> float:
    """Heat between two grid points of the room, the most of any member [kWh]."""
    heat = np.nan_to_num(result.heat_w[:, begin:end]).sum(axis=1)
    return float(heat.max()) * room.step_h / 1000.0


def _airing(task: Task, proved: Proved) -> Airing | None:
    if not task.airing_m3_h:
        return None
    choice = proved.choice
    return Airing(
        begins=proved.moment(choice.start),
        ends=proved.moment(choice.dry),
        flow_m3_h=round(task.airing_m3_h, 0),
        air_changes_h=round(task.airing_m3_h / proved.room.model.volume_m3, 1),
        known=task.airing_known,
    )


def tightest(proved: Proved) -> Margin | None:
    """The limit that comes closest, measured in the margins a plan keeps."""
    verdict = proved.verdict
    start = np.array([proved.choice.start + proved.offset])
    rows = np.flatnonzero(proved.holds)
    best: Margin | None = None
    least = np.inf
    for track in verdict.tracks:
        ends = np.minimum(verdict.span_end(track)[:, start], verdict.points - 1)
        last = int(ends.max())
        stretch = track.margin[rows, start[0] : last + 1]
        if not stretch.size or np.isnan(stretch).all():
            continue
        row, column = np.unravel_index(int(np.nanargmin(stretch)), stretch.shape)
        value = float(stretch[row, column]) / MARGINS.get(track.unit, 1.0)
        if value < least:
            least = value
            at = int(start[0]) + int(column)
            best = margin_at(verdict.series, track, int(rows[row]), at)
    return best


def confidence(proved: Proved) -> float:
    """Share of members in which the plan holds; with one, the chance of its smallest margin."""
    if len(proved.holds) > 1:
        return round(float(proved.holds.mean()), 3)
    verdict = proved.verdict
    start = np.array([proved.choice.start + proved.offset])
    lowest = 3.0
    for track in verdict.tracks:
        end = np.minimum(verdict.span_end(track)[:, start], verdict.points - 1)
        sure = span_min(sigmas(track, verdict.series.lead_h), start, end)
        lowest = min(lowest, float(sure.min()))
    return round(min(chance(lowest), _SUREST), 3)


def _notes(task: Task, proved: Proved, heating: Heating | None, total_kwh: float) -> list[str]:
    choice, room = proved.choice, proved.room
    notes = [
        f"every limit is kept by {MARGINS['K']:g} K and {MARGINS['%']:g} % of humidity to spare "
        "from the first stroke to the milestone",
        "bring the tin aboard when you light: it is taken to be as warm as the air",
    ]
    coldest = float(np.nanmin(proved.result.air_c[:, choice.start : choice.end + 1]))
    if coldest < choice.setpoint_c - 0.5:
        notes.append(
            f"it is not held throughout: the heater gives all it has, and the air goes down to "
            f"{coldest:.1f} °C between the first stroke and the milestone"
        )
    if heating is not None:
        notes += fuel_notes(heating)
        low = least_power_w(heating)
        mean = total_kwh * 1000.0 / max((choice.end - choice.light) * room.step_h, 1e-9)
        if low and mean < low:
            notes.append(
                f"on the mean {mean:.0f} W are needed, the heater burns at {low:.0f} W at least: "
                "it will go on and off, and take somewhat more"
            )
        if not np.isnan(room.routine_c).all():
            notes.append(
                "the heater's routine goes on before and after, and within where it is higher"
            )
        if room.flame_water_kg_kwh:
            notes.append("the water its flame gives off is reckoned in")
    if task.job.panel is None:
        notes.append("held to the joinery, which warms slower than the air")
    if room.space.connected_to:
        notes.append("doors to other spaces shut")
    return [*notes, *room.notes]
