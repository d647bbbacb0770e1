"""Checks at the door of the record: slips of the pen are refused before they are written."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import get_args

from curewindow.errors import QuantityError
from curewindow.record.entries import Coat, Done, Found, Heat, Inspection, Reading, Wiped

# Bounds of what a cabin, a deck or a meter can show. Common practice, no source.
TEMP_MIN_C, TEMP_MAX_C = -40.0, 60.0
AIR_MAX_C = 45.0
WOOD_MAX_PCT = 200.0
# A fraction (0.7) and a dead sensor (0) both look like this; cabins do not.
RH_LEAST_PCT = 1.0
LONGEST_COAT = timedelta(hours=48)
# What thermostats can be set to, and how long a heater is held for a coat.
SETPOINT_C = (3.0, 40.0)
HELD_MOST = timedelta(days=14)
# Clocks of loggers and machines differ by so much.
CLOCK_SLACK = timedelta(minutes=2)
_EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)


def reading_problem(reading: Reading, now: datetime) -> str | None:
    """What is wrong with a reading, or None.

    Parameters
    ----------
    reading : Reading
        As typed in, imported or sent by a sensor.
    now : datetime
        Aware; nothing is recorded ahead of it.

    Returns
    -------
    str or None
        What is wrong and what would be right, one line.
    """
    if not reading.space.strip():
        return "a reading needs the name of its space"
    values = (reading.air_c, reading.rh_pct, reading.surface_c, reading.wood_moisture_pct)
    if all(value is None for value in values):
        return "a reading needs at least one value: air, humidity, surface or wood"
    return (
        _time_problem(reading.at, now)
        or _swapped_problem(reading)
        or _temp_problem("air", reading.air_c, AIR_MAX_C)
        or _temp_problem("surface", reading.surface_c, TEMP_MAX_C)
        or _humidity_problem(reading.rh_pct)
        or _wood_problem(reading.wood_moisture_pct)
    )


def check_reading(reading: Reading, now: datetime) -> None:
    """Refuse a reading that cannot be.

    Raises
    ------
    QuantityError
        See :func:`reading_problem`.
    """
    problem = reading_problem(reading, now)
    if problem is not None:
        raise QuantityError(problem)


def check_coat(coat: Coat, now: datetime) -> None:
    """Refuse a coat that cannot be.

    Raises
    ------
    QuantityError
        No job or sheet, counts below 1, a start not before the end, a time ahead of now.
    """
    if not coat.job.strip() or not coat.sheet.strip():
        raise QuantityError("a coat needs the name of its job and of its sheet")
    if coat.step < 1 or coat.coat < 1:
        raise QuantityError(f"steps and coats count from 1, got {coat.step} and {coat.coat}")
    for at in (coat.start, coat.end):
        problem = _time_problem(at, now)
        if problem is not None:
            raise QuantityError(problem)
    # in whole seconds, as it is stored
    if not int(coat.start.timestamp()) < int(coat.end.timestamp()):
        raise QuantityError("a coat starts before it ends; the start given is not before the end")
    if coat.end - coat.start > LONGEST_COAT:
        hours = (coat.end - coat.start) / timedelta(hours=1)
        raise QuantityError(
            f"{hours:.0f} h between start and end of one coat is not likely "
            f"(at most {LONGEST_COAT / timedelta(hours=1):.0f} h); is the date of both right?"
        )
    if coat.area_m2 is not None and not (math.isfinite(coat.area_m2) and coat.area_m2 > 0):
        raise QuantityError(f"an area of {coat.area_m2:g} m² cannot be coated")


def check_done(done: Done, now: datetime) -> None:
    """Refuse a finished step that cannot be.

    Raises
    ------
    QuantityError
        No job, a step below 1, a time ahead of now.
    """
    if not done.job.strip():
        raise QuantityError("a finished step needs the name of its job")
    if done.step < 1:
        raise QuantityError(f"steps count from 1, got {done.step}")
    problem = _time_problem(done.at, now)
    if problem is not None:
        raise QuantityError(problem)


def check_heat(heat: Heat, now: datetime) -> None:
    """Refuse what cannot be of a heater lit or put out.

    Raises
    ------
    QuantityError
        No space, no temperature for a cabin, a time ahead of now, an end before it or too far.
    """
    if not heat.space.strip():
        raise QuantityError("a heater needs the name of its space")
    problem = _time_problem(heat.at, now)
    if problem is not None:
        raise QuantityError(problem)
    if heat.setpoint_c is not None and not SETPOINT_C[0] <= heat.setpoint_c <= SETPOINT_C[1]:
        raise QuantityError(
            f"a heater is set to {SETPOINT_C[0]:.0f} to {SETPOINT_C[1]:.0f} °C, "
            f"got {heat.setpoint_c:.4g} °C"
        )
    if heat.until.tzinfo is None or heat.until < heat.at:
        raise QuantityError("it ends before it begins")
    if heat.until - heat.at > HELD_MOST:
        raise QuantityError(
            f"at most {HELD_MOST.days} days; what goes on for longer is a routine in boat.toml"
        )


def check_wiped(wiped: Wiped, now: datetime) -> None:
    """Refuse a surface wiped dry that cannot be.

    Raises
    ------
    QuantityError
        Not one surface, or a time ahead of now.
    """
    named = [name for name in (wiped.job, wiped.space) if name is not None and name.strip()]
    if len(named) != 1 or (wiped.panel is not None and wiped.space is None):
        raise QuantityError("what was wiped dry is the surface of a job, or a panel or a space")
    problem = _time_problem(wiped.at, now)
    if problem is not None:
        raise QuantityError(problem)


def check_inspection(inspection: Inspection, now: datetime) -> None:
    """Refuse what cannot be of a coat that was looked at or sanded.

    Raises
    ------
    QuantityError
        No job, a step or coat below 1, another finding than there are, a time ahead of now.
    """
    if not inspection.job.strip():
        raise QuantityError("a coat that was looked at needs the name of its job")
    if inspection.step < 1 or inspection.coat < 1:
        raise QuantityError(
            f"steps and coats count from 1, got {inspection.step} and {inspection.coat}"
        )
    if inspection.found not in get_args(Found):
        known = ", ".join(get_args(Found))
        raise QuantityError(f"'{inspection.found}' is nothing a coat is found as; known: {known}")
    problem = _time_problem(inspection.at, now)
    if problem is not None:
        raise QuantityError(problem)


def _time_problem(at: datetime, now: datetime) -> str | None:
    if at.tzinfo is None:
        return f"the time {at:%Y-%m-%d %H:%M} has no time zone"
    if at > now + CLOCK_SLACK:
        return (
            f"{at.astimezone(UTC):%Y-%m-%d %H:%M} UTC is still to come "
            f"(it is {now.astimezone(UTC):%Y-%m-%d %H:%M} UTC); only what happened is recorded"
        )
    if at < _EARLIEST:
        return f"{at:%Y-%m-%d} is long ago; is the clock of the instrument set?"
    return None


def _swapped_problem(reading: Reading) -> str | None:
    """Too hot for a cabin, and as dry as a cabin is warm: the two have changed places."""
    air, rh = reading.air_c, reading.rh_pct
    if air is None or rh is None or not (AIR_MAX_C < air <= 100.0 and rh <= 35.0):
        return None
    return (
        f"air at {air:.4g} °C with a humidity of {rh:.4g} % is not likely; "
        "do temperature and humidity stand in each other's place?"
    )


def _temp_problem(name: str, temp_c: float | None, highest_c: float) -> str | None:
    if temp_c is None:
        return None
    if not math.isfinite(temp_c):
        return f"{name} temperature {temp_c} is not a number"
    if TEMP_MIN_C <= temp_c <= highest_c:
        return None
    hint = "; did you mean °F?" if highest_c < temp_c <= 140 else ""
    return (
        f"{name} at {temp_c:.4g} °C is not likely "
        f"({TEMP_MIN_C:.0f} to {highest_c:.0f} °C are taken){hint}"
    )


def _humidity_problem(rh_pct: float | None) -> str | None:
    if rh_pct is None:
        return None
    if not (math.isfinite(rh_pct) and 0.0 <= rh_pct <= 100.0):
        return f"humidity {rh_pct:.4g} % is not between 0 and 100 %"
    if rh_pct < RH_LEAST_PCT:
        share = f"; if it is a share of one, write '{rh_pct * 100:.3g} %'" if rh_pct > 0 else ""
        return f"humidity {rh_pct:.3g} % is what a broken sensor shows{share}"
    return None


def _wood_problem(wood_pct: float | None) -> str | None:
    if wood_pct is None:
        return None
    if not (math.isfinite(wood_pct) and 0.0 < wood_pct <= WOOD_MAX_PCT):
        return f"wood moisture {wood_pct:.4g} % is not between 0 and {WOOD_MAX_PCT:.0f} %"
    return None
