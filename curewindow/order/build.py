"""From the work list and the conditions to come to the tasks that are put in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.joined import connected_spaces
from curewindow.boat.schema import Job, Space
from curewindow.conditions.devices import KINDS
from curewindow.findings import Finding, finding
from curewindow.heating.fuel import kwh_per_unit
from curewindow.order.awaited import awaited
from curewindow.order.chain import Chain, chain_of
from curewindow.order.delay import DAY_KWH
from curewindow.order.early import earliest_starts, task_name
from curewindow.order.given import Given
from curewindow.order.modes import Modes
from curewindow.order.problem import Bound, HeatSource, LinkKind, Precedence, Problem, Task
from curewindow.order.slots import IntArray, Slots, grid_index, lay_slots
from curewindow.series import FloatArray
from curewindow.voice import short
from curewindow.voice.plan import waits_in_vain


def build_problem(
    given: Given, slot_min: int = 30, look_up: Callable[[Given, Slots], Modes] = Modes
) -> Problem:
    """Lay out everything there is to put in order.

    Parameters
    ----------
    given : Given
    slot_min : int
        Length of a slot in minutes.
    look_up : callable
        Makes what the modes of steps are looked up in.

    Returns
    -------
    Problem

    Raises
    ------
    SheetError
        A sheet's tables cannot be used.
    ValueError
        The weather does not reach over the time to be planned.
    """
    zone = ZoneInfo(given.boat.place.time_zone)
    times = next(iter(given.series.values())).times if given.series else None
    if times is None:
        raise ValueError("there are no jobs to put in order")
    slots = lay_slots(
        given.now, given.until, times, given.hours_ok, given.boat.place.time_zone, slot_min
    )
    modes = look_up(given, slots)
    chains: dict[str, Chain] = {}
    left: dict[str, str] = {}
    notes: list[str] = []
    for job in given.work.job:
        stand = given.stands[job.name]
        if stand.step is None:
            continue
        chain = chain_of(given, slots, modes, job, stand)
        if chain.why_not:
            left[job.name] = chain.why_not
            continue
        bounds, why_not, said = _deliveries(given, slots, job, zone)
        notes += said
        if why_not:
            left[job.name] = why_not
            continue
        chains[job.name] = chain.held_back(bounds)
    while True:
        _leave_out_followers(given, chains, left)
        problem = _assembled(given, slots, chains, left, notes, zone)
        stuck = _stuck(problem)
        if not stuck:
            return problem
        for name, why in stuck.items():
            left[name] = short(why, given.words)
            del chains[name]


def _stuck(problem: Problem) -> dict[str, Finding]:
    """Jobs with a task that never comes to its turn within the time looked at, and why."""
    found: dict[str, Finding] = {}
    early = earliest_starts(problem)
    for task in problem.tasks:
        if task.optional or early[task.number] < problem.slots.count or task.job in found:
            continue
        behind = [
            problem.tasks[link.before]
            for link in problem.links
            if link.after == task.number and early[link.before] < problem.slots.count
        ]
        other = next((each for each in behind if each.job != task.job), None)
        if other is None and behind:
            other = behind[-1]
        if other is None:
            late = [awaited(b) for b in task.bounds if b.slot >= problem.slots.count]
            found[task.job] = finding("never begun", part=task_name(task), because=late[:1])
        else:
            found[task.job] = finding(
                "never hard enough", part=task_name(task), other_part=task_name(other)
            )
    return found


def _assembled(
    given: Given,
    slots: Slots,
    chains: dict[str, Chain],
    left: dict[str, str],
    notes: list[str],
    zone: ZoneInfo,
) -> Problem:
    """All chains in one problem."""
    tasks: list[Task] = []
    links: list[Precedence] = []
    first: dict[str, int] = {}
    for name, chain in chains.items():
        first[name] = len(tasks)
        offset = len(tasks)
        tasks += [task.renumbered(offset.__add__) for task in chain.tasks]
        links += [link.renumbered(offset.__add__) for link in chain.links]
    for job in given.work.job:
        if job.name not in chains:
            continue
        more, waits = _relations(given, slots, job, chains, first)
        links += more
        at = first[job.name]
        tasks[at] = replace(tasks[at], bounds=(*tasks[at].bounds, *waits))
    reach = _reach(given)
    tasks = [_behind_wet_films(given, slots, task, reach) for task in tasks]
    done_by = None
    if given.work.done_by is not None:
        end = datetime.combine(given.work.done_by + timedelta(days=1), time(0), zone)
        done_by = slots.at_or_before(end.astimezone(UTC))
    return Problem(
        slots=slots,
        tasks=tuple(tasks),
        links=tuple(links),
        reach=reach,
        heaters=_heaters(given, slots),
        done_by=done_by,
        known_until=slots.at_or_before(given.known_until),
        left_out=tuple((job.name, left[job.name]) for job in given.work.job if job.name in left),
        notes=tuple(dict.fromkeys([*given.notes, *notes])),
        now=given.now,
        tool_counts={tool.name: tool.count for tool in given.work.tool},
        day_kwh=DAY_KWH,
    )


def _deliveries(
    given: Given, slots: Slots, job: Job, zone: ZoneInfo
) -> tuple[list[Bound], str, list[str]]:
    """What a job has to wait for to arrive; why it cannot be dated; what was taken for granted."""

    def taken(state: str, at: datetime | None = None) -> str:
        found = finding("delivery in plan", thing=delivery.what, state=state, at=at)
        return short(found, given.words)

    bounds: list[Bound] = []
    notes: list[str] = []
    today = given.now.astimezone(zone).date()
    for delivery in job.delivery:
        if delivery.arrived:
            continue
        last = delivery.on or delivery.latest
        if last is None:
            if delivery.earliest is None:
                return [], taken("no date"), []
            last = delivery.earliest + timedelta(days=7)
            notes.append(taken("week after"))
        if datetime.combine(last, time(18), zone) <= given.now:
            last = today + timedelta(days=1)
            notes.append(taken("overdue", datetime.combine(last, time(18), zone)))
        # On the day itself it may come late.
        slot = slots.at_or_after(datetime.combine(last, time(18), zone).astimezone(UTC))
        soonest = delivery.on or delivery.earliest or last
        early = slots.at_or_after(datetime.combine(soonest, time(18), zone).astimezone(UTC))
        bounds.append(Bound(slot, "delivery", delivery.what, max(0, min(early, slot))))
    return bounds, "", notes


def _leave_out_followers(given: Given, chains: dict[str, Chain], left: dict[str, str]) -> None:
    """Jobs that wait for one that cannot be planned cannot be planned either."""
    by_name = {job.name: job for job in given.work.job}
    changed = True
    while changed:
        changed = False
        for name in list(chains):
            job = by_name[name]
            for other in [*job.after, *job.after_cured, *job.after_touch_dry]:
                if other in left:
                    left[name] = waits_in_vain(other)
                    del chains[name]
                    changed = True
                    break


def _relations(
    given: Given, slots: Slots, job: Job, chains: dict[str, Chain], first: dict[str, int]
) -> tuple[list[Precedence], list[Bound]]:
    """What binds the first task of a job to other jobs."""
    links: list[Precedence] = []
    bounds: list[Bound] = []
    kinds: list[tuple[str, LinkKind]] = [
        *((name, "job") for name in job.after),
        *((name, "touch dry") for name in job.after_touch_dry),
        *((name, "cured") for name in job.after_cured),
    ]
    for other, kind in dict.fromkeys(kinds):
        if other in chains:
            links += _after_chain(chains[other], first[other], first[job.name], kind)
        on = given.stands[other].on
        if on is None or kind == "job":
            continue
        when = on.covered if kind == "cured" else on.touch_dry
        if other in chains and kind == "touch dry":
            continue
        slot = slots.count if when is None else slots.at_or_after(when)
        if slot > 0:
            bounds.append(Bound(slot, "cured" if kind == "cured" else "touch dry", other))
    return links, bounds


def _after_chain(chain: Chain, offset: int, after: int, kind: LinkKind) -> list[Precedence]:
    """A job that is to come after what is left of another one."""
    if kind == "cured" and chain.last_of_each_product:
        return [
            Precedence(
                at + offset, after, "cured", tuple(mode.covered for mode in chain.tasks[at].modes)
            )
            for at in chain.last_of_each_product
        ] + [Precedence(chain.last + offset, after, "job", _ends(chain))]
    if kind == "touch dry" and chain.touch_dry is not None:
        return [Precedence(chain.last + offset, after, "touch dry", chain.touch_dry)]
    return [Precedence(chain.last + offset, after, "job", _ends(chain))]


def _ends(chain: Chain) -> tuple[IntArray, ...]:
    return tuple(mode.ends for mode in chain.tasks[chain.last].modes)


def _reach(given: Given) -> dict[str | None, frozenset[str | None]]:
    """Spaces that dust settles in, by space."""
    found: dict[str | None, frozenset[str | None]] = {None: frozenset([None])}
    for space in given.boat.space:
        found[space.name] = frozenset(each.name for each in connected_spaces(given.boat, space))
    return found


def _behind_wet_films(
    given: Given, slots: Slots, task: Task, reach: dict[str | None, frozenset[str | None]]
) -> Task:
    """Dusty work waits for coats of other jobs that are on already and still take dust."""
    if not task.dusty:
        return task
    bounds = list(task.bounds)
    for other in given.work.job:
        on = given.stands[other.name].on
        if on is None or other.name == task.job or other.space not in reach[task.space]:
            continue
        slot = slots.count if on.dust_dry is None else slots.at_or_after(on.dust_dry)
        if slot > 0:
            bounds.append(Bound(slot, "dust", other.name))
    return replace(task, bounds=tuple(bounds))


def _heaters(given: Given, slots: Slots) -> tuple[HeatSource, ...]:
    """The heaters, with their outlets in other spaces, and what a kept temperature takes."""
    spaces = [space for space in given.boat.space if space.heating is not None]
    found: list[HeatSource] = []
    for space in spaces:
        heating = space.heating
        assert heating is not None
        if heating.outlet_of is not None:
            continue
        served = [
            other.name
            for other in spaces
            if other is space
            or (other.heating is not None and other.heating.outlet_of == space.name)
        ]
        kwh: dict[tuple[str, float], FloatArray] = {}
        for (name, level), watts in given.extra_w.items():
            if name in served:
                kwh[(name, level)] = _per_slot(given, slots, watts)
        found.append(
            HeatSource(
                name=space.name,
                spaces=tuple(served),
                at_once=min(heating.at_once or len(served), len(served)),
                kwh=kwh,
                kwh_per_unit=kwh_per_unit(heating),
                unit=KINDS[heating.kind].unit,
                lit={other.name: lit for other in spaces if (lit := _lit(served, other, slots))},
            )
        )
    return tuple(found)


def _lit(served: list[str], space: Space, slots: Slots) -> tuple[tuple[int, int], ...]:
    """Slots in which the log has one of a heater's spaces warmed, the last left out."""
    if space.name not in served or space.heating is None:
        return ()
    spans = [
        (max(slots.at_or_before(held.begin), 0), min(slots.at_or_after(held.end), slots.count))
        for held in space.heating.held
        if held.setpoint_c is not None
    ]
    return tuple((begin, until) for begin, until in spans if begin < until)


def _per_slot(given: Given, slots: Slots, watts: FloatArray) -> FloatArray:
    times = next(iter(given.series.values())).times
    begin, per = grid_index(slots, times)
    cut = np.nan_to_num(watts[begin : begin + slots.count * per])
    mean: FloatArray = cut.reshape(slots.count, per).mean(axis=1)
    return np.maximum(mean, 0.0) * slots.hours / 1000.0
