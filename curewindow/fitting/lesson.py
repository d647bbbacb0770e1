"""What the readings of a space tell: the fit from beginning to end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np

from curewindow.boat.schema import Boat, Space
from curewindow.conditions.course import utc64
from curewindow.conditions.draw import readings_of
from curewindow.conditions.learned import Learned, fingerprint
from curewindow.errors import NotFoundError
from curewindow.fitting.cabin import Cabin, Courses, cabin_for
from curewindow.fitting.data import AIR, DEW, SURFACE, Data, blurred, data_of, predicted, usable
from curewindow.fitting.next_reading import NextReading, next_readings
from curewindow.fitting.solve import Solution, look_around, solve
from curewindow.fitting.suspects import Suspect, clock_off_h, mask_without, suspects_in, unreadable
from curewindow.fitting.unknowns import Unknown, values_at
from curewindow.record.entries import Reading
from curewindow.series import BoolArray
from curewindow.weather.forecast import Forecast

LEAST_READINGS: Final = 6
"""With fewer there is nothing to fit."""
LEAST_HELD_OUT: Final = 12
"""With fewer there are none to spare for a test."""
HELD_OUT: Final = 0.25
OLDEST: Final = timedelta(days=21)
"""Readings further back are left out: lining, weather and habits change (estimate)."""
_ROUNDS: Final = 3


@dataclass(frozen=True, slots=True)
class FittedValue:
    """One unknown, before and after.

    ``factor`` and ``factor_before`` are standard deviations as a factor either way;
    ``told`` is the share of the uncertainty that the readings took off, 0-1.
    """

    key: str
    before: float
    factor_before: float
    value: float
    factor: float
    told: float


@dataclass(frozen=True, slots=True)
class Misses:
    """Root mean square errors, K; None where there was nothing to compare."""

    count: int
    air_k: float | None
    dew_point_k: float | None
    surface_k: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Lesson:
    """What was learned of a space.

    Attributes
    ----------
    learned : Learned
        The values, ready to be kept.
    found : tuple of FittedValue
        Each unknown.
    used, left_out : int
        Readings used in part at least; readings of which the weather is not known.
    first, last : datetime
        Of those used.
    fitted, described : Misses
        Errors over all values used, with the fitted values and as described.
    held_out, held_out_described : Misses or None
        Errors over the last quarter, fitted without it.
    suspects : tuple of Suspect
        Values left out of the fit.
    clock_off_h : float
        See :func:`curewindow.fitting.suspects.clock_off_h`.
    misfit : float
        Spread of the residuals over the expected one, 1 at least.
    next_readings : tuple of NextReading
    cabin, data, courses, courses_described
        For pictures: data holds all values, doubted ones too.
    stays : ndarray of bool
        Which of them were used.
    """

    learned: Learned
    found: tuple[FittedValue, ...]
    used: int
    left_out: int
    first: datetime
    last: datetime
    fitted: Misses
    described: Misses
    held_out: Misses | None
    held_out_described: Misses | None
    suspects: tuple[Suspect, ...]
    clock_off_h: float
    misfit: float
    next_readings: tuple[NextReading, ...]
    cabin: Cabin
    data: Data
    courses: Courses
    courses_described: Courses
    stays: BoolArray


def learn(
    boat: Boat,
    space: Space,
    forecast: Forecast,
    readings: Iterable[Reading],
    now: datetime,
    *,
    learned: Mapping[str, Learned] | None = None,
) -> Lesson:
    """Fit what nobody can measure of a space to what was read in it.

    Parameters
    ----------
    boat, space
        As described.
    forecast : Forecast
        With the weather of the days that were read.
    readings : iterable of Reading
        All readings of the boat; later ones than ``now`` are not known yet.
    now : datetime
        Aware.
    learned : mapping of str to Learned, optional
        Values kept for the spaces beside it.

    Returns
    -------
    Lesson

    Raises
    ------
    NotFoundError
        A space without a description, or too few readings at times of which the
        weather is known.
    """
    if space.logged_only or not space.panel or not space.volume:
        raise NotFoundError(
            f"the {space.name} is not described (volume, panels), so there is nothing to fit"
        )
    known = [reading for reading in readings if reading.at <= now]
    own = [r for r in readings_of(known, space.name, now) if r.at >= now - OLDEST]
    inside = [r for r in own if utc64(r.at) >= forecast.times[0]]
    _enough(space, inside, len(own), forecast)
    cabin = cabin_for(boat, space, forecast, known, now, inside[0].at, learned or {})
    used = usable(cabin, inside)
    _enough(space, used, len(own), forecast)
    as_described = cabin.courses(np.zeros((1, len(cabin.unknowns))))
    data = blurred(data_of(cabin, used), as_described)
    solution, suspects, stays = fit_with_uncertainty(cabin, data)
    kept = data.picked(stays)
    solution = look_around(cabin, kept, solution)
    held, held_described = _held_out(cabin, kept, solution, as_described)
    fitted = misses(kept, solution.courses)
    values = values_at(cabin.unknowns, solution.place)
    tested = held if held is not None else fitted
    result = Learned(
        space=space.name,
        fitted_at=now.astimezone(UTC),
        readings=len({int(owner) for owner in kept.owner}),
        air_within_k=tested.air_k or 0.0,
        dew_within_k=tested.dew_point_k or 0.0,
        fingerprint=fingerprint(space),
        air_changes_h=values["air_change"],
        heat_loss=values["heat_loss"],
        mass_j_k=values["interior_mass"],
        buffer_kg=values["held_water"],
        moisture_kg_h=values["moisture"],
        heater_w=values.get("heater"),
    )
    return Lesson(
        learned=result,
        found=_found(cabin.unknowns, solution, values),
        used=result.readings,
        left_out=len(own) - len(used),
        first=used[0].at,
        last=used[-1].at,
        fitted=fitted,
        described=misses(kept, as_described),
        held_out=held,
        held_out_described=held_described,
        suspects=tuple(suspects),
        clock_off_h=clock_off_h(
            data.picked(mask_without(data, [s for s in suspects if s.why != "odd"])),
            solution.courses,
        ),
        misfit=solution.misfit,
        next_readings=next_readings(boat, cabin, solution, now),
        cabin=cabin,
        data=data,
        courses=solution.courses,
        courses_described=as_described,
        stays=stays,
    )


def _enough(space: Space, used: list[Reading], there: int, forecast: Forecast) -> None:
    with_air = [reading for reading in used if reading.air_c is not None]
    if len(with_air) >= LEAST_READINGS:
        return
    since = f"{forecast.times[0].astype('datetime64[D]')}"
    raise NotFoundError(
        f"the {space.name} has {len(with_air)} readings of the air at times of which the weather "
        f"is known (since {since}; {there} readings in {OLDEST.days} days); a fit takes "
        f"{LEAST_READINGS} at least, better a week of several a day"
    )


def fit_with_uncertainty(cabin: Cabin, data: Data) -> tuple[Solution, list[Suspect], BoolArray]:
    """Fit, doubt, fit again without what is doubted, until nothing changes.

    Returns
    -------
    solution : Solution
    suspects : list of Suspect
        In order of time.
    stays : ndarray of bool, shape (N,)
        Values that were used.
    """
    hopeless = unreadable(list(data.readings))
    stays = mask_without(data, hopeless)
    solution = solve(cabin, data.picked(stays))
    suspects = hopeless
    for _ in range(_ROUNDS):
        found = suspects_in(cabin, data, solution.courses, solution.misfit)
        suspects = sorted([*hopeless, *found], key=lambda suspect: suspect.reading.at)
        doubted = mask_without(data, suspects)
        if np.array_equal(doubted, stays) and solution.misfit < 1.2:
            break
        settled = np.array_equal(doubted, stays)
        stays = doubted
        solution = solve(cabin, data.picked(stays), solution.place, min(solution.misfit, 3.0))
        if settled:
            break
    return solution, suspects, stays


def _held_out(
    cabin: Cabin, kept: Data, solution: Solution, as_described: Courses
) -> tuple[Misses | None, Misses | None]:
    """Fit without the last quarter of the readings, then hold it against them."""
    owners = np.unique(kept.owner)
    if owners.size < LEAST_HELD_OUT:
        return None, None
    first_out = owners[round(owners.size * (1.0 - HELD_OUT))]
    out = kept.owner >= first_out
    early = solve(cabin, kept.picked(~out), misfit=solution.misfit)
    test = kept.picked(out)
    return misses(test, early.courses), misses(test, as_described)


def misses(data: Data, courses: Courses) -> Misses:
    """Errors of the first candidate."""
    off = predicted(courses, data)[0] - data.value

    def rms(where: BoolArray) -> float | None:
        return float(np.sqrt(np.mean(off[where] ** 2))) if where.any() else None

    return Misses(
        count=int(np.unique(data.owner).size),
        air_k=rms(data.kind == AIR),
        dew_point_k=rms(data.kind == DEW),
        surface_k=rms(data.kind >= SURFACE),
    )


def _found(
    unknowns: tuple[Unknown, ...], solution: Solution, values: dict[str, float]
) -> tuple[FittedValue, ...]:
    spreads = np.sqrt(np.diag(solution.covariance))
    return tuple(
        FittedValue(
            key=unknown.key,
            before=unknown.median,
            factor_before=unknown.spread,
            value=values[unknown.key],
            factor=float(np.exp(unknown.log_spread * spread)),
            told=float(np.clip(1.0 - spread, 0.0, 1.0)),
        )
        for unknown, spread in zip(unknowns, spreads.tolist(), strict=True)
    )
