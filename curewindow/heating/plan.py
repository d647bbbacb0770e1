"""The heating plan of a job: lit when, how warm, held until when, for how much, and what if."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from curewindow.answers import Margin
from curewindow.boat.schema import VENTS_WORD, Heating
from curewindow.findings import Finding, finding
from curewindow.heating.choice import Choice
from curewindow.heating.coat import HeatedCoat
from curewindow.heating.evaluate import (
    VENTS,
    Candidates,
    air_change,
    aired_h,
    good_starts,
    own_air_changes,
    routine_w,
    schedule_c,
    shut_of,
    shut_starts,
    verdict_of,
    water_kg_h,
)
from curewindow.heating.fuel import fuel_notes, fuel_use, least_power_w
from curewindow.heating.lit import run_from_light
from curewindow.heating.models import Airing, HeatPlan
from curewindow.heating.room import (
    Room,
    heated,
    member_to_plan_for,
    of_member,
    of_rows,
    routine_heat_w,
    up_to,
)
from curewindow.heating.search import (
    FINE,
    USUAL,
    can_light,
    latest_light,
    search,
    setpoint_range,
)
from curewindow.physics.balance import SpaceResult
from curewindow.rules.chance import SHARE_OF_MEMBERS, enough, share_needed
from curewindow.rules.limits import DEW, HUMIDITY
from curewindow.rules.reach import REACH_K, within_reach
from curewindow.series import BoolArray, FloatArray
from curewindow.windows import Verdict
from curewindow.windows.confidence import chance, sigmas
from curewindow.windows.faults import margin_at
from curewindow.windows.grid import at_index, span_min
from curewindow.windows.tins import fetch_findings

_SUREST = 0.99
_TRIES = 3
_HOLDS_TRIED = 2
_BEHIND_H = 12.0
_WARMER_K = (0.0, 0.5, 1.0, 2.0, 3.5, 5.0, 7.0, 9.5)
_SOONER_H = (3.0, 1.0, 0.0, -1.0, -3.0)
LATE_H: Final = 0.5
"""A start so much late is still as told (estimate)."""
_NEARLY_ALL = 0.95
"""Of the members: in so many the film has set when the heat may go off."""


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
    member : int
        In which it was made.
    """

    choice: Choice
    room: Room
    result: SpaceResult
    verdict: Verdict
    holds: BoolArray
    member: int = 0

    @property
    def cold(self) -> Room:
        """The room in the member the plan was made in."""
        return of_member(self.room, self.member)

    @property
    def offset(self) -> int:
        """What a grid point of the room is short of one of the verdict."""
        return self.verdict.points - self.room.points

    def moment(self, index: int) -> datetime:
        """Instant of a grid point of the room."""
        return at_index(self.verdict.series, index + self.offset)


def prove(task: HeatedCoat, room: Room, choice: Choice, member: int = 0) -> Proved:
    """Run a choice alone, the heater back to its routine at the milestone, and judge it."""
    result = heated(
        room,
        plan_setpoints(room, choice),
        power_w=choice.power_w,
        air_changes_h=plan_air_changes(task, room, choice),
        moisture_kg_h=plan_water(task, room, choice),
    )
    verdict = verdict_of(task, room, result)
    ok = good_starts(task, room, result, verdict, margins=False)
    holds = ok[:, choice.start + verdict.points - room.points]
    if task.tied:
        own = own_air_changes(room, _alone(choice).vents)
        shut, _ = shut_starts(
            task, room, plan_setpoints(room, choice), own, choice.power_w, margins=False
        )
        holds = holds & shut[:, choice.start]
    return Proved(choice, room, result, verdict, holds, member)


def long_enough(room: Room, choice: Choice) -> Room:
    """The room for as long as a choice takes to set in a member that takes far longer."""
    return up_to(room, choice.end + (choice.end - choice.start) + round(_BEHIND_H / room.step_h))


def plan_setpoints(room: Room, choice: Choice) -> np.ndarray:
    """Setpoints (1, T) of a plan: the routine before lighting and from the milestone on."""
    held = schedule_c(room, _alone(choice))
    return np.where(np.arange(room.points) < choice.end, held, room.routine_c)


def plan_air_changes(task: HeatedCoat, room: Room, choice: Choice) -> FloatArray:
    """Air changes (1, T or 1) of a plan, airing included."""
    return aired_h(task, room, _alone(choice), np.array([choice.dry]))


