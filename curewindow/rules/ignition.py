"""What aboard lights vapour: flames, embers, glowing wires, and all that sparks.

Common practice of the trade and of safety data sheets, no single source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Boat, Heating, Space
from curewindow.rules.unflued import burns_unflued

Lights = Literal["open flame", "glowing", "stove", "no flue", "spark"]


@dataclass(frozen=True, slots=True)
class Igniter:
    """Something that lights vapour.

    Attributes
    ----------
    called : str
        'gas heater', 'cooker', 'fridge'.
    space : str
        Where it stands.
    lights : str
        How.
    by_itself : bool
        Does it start with nobody's hand on it?
    heater : str
        Kind of the heater it is; '' where it is none.
    """

    called: str
    space: str
    lights: Lights
    by_itself: bool
    heater: str = ""

    @property
    def sparks(self) -> bool:
        """Does it only spark, and is it harmless while it is off at the switch?"""
        return self.lights == "spark"


def flame_of(heating: Heating) -> Lights | None:
    """What about a heater lights vapour, lit or not; None where nothing does by its description."""
    if heating.open_flame:
        return "glowing" if heating.kind == "electric" else "open flame"
    if heating.kind == "solid fuel":
        # With a flue or not: it draws its air from the cabin, over embers.
        return "stove"
    return "no flue" if burns_unflued(heating) else None


def runs(heating: Heating) -> bool:
    """Is a heater to run by its routine, or by the log?"""
    return any(step.setpoint is not None for step in heating.routine) or any(
        held.setpoint_c is not None and not held.over for held in heating.held
    )


def igniters(boat: Boat, space: Space, heater: Heating | None = None) -> list[Igniter]:
    """What lights the vapour of a space, in it or in one joined to it, flames first.

    Parameters
    ----------
    boat : Boat
    space : Space
    heater : Heating, optional
        A heater that is to be lit there, whether boat.toml describes it or not.
    """
    found: list[Igniter] = []
    for place in joined_spaces(boat, space):
        found += _heaters(boat, place, heater if place.name == space.name else None)
        if place.dehumidifier is not None and place.dehumidifier.running:
            found.append(Igniter("dehumidifier", place.name, "spark", by_itself=True))
        found += [
            Igniter(
                each.called,
                place.name,
                "open flame" if each.burns else "spark",
                by_itself=each.starts_itself,
            )
            for each in boat.ignition
            if each.space == place.name and not each.off
        ]
    return sorted(dict.fromkeys(found), key=lambda each: each.sparks)


def _heaters(boat: Boat, place: Space, lit: Heating | None) -> Iterator[Igniter]:
    """The heaters of a space, and one that is to be lit there."""
    for heating in (lit, place.heating):
        if heating is None:
            continue
        called = f"{heating.kind} heater"
        lights = flame_of(heating)
        if lights is not None:
            yield Igniter(called, place.name, lights, by_itself=True, heater=heating.kind)
        elif heating.kind == "electric" and (heating is lit or runs(heating)):
            # Its thermostat sparks, and what it blows over is hot.
            yield Igniter(called, place.name, "spark", by_itself=True, heater=heating.kind)
