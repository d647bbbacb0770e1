"""A slow second look at an order of work: walked slot by slot, rule by rule.

Shares nothing with the constraint model and looks up none of its tables: it goes by the
work list, the sheets and the conditions the surfaces really have under the plan, heat
as planned included, and works out every coat's times anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, time, timedelta

from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Space
from curewindow.order.films import coats, dust, rows
from curewindow.order.given import Given
from curewindow.order.slots import Slots
from curewindow.order.walk import OrderFault, PlacedWork, Walk
from curewindow.rules.milestones import COVERED, TOUCH_DRY
from curewindow.rules.work import WITH_PRODUCT
from curewindow.series import SurfaceSeries


def verify(
    given: Given,
    slots: Slots,
    done: list[PlacedWork],
    series: Mapping[str, SurfaceSeries],
    left_out: frozenset[str] = frozenset(),
) -> list[OrderFault]:
    """Everything that is wrong with an order of work.

    Parameters
    ----------
    given : Given
    slots : Slots
        Only for the length of the walk's steps.
    done : list of PlacedWork
        The order.
    series : mapping of str to SurfaceSeries
        By job: conditions as they are with the heat that is planned.
    left_out : frozenset of str
        Jobs that are not planned.

    Returns
    -------
    list of OrderFault
        Empty where it keeps every rule.
    """
    walk = Walk(given, slots, sorted(done, key=lambda each: each.start), series)
    return [
        *everything_once(walk, left_out),
        *hands(walk),
        *arrivals(walk),
        *coats(walk),
        *rows(walk),
        *relations(walk, left_out),
        *dust(walk),
        *tools(walk),
        *heater(walk),
    ]


def everything_once(walk: Walk, left_out: frozenset[str]) -> list[OrderFault]:
    faults = []
    for job in walk.given.work.job:
        stand = walk.given.stands[job.name]
        if stand.step is None or job.name in left_out:
            continue
        for number in range(stand.step, len(job.step) + 1):
            step = job.step[number - 1]
            own = [e for e in walk.of(job.name) if e.step == number and not e.extra_sanding]
            if step.do in WITH_PRODUCT:
                first = (stand.coat or 1) if number == stand.step else 1
                wanted = list(range(first, step.coats + 1))
                if sorted(e.coat or 0 for e in own) != wanted:
                    faults.append(_fault(walk, "all of it", job.name, f"step {number}: coats"))
                continue
            planned = sum((e.end - e.start for e in own), timedelta())
            if planned < timedelta(hours=hands_on_h(step, job)) - timedelta(minutes=1):
                faults.append(_fault(walk, "all of it", job.name, f"step {number}: hours"))
    return faults


def hands(walk: Walk) -> list[OrderFault]:
    """One pair of hands, and only while aboard: slot by slot."""
    faults = []
    for slot in range(walk.slots.count):
        begin = walk.slots.at(slot)
        end = begin + timedelta(minutes=walk.slots.minutes)
        busy = [e for e in walk.done if e.start < end and e.end > begin]
        if len(busy) > 1:
            names = " and ".join(f"'{e.job}'" for e in busy)
            faults.append(OrderFault("hands", busy[1].job, begin, f"{names} at the same time"))
        if busy and not _aboard(walk, begin, end):
            faults.append(OrderFault("aboard", busy[0].job, begin, "nobody is aboard"))
    faults += [
        OrderFault("aboard", e.job, e.start, "outside the time looked at")
        for e in walk.done
        if e.start < walk.given.now or e.end > walk.slots.at(walk.slots.count)
    ]
    return faults


def _aboard(walk: Walk, begin: datetime, end: datetime) -> bool:
    if not walk.given.boat.hours:
        return True
    for hours in walk.given.boat.hours:
        for days_back in (0, 1):
            day = begin.astimezone(walk.zone).date() - timedelta(days=days_back)
            if day.strftime("%a") not in hours.days:
                continue
            opens = datetime.combine(day, hours.from_, walk.zone)
            last = day + timedelta(days=1) if hours.until == time(0) else day
            closes = datetime.combine(last, hours.until, walk.zone)
            if opens.astimezone(UTC) <= begin and end <= closes.astimezone(UTC):
                return True
    return False


def arrivals(walk: Walk) -> list[OrderFault]:
    faults = []
    today = walk.given.now.astimezone(walk.zone).date()
    for each in walk.done:
        for delivery in walk.job[each.job].delivery:
            last = delivery.on or delivery.latest
            if delivery.arrived or last is None or last <= today:
                continue
            if each.start < datetime.combine(last, time(18), walk.zone).astimezone(UTC):
                text = f"before {delivery.what} is sure to be there"
                faults.append(OrderFault("delivery", each.job, each.start, text))
    return faults


def relations(walk: Walk, left_out: frozenset[str]) -> list[OrderFault]:
    faults = []
    for job in walk.given.work.job:
        own = walk.of(job.name)
        if not own:
            continue
        start = own[0].start
        for name in dict.fromkeys([*job.after, *job.after_touch_dry, *job.after_cured]):
            if name in left_out:
                faults.append(OrderFault("relation", job.name, start, f"'{name}' is not planned"))
            others = walk.of(name)
            if others and max(e.end for e in others) > start:
                faults.append(OrderFault("relation", job.name, start, f"'{name}' is not done"))
            films = [e for e in others if walk.film(e) is not None]
            on = walk.given.stands[name].on
            for wanted, names, attribute in (
                (job.after_cured, COVERED, "covered"),
                (job.after_touch_dry, TOUCH_DRY, "touch_dry"),
            ):
                if name not in wanted:
                    continue
                ready = [walk.reached(e, names) for e in films[-1:]]
                if attribute == "covered":
                    ready = [walk.reached(e, names) for e in _last_coats(walk, films)]
                if not films and on is not None:
                    ready = [getattr(on, attribute)]
                if any(when is None or when > start for when in ready):
                    text = f"'{name}' is not {'cured' if attribute == 'covered' else 'dry'}"
                    faults.append(OrderFault("cured", job.name, start, text))
    return faults


def _last_coats(walk: Walk, films: list[PlacedWork]) -> list[PlacedWork]:
    """The last planned coat of each step."""
    return list({each.step: each for each in films}.values())


def tools(walk: Walk) -> list[OrderFault]:
    """No tool is held more often at a time than there is of it."""
    faults = []
    counts = {tool.name: tool.count for tool in walk.given.work.tool}
    spans: dict[str, list[tuple[datetime, datetime | None, PlacedWork]]] = {}
    for each in walk.done:
        sheet = walk.film(each)
        free = walk.reached(each, (sheet.setting.until,)) if sheet is not None else each.end
        for tool in walk.step(each).tools:
            spans.setdefault(tool, []).append((each.start, free, each))
    for tool, held in spans.items():
        for begin, _, each in held:
            others = [e for b, free, e in held if b <= begin and (free is None or free > begin)]
            if len(others) > counts.get(tool, 1):
                faults.append(
                    OrderFault("tool", each.job, begin, f"{tool} is still held elsewhere")
                )
    return faults


def heater(walk: Walk) -> list[OrderFault]:
    """A heater warms so many spaces at a time and no more: slot by slot."""
    faults = []
    boat = walk.given.boat
    for space in boat.space:
        heating = space.heating
        if heating is None or heating.outlet_of is not None or heating.at_once is None:
            continue
        served = {space.name} | {
            s.name for s in boat.space if s.heating and s.heating.outlet_of == space.name
        }
        for slot in range(walk.slots.count):
            begin = walk.slots.at(slot)
            on = {
                walk.job[e.job].space
                for e in walk.done
                if e.warm is not None
                and e.warm[0] <= begin < e.warm[1]
                and walk.job[e.job].space in served
            }
            lit = {each.name for each in boat.space if each.name in served and _lit(each, begin)}
            if len(on - lit) > max(heating.at_once - len(lit), 0):
                on |= lit
                text = "the heater would have to warm " + " and ".join(sorted(map(str, on)))
                faults.append(OrderFault("heater", space.name, begin, text))
                break
    return faults


def _lit(space: Space, at: datetime) -> bool:
    """Does the log have its heater on?"""
    held = () if space.heating is None else space.heating.held
    return any(each.setpoint_c is not None and each.begin <= at < each.end for each in held)


def _fault(walk: Walk, rule: str, job: str, text: str) -> OrderFault:
    return OrderFault(rule, job, walk.given.now, text)
