"""Readings as the fit sees them: values, how far each is trusted, and where on the grid."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curewindow.conditions.course import hours_since, utc64
from curewindow.fitting.cabin import Cabin, Courses
from curewindow.physics.air import dew_point
from curewindow.record.entries import Reading
from curewindow.series import BoolArray, FloatArray

AIR, DEW, SURFACE = 0, 1, 2  # surfaces: SURFACE + number of the panel

# How far a reading and the model of one well-mixed air may differ with all values
# right: cheap sensors (0.3 K, 3 %), spot thermometers, and air that is not mixed.
# Estimates, no source.
AIR_SENSOR_K: Final = 0.3
RH_SENSOR_PCT: Final = 3.0
SURFACE_SENSOR_K: Final = 1.0
MODEL_K: Final = 0.4
# Readings this close together share the model's error: together they count as one.
TOGETHER_H: Final = 1.5
CHANGE_SHARE: Final = 0.3
DRIEST_PCT: Final = 1.0
_KELVIN_PER_LN_PA: Final = 14.5  # dew point for each e-fold of vapour pressure, about 10 °C


@dataclass(frozen=True, slots=True, eq=False)
class Data:
    """N values read.

    Attributes
    ----------
    kind : ndarray of int, shape (N,)
        AIR, DEW, or SURFACE plus the number of the panel.
    value : ndarray, shape (N,)
        °C.
    sigma : ndarray, shape (N,)
        Standard deviation to be expected, K.
    weight : ndarray, shape (N,)
        Below 1 where readings are close together: their squares sum to the number of
        readings that are worth something by themselves.
    owner : ndarray of int, shape (N,)
        Which reading of `readings` it comes from.
    hours : ndarray, shape (N,)
        Since the first point of the grid.
    step_h : float
        Of the grid.
    readings : tuple of Reading
        In order of time.
    """

    kind: NDArray[np.intp]
    value: FloatArray
    sigma: FloatArray
    weight: FloatArray
    owner: NDArray[np.intp]
    hours: FloatArray
    step_h: float
    readings: tuple[Reading, ...]

    def picked(self, mask: BoolArray) -> Data:
        """Only some of the values, weighed anew."""
        kind, hours = self.kind[mask], self.hours[mask]
        return replace(
            self,
            kind=kind,
            value=self.value[mask],
            sigma=self.sigma[mask],
            weight=_weights(kind, hours),
            owner=self.owner[mask],
            hours=hours,
        )


def usable(cabin: Cabin, readings: Iterable[Reading]) -> list[Reading]:
    """Readings at times of which the weather is known."""
    kept = []
    for reading in readings:
        where = float(hours_since(np.atleast_1d(utc64(reading.at)), cabin.times[0])[0])
        index = int(np.floor(where / cabin.step_h + 1e-9))
        if 0 <= index < cabin.times.size - 1 and cabin.known[index : index + 2].all():
            kept.append(reading)
    return kept


def data_of(cabin: Cabin, readings: list[Reading]) -> Data:
    """Lay readings out for the fit; see :func:`usable` for which can be.

    Humidity that no cabin has (below 1 %) is left to :mod:`curewindow.fitting.suspects`.
    """
    panels = {panel.name: index for index, panel in enumerate(cabin.space.panel)}
    rows: list[tuple[int, float, float, int]] = []
    for owner, reading in enumerate(readings):
        air, humidity = reading.air_c, reading.rh_pct
        if air is not None:
            rows.append((AIR, air, float(np.hypot(AIR_SENSOR_K, MODEL_K)), owner))
            if humidity is not None and humidity >= DRIEST_PCT:
                dew = float(dew_point(air, min(humidity, 100.0)))
                rows.append((DEW, dew, dew_sigma_k(humidity), owner))
        if reading.surface_c is not None and reading.panel in panels:
            kind = SURFACE + panels[reading.panel]
            off = float(np.hypot(SURFACE_SENSOR_K, MODEL_K))
            rows.append((kind, reading.surface_c, off, owner))
    kinds = np.array([row[0] for row in rows], dtype=np.intp)
    owners = np.array([row[3] for row in rows], dtype=np.intp)
    at = np.array([utc64(reading.at) for reading in readings], dtype="datetime64[s]")
    hours = hours_since(at, cabin.times[0])[owners] if rows else np.array([])
    return Data(
        kind=kinds,
        value=np.array([row[1] for row in rows]),
        sigma=np.array([row[2] for row in rows]),
        weight=_weights(kinds, hours),
        owner=owners,
        hours=hours,
        step_h=cabin.step_h,
        readings=tuple(readings),
    )


def dew_sigma_k(rh_pct: float) -> float:
    """Standard deviation of a dew point from a reading of air and humidity, K."""
    sensor = _KELVIN_PER_LN_PA * RH_SENSOR_PCT / max(rh_pct, 15.0)
    return float(np.sqrt(sensor**2 + AIR_SENSOR_K**2 + MODEL_K**2))


def _weights(kind: NDArray[np.intp], hours: FloatArray) -> FloatArray:
    weights = np.ones(kind.size)
    for each in np.unique(kind):
        where = np.flatnonzero(kind == each)
        at = np.sort(hours[where])
        near = np.searchsorted(at, hours[where] + TOGETHER_H / 2.0, "right") - np.searchsorted(
            at, hours[where] - TOGETHER_H / 2.0, "left"
        )
        weights[where] = 1.0 / np.sqrt(np.maximum(near, 1))
    return weights


def blurred(data: Data, courses: Courses) -> Data:
    """Values trusted less where the cabin changes fast, as when the heater has just gone off.

    There a straight line between grid points, and a time noted ten minutes late, are off
    by a good part of the change from point to point; as much is added to `sigma`.
    """
    sigma = data.sigma.copy()
    count = courses.air_c.shape[1]
    before = np.clip((data.hours / data.step_h).astype(np.intp), 0, count - 2)
    for each in np.unique(data.kind):
        where = data.kind == each
        change = np.diff(course_of(courses, int(each))[0])
        sigma[where] = np.hypot(sigma[where], CHANGE_SHARE * change[before[where]])
    return replace(data, sigma=sigma)


def predicted(courses: Courses, data: Data, later_h: float = 0.0) -> FloatArray:
    """What candidates predict for the values read, shape (K, N).

    ``later_h`` reads them off so many hours later, for clocks that are wrong.
    """
    count = courses.air_c.shape[1]
    place = np.clip((data.hours + later_h) / data.step_h, 0.0, count - 1.0)
    before = np.minimum(place.astype(np.intp), count - 2)
    share = place - before
    out = np.empty((courses.air_c.shape[0], data.kind.size))
    for each in np.unique(data.kind):
        where = data.kind == each
        course = course_of(courses, int(each))
        left, right = course[:, before[where]], course[:, before[where] + 1]
        out[:, where] = left + share[where] * (right - left)
    return out


def course_of(courses: Courses, kind: int) -> FloatArray:
    """The course of one kind of value, shape (K, T)."""
    if kind == AIR:
        return courses.air_c
    return courses.dew_point_c if kind == DEW else courses.surface_c[kind - SURFACE]
