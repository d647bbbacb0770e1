"""The heater's usual routine, as a setpoint for every instant."""

from __future__ import annotations

from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import WEEKDAYS, days_aboard, local_clock, weekday_of
from curewindow.boat.schema import (
    VENTS_WORD,
    Boat,
    HeaterOverride,
    Heating,
    OutOfOrder,
    Space,
    Ventilation,
)
from curewindow.conditions.devices import charge_kwh
from curewindow.findings import Finding, finding
from curewindow.physics.balance import charge_w
from curewindow.series import FloatArray


def setpoints_c(
    heating: Heating | None, boat: Boat, times_utc: NDArray[np.datetime64]
) -> FloatArray:
    """Setpoint of a heater's routine.

    Parameters
    ----------
    heating : Heating or None
        Heater and routine; None: no heater.
    boat : Boat
        Time zone, and the days aboard on which a heater without days of its own runs.
    times_utc : ndarray of datetime64, shape (T,)
        UTC instants.

    Returns
    -------
    ndarray, shape (T,)
        °C; NaN: heater off.

    Notes
    -----
    What the log says of the heater (:class:`HeaterOverride`) goes before its routine. Each entry of
    that holds from its time of day to the next. Before the first entry of a day the last
    one of the evening before goes on, if that day was one it runs on. A day on which it
    does not run is off from midnight to midnight.
    """
    setpoints = np.full(times_utc.shape, np.nan)
    if heating is None:
        return setpoints
    if heating.routine:
        _keep_routine(setpoints, heating, boat, times_utc)
    for held in heating.held:
        inside = _inside(held, times_utc)
        setpoints[inside] = (
            np.nan if held.setpoint_c is None else np.fmax(setpoints[inside], held.setpoint_c)
        )
    setpoints[out_of_order(heating, boat, times_utc)] = np.nan
    return setpoints


def _keep_routine(
    setpoints: FloatArray, heating: Heating, boat: Boat, times_utc: NDArray[np.datetime64]
) -> None:
    """Write the routine's setpoints where it runs."""
    running = _running(heating, boat)
    day, second = local_clock(times_utc, boat.place.time_zone)
    weekday = weekday_of(day)
    on = np.isin(weekday, list(running))
    routine = sorted(heating.routine, key=lambda entry: entry.from_)
    values = [np.nan if entry.setpoint is None else entry.setpoint for entry in routine]
    starts = [e.from_.hour * 3600 + e.from_.minute * 60 + e.from_.second for e in routine]
    entry = np.searchsorted(starts, second, side="right") - 1
    setpoints[on] = np.array(values)[entry[on]]  # -1 is the last one, of the evening before
    evening_before = np.isin((weekday - 1) % 7, list(running))
    setpoints[on & (entry < 0) & ~evening_before] = np.nan


VENTILATION: Final[dict[Ventilation, float]] = {"closed": 0.5, "normal": 1.0, "open": 4.0}
"""Air change against the space's own: vents shut and taped, as it is, hatches ajar (estimate)."""


def vents_open(heating: Heating | None, times_utc: NDArray[np.datetime64]) -> FloatArray | None:
    """Air change against the described one, where the log has the vents otherwise.

    Parameters
    ----------
    heating : Heating or None
    times_utc : ndarray of datetime64, shape (T,)

    Returns
    -------
    ndarray, shape (T,), or None
        Factors; None: as described throughout.
    """
    if heating is None or all(held.ventilation == "normal" for held in heating.held):
        return None
    factors = np.ones(times_utc.shape)
    for held in heating.held:
        factors[_inside(held, times_utc)] = VENTILATION[held.ventilation]
    return factors