def plan_water(task: HeatedCoat, room: Room, choice: Choice) -> FloatArray | float:
    """Water (1, T) of a plan's film, kg/h."""
    return water_kg_h(task, room, np.array([choice.start]), np.array([choice.dry]))


def _alone(choice: Choice) -> Candidates:
    return Candidates(
        np.array([choice.setpoint_c]),
        np.array([choice.light]),
        np.array([choice.start]),
        np.array([VENTS.index(choice.ventilation)]),
    )


def find(task: HeatedCoat, room: Room, *, setpoint_c: float | None = None) -> Proved | None:
    """The cheapest plan that holds in enough members of the weather; None: heat cannot."""
    found = find_or_member(task, room, setpoint_c=setpoint_c)
    return found if isinstance(found, Proved) else None


def find_or_member(
    task: HeatedCoat,
    room: Room,
    *,
    setpoint_c: float | None = None,
    first: Choice | None = None,
) -> Proved | int:
    """The same; where there is no plan, the member of the weather that has none.

    ``first`` is a choice found before: it is proved, and nothing else is searched for.

    With an ensemble the plan is made in one member and run in all of them. Where it does not
    hold in as many as a start without heat needs (`windows.share_needed`), it is lit sooner or
    set warmer until it does, or made again in the hardest member it has to hold in.
    """
    member = member_to_plan_for(room.outside.temp_c)
    if first is not None:
        return _of_choice(task, room, first, member)
    tried: set[int] = set()
    while True:
        tried.add(member)
        one = of_member(room, member)
        looks = (search(task, one, setpoint_c=setpoint_c, effort=each) for each in (USUAL, FINE))
        choice = next((choice for choice in looks if choice is not None), None)
        if choice is None:
            return member
        proved = prove(task, long_enough(room, choice), choice, member)
        if not enough(proved.holds.mean(), SHARE_OF_MEMBERS):
            stronger = _stronger(task, room, proved, setpoint_c)
            if stronger is None:
                harder = [each for each in _in_the_way(task, proved) if each not in tried]
                if not harder or len(tried) >= _TRIES:
                    return member
                member = harder[0]
                continue
            proved = stronger
        reached = _within_reach(task, room, _held_for_the_slow(task, room, proved))
        return member if reached is None else _held_for_late_hands(task, room, reached)


def as_opened(
    task: HeatedCoat, room: Room, choice: Choice, heating: Heating | None
) -> HeatPlan | None:
    """The plan of a choice just as it is, roughly told; None: it holds in too few members."""
    proved = prove(task, long_enough(room, choice), choice, member_to_plan_for(room.outside.temp_c))
    if not _enough(task, proved):
        return None
    return describe_plan(task, proved, heating, latest=choice.light)


def _of_choice(task: HeatedCoat, room: Room, first: Choice, member: int) -> Proved | int:
    """The plan of a choice as it is, or stronger where it has to be."""
    proved = prove(task, long_enough(room, first), first, member)
    if not enough(proved.holds.mean(), SHARE_OF_MEMBERS):
        stronger = _stronger(task, room, proved, None)
        if stronger is None:
            return member
        proved = stronger
    proved = _lit_late(task, room, proved)
    reached = _within_reach(task, room, _held_for_the_slow(task, room, proved))
    return member if reached is None else _held_for_late_hands(task, room, reached)


def _lit_late(task: HeatedCoat, room: Room, proved: Proved) -> Proved:
    """The same plan lit as late as it still holds: a space that is warm already needs less."""
    choice = proved.choice
    latest = latest_light(task, proved.cold, choice)
    points = np.flatnonzero(can_light(task, room)[choice.light : latest + 1]) + choice.light
    for share in (1.0, 0.5):
        light = int(points[round(share * (points.size - 1))]) if points.size else choice.light
        if light <= choice.light:
            break
        later = replace(choice, light=light)
        again = prove(task, long_enough(room, later), later, proved.member)
        if again.holds.mean() >= proved.holds.mean() or enough(
            again.holds.mean(), SHARE_OF_MEMBERS
        ):
            return again
    return proved


def _needed(task: HeatedCoat, proved: Proved) -> float:
    at = proved.room.first + proved.choice.start
    return float(share_needed(task.base.lead_h[at : at + 1])[0])


def _enough(task: HeatedCoat, proved: Proved) -> bool:
    return bool(enough(proved.holds.mean(), _needed(task, proved)))


