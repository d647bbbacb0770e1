"""When people aboard sleep, and what nobody sleeps over.

Common practice of the trade and of safety data sheets, no single source.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import hours_mask, local_clock
from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Boat, Space
from curewindow.sheets.schema import Hazard, Sheet

BEDTIME: Final = time(22)
"""By then a film nobody should sleep over must have set."""
AWAKE_FROM: Final = time(6)
"""Between bedtime and then nobody is taken to be awake."""

NOT_TO_SLEEP_OVER: Final[tuple[Hazard, ...]] = (
    "flammable solvent",
    "isocyanate",
    "styrene",
    "methanol or oxime vapour",
)

LONG_LIVED: Final[tuple[Hazard, ...]] = ("isocyanate", "styrene")
"""Given off long after the film is hard to the finger."""
LONG_LIVED_FOR: Final = timedelta(hours=24)
"""At least so long after the last stroke. Common practice, no source."""


def next_night(now: datetime, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Bedtime and the end of the night that goes on, or comes next; aware UTC."""
    local = now.astimezone(zone)
    day = local.date() - timedelta(days=1 if local.time() < AWAKE_FROM else 0)
    awake = datetime.combine(day + timedelta(days=1), AWAKE_FROM, zone).astimezone(UTC)
    return bedtime(day, zone), awake


def bedtime(day: date, zone: ZoneInfo) -> datetime:
    """When people aboard go to bed on a day of theirs, aware UTC."""
    return datetime.combine(day, BEDTIME, zone).astimezone(UTC)


def night(times_utc: NDArray[np.datetime64], zone_name: str) -> NDArray[np.bool_]:
    """True at instants at which people are taken to sleep; neither end belongs to the night."""
    _, second = local_clock(times_utc, zone_name)
    return (second > BEDTIME.hour * 3600) | (second < AWAKE_FROM.hour * 3600)


def attended(boat: Boat, times_utc: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    """True at instants at which someone is aboard and awake, shape (T,)."""
    return hours_mask(boat, times_utc) & ~night(times_utc, boat.place.time_zone)


def not_to_sleep_over(sheet: Sheet) -> bool:
    """Does it give off what nobody should sleep over?"""
    return any(hazard in sheet.hazards for hazard in NOT_TO_SLEEP_OVER)


def least_breathed(sheet: Sheet) -> timedelta:
    """At least so long after its last stroke nobody sleeps over it, however fast it is hard."""
    long_lived = any(hazard in sheet.hazards for hazard in LONG_LIVED)
    return LONG_LIVED_FOR if long_lived else timedelta(0)


def sleepers_said(boat: Boat) -> bool:
    """Does boat.toml say where someone sleeps, or that nobody does?"""
    return not boat.space or any(place.slept_in is not None for place in boat.space)


def bunks_near(boat: Boat, space: Space | None) -> list[str]:
    """Spaces someone sleeps in that the air of a space reaches."""
    if space is None:
        return []
    return [place.name for place in joined_spaces(boat, space) if place.slept_in]
