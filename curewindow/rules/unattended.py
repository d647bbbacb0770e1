"""Whether a heater may be left alone: the hours an order may have it alight.

Makers' manuals, harbours and insurers differ: so the owner says it in boat.toml, heater by
heater, and what is not said counts as never. That a heater is lit by somebody aboard, and a
heater never left alone is put out before its tender sleeps or leaves, is common practice of the
trade, no single source.
"""

from __future__ import annotations

from datetime import datetime
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import (
    days_aboard,
    first_and_last_s,
    hours_mask,
    local_clock,
    minutes_between,
    weekday_of,
)
from curewindow.boat.schema import Boat, Heating, Space, Unattended
from curewindow.rules.sleep import attended, night
from curewindow.rules.unflued import may_burn, unflued_for

Alone = Literal["nobody aboard", "night"]
_STRICTEST_FIRST: Final[tuple[Unattended, ...]] = get_args(Unattended)


def unattended_of(boat: Boat, heating: Heating) -> Unattended:
    """What boat.toml says of leaving a heater alone; an outlet is left alone as its heater is."""
    main = None if heating.outlet_of is None else boat.find_space(heating.outlet_of)
    said = [heating.unattended]
    if main is not None and main.heating is not None:
        said = [main.heating.unattended, heating.unattended or main.heating.unattended]
    return min((each or "never" for each in said), key=_STRICTEST_FIRST.index)


def someone_aboard(boat: Boat, times_utc: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    """True at instants at which someone is aboard, awake or asleep, shape (T,).

    Who has a bunk aboard stays the night between two days aboard; in the gap between two
    stretches of one day nobody is there.
    """
    here = hours_mask(boat, times_utc)
    if not any(space.slept_in for space in boat.space):
        return here
    day, second = local_clock(times_utc, boat.place.time_zone)
    weekday = weekday_of(day)
    first, last = first_and_last_s(boat)
    aboard = np.isin(np.arange(7), list(days_aboard(boat)))
    evening = (second >= last[weekday]) & aboard[weekday] & aboard[(weekday + 1) % 7]
    morning = (second <= first[weekday]) & aboard[weekday] & aboard[(weekday - 1) % 7]
    found: NDArray[np.bool_] = here | evening | morning
    return found


def may_be_alight(
    boat: Boat, space: Space, times_utc: NDArray[np.datetime64]
) -> NDArray[np.bool_] | None:
    """True at instants an order may have a space's heater alight, shape (T,); None: at any.

    Parameters
    ----------
    boat : Boat
        For its hours, its bunks and the heater an outlet belongs to.
    space : Space
    times_utc : ndarray of datetime64, shape (T,)
    """
    if space.heating is None:
        return None
    unflued = unflued_for(boat, space)
    if unflued is not None:
        return may_burn(boat, unflued, times_utc)
    said = unattended_of(boat, space.heating)
    if said == "yes":
        return None
    return attended(boat, times_utc) if said == "never" else someone_aboard(boat, times_utc)


def left_alone(boat: Boat, space: Space, begin: datetime, end: datetime) -> list[Alone]:
    """Why a heater lit from one moment to another would be alone against what boat.toml says.

    Empty where it would not. Where nobody is aboard at all that comes first.

    Parameters
    ----------
    boat : Boat
    space : Space
    begin, end : datetime
        Aware.
    """
    minutes = minutes_between(begin, end)
    may = may_be_alight(boat, space, minutes)
    if may is None or may.all():
        return []
    return whose_hours(boat, minutes[~may])


def whose_hours(boat: Boat, alone: NDArray[np.datetime64]) -> list[Alone]:
    """What hours they are in which a heater is left alone: with nobody aboard, at night.

    Parameters
    ----------
    boat : Boat
    alone : ndarray of datetime64, shape (T,)
        May be empty.
    """
    found: list[Alone] = []
    if not someone_aboard(boat, alone).all():
        found.append("nobody aboard")
    if night(alone, boat.place.time_zone).any():
        found.append("night")
    return found
