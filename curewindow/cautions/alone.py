"""A heater that runs alone against what boat.toml says of it, by its routine or by the log."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.schema import Boat, Heating, Space
from curewindow.cautions.unflued import unflued_in_plan
from curewindow.conditions.routine import charges_w, setpoints_c
from curewindow.findings import Finding, finding
from curewindow.rules.unattended import Alone, left_alone, may_be_alight, whose_hours
from curewindow.rules.unflued import burns_unflued, unflued_for

# A routine is by the day of the week: any week without a change of the clocks shows all of it.
_WEEK = np.arange(
    np.datetime64("2026-01-05T00:00:00", "s"),
    np.datetime64("2026-01-12T00:00:00", "s"),
    np.timedelta64(1800, "s"),
)
_OUT_W = 50.0  # a charge that gives no more than this has burnt down (estimate)


def left_alone_cautions(boat: Boat, space: Space) -> Iterator[Finding]:
    """What to say of a space's heater where it runs with nobody by it and may not; once."""
    heating = space.heating
    if heating is None or burns_unflued(heating):
        return  # of one without a flue more is said than that
    for held in heating.held:
        if not held.over and held.setpoint_c is not None:
            alone = list(lit_alone(boat, space, held.begin, held.end))
            if alone:
                yield from alone
                return
    if against := _routine_alone(boat, space, heating):
        yield _alone(heating, space, against, "routine")


def lit_alone(boat: Boat, space: Space, begin: datetime, end: datetime) -> Iterator[Finding]:
    """What to say of its heater where it is lit from one moment to another and left alone."""
    assert space.heating is not None
    if against := left_alone(boat, space, begin, end):
        yield _alone(space.heating, space, against, "log")


def order_alone(boat: Boat, space: Space, begin: datetime, end: datetime) -> Iterator[Finding]:
    """What to say of an order to light its heater at once and hold it till then.

    Refused where nobody may be with it even as it is lit.
    """
    heating = space.heating
    if heating is None or burns_unflued(heating) or not left_alone(boat, space, begin, end):
        return
    if against := left_alone(boat, space, begin, begin):
        yield _alone(heating, space, against, "order").changed(refuses=True)
    else:
        yield finding("never left alone", heater=heating.kind, space=space.name)


def not_planned(boat: Boat, space: Space, times_utc: NDArray[np.datetime64]) -> Finding | None:
    """Why no plan lights a space's heater the evening before and holds it; None where it may."""
    if space.heating is None:
        return None
    unflued = unflued_for(boat, space)
    if unflued is not None:
        return unflued_in_plan(unflued)
    may = may_be_alight(boat, space, times_utc)
    if may is None or may.all():
        return None
    return finding("not left alone, not planned", heater=space.heating.kind, space=space.name)


def _routine_alone(boat: Boat, space: Space, heating: Heating) -> list[Alone]:
    """Why its routine leaves it alone."""
    if not heating.routine:
        return []
    may = may_be_alight(boat, space, _WEEK)
    if may is None:
        return []
    plain = heating.with_held(())
    on = np.isfinite(setpoints_c(plain, boat, _WEEK)) | (charges_w(plain, boat, _WEEK) > _OUT_W)
    return whose_hours(boat, _WEEK[on & ~may])


def _alone(heating: Heating, space: Space, against: list[Alone], state: str) -> Finding:
    return finding(
        "left alone", heater=heating.kind, space=space.name, against=tuple(against), state=state
    )
