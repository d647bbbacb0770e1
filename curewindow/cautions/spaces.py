"""Dangers that come of the space: sleepers, air, heaters left alone.

What is dangerous is common practice of the trade, no single source, unless one is named.
"""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Boat, HeaterOverride, Heating, Space
from curewindow.cautions.alone import left_alone_cautions
from curewindow.cautions.openings import openings_cm2
from curewindow.findings import Finding, finding
from curewindow.rules.sleep import AWAKE_FROM, BEDTIME, bunks_near, not_to_sleep_over, sleepers_said
from curewindow.rules.unflued import burns, burns_unflued
from curewindow.sheets.schema import Sheet


def sleeping_cautions(sheets: list[Sheet], space: Space | None, boat: Boat) -> Iterator[Finding]:
    """Nobody sleeps over solvents and isocyanates."""
    names = tuple(dict.fromkeys(s.name for s in sheets if not_to_sleep_over(s)))
    if not names or space is None:
        return
    bunks = bunks_near(boat, space)
    if bunks:
        yield finding("sleepers over vapour", products=names, spaces=tuple(bunks))
    elif any(place.slept_in for place in boat.space):
        yield finding("sleepers apart from vapour", products=names)
    elif not sleepers_said(boat):
        yield finding("sleepers not known", products=names)


def heater_cautions(space: Space | None, boat: Boat, heater: Heating | None) -> Iterator[Finding]:
    """Carbon monoxide, flames without a flue, and heaters running with nobody there."""
    if space is None:
        return
    joined = joined_spaces(boat, space)
    heaters = [(place, place.heating) for place in joined if place.heating is not None]
    if heater is not None and heater is not space.heating:
        heaters.insert(0, (space, heater))
    area = openings_cm2(fire for _, fire in heaters)
    for place, fire in heaters:
        if burns_unflued(fire):
            yield finding("no flue", heater=fire.kind, space=place.name, area_cm2=area)
    if any(burns(fire) and fire.vented for _, fire in heaters):
        yield finding("heater burns", area_cm2=area)
    for place, fire in heaters:
        alone = list(left_alone_cautions(boat, place))
        yield from alone
        if alone or not _runs_at_night(fire, ZoneInfo(boat.place.time_zone)):
            continue
        if place.slept_in and fire.kind == "electric" and not fire.open_flame:
            yield finding("electric heater at night", space=place.name)
        else:
            yield finding("heater at night", heater=fire.kind, space=place.name)


def _runs_at_night(heating: Heating, zone: ZoneInfo) -> bool:
    """Does the routine, or the log, hold a temperature at any time between 22:00 and 06:00?"""
    if any(_held_at_night(held, zone) for held in heating.held):
        return True
    routine = sorted(heating.routine, key=lambda step: step.from_)
    if not routine:
        return False
    for step in routine:
        hour = step.from_.hour
        if step.setpoint is not None and (hour >= BEDTIME.hour or hour < AWAKE_FROM.hour):
            return True
    before_night = [step for step in routine if step.from_.hour < BEDTIME.hour]
    into_night = before_night[-1] if before_night else routine[-1]
    return into_night.setpoint is not None


def _held_at_night(held: HeaterOverride, zone: ZoneInfo) -> bool:
    """Does a stretch that is not over reach into a night?"""
    if held.over or held.setpoint_c is None:
        return False
    begin, end = held.begin.astimezone(zone), held.end.astimezone(zone)
    by_day = AWAKE_FROM.hour <= begin.hour < BEDTIME.hour and begin.date() == end.date()
    return not (by_day and (end.hour < BEDTIME.hour or (end.hour, end.minute) == (BEDTIME.hour, 0)))
