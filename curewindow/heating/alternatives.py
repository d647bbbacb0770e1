"""Other ways, tried out on the same room and ranked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from math import sqrt
from typing import Final

import numpy as np

from curewindow.boat.schema import Heating
from curewindow.findings import finding
from curewindow.heating.choice import LOOK_H, Choice
from curewindow.heating.coat import HeatedCoat
from curewindow.heating.evaluate import VENTS
from curewindow.heating.fuel import fuel_use
from curewindow.heating.missing import least_power
from curewindow.heating.models import Alternative, AlternativeKind, Missing
from curewindow.heating.room import Room, going_on, heated, rebuilt
from curewindow.heating.search import ROUGH, SETTING_H, USUAL, Effort, search
from curewindow.physics.balance import Dehumidifier, PanelModel, SpaceModel
from curewindow.windows.grid import at_index

TENT_DEPTH_M: Final = 0.8
"""Room to work in front of the surface under a sheet (estimate)."""
# A tent is worth it below this share of the space.
_SMALLER = 0.6
# A small compressor machine of the trade: common practice, no source.
DEHUMIDIFIER: Final = Dehumidifier("condensing", rated_kg_day=12.0, power_w=250.0)
_CHEAPER = 0.9
_WORTH_KWH = 1.0  # less is not worth waiting for
# Stretches of days looked at later on, each with a day of heating before it.
_LATER_H = (LOOK_H, 2.0 * LOOK_H, 3.0 * LOOK_H)
_BEFORE_H = 24.0
_STRETCH_H = _BEFORE_H + LOOK_H + SETTING_H
# One setpoint more or less is no matter where a machine dries.
_DRYING_LOOK_H = 36.0
_DRYING = Effort(2, 24.0, 12.0, (4.0,))


def alternatives_of(
    task: HeatedCoat, room: Room, missing: Missing | None, plan: Choice | None
) -> list[Alternative]:
    """Other ways, what works first, of that the least heat.

    Parameters
    ----------
    task : HeatedCoat
    room : Room
        Of one member.
    missing : Missing or None
        What the heater lacks; None where it does.
    plan : Choice or None
        The plan there is; a later start with its vents must take a tenth less to be told.
    """
    found = [*_later(task, room, plan)]
    if plan is None:
        found += [*_tented(task, room), *_dried(task, room)]
        found += _lacking(missing, room)
    return sorted(
        found,
        key=lambda each: (not each.works, each.use is None, each.use.energy_kwh if each.use else 0),
    )


def _later(task: HeatedCoat, room: Room, plan: Choice | None) -> Iterator[Alternative]:
    """The first later stretch of days in which a start opens, or takes clearly less."""
    if room.power_w <= 0.0 or (plan is not None and plan.energy_kwh < _WORTH_KWH):
        return
    most_kwh = np.inf if plan is None else _CHEAPER * plan.energy_kwh
    vents = VENTS if plan is None else (plan.ventilation,)
    plain = heated(room, room.routine_c)
    for begin_h in _LATER_H:
        ahead = round((begin_h - _BEFORE_H) / room.step_h)
        if ahead >= room.points - 2:
            break
        rest = going_on(room, plain, ahead, np.array([0]), round(_STRETCH_H / room.step_h))
        after = replace(task, earliest=task.earliest + timedelta(hours=begin_h))
        effort = replace(USUAL, start_every_h=2.0)
        choice = search(after, rest, effort=effort, ventilation=vents)
        if choice is not None and choice.energy_kwh < most_kwh:
            yield _works("later start", choice, task, rest, room.space.heating)
            return
    if plan is None:
        yield _no_help("later start")


def _works(
    kind: AlternativeKind,
    choice: Choice,
    task: HeatedCoat,
    room: Room,
    heating: Heating | None,
    *,
    volume_m3: float | None = None,
    power_w: float | None = None,
    litres: float | None = None,
) -> Alternative:
    light = at_index(task.base, room.first + choice.light)
    start = at_index(task.base, room.first + choice.start)
    use = fuel_use(max(choice.energy_kwh, 0.0), heating)
    told = finding(
        "other way",
        kind_of=kind,
        works=True,
        light_at=light,
        temp_c=choice.setpoint_c,
        begins=start,
        until=at_index(task.base, room.first + choice.end),
        cost=use.cost,
        fuel=use.fuel,
        fuel_amount=use.amount,
        fuel_unit=use.unit,
        volume_m3=volume_m3,
        power_w=power_w,
        litres=litres,
    )
    return Alternative(
        kind=kind,
        works=True,
        said=told,
        light_at=light,
        start=start,
        setpoint_c=choice.setpoint_c,
        use=use,
    )


def _no_help(kind: AlternativeKind, *, aired: bool = False) -> Alternative:
    told = finding("other way", kind_of=kind, works=False, aired=aired)
    return Alternative(kind=kind, works=False, said=told)


def tented(task: HeatedCoat, room: Room) -> Room | None:
    """The part of a space in front of the job's panel under a sheet; None where it is no smaller.

    The sheet lets heat through into the space as it is unheated; its air leaks as the
    space's own, outside. Nothing stands inside.
    """
    name, area = task.job.panel, task.job.area
    if name is None or not area:
        return None
    panel = room.model.panels[room.panel_index(name)]
    covered = min(area, panel.area_m2)
    volume = covered * TENT_DEPTH_M
    if volume > _SMALLER * room.model.volume_m3:
        return None
    sheet_m2 = covered + 4.0 * sqrt(covered) * TENT_DEPTH_M
    model = SpaceModel(
        volume_m3=volume,
        panels=(
            replace(panel, area_m2=covered),
            PanelModel("sheet", sheet_m2, (), outside="space", neighbour="the space around"),
        ),
        air_changes_h=room.model.air_changes_h,
    )
    around = heated(room, room.routine_c)
    beside = {"the space around": around.air_c}
    return rebuilt(room, model, around.air_c[:, 0], around.rh_pct[:, 0], beside)


def _tented(task: HeatedCoat, room: Room) -> Iterator[Alternative]:
    tent = tented(task, room)
    if tent is None:
        return
    volume = tent.model.volume_m3
    if room.power_w > 0.0:
        choice = search(task, tent, effort=replace(ROUGH, refined=True))
        if choice is not None:
            heating = room.space.heating
            yield _works("smaller space", choice, task, tent, heating, volume_m3=volume)
            return
    lacking = least_power(task, tent)
    if lacking is None:
        yield _no_help("smaller space")
        return
    power, choice = lacking
    yield _works("smaller space", choice, task, tent, None, volume_m3=volume, power_w=power)


def _dried(task: HeatedCoat, room: Room) -> Iterator[Alternative]:
    """A dehumidifier running beside the heater, or without one."""
    if task.airing_m3_h:
        yield _no_help("dehumidifier", aired=True)
        return
    if room.unflued:
        return  # its vents would be shut over a heater without a flue
    dry = replace(room, dehumidifier=DEHUMIDIFIER)
    tiny = 1.0  # W: 'no heater', so that the search has something to hold
    choice = search(
        task,
        dry,
        power_w=max(room.power_w, tiny),
        look_h=_DRYING_LOOK_H,
        effort=_DRYING,
        ventilation=("closed",),
    )
    if choice is None:
        yield _no_help("dehumidifier")
        return
    litres = DEHUMIDIFIER.rated_kg_day
    if room.power_w <= 0.0:
        start = at_index(task.base, room.first + choice.start)
        told = finding("other way", kind_of="dehumidifier", works=True, litres=litres, begins=start)
        yield Alternative(kind="dehumidifier", works=True, said=told, start=start)
        return
    yield _works("dehumidifier", choice, task, room, room.space.heating, litres=litres)


def _lacking(missing: Missing | None, room: Room) -> Iterator[Alternative]:
    if missing is None:
        return
    if missing.power_w is not None:
        told = finding(
            "other way",
            kind_of="more power",
            works=True,
            power_w=missing.power_w,
            other_power_w=room.power_w,
        )
        yield Alternative(kind="more power", works=True, said=told)
    if missing.foam_mm is not None:
        told = finding(
            "other way",
            kind_of="insulation",
            works=True,
            thickness_mm=missing.foam_mm,
            surface=missing.panel,
            outdoors=True if missing.outside else None,
            u_value=missing.u_value,
        )
        yield Alternative(kind="insulation", works=True, said=told)
