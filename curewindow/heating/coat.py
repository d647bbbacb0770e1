"""What is to be put on, what bounds it, and the conditions a heated room gives its surface."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.schema import Job, Step
from curewindow.conditions.draw import LoggedValues
from curewindow.conditions.wood import USUAL_THICKNESS_M, wood_moisture
from curewindow.curing import IntArray, RecoatRule
from curewindow.heating.room import Room
from curewindow.physics.air import (
    dew_point_from_pressure,
    relative_humidity_from_pressure,
    saturation_pressure,
)
from curewindow.physics.balance import SpaceResult
from curewindow.rules.limits import DRY_G_M2
from curewindow.rules.sleep import bedtime
from curewindow.rules.tins import tin_asked
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.windows.grid import at_index

_DRIEST_PA: Final = 10.0  # what is taken off the air leaves it some vapour
Course = tuple[FloatArray, FloatArray, FloatArray]
"""Air, dew point and surface [°C]."""
DRY_KG_M2: Final = DRY_G_M2 / 1000.0
"""Dew that is none any more on the surface at the first stroke."""


@dataclass(frozen=True, slots=True)
class Below:
    """The coat below, where its clock goes on while the space is heated.

    Attributes
    ----------
    sheet : Sheet
    rule : RecoatRule
        For the coat to come.
    first_stroke, last_stroke : datetime
    binding : bool
        True where sanding is no way out once its interval has closed.
    """

    sheet: Sheet
    rule: RecoatRule
    first_stroke: datetime
    last_stroke: datetime
    binding: bool


@dataclass(frozen=True, slots=True, eq=False)
class HeatedCoat:
    """A coat to be put on with the help of heat.

    Attributes
    ----------
    job : Job
    step : Step
    sheet : Sheet
    hands_on_h : float
    base : SurfaceSeries
        Conditions at the surface as things stand, on the forecast's grid.
    hours_ok : ndarray of bool, shape (T,)
        On that grid.
    zone : ZoneInfo
    earliest : datetime
        Aware; no start before it.
    latest : datetime or None
    bare_wood : bool
    airing_m3_h : float
        Outside air that solvent vapour needs until touch dry; 0: none.
    airing_known : bool
        False where a usual figure stands in.
    water_kg_h : float
        Water the film gives off inside until touch dry; 0: none.
    by_bedtime : bool
        Must have set by bedtime, as someone sleeps near.
    below : Below or None
    next_rule : RecoatRule or None
        The table for another coat of the same; None where none follows.
    """

    job: Job
    step: Step
    sheet: Sheet
    hands_on_h: float
    base: SurfaceSeries
    hours_ok: BoolArray
    zone: ZoneInfo
    earliest: datetime
    latest: datetime | None = None
    bare_wood: bool = False
    airing_m3_h: float = 0.0
    airing_known: bool = True
    water_kg_h: float = 0.0
    by_bedtime: bool = False
    below: Below | None = None
    next_rule: RecoatRule | None = None

    @property
    def tied(self) -> bool:
        """The air in the space is another one from the first stroke on, till touch dry."""
        return self.airing_m3_h > 0.0 or self.water_kg_h > 0.0


def surface_of(task: HeatedCoat, room: Room, result: SpaceResult) -> FloatArray:
    """The job's surface in a run: its panel; joinery is the colder of air and mass."""
    if task.job.panel is None:
        return np.asarray(np.minimum(result.air_c, result.mass_c))
    return np.asarray(result.surface_c[room.panel_index(task.job.panel)])


