"""Cautions that come of the space: flames, air, sleepers, heaters left alone.

What is said is common practice of the trade, no single source, unless one is
named.
"""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Boat, Heating, Held, Space
from curewindow.cautions.caution import Caution, refused, reminder, warning
from curewindow.cautions.unflued import ALARM, unflued_warning
from curewindow.rules.sleep import AWAKE_FROM, BEDTIME, bunks_near, not_to_sleep_over
from curewindow.rules.unflued import Unflued, burns
from curewindow.sheets.schema import Hazard, Sheet

_FLAMMABLE: tuple[Hazard, ...] = ("flammable solvent", "styrene")


def fire_cautions(
    sheets: list[Sheet], space: Space | None, boat: Boat, heater: Heating | None
) -> Iterator[Caution]:
    """Cautions about flames and sparks near flammable solvent.

    Parameters
    ----------
    sheets : list of Sheet
        The day's products there.
    space : Space or None
        None: outdoors.
    boat : Boat
        For the spaces joined to it.
    heater : Heating or None
        A heater that is to be used in the space besides the one described.

    Yields
    ------
    Caution
        'refused' for an open flame, pilot light, glowing element, a stove or a heater
        that burns into the cabin, in the space or one joined to it.
    """
    names = [s.name for s in sheets if any(hazard in s.hazards for hazard in _FLAMMABLE)]
    if not names:
        return
    product = ", ".join(names)
    if space is None:
        yield warning(
            "fire",
            "no flame or spark near, hatches and vents closed",
            f"{product}: flammable vapour, heavier than air. No flame, spark or cigarette near, "
            "and hatches and vents closed so that it does not sink into a heated cabin.",
        )
        return
    refusal = False
    joined = joined_spaces(boat, space)
    heaters = [(place, place.heating) for place in joined if place.heating is not None]
    if heater is not None and heater is not space.heating:
        heaters.insert(0, (space, heater))
    for place, fire in heaters:
        danger = _ignites(fire)
        if danger is None:
            continue
        refusal = True
        where = (
            f"in the {place.name}"
            if place is space
            else f"in the {place.name}, which is joined to the {space.name}"
        )
        yield refused(
            "fire",
            f"flammable vapour meets {danger} {where}",
            f"{product} gives off flammable vapour and there is {danger} {where}: the vapour can "
            "explode. What is usual instead: heat the space through beforehand, then put the "
            "heater out, pilot light and fuel supply too, let it go cold, air the space and keep "
            "it out until the vapour has gone; or heat with a source that has no flame and "
            "nothing glowing where the vapour gets to; or choose a solvent-free product.",
        )
    if not refusal:
        sealed = " Also a heater with a closed flame: its combustion air must come from outside."
        burning = any(fire.kind != "electric" for _, fire in heaters)
        yield warning(
            "fire",
            "no flame or spark in joined spaces until the vapour is gone",
            f"{product}: flammable vapour, heavier than air, gathers in the bilge. No flame, "
            "cooker, pilot light, switch, tool or lamp that can spark in any space joined to it "
            f"until the vapour has gone.{sealed if burning else ''}",
        )


def _ignites(heating: Heating) -> str | None:
    """What about a heater lights vapour, in words; None where nothing does by its description."""
    if heating.open_flame:
        if heating.kind == "electric":
            return "an electric heater with a glowing element"
        return f"a {heating.kind} heater with an open flame or pilot light"
    if heating.kind == "solid fuel":
        # With a flue or not: it draws its air from the cabin, over embers.
        return "a stove for solid fuel"
    if heating.kind != "electric" and not heating.vented:
        return f"a {heating.kind} heater that burns without a flue"
    return None


def sleeping_cautions(sheets: list[Sheet], space: Space | None, boat: Boat) -> Iterator[Caution]:
    """Nobody sleeps over solvents and isocyanates."""
    names = [s.name for s in sheets if not_to_sleep_over(s)]
    if not names or space is None:
        return
    bunks = bunks_near(boat, space)
    others = [place.name for place in boat.space if place.slept_in and place.name not in bunks]
    if bunks:
        where = " and ".join(bunks)
        yield warning(
            "sleeping",
            f"nobody in the {where} until it is hard and aired",
            f"{', '.join(names)}: nobody sleeps in the {where} until the film has hardened and "
            "the space has been aired through.",
        )
    elif others:
        yield reminder(
            "sleeping",
            "better nobody aboard tonight",
            f"{', '.join(names)}: vapour finds its way; better nobody sleeps aboard tonight.",
        )


def heater_cautions(space: Space | None, boat: Boat, heater: Heating | None) -> Iterator[Caution]:
    """Carbon monoxide, flames without a flue, and heaters running with nobody there."""
    if space is None:
        return
    joined = joined_spaces(boat, space)
    heaters = [(place, place.heating) for place in joined if place.heating is not None]
    if heater is not None and heater is not space.heating:
        heaters.insert(0, (space, heater))
    burning = [(place, fire) for place, fire in heaters if burns(fire)]
    for place, fire in burning:
        if not fire.vented:
            yield unflued_warning(Unflued(fire.kind, place.name, ()))
    if any(fire.vented for _, fire in burning):
        yield reminder(
            "carbon monoxide",
            "test the alarm (EN 50291-2), keep the flue clear",
            f"A heater burns aboard: test the {ALARM}, keep its flue, "
            "air inlet and vents clear, and take off any masking or sheeting over them.",
        )
    for place, fire in heaters:
        if not _runs_at_night(fire, ZoneInfo(boat.place.time_zone)):
            continue
        text = (
            f"The {fire.kind} heater in the {place.name} is set to run through the night. "
            "Nothing that burns or dries near it, its own thermostat and cut-outs in order, "
            "cables fully unrolled."
        )
        if place.slept_in and fire.kind == "electric" and not fire.open_flame:
            yield reminder("unattended heating", "nothing that burns near the heater", text)
        else:
            yield warning(
                "unattended heating",
                f"{fire.kind} heater runs at night: a common cause of boat fires",
                f"{text} Heating with nobody aboard and awake is a common cause of boat fires; "
                "many harbours and insurers forbid it, and makers of many heaters too.",
            )


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


def _held_at_night(held: Held, zone: ZoneInfo) -> bool:
    """Does a stretch that is not over reach into a night?"""
    if held.over or held.setpoint_c is None:
        return False
    begin, end = held.begin.astimezone(zone), held.end.astimezone(zone)
    by_day = AWAKE_FROM.hour <= begin.hour < BEDTIME.hour and begin.date() == end.date()
    return not (by_day and (end.hour < BEDTIME.hour or (end.hour, end.minute) == (BEDTIME.hour, 0)))
