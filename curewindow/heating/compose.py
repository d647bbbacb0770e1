"""A job's heating plan put together: refused, found or not, what if, what else, take care."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from curewindow.boat.schema import Boat, Heating, Space
from curewindow.cautions import cautions_for, gravest_first, refusal_of
from curewindow.cautions.airflow import WetFilm
from curewindow.cautions.unflued import unflued_by_day_only, unflued_refused
from curewindow.findings import Finding, finding
from curewindow.heating.alternatives import alternatives_of
from curewindow.heating.choice import LOOK_H, Choice, Planned
from curewindow.heating.coat import HeatedCoat
from curewindow.heating.missing import least_power, missing_of, unsolved
from curewindow.heating.models import HeatPlan, HeatStatus
from curewindow.heating.plan import Proved, describe_plan, find_or_member, prove
from curewindow.heating.room import Room, member_to_plan_for, of_member
from curewindow.heating.whatif import one_more_coat, outage_of
from curewindow.rules.unattended import unattended_of
from curewindow.rules.unflued import unflued_for
from curewindow.voice.cautions import topic
from curewindow.windows.grid import first_at_or_after, last_at_or_before


def plan_heating(
    boat: Boat,
    space: Space,
    task: HeatedCoat,
    room: Room | None,
    *,
    setpoint_c: float | None = None,
    wet_near: Sequence[WetFilm] = (),
    first: Choice | None = None,
) -> Planned:
    """Plan the heat for a coat.

    Parameters
    ----------
    boat : Boat
    space : Space
        The job's.
    task : HeatedCoat
        What is to be put on, and its bounds.
    room : Room or None
        The space from now on; None where the weather does not reach or nobody described it.
    setpoint_c : float, optional
        Only this setpoint.
    wet_near : sequence of WetFilm
        Films still giving off vapour there.
    first : Choice, optional
        A way found before, in grid points of the room: proved instead of a search.

    Returns
    -------
    Planned
    """
    said = heat_cautions(boat, space, task, wet_near)
    refusal = refusal_of(said)
    if refusal is not None:
        return Planned(_refused(task, refusal, said))
    unflued = unflued_for(boat, space)
    if unflued is not None and unflued.sleepers:
        return Planned(_refused(task, unflued_refused(unflued, ["sleepers"]), said))
    if room is None:
        return Planned(_none(task, "no weather", finding("space not described"), said))
    heating = space.heating
    if heating is None:
        member = member_to_plan_for(room.outside.temp_c)
        none = finding("no heater", space=space.name)
        return Planned(_none(task, "cannot", none, said), member=member)
    proved = find_or_member(task, room, setpoint_c=setpoint_c, first=first)
    if not isinstance(proved, Proved) and unflued is not None:
        return Planned(_refused(task, unflued_by_day_only(unflued), said))
    if not isinstance(proved, Proved):
        alone = _only_attended(boat, space, heating, task, room, setpoint_c)
        none = alone or finding("no heat opens", until=_looked_until(task))
        return Planned(_none(task, "cannot", none, said), member=proved)
    plan = describe_plan(task, proved, heating)
    dangers = [note for note in plan.notes if note.weight == "danger"]
    told: dict[str, object] = {
        "cautions": gravest_first([*said, *_left_alone(boat, space, plan, task), *dangers]),
        "notes": [note for note in plan.notes if note.weight != "danger"],
    }
    plan = plan.model_copy(update=told)
    return Planned(plan, proved.choice, proved.member)


def look_closer(
    task: HeatedCoat, room: Room, planned: Planned, *, other_ways: bool = True
) -> HeatPlan:
    """The same plan with its what-ifs and other ways; without one, with what is missing.

    Parameters
    ----------
    task : HeatedCoat
    room : Room
    planned : Planned
        From `plan_heating`, for the same task and room.
    other_ways : bool
        Look for alternatives too.
    """
    plan, heating = planned.plan, room.space.heating
    if plan.verdict.kind == "no attended heat opens":
        return plan
    if plan.status == "cannot":
        cold = of_member(room, planned.member)
        return _cannot(task, room, cold, plan, other_ways)
    if planned.choice is None:
        return plan
    proved = prove(task, room, planned.choice, planned.member)
    more: dict[str, object] = {
        "outage": outage_of(task, proved),
        "one_more_coat": one_more_coat(task, proved, heating),
    }
    if other_ways:
        more["alternatives"] = alternatives_of(task, proved.cold, None, proved.choice)
    return plan.model_copy(update=more)


def _cannot(task: HeatedCoat, room: Room, cold: Room, plan: HeatPlan, other_ways: bool) -> HeatPlan:
    lacking = least_power(task, cold)
    missing = missing_of(task, cold, None if lacking is None else lacking[0])
    found = None if lacking is not None else unsolved(task, cold)
    ways = alternatives_of(task, cold, missing, None) if other_ways else []
    notes = [*room.notes]
    if room.space.heating is None:
        notes.append(finding("dry heat assumed"))
    if task.airing_m3_h:
        notes.append(finding("airing counted", flow_m3_h=task.airing_m3_h))
    verdict = finding(
        "no heat opens",
        until=_looked_until(task),
        power_w=missing.power_w,
        other_power_w=room.power_w,
        thickness_mm=missing.foam_mm,
        surface=None if missing.foam_mm is None else missing.panel,
        outdoors=True if missing.outside else None,
        u_value=missing.u_value,
        because=[] if found is None else [found],
    )
    return plan.model_copy(
        update={
            "verdict": verdict,
            "power_w": room.power_w,
            "missing": missing,
            "alternatives": ways,
            "notes": notes,
        }
    )


def _looked_until(task: HeatedCoat) -> datetime:
    """Runs are searched for starts so far ahead; to the full hour, as time passes smoothly."""
    looked = task.earliest + timedelta(hours=LOOK_H)
    return looked.replace(minute=0, second=0, microsecond=0)


def _refused(task: HeatedCoat, refusal: Finding, said: list[Finding]) -> HeatPlan:
    others = [each for each in said if topic(each) != topic(refusal) or each is refusal]
    told = others if refusal in others else [refusal, *others]
    return _none(task, "refused", finding("refused", because=[refusal]), told)


def _none(task: HeatedCoat, status: HeatStatus, verdict: Finding, said: list[Finding]) -> HeatPlan:
    return HeatPlan(
        job=task.job.name,
        where=task.base.where,
        space=task.base.space,
        status=status,
        verdict=verdict,
        cautions=said,
    )


def heat_cautions(
    boat: Boat, space: Space, task: HeatedCoat, wet_near: Sequence[WetFilm]
) -> list[Finding]:
    """Cautions for heating over a coat and films near; any that is 'refused' forbids the plan."""
    products = [task.sheet]
    return cautions_for(
        products, task.job, space, boat, space.heating, step=task.step, films=wet_near
    )


def _only_attended(
    boat: Boat,
    space: Space,
    heating: Heating,
    task: HeatedCoat,
    room: Room,
    setpoint_c: float | None,
) -> Finding | None:
    """What to say where heat would open a start, were its heater left alone; None: it would not."""
    if room.may_run is None:
        return None
    found = find_or_member(task, replace(room, may_run=None), setpoint_c=setpoint_c)
    if not isinstance(found, Proved):
        return None
    return finding(
        "no attended heat opens",
        heater=heating.kind,
        space=space.name,
        until=_looked_until(task),
        state=unattended_of(boat, heating),
    )


def _left_alone(boat: Boat, space: Space, plan: HeatPlan, task: HeatedCoat) -> list[Finding]:
    """The plan heats while nobody is aboard or awake, or with a heater that is never left alone."""
    assert plan.light_at is not None
    assert plan.hold_until is not None
    heating = space.heating
    if heating is None:
        return []
    if _nobody_aboard(task, plan.light_at, plan.hold_until):
        return [finding("heat unattended")]
    if unattended_of(boat, heating) == "never":
        return [finding("never left alone", heater=heating.kind, space=space.name)]
    return []


def _nobody_aboard(task: HeatedCoat, begin: datetime, end: datetime) -> bool:
    first = first_at_or_after(task.base, begin)
    last = last_at_or_before(task.base, end)
    return not bool(task.hours_ok[first : last + 1].all())
