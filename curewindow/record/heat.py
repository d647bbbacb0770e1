"""Heaters lit and put out by hand, laid over their routine."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from curewindow.boat.schema import Boat, HeaterOverride
from curewindow.record.entries import Heat, Reading

WARM_AFTER: Final = timedelta(hours=3)
OUT_BELOW_K: Final = 6.0
"""A reading so long after it was lit, so far below what it is set to: it is out (estimate)."""


def with_heat(
    boat: Boat, heats: Sequence[Heat], readings: Sequence[Reading], now: datetime
) -> Boat:
    """The boat with its heaters as the log has them.

    Parameters
    ----------
    boat : Boat
    heats : sequence of Heat
        Of all spaces; of one space the later ends the earlier. Those after ``now`` do not count.
    readings : sequence of Reading
        A heater that was lit and is read to be out is out, whatever was meant.
    now : datetime
        Aware.

    Returns
    -------
    Boat
        Where the log says nothing a heater keeps its routine.
    """
    if not heats:
        return boat
    spaces = []
    for space in boat.space:
        if space.heating is not None:
            held = _held(heats, readings, space.name, now)
            space = space.model_copy(update={"heating": space.heating.with_held(held)})
        spaces.append(space)
    return boat.model_copy(update={"space": spaces})


def _held(
    heats: Sequence[Heat], readings: Sequence[Reading], space: str, now: datetime
) -> tuple[HeaterOverride, ...]:
    own = sorted(
        (heat for heat in heats if heat.space == space and heat.at <= now),
        key=lambda heat: heat.at,
    )
    found = []
    for number, heat in enumerate(own):
        later = own[number + 1].at if number + 1 < len(own) else heat.until
        end, read_c = min(heat.until, later), None
        cold = _read_out(heat, end, readings)
        if cold is not None:
            end, read_c = cold.at, cold.air_c
        if end > heat.at:
            over = end <= now
            found.append(
                HeaterOverride(heat.at, end, heat.setpoint_c, heat.ventilation, over, read_c)
            )
    return tuple(found)


def _read_out(heat: Heat, end: datetime, readings: Sequence[Reading]) -> Reading | None:
    """The last reading in its time, where that says that it is out."""
    if heat.setpoint_c is None:
        return None
    inside = [
        reading
        for reading in readings
        if reading.space == heat.space
        and reading.air_c is not None
        and heat.at + WARM_AFTER <= reading.at < end
    ]
    last = max(inside, key=lambda reading: reading.at, default=None)
    if last is None or last.air_c is None or last.air_c > heat.setpoint_c - OUT_BELOW_K:
        return None
    return last
