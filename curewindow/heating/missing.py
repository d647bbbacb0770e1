"""What a heater lacks: power, or insulation on the coldest panel."""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from typing import Final

import numpy as np

from curewindow.findings import Finding
from curewindow.heating.choice import LOOK_H, Choice
from curewindow.heating.coat import HeatedCoat
from curewindow.heating.evaluate import verdict_of
from curewindow.heating.models import Missing
from curewindow.heating.room import Room, heated, rebuilt, up_to
from curewindow.heating.search import ROUGH, SETTING_H, USUAL, Effort, search, setpoint_range
from curewindow.physics.balance import Layer, PanelModel, SpaceModel
from curewindow.physics.panel import thermal_transmittance
from curewindow.windows.grid import next_bad
from curewindow.windows.reasons import broken

MOST_POWER_W: Final = 20_000.0
_LEAST_POWER_W = 100.0
_HALVINGS = 6
_ROUNDED_W = 50.0
FOAM: Final = Layer(0.0, 0.034, 33.0, 1450.0)
"""Extruded polystyrene, as in `physics.materials`; thickness to be set."""
FOAM_MM: Final = (10.0, 20.0, 30.0, 50.0, 80.0)


def least_power(task: HeatedCoat, room: Room) -> tuple[float, Choice] | None:
    """Least power with which heat opens a start, within a tenth, rounded up; None: none does.

    Parameters
    ----------
    task : HeatedCoat
    room : Room
        Of one member.
    """
    found = _searched(task, room, MOST_POWER_W)
    if found is None:
        return None
    best, effort = found
    low, high = np.log(max(room.power_w, _LEAST_POWER_W)), np.log(MOST_POWER_W)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        choice = search(task, room, power_w=float(np.exp(middle)), effort=effort)
        if choice is None:
            low = middle
        else:
            high, best = middle, choice
    power = ceil(float(np.exp(high)) / _ROUNDED_W) * _ROUNDED_W
    # Found anew for the figure that is told.
    return power, search(task, room, power_w=power, effort=effort) or best


def _searched(task: HeatedCoat, room: Room, power_w: float) -> tuple[Choice, Effort] | None:
    for effort in (ROUGH, replace(USUAL, refined=False)):
        choice = search(task, room, power_w=power_w, effort=effort)
        if choice is not None:
            return choice, effort
    return None


def coldest_panel(task: HeatedCoat, room: Room) -> PanelModel:
    """The panel that is coldest on the mean of the next three days in the heated space."""
    short = up_to(room, round(LOOK_H / room.step_h) + 1)
    _, warmest = setpoint_range(task)
    result = heated(short, warmest, power_w=room.power_w or MOST_POWER_W)
    means = np.nanmean(result.surface_c, axis=(1, 2))
    return room.model.panels[int(np.argmin(means))]


def with_foam(room: Room, panel: PanelModel, foam_mm: float, outside: bool) -> Room:
    """The room with foam on a panel, inside or outside."""
    foam = FOAM._replace(thickness_m=foam_mm / 1000.0)
    layers = (*panel.layers, foam) if outside else (foam, *panel.layers)
    panels = tuple(
        replace(each, layers=layers) if each.name == panel.name else each
        for each in room.model.panels
    )
    return refilled(room, replace(room.model, panels=panels))


def refilled(room: Room, model: SpaceModel) -> Room:
    """The room with another model, the air in it as it is now."""
    result = heated(room, np.nan)
    return rebuilt(room, model, result.air_c[:, 0], result.rh_pct[:, 0])


def foam_needed(task: HeatedCoat, room: Room, panel: PanelModel) -> float | None:
    """Least foam on a panel, of the usual thicknesses, with which the heater does [mm]."""
    outside = panel.name == task.job.panel
    if room.power_w <= 0.0 or (outside and panel.outside != "air"):
        return None

    def works(foam_mm: float) -> bool:
        thicker = with_foam(room, panel, foam_mm, outside)
        return search(task, thicker, effort=ROUGH) is not None

    if not works(FOAM_MM[-1]):
        return None
    low, high = -1, len(FOAM_MM) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if works(FOAM_MM[middle]):
            high = middle
        else:
            low = middle
    return FOAM_MM[high]


def missing_of(task: HeatedCoat, room: Room, power_w: float | None) -> Missing:
    """What is missing, as an answer; ``power_w`` from `least_power`."""
    panel = coldest_panel(task, room)
    foam = foam_needed(task, room, panel)
    u_value = None
    if foam is not None:
        layers = [(layer[0], layer[1]) for layer in (*panel.layers,)]
        layers.append((foam / 1000.0, FOAM.conductivity))
        u_value = round(float(thermal_transmittance(layers, rsi=panel.rsi)), 2)
    return Missing(
        power_w=power_w,
        more_power_w=None if power_w is None else max(power_w - room.power_w, 0.0),
        panel=panel.name,
        foam_mm=foam,
        outside=foam is not None and panel.name == task.job.panel,
        u_value=u_value,
    )


def unsolved(task: HeatedCoat, room: Room) -> Finding | None:
    """The limit that stands in the way however much heat there is; None if none.

    The space at the highest setpoint from now on, aired for the vapour throughout: the
    limit that most starts aboard break, by its value in the middle one of them.
    """
    _, warmest = setpoint_range(task)
    short = up_to(room, round((LOOK_H + SETTING_H) / room.step_h) + 1)
    aired = room.model.air_changes_h + task.airing_m3_h / room.model.volume_m3
    result = heated(
        short,
        warmest,
        power_w=MOST_POWER_W,
        air_changes_h=aired,
        moisture_kg_h=task.water_kg_h,
    )
    verdict = verdict_of(task, short, result)
    first = max(verdict.first, verdict.points - short.points)
    last = min(first + round(LOOK_H / room.step_h), verdict.points - 1)
    starts = first + np.flatnonzero(verdict.hours_ok[first : last + 1])
    worst: int = 0
    why: Finding | None = None
    for track in verdict.tracks:
        close = next_bad(~(track.margin >= track.kind.spare))[0, starts]
        bad = np.flatnonzero(close <= np.minimum(verdict.span_end(track)[0, starts], last))
        if len(bad) > worst:
            at = int(close[bad[len(bad) // 2]])
            worst, why = len(bad), broken(track, verdict.series, float(track.value[0, at]))
    return why
