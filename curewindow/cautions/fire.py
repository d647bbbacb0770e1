"""Dangers of flames and sparks near flammable vapour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Boat, Heating, Space
from curewindow.cautions.products import FLAMMABLE
from curewindow.findings import Finding, finding
from curewindow.rules.ignition import Igniter, igniters
from curewindow.rules.unflued import burns, burns_unflued
from curewindow.sheets.schema import Sheet


def fire_cautions(
    sheets: Sequence[Sheet],
    space: Space | None,
    boat: Boat,
    heater: Heating | None,
    *,
    airflow_known: bool = True,
) -> Iterator[Finding]:
    """Dangers of flames and sparks near flammable solvent.

    Parameters
    ----------
    sheets : sequence of Sheet
        The day's products there, and those of films that still give off vapour.
    space : Space or None
        None: outdoors.
    boat : Boat
        For the spaces joined to it, and what lights vapour there.
    heater : Heating or None
        A heater that is to be lit in the space, described or not.
    airflow_known : bool
        Is it known how much air keeps the vapour far from burning?

    Yields
    ------
    Finding
        One that refuses for an open flame, pilot light, glowing element, a stove or a heater
        that burns into the cabin, in the space or one joined to it. What sparks refuses
        where nobody knows how much air its vapour needs; else it is to be off meanwhile.
    """
    names = tuple(dict.fromkeys(s.name for s in sheets if flammable(s)))
    if not names:
        return
    if space is None:
        # Shut vents are what it must not have while it is alight.
        heaters = [place.heating for place in boat.space]
        unflued = next((e.kind for e in heaters if e is not None and burns_unflued(e)), None)
        yield finding("flammable vapour", products=names, outdoors=True, heater=unflued)
        return
    found = igniters(boat, space, heater)
    yield from (_over(each, names, space, airflow_known) for each in found)
    if all(each.sparks for each in found):
        heaters = [place.heating for place in joined_spaces(boat, space)]
        burning = next((fire.kind for fire in heaters if fire is not None and burns(fire)), None)
        yield finding("flammable vapour", products=names, heater=burning)


def flammable(sheet: Sheet) -> bool:
    """Does it give off vapour that a flame or spark lights?"""
    return any(hazard in sheet.hazards for hazard in FLAMMABLE)


def _over(each: Igniter, names: tuple[str, ...], space: Space, airflow_known: bool) -> Finding:
    joined = None if each.space == space.name else space.name
    if each.sparks:
        return finding(
            "spark over vapour",
            products=names,
            thing=each.called,
            space=each.space,
            state="by itself" if each.by_itself else "when used",
            other_space=joined,
            refuses=None if airflow_known else True,
        )
    if each.heater:
        return finding(
            "ignition over vapour",
            products=names,
            heater=each.heater,
            space=each.space,
            state=each.lights,
            other_space=joined,
            refuses=True,
        )
    return finding(
        "flame over vapour",
        products=names,
        thing=each.called,
        space=each.space,
        state="by itself" if each.by_itself else "when used",
        other_space=joined,
        refuses=True,
    )
