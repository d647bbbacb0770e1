"""Heaters lit and put out by hand, laid over their routine."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from curewindow.boat.schema import Boat, Held
from curewindow.record.entries import Heat


def with_heat(boat: Boat, heats: Sequence[Heat], now: datetime) -> Boat:
    """The boat with its heaters as the log has them.

    Parameters
    ----------
    boat : Boat
    heats : sequence of Heat
        Of all spaces; of one space the later ends the earlier. Those after ``now`` do not count.
    now : datetime
        Aware.

    Returns
    -------
    Boat
        Where the log says nothing a heater keeps its routine.
    """
    if not heats:
        return boat
    spaces = [
        space
        if space.heating is None
        else space.model_copy(
            update={"heating": space.heating.with_held(_held(heats, space.name, now))}
        )
        for space in boat.space
    ]
    return boat.model_copy(update={"space": spaces})


def _held(heats: Sequence[Heat], space: str, now: datetime) -> tuple[Held, ...]:
    own = sorted(
        (heat for heat in heats if heat.space == space and heat.at <= now),
        key=lambda heat: heat.at,
    )
    found = []
    for number, heat in enumerate(own):
        later = own[number + 1].at if number + 1 < len(own) else heat.until
        end = min(heat.until, later)
        if end > heat.at:
            found.append(Held(heat.at, end, heat.setpoint_c, heat.ventilation, end <= now))
    return tuple(found)
