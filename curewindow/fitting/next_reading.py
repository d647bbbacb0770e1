"""Which reading would tell most next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from curewindow.boat.hours import local_clock
from curewindow.boat.schema import Boat
from curewindow.conditions.course import utc64
from curewindow.fitting.cabin import Cabin
from curewindow.fitting.data import (
    AIR,
    AIR_SENSOR_K,
    DEW,
    MODEL_K,
    SURFACE,
    SURFACE_SENSOR_K,
    course_of,
    dew_sigma_k,
)
from curewindow.fitting.solve import Solution, sensitivity
from curewindow.physics.air import relative_humidity
from curewindow.rules.sleep import night
from curewindow.series import FloatArray
from curewindow.weather.grid import utc_of

APART_H: Final = 4.0
MOST: Final = 3
LEAST_SHARE: Final = 0.02
"""A reading that takes less off the uncertainty of every value is not worth naming."""
_AROUND_H: Final = 3.0


@dataclass(frozen=True, slots=True)
class NextReading:
    """A reading worth taking.

    Attributes
    ----------
    at : datetime
        Aware UTC, a full hour on the boat's clock.
    panel : str
        Whose surface to read as well; '' for air and humidity alone.
    moment : str
        Where it lies in the day of the cabin: 'before heat', 'cooling', 'long without heat',
        'warming' or 'heated'; '' where no heater is lit.
    tells : str
        Key of the unknown it narrows most.
    narrows : float
        Share it is expected to take off that unknown's uncertainty, 0-1.
    """

    at: datetime
    panel: str
    moment: str
    tells: str
    narrows: float


def next_readings(
    boat: Boat, cabin: Cabin, solution: Solution, now: datetime
) -> tuple[NextReading, ...]:
    """The most telling readings of the day ahead, best first.

    Parameters
    ----------
    boat : Boat
        For the clock.
    cabin : Cabin
    solution : Solution
        The fit so far.
    now : datetime
        Aware.

    Returns
    -------
    tuple of NextReading
        At most three, some hours apart.

    Notes
    -----
    A reading with slopes J (in standard deviations a spread of each unknown) makes the
    covariance C into ``C - C J' (I + J C J')^-1 J C``, whatever it reads. Ranked by the
    logarithm of the determinant, the information gained (D-optimal design).
    """
    times = cabin.times
    _, second = local_clock(times, boat.place.time_zone)
    ahead = (times > utc64(now)) & cabin.known
    fits = ahead & (second % 3600 == 0) & ~night(times, boat.place.time_zone)
    panel = _coldest(cabin, solution)
    ranked: list[tuple[float, int, bool, FloatArray]] = []
    for index in np.flatnonzero(fits).tolist():
        for with_surface in (False, True):
            rows = _rows(cabin, solution, index, panel if with_surface else None)
            after, gain = _updated(solution.covariance, rows)
            # A surface takes a second instrument: it has to be worth it.
            ranked.append((gain * (0.7 if with_surface else 1.0), index, with_surface, after))
    ranked.sort(key=lambda item: -item[0])
    chosen: list[NextReading] = []
    taken: list[int] = []
    before = np.sqrt(np.diag(solution.covariance))
    for _, index, with_surface, after in ranked:
        if any(abs(index - other) * cabin.step_h < APART_H for other in taken):
            continue
        narrows = 1.0 - np.sqrt(np.maximum(np.diag(after), 0.0)) / before
        best = int(np.argmax(narrows))
        same = (_moment(cabin, index), cabin.unknowns[best].key)
        if narrows[best] < LEAST_SHARE or same in [(c.moment, c.tells) for c in chosen]:
            continue
        taken.append(index)
        chosen.append(
            NextReading(
                at=utc_of(times[index]),
                panel=cabin.space.panel[panel].name if with_surface else "",
                moment=same[0],
                tells=same[1],
                narrows=float(narrows[best]),
            )
        )
        if len(chosen) == MOST:
            break
    return tuple(chosen)


def _coldest(cabin: Cabin, solution: Solution) -> int:
    """The panel that is coldest on the whole: the one that matters and tells most."""
    return int(np.argmin(solution.courses.surface_c[:, 0, cabin.known].mean(axis=1)))


def _rows(cabin: Cabin, solution: Solution, index: int, panel: int | None) -> FloatArray:
    """Slopes of one reading's values in standard deviations, shape (N, P)."""
    air = solution.courses.air_c[0, index]
    dew = min(solution.courses.dew_point_c[0, index], air)
    spreads = {
        AIR: float(np.hypot(AIR_SENSOR_K, MODEL_K)),
        DEW: dew_sigma_k(float(relative_humidity(air, dew))),
    }
    if panel is not None:
        spreads[SURFACE + panel] = float(np.hypot(SURFACE_SENSOR_K, MODEL_K))
    values = np.stack([course_of(solution.courses, kind)[:, index] for kind in spreads], axis=1)
    scale = np.array(list(spreads.values())) * solution.misfit
    return sensitivity(solution.steps, values) / scale[:, None]


def _updated(covariance: FloatArray, rows: FloatArray) -> tuple[FloatArray, float]:
    across = covariance @ rows.T
    inside = np.eye(rows.shape[0]) + rows @ across
    after = covariance - across @ np.linalg.solve(inside, across.T)
    return after, float(np.linalg.slogdet(inside)[1])


def _moment(cabin: Cabin, index: int) -> str:
    """Where in the heater's day a moment lies."""
    lit = np.isfinite(cabin.setpoint_c)
    span = round(_AROUND_H / cabin.step_h)
    if not lit.any():
        return ""
    before, after = lit[max(index - span, 0) : index], lit[index : index + span + 1]
    if not lit[index] and after.any():
        return "before heat"
    if not lit[index]:
        return "cooling" if before.any() else "long without heat"
    if not before.all():
        return "warming"
    return "heated"