def _inside(held: HeaterOverride, times_utc: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    begin, end = (np.datetime64(int(at.timestamp()), "s") for at in (held.begin, held.end))
    return (times_utc >= begin) & (times_utc < end)


def out_of_order(
    heating: Heating | None, boat: Boat, times_utc: NDArray[np.datetime64]
) -> NDArray[np.bool_]:
    """Instants at which a heater, or the one it is an outlet of, cannot be used; shape (T,)."""
    broken = np.zeros(times_utc.shape, np.bool_)
    zone = ZoneInfo(boat.place.time_zone)
    for span in _spans(heating, boat):
        first, last = (
            np.datetime64(int(_by_the_clock(at, zone).timestamp()), "s")
            for at in (span.from_, span.until)
        )
        broken |= (times_utc >= first) & (times_utc < last)
    return broken


def out_notes(space: Space, boat: Boat, now: datetime) -> tuple[Finding, ...]:
    """What has to be told of a heater that cannot be used now, or will not be."""
    return tuple(
        finding("heater out of order", space=space.name, begins=first, until=last)
        for first, last in broken_ahead(space.heating, boat, now)
    )


def broken_ahead(
    heating: Heating | None, boat: Boat, now: datetime
) -> list[tuple[datetime, datetime]]:
    """From when until when a heater, or the one it is an outlet of, cannot be used; not over."""
    zone = ZoneInfo(boat.place.time_zone)
    spans = [
        (_by_the_clock(span.from_, zone), _by_the_clock(span.until, zone))
        for span in _spans(heating, boat)
    ]
    return sorted((first, last) for first, last in spans if last > now)


def held_notes(space: Space, now: datetime) -> tuple[Finding, ...]:
    """What has to be told of a heater that the log has lit, or put out, at this moment."""
    held = None if space.heating is None else space.heating.held_at(now)
    if held is None:
        return ()
    if held.read_c is not None:
        return (finding("heater read to be out", space=space.name, temp_c=held.read_c),)
    vents = None if held.ventilation == "normal" else VENTS_WORD[held.ventilation]
    return (
        finding(
            "heater by the log",
            space=space.name,
            until=held.end,
            temp_c=held.setpoint_c,
            vents=vents,
        ),
    )


def _spans(heating: Heating | None, boat: Boat) -> list[OutOfOrder]:
    if heating is None:
        return []
    main = None if heating.outlet_of is None else boat.find_space(heating.outlet_of)
    outlet = [] if main is None or main.heating is None else main.heating.out_of_order
    return [*heating.out_of_order, *outlet]


def _by_the_clock(at: datetime, zone: ZoneInfo) -> datetime:
    return at.replace(tzinfo=zone) if at.tzinfo is None else at


def charges_w(heating: Heating | None, boat: Boat, times_utc: NDArray[np.datetime64]) -> FloatArray:
    """Heat of the charges of solid fuel in a routine, which no thermostat holds.

    Parameters
    ----------
    heating, boat, times_utc
        As for :func:`setpoints_c`; a regular grid, shape (T,).

    Returns
    -------
    ndarray, shape (T,)
        W, mean from each point to the next; 0 at the last.
    """
    given = np.zeros(times_utc.shape)
    if heating is None or not any(entry.charge for entry in heating.routine):
        return given
    running = _running(heating, boat)
    day, second = local_clock(times_utc, boat.place.time_zone)
    on = np.isin(weekday_of(day), list(running))
    seconds = (times_utc - times_utc[0]) / np.timedelta64(1, "s")
    step_h = float(seconds[1] - seconds[0]) / 3600.0
    for entry in heating.routine:
        if not entry.charge:
            continue
        at = entry.from_.hour * 3600 + entry.from_.minute * 60 + entry.from_.second
        past = second >= at
        # The first point of each day at which it is due.
        turned = np.concatenate([[False], ~past[:-1] | (np.diff(day) != 0)])
        first = np.flatnonzero(past & on & turned)
        for index in first:
            lit_h = (float(seconds[index]) - (second[index] - at)) / 3600.0
            heat = charge_kwh(heating, entry.charge)
            given += charge_w(heat, max(lit_h, 0.0), times_utc.size, step_h)
    return given


def _running(heating: Heating, boat: Boat) -> frozenset[int]:
    """Days of the week on which a heater's routine runs."""
    if heating.days is not None:
        return frozenset(WEEKDAYS.index(name) for name in heating.days)
    return days_aboard(boat)