def series_of(task: HeatedCoat, room: Room, result: SpaceResult, since: int) -> SurfaceSeries:
    """Conditions at the job's surface in a heated room, with the past from ``since`` before it.

    Parameters
    ----------
    task : HeatedCoat
    room : Room
        In one member of the weather, or in all of them.
    result : SpaceResult
        Its run, (K, T).
    since : int
        Index on the forecast's grid from which on the past is wanted; ``room.first``: none.

    Notes
    -----
    The tin stands there while the heat is on, and lags behind it.
    """
    unknown = room.unknown
    surface = surface_of(task, room, result)
    rows = result.air_c.shape[0]
    base, stop = task.base, room.first + room.points
    air, rh, dew, surface = _conditions_in(task, room, result, surface)

    def joined(before: FloatArray, values: FloatArray) -> FloatArray:
        ahead = np.where(unknown, np.nan, values)
        if since >= room.first:
            return ahead
        past = before[:, since : room.first]
        if past.shape[0] != rows:
            past = np.broadcast_to(past[:1], (rows, past.shape[1]))
        return np.concatenate([past, ahead], axis=1)

    wood = None
    if base.wood_moisture_pct is not None:
        begin = base.wood_moisture_pct[:, room.first]
        moisture = wood_moisture(
            room.times,
            surface,
            dew,
            LoggedValues(room.times[:1], begin[:1]),
            task.job.wood_thickness or USUAL_THICKNESS_M,
            2 if task.job.panel is None else 1,
        )
        wood = joined(base.wood_moisture_pct, moisture)
    tin = None
    if base.tins is not None:
        asked = tin_asked(task.sheet, task.hands_on_h)
        ahead = base.tins.in_air(asked, air, room.first)
        tin = joined(base.tins.course(asked), ahead)
    return SurfaceSeries(
        space=base.space,
        surface=base.surface,
        times=base.times[since:stop],
        air_c=joined(base.air_c, air),
        rh_pct=joined(base.rh_pct, rh),
        dew_point_c=joined(base.dew_point_c, dew),
        surface_c=joined(base.surface_c, surface),
        wood_moisture_pct=wood,
        wind_ms=None,
        rain_mm_h=None,
        sun_w_m2=None,
        measured=base.measured[since:stop],
        lead_h=base.lead_h[since:stop],
        outdoors=False,
        notes=base.notes,
        tin_c=tin,
    )


def _conditions_in(
    task: HeatedCoat, room: Room, result: SpaceResult, surface: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Air, humidity, dew point and surface of a run, laid on the conditions as worked out."""
    if room.stands is None or room.rows is None or room.stands.room is None:
        return result.air_c, result.rh_pct, result.dew_point_c, surface
    first = room.first - room.stands.room.first
    cut = slice(first, first + room.points)
    without = room.stands.up_to(cut.stop)
    rows, base = room.rows, task.base
    ahead = slice(room.first, room.first + room.points)

    def own(values: FloatArray) -> FloatArray:
        return values[rows if values.shape[0] > 1 else np.zeros_like(rows), ahead]

    bare = surface_of(task, room.stands.room, without)
    return laid_on(
        (own(base.air_c), own(base.dew_point_c), own(base.surface_c)),
        (result.air_c, result.dew_point_c, surface),
        (without.air_c[rows, cut], without.dew_point_c[rows, cut], bare[rows, cut]),
    )


def laid_on(
    base: Course, with_it: Course, without: Course
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Conditions changed by what one run has and another has not.

    They hold more of what was read than a run from a moment on does; what changes nothing leaves
    them as they are.

    Parameters
    ----------
    base, with_it, without : tuple of ndarray
        Air, dew point and surface [°C], of shapes that broadcast.

    Returns
    -------
    air_c, rh_pct, dew_point_c, surface_c : ndarray
    """
    air = np.asarray(base[0] + with_it[0] - without[0])
    here, more, less = (saturation_pressure(each[1]) for each in (base, with_it, without))
    vapour = np.clip(here + more - less, _DRIEST_PA, saturation_pressure(air))
    return (
        air,
        np.asarray(relative_humidity_from_pressure(air, vapour)),
        np.asarray(dew_point_from_pressure(vapour)),
        np.asarray(base[2] + with_it[2] - without[2]),
    )


def bedtimes(task: HeatedCoat, series: SurfaceSeries) -> IntArray:
    """Last grid point before bedtime on the day of each grid point, shape (T,)."""
    found = np.empty(len(series.times), np.int64)
    known: dict[object, int] = {}
    for index in range(len(series.times)):
        day = at_index(series, index).astimezone(task.zone).date()
        if day not in known:
            late = np.datetime64(bedtime(day, task.zone).replace(tzinfo=None), "s")
            known[day] = int(np.searchsorted(series.times, late, side="right")) - 1
        found[index] = known[day]
    return found