def _held_for_the_slow(task: HeatedCoat, room: Room, proved: Proved) -> Proved:
    """The same plan held until the milestone is reached in nearly all members, where it helps.

    The member it was made in is not the one a film sets slowest in: without this the heat
    would go off over a film that is still open in some of them.
    """
    for _ in range(_HOLDS_TRIED if room.members > 1 else 0):
        choice, short = proved.choice, proved.room
        ends = proved.verdict.setting_end[:, choice.start + proved.offset] - proved.offset
        known = np.sort(ends[ends < short.points])
        if not known.size:
            break
        longest = choice.end + (choice.end - choice.start) // 2
        nearly_all = int(np.ceil(_NEARLY_ALL * known.size)) - 1
        end = min(int(known[nearly_all]), longest, short.points - 1)
        if end <= choice.end or not room.run_allowed(np.array(choice.light), np.array(end)):
            break
        held = replace(choice, end=end)
        again = prove(task, long_enough(room, held), held, proved.member)
        if again.holds.mean() < proved.holds.mean():
            break
        extra = again.result.heat_w[proved.member, :end].copy()
        extra[: short.points] -= proved.result.heat_w[proved.member, :end]
        energy = choice.energy_kwh + float(np.nansum(extra)) * room.step_h / 1000.0
        proved = replace(again, choice=replace(held, energy_kwh=energy))
    return proved


def _held_for_late_hands(task: HeatedCoat, room: Room, proved: Proved) -> Proved:
    """The same plan held so much longer that who begins a little late still sees it set."""
    choice = proved.choice
    end = min(choice.end + round(LATE_H / room.step_h), room.points - 1)
    if task.by_bedtime or not room.run_allowed(np.array(choice.light), np.array(end)):
        return proved  # begun later it may not be at all
    again = prove(task, long_enough(room, choice), replace(choice, end=end), proved.member)
    return again if again.holds.mean() >= proved.holds.mean() else proved


def _stronger(
    task: HeatedCoat, room: Room, proved: Proved, setpoint_c: float | None
) -> Proved | None:
    """The same plan as it is, warmer, lit sooner or later, if it holds in enough members.

    Of those the one with the least heat for each member it holds in: a little more of it
    that saves many coats is well spent. All ways in all members are columns of one run.
    """
    choice, short = proved.choice, proved.room
    low, high = setpoint_range(task)
    warmer = choice.setpoint_c + np.array(_WARMER_K)
    setpoints = np.unique(np.clip(warmer, low, high)) if setpoint_c is None else warmer[:1]
    sooner = choice.light - np.round(np.array(_SOONER_H) / short.step_h).astype(np.int64)
    points = np.flatnonzero(can_light(task, short)[: choice.start + 1])
    at = np.searchsorted(points, sooner, side="right") - 1
    lights = np.unique(points[np.maximum(at, 0)]) if points.size else np.array([choice.light])
    ways = [(setpoint, light) for setpoint in setpoints for light in lights]
    count, members = len(ways), short.members
    rows = np.tile(np.arange(members), count)
    some = Candidates(
        np.repeat([setpoint for setpoint, _ in ways], members),
        np.repeat([light for _, light in ways], members),
        np.full(count * members, choice.start),
        np.full(count * members, VENTS.index(choice.ventilation)),
    )
    dry = np.full(count * members, choice.dry)
    all_of_them = of_rows(short, rows)
    result = run_from_light(
        short,
        some,
        rows,
        np.full(len(some), short.points - 1),
        power_w=choice.power_w,
        air_changes_h=aired_h(task, all_of_them, some, dry),
        moisture_kg_h=water_kg_h(task, all_of_them, some.start, dry),
    )
    verdict = verdict_of(task, all_of_them, result)
    good = good_starts(task, all_of_them, result, verdict, margins=False)
    at_start = choice.start + verdict.points - short.points
    held = good[:, at_start]
    shut = shut_of(task, all_of_them, some, choice.power_w, margins=False)
    if shut is not None:
        held = held & shut[0][:, choice.start]
    share = held.reshape(count, members).mean(axis=1)
    ends = verdict.setting_end[:, at_start].reshape(count, members)[:, proved.member]
    ends = ends - (verdict.points - short.points)
    usual = routine_w(of_member(short, proved.member))
    heat = np.nan_to_num(result.heat_w).reshape(count, members, -1)[:, proved.member]
    spent = np.cumsum(heat - usual, axis=1) * short.step_h / 1000.0
    allowed = short.run_allowed(np.array([light for _, light in ways]), ends)
    works = np.flatnonzero(enough(share, _needed(task, proved)) & (ends < short.points) & allowed)
    costs = np.maximum(spent[works, np.maximum(ends[works] - 1, 0)], 0.0) / share[works]
    for number in works[np.argsort(costs, kind="stable")]:
        setpoint, light = ways[number]
        end = int(ends[number])
        other = replace(
            choice,
            setpoint_c=float(setpoint),
            light=int(light),
            end=end,
            energy_kwh=float(spent[number, max(end - 1, 0)]),
        )
        again = prove(task, long_enough(room, other), other, proved.member)
        if _enough(task, again):  # with the heat off at the milestone too
            return again
    return None


