"""A job's heating plan put together: refused, found or not, what if, what else, take care."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from curewindow.boat.schema import Boat, Heating, Space
from curewindow.cautions import Caution, cautions_for
from curewindow.cautions.caution import warning
from curewindow.cautions.unflued import unflued_by_day_only, unflued_refused
from curewindow.heating.alternatives import alternatives_of
from curewindow.heating.missing import least_power, missing_of, unsolved
from curewindow.heating.models import HeatPlan, HeatStatus
from curewindow.heating.plan import Proved, describe_plan, find_or_member
from curewindow.heating.room import Room, member_to_plan_for, of_member
from curewindow.heating.search import AT_A_GLANCE, FINE, USUAL, search
from curewindow.heating.task import Task
from curewindow.heating.whatif import one_more_coat, outage_of
from curewindow.heating.words import missing_text, plan_text
from curewindow.rules.unflued import unflued_for
from curewindow.sheets.schema import Sheet
from curewindow.voice import short
from curewindow.windows.grid import first_at_or_after, last_at_or_before
from curewindow.wording import Wording


def plan_heating(
    boat: Boat,
    space: Space,
    task: Task,
    room: Room | None,
    words: Wording,
    *,
    setpoint_c: float | None = None,
    wet_near: Sequence[Sheet] = (),
    quick: bool = False,
    other_ways: bool = True,
) -> HeatPlan:
    """Plan the heat for a coat.

    Parameters
    ----------
    boat : Boat
    space : Space
        The job's.
    task : Task
        What is to be put on, and its bounds.
    room : Room or None
        The space from now on; None where the weather does not reach or nobody described it.
    words : Wording
    setpoint_c : float, optional
        Only this setpoint.
    wet_near : sequence of Sheet
        Other products still giving off vapour there.
    quick : bool
        Only the plan itself, searched coarsely: no what-ifs, nothing about what is missing.
    other_ways : bool
        Look for alternatives too.

    Returns
    -------
    HeatPlan
    """
    products = [task.sheet, *wet_near]
    said = heat_cautions(boat, space, task, products)
    refusal = next((c for c in said if c.urgency == "refused"), None)
    if refusal is not None:
        return _none(task, "refused", f"not with this heater: {refusal.text}", said)
    unflued = unflued_for(boat, space)
    if unflued is not None and unflued.sleepers:
        return _unflued(task, unflued_refused(unflued, ["sleepers"]), said)
    if room is None:
        reason = "no weather or no description of the space to reckon with"
        return _none(task, "no weather", reason, said)
    heating = space.heating
    efforts = (AT_A_GLANCE,) if quick else (USUAL, FINE)
    proved: Proved | int = member_to_plan_for(room.outside.temp_c)
    if heating:
        proved = find_or_member(task, room, setpoint_c=setpoint_c, efforts=efforts)
    if heating and quick and isinstance(proved, int) and _worth_a_closer_look(task, room):
        proved = find_or_member(task, room, setpoint_c=setpoint_c, efforts=(USUAL,))
    if heating and not quick and isinstance(proved, int):
        # The cheapest way of a close search may hold in too few members where a coarser, warmer
        # one holds in enough: what the day sheet tells of is not denied here.
        proved = find_or_member(task, room, setpoint_c=setpoint_c, efforts=(AT_A_GLANCE,))
    if isinstance(proved, Proved):
        plan = describe_plan(task, proved, heating, quick=quick)
        more: dict[str, object] = {
            "sentence": plan_text(plan, words),
            "cautions": [*said, *_night(plan, task, heating)],
        }
        if not quick:
            more |= {
                "outage": outage_of(task, proved, words),
                "one_more_coat": one_more_coat(task, proved, heating, words),
            }
        if not quick and other_ways:
            ways = alternatives_of(task, proved.cold, None, words, proved.choice)
            more["alternatives"] = ways
        return plan.model_copy(update=more)
    if unflued is not None:
        return _unflued(task, unflued_by_day_only(unflued), said)
    if quick:
        why = "no way seen with this heater" if heating else "no heater there"
        return _none(task, "cannot", why, said)
    return _cannot(task, room, of_member(room, proved), words, said, other_ways)


def _worth_a_closer_look(task: Task, room: Room) -> bool:
    """Is there a way in one member of the weather, though at a glance none that holds in enough?"""
    one = of_member(room, member_to_plan_for(room.outside.temp_c))
    return room.members > 1 and search(task, one, effort=AT_A_GLANCE) is not None


def _cannot(
    task: Task, room: Room, cold: Room, words: Wording, said: list[Caution], other_ways: bool
) -> HeatPlan:
    lacking = least_power(task, cold)
    missing = missing_of(task, cold, None if lacking is None else lacking[0])
    found = None if lacking is not None else unsolved(task, cold)
    why = "" if found is None else short(found, words)
    plan = _none(task, "cannot", missing_text(missing, room.power_w, why), said)
    ways = alternatives_of(task, cold, missing, words, None) if other_ways else []
    notes = [*room.notes]
    if room.space.heating is None:
        notes.append("power worked out for a heater that burns nothing inside, such as electric")
    if task.airing_m3_h:
        notes.append(
            f"{task.airing_m3_h:.0f} m³/h of outside air for the vapour until it is touch dry "
            "are reckoned in"
        )
    return plan.model_copy(
        update={
            "power_w": room.power_w,
            "missing": missing,
            "alternatives": ways,
            "notes": notes,
        }
    )


def _unflued(task: Task, refusal: Caution, said: list[Caution]) -> HeatPlan:
    others = [caution for caution in said if caution.topic != refusal.topic]
    sentence = f"not with this heater: {refusal.text}"
    return _none(task, "refused", sentence, [refusal, *others])


def _none(task: Task, status: HeatStatus, sentence: str, said: list[Caution]) -> HeatPlan:
    return HeatPlan(
        job=task.job.name,
        where=task.base.where,
        space=task.base.space,
        status=status,
        sentence=sentence,
        cautions=said,
    )


def heat_cautions(boat: Boat, space: Space, task: Task, products: Sequence[Sheet]) -> list[Caution]:
    """Cautions for heating over these products; any that is 'refused' forbids the plan."""
    return cautions_for(products, task.job, space, boat, step=task.step)


def _night(plan: HeatPlan, task: Task, heating: Heating | None) -> list[Caution]:
    """The plan itself heats through a night, or while nobody is aboard."""
    assert plan.light_at is not None
    assert plan.hold_until is not None
    if heating is None or not _nobody_aboard(task, plan.light_at, plan.hold_until):
        return []
    return [
        warning(
            "unattended heating",
            "the plan heats while nobody is aboard or awake",
            "The plan heats while nobody is aboard or awake, a common cause of boat fires; many "
            "harbours, insurers and makers of heaters forbid it. Nothing that burns near the "
            "heater, its thermostat and cut-outs in order; if you may not, sit the hours out "
            "or choose another day.",
        )
    ]


def _nobody_aboard(task: Task, begin: datetime, end: datetime) -> bool:
    first = first_at_or_after(task.base, begin)
    last = last_at_or_before(task.base, end)
    return not bool(task.hours_ok[first : last + 1].all())
