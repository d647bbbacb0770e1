"""When a heater that burns into the cabin may be advised at all.

A heater that burns without a flue gives off carbon monoxide where people are. That it is
never run with the vents shut, never while anyone sleeps near and never unattended is
common practice of the trade and of safety data sheets, no single source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import hours_mask, minutes_between
from curewindow.boat.schema import Boat, Heating, Space, Ventilation
from curewindow.rules.sleep import attended, bunks_near, night

Against = Literal["sleepers", "vents", "night", "nobody aboard"]


@dataclass(frozen=True, slots=True)
class Unflued:
    """A heater that burns into the cabin.

    Attributes
    ----------
    kind : str
        What it burns, as boat.toml names it.
    place : str
        The space it stands in.
    sleepers : tuple of str
        Spaces someone sleeps in that its air reaches.
    """

    kind: str
    place: str
    sleepers: tuple[str, ...]


def burns(heating: Heating) -> bool:
    """Does it burn anything?"""
    return heating.kind != "electric"


def burns_unflued(heating: Heating) -> bool:
    """Does it burn without a flue?"""
    return burns(heating) and not heating.vented


def unflued_for(boat: Boat, space: Space, heating: Heating | None = None) -> Unflued | None:
    """The heater without a flue that an order to heat a space would light.

    Parameters
    ----------
    boat : Boat
        For the spaces joined to it, and the heater an outlet belongs to.
    space : Space
    heating : Heating, optional
        To be used there; else the space's own.

    Returns
    -------
    Unflued or None
        None where nothing burns without a flue.
    """
    used = space.heating if heating is None else heating
    if used is None:
        return None
    lit = [(space, used)]
    main = None if used.outlet_of is None else boat.find_space(used.outlet_of)
    if main is not None and main.heating is not None:
        lit.append((main, main.heating))
    for place, fire in lit:
        if burns_unflued(fire):
            sleepers = dict.fromkeys(name for start, _ in lit for name in bunks_near(boat, start))
            return Unflued(fire.kind, place.name, tuple(sleepers))
    return None


def may_burn(boat: Boat, unflued: Unflued, times_utc: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    """True at instants a heater without a flue may be alight.

    Nowhere near sleepers; else by day, while someone is aboard.

    Parameters
    ----------
    boat : Boat
    unflued : Unflued
    times_utc : ndarray of datetime64, shape (T,)
    """
    if unflued.sleepers:
        return np.zeros(times_utc.shape, np.bool_)
    return attended(boat, times_utc)


def against(
    boat: Boat, unflued: Unflued, begin: datetime, end: datetime, ventilation: Ventilation
) -> list[Against]:
    """What speaks against a run of a heater without a flue, gravest first; empty: nothing.

    Parameters
    ----------
    boat : Boat
    unflued : Unflued
    begin, end : datetime
        Aware.
    ventilation : {'closed', 'normal', 'open'}
        State of the vents meanwhile.
    """
    found: list[Against] = []
    if unflued.sleepers:
        found.append("sleepers")
    if ventilation == "closed":
        found.append("vents")
    minutes = minutes_between(begin, end)
    if night(minutes, boat.place.time_zone).any():
        found.append("night")
    if not hours_mask(boat, minutes).all():
        found.append("nobody aboard")
    return found