def highest_c(proved: Proved) -> FloatArray:
    """What the air gets to while it is held, in each member (M,)."""
    choice = proved.choice
    highest: FloatArray = proved.result.air_c[:, choice.light : choice.end + 1].max(axis=1)
    return highest


def lowest_c(proved: Proved) -> FloatArray:
    """What the air falls to from the first stroke to the milestone, in each member (M,)."""
    choice = proved.choice
    lowest: FloatArray = proved.result.air_c[:, choice.start : choice.end + 1].min(axis=1)
    return lowest


def _within_reach(task: HeatedCoat, room: Room, proved: Proved) -> Proved | None:
    """The plan with no setpoint its heater cannot reach there; None where it needs one.

    Above what the heater gets to a thermostat changes nothing: nobody is told to hold that.
    """
    choice = proved.choice
    reached = float(np.median(highest_c(proved)))
    told = within_reach(choice.setpoint_c, reached)
    if told == choice.setpoint_c:
        return proved
    lower = replace(choice, setpoint_c=told)
    again = prove(task, long_enough(room, lower), lower, proved.member)
    return again if _enough(task, again) else None


def _in_the_way(task: HeatedCoat, proved: Proved) -> list[int]:
    """Members a plan fails in: first the hardest it has to hold in, then from the easiest on."""
    verdict, needed = proved.verdict, _needed(task, proved)
    start = np.array([proved.choice.start + proved.offset])
    least = np.full(verdict.members, np.inf)
    for index, track in enumerate(verdict.tracks):
        margin = verdict.min_margin(index, start)[:, 0] / (track.kind.spare or 1.0)
        least = np.minimum(least, np.where(np.isnan(margin), -np.inf, margin))
    least = np.where(proved.holds, np.maximum(least, 0.0), np.minimum(least, -1e-9))
    easiest_first = np.argsort(-least, kind="stable")
    wanted = int(easiest_first[int(np.ceil(needed * verdict.members - 1e-9)) - 1])
    fails = [int(each) for each in easiest_first if not proved.holds[each]]
    return [wanted, *(each for each in fails if each != wanted)]


def describe_plan(
    task: HeatedCoat, proved: Proved, heating: Heating | None, *, latest: int | None = None
) -> HeatPlan:
    """A plan that was found, as an answer; sentence and what-ifs are added by the caller.

    ``latest`` is the last grid point to light at; None: it is looked for.
    """
    choice, room = proved.choice, proved.room
    if latest is None:
        latest = latest_light(task, proved.cold, choice)
    moment = proved.moment
    routine = routine_heat_w(room)
    total = kwh_between(room, proved.result.heat_w, choice.light, choice.end)
    start = moment(choice.start)
    use = fuel_use(total, heating)
    usual = round(kwh_between(room, routine, choice.light, choice.end), 2)
    chance_of_it = confidence(proved)
    lowest = float(np.median(lowest_c(proved)))
    return HeatPlan(
        job=task.job.name,
        where=task.base.where,
        space=task.base.space,
        status="possible",
        verdict=finding(
            "heater run",
            space=task.base.space,
            light_at=moment(choice.light),
            light_by=moment(latest),
            temp_c=choice.setpoint_c,
            other_temp_c=lowest if lowest < choice.setpoint_c - REACH_K else None,
            aired=task.airing_m3_h > 0.0,
            begins=start,
            until=moment(choice.end),
            vents=VENTS_WORD[choice.ventilation],
            chance=chance_of_it,
            cost=use.cost,
            share=min(usual / max(use.energy_kwh, 1e-9), 1.0),
            fuel=use.fuel,
            fuel_amount=use.amount,
            fuel_unit=use.unit,
        ),
        setpoint_c=choice.setpoint_c,
        reached_c=round(float(np.median(highest_c(proved))), 1),
        lowest_c=round(lowest, 1),
        light_at=moment(choice.light),
        latest_light_at=moment(latest),
        start=start,
        applied=start + timedelta(hours=task.hands_on_h),
        hold_until=moment(choice.end),
        milestone=task.sheet.setting.until,
        ventilation=choice.ventilation,
        air_changes_h=round(air_change(room, choice.ventilation), 3),
        airing=_airing(task, proved),
        use=use,
        routine_kwh=usual,
        peak_w=round(float(proved.result.heat_w[:, choice.light : choice.end].max()), 0),
        power_w=choice.power_w,
        tightest=tightest(proved),
        confidence=chance_of_it,
        notes=_notes(task, proved, heating, total),
    )


