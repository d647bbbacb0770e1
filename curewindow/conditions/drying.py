"""Water that coats give off into the air of their space as they dry."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.amount import product_litres, water_g_l
from curewindow.boat.schema import Job, Work
from curewindow.conditions.course import hours_since, utc64
from curewindow.record.entries import Coat, Reading
from curewindow.series import FloatArray
from curewindow.sheets.schema import Sheet

LOOKED_BACK: Final = timedelta(days=10)
"""Coats put on before that have given off all their water."""
LEFT_WHEN_TOUCH_DRY: Final = 0.05
"""Share of the water still in the film when it is touch dry. Estimate, no source: a
waterborne film loses nearly all of it before its particles close up, and the rest slowly."""
_FITTING = timedelta(hours=12)
_USUAL_C: Final = 15.0
_SHORTEST_H: Final = 0.1


@dataclass(frozen=True, slots=True)
class DryingCoat:
    """A coat that gives off water.

    Attributes
    ----------
    start, end : datetime
        Aware; it is put on evenly between them.
    water_kg : float
        Water it gives off in all.
    touch_dry_h : float
        From putting on to touch dry, h.
    """

    start: datetime
    end: datetime
    water_kg: float
    touch_dry_h: float


def given_off_kg_h(coats: Iterable[DryingCoat], times: NDArray[np.datetime64]) -> FloatArray:
    """Water that coats give off.

    Parameters
    ----------
    coats : iterable of DryingCoat
    times : ndarray of datetime64[s], shape (T,)
        Regular grid.

    Returns
    -------
    ndarray, shape (T,)
        Mean rate from each point to the next, kg/h; 0 at the last.

    Notes
    -----
    What was put on at an instant loses its water as ``exp(-t / tau)``, tau such that a
    twentieth is left when it is touch dry; what was put on evenly for a while is the
    integral of that. The rate is worked out from what has left by each point, so none
    is lost between them. Film drying in still air is neither this simple nor the same in
    damp air: estimate, no source.
    """
    rate = np.zeros(times.shape)
    for coat in coats:
        tau = max(coat.touch_dry_h, _SHORTEST_H) / -np.log(LEFT_WHEN_TOUCH_DRY)
        taken = max((coat.end - coat.start) / timedelta(hours=1), _SHORTEST_H)
        since = hours_since(times, utc64(coat.start))
        gone = (_of_ramp(since, tau) - _of_ramp(since - taken, tau)) / taken
        step_h = hours_since(times[1:2], times[0])
        # Long after, the difference of two large sums is rounding: nothing comes back.
        rate[:-1] += coat.water_kg * np.maximum(np.diff(gone), 0.0) / step_h
    return rate


def _of_ramp(hours: FloatArray, tau: float) -> FloatArray:
    """Integral of 1 - exp(-t / tau) from 0 on; 0 before."""
    since = np.maximum(hours, 0.0)
    return np.asarray(since + tau * np.expm1(-since / tau), dtype=np.float64)


def coat_of(
    sheet: Sheet, job: Job, start: datetime, end: datetime, air_c: float | None
) -> DryingCoat | None:
    """A coat of a job, where it gives off water and how much is known.

    Parameters
    ----------
    sheet : Sheet
    job : Job
        For its amount, else its area.
    start, end : datetime
        Aware.
    air_c : float or None
        Air it dries in; None: 15 °C.
    """
    litres, content = product_litres(sheet, job), water_g_l(sheet)
    if litres is None or content <= 0.0:
        return None
    return DryingCoat(start, end, litres * content / 1000.0, _touch_dry_h(sheet, air_c))


def drying_coats(
    work: Work,
    coats: Iterable[Coat],
    sheet_of: Callable[[str], Sheet],
    readings: Sequence[Reading],
    now: datetime,
) -> dict[str, tuple[DryingCoat, ...]]:
    """Coats of the record that may still give off water, by space.

    Parameters
    ----------
    work : Work
        Where each job is, and how large.
    coats : iterable of Coat
        The record's.
    sheet_of : callable
        Sheet by its name.
    readings : sequence of Reading
        The air read nearest to a coat's start tells how fast it dries.
    now : datetime
        Aware.
    """
    jobs = {job.name: job for job in work.job}
    found: dict[str, list[DryingCoat]] = {}
    for coat in coats:
        job = jobs.get(coat.job)
        if job is None or job.space is None or not now - LOOKED_BACK <= coat.start <= now:
            continue
        if coat.area_m2 is not None:
            share = coat.area_m2 / job.area if job.area else 1.0
            amount = None if job.amount is None else job.amount * share
            job = job.model_copy(update={"area": coat.area_m2, "amount": amount})
        drying = coat_of(
            sheet_of(coat.sheet), job, coat.start, coat.end, _air_near(readings, job.space, coat)
        )
        if drying is not None:
            found.setdefault(job.space or "", []).append(drying)
    return {space: tuple(each) for space, each in found.items()}


def _air_near(readings: Sequence[Reading], space: str | None, coat: Coat) -> float | None:
    near = [
        (abs(reading.at - coat.start), reading.air_c)
        for reading in readings
        if reading.space == space
        and reading.air_c is not None
        and abs(reading.at - coat.start) <= _FITTING
    ]
    return min(near)[1] if near else None


def _touch_dry_h(sheet: Sheet, air_c: float | None) -> float:
    """Hours to touch dry in air of a temperature, straight in the logarithm between columns."""
    hours = sheet.cure.touch_dry or sheet.cure.hours(sheet.setting.until)
    if not hours:
        return 1.0
    order = np.argsort(sheet.cure.temps)
    temps, row = np.array(sheet.cure.temps)[order], np.array(hours)[order]
    at = _USUAL_C if air_c is None else air_c
    return float(np.exp(np.interp(at, temps, np.log(np.maximum(row, _SHORTEST_H)))))