def kwh_between(room: Room, heat_w: FloatArray, begin: int, end: int) -> float:
    """Heat between two grid points of the room, the most of any member [kWh]."""
    heat = np.nan_to_num(heat_w[:, begin:end]).sum(axis=1)
    return float(heat.max()) * room.step_h / 1000.0


def _airing(task: HeatedCoat, proved: Proved) -> Airing | None:
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
        spans = np.broadcast_to(verdict.span_end(track), verdict.setting_end.shape)
        ends = np.minimum(spans[rows, start[0]], verdict.points - 1)
        if not ends.size:
            continue
        stretch = track.margin[rows, start[0] : int(ends.max()) + 1].copy()
        # each member up to its own end
        stretch[np.arange(stretch.shape[1]) > (ends - start[0])[:, np.newaxis]] = np.nan
        if np.isnan(stretch).all():
            continue
        row, column = np.unravel_index(int(np.nanargmin(stretch)), stretch.shape)
        value = float(stretch[row, column]) / (track.kind.spare or 1.0)
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


def _notes(
    task: HeatedCoat, proved: Proved, heating: Heating | None, total_kwh: float
) -> list[Finding]:
    choice, room = proved.choice, proved.room
    notes = [
        finding(
            "limits with spare",
            difference_k=DEW.spare,
            rh_pct=HUMIDITY.spare,
            known=room.members == 1,
        ),
    ]
    notes += _tin(task, proved)
    lowest = float(np.median(lowest_c(proved)))
    if lowest < choice.setpoint_c - REACH_K:
        notes.append(finding("not held throughout", temp_c=lowest))
    notes += _hands_missing(task, proved)
    if heating is not None:
        notes += fuel_notes(heating)
        if heating.kind == "solid fuel":
            notes.append(finding("stove to tend"))
        low = least_power_w(heating)
        mean = total_kwh * 1000.0 / max((choice.end - choice.light) * room.step_h, 1e-9)
        if low and mean < low:
            notes.append(finding("heater cycles", power_w=mean, other_power_w=low))
        if not np.isnan(room.routine_c).all():
            notes.append(finding("routine goes on"))
        if room.heater is not None and room.heater.water_kg_kwh:
            notes.append(finding("flame's water counted"))
    if task.water_kg_h:
        notes.append(finding("own water counted"))
    if task.job.panel is None:
        notes.append(finding("joinery lags"))
    if room.space.connected_to:
        notes.append(finding("doors shut"))
    return [*notes, *room.notes]


def _tin(task: HeatedCoat, proved: Proved) -> list[Finding]:
    """How the tin comes to the start; kept where the work is it warms up with the space."""
    series, start = proved.verdict.series, proved.choice.start + proved.offset
    span = start, min(int(proved.verdict.apply_end[start]), proved.verdict.points - 1)
    first = proved.room.first - proved.offset
    found = fetch_findings(task.base.tins, task.sheet, task.hands_on_h, series, first, span)
    return found or [finding("bring the tin")]


def _hands_missing(task: HeatedCoat, proved: Proved) -> list[Finding]:
    """What has to be done while nobody is aboard: to shut the hatches, to turn the heater down."""
    choice, room = proved.choice, proved.room
    here = task.hours_ok[room.first :]
    notes = []
    if task.airing_m3_h and not here[min(choice.dry, len(here) - 1)]:
        notes.append(finding("nobody to close up", at=proved.moment(choice.dry)))
    if not here[choice.end]:
        later = np.flatnonzero(here[choice.end :])
        until = at_index(task.base, room.first + choice.end + int(later[0])) if later.size else None
        at = proved.moment(choice.end)
        notes.append(finding("nobody to turn it down", at=at, until=until))
    return notes
