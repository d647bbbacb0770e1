"""Readings held against themselves, the weather, the model and the other spaces, once written."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime, timedelta
from functools import cached_property
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from curewindow.boat.checks import OUTDOORS
from curewindow.errors import CurewindowError
from curewindow.record.marking import MarkedReading, SeriesRead
from curewindow.record.store import Record
from curewindow.rules.readings import (
    DoubtedValue,
    OutsideCourse,
    ReadCourse,
    Surroundings,
    Why,
    doubted,
)

if TYPE_CHECKING:
    from curewindow.boat.schema import Boat
    from curewindow.conditions import SpaceConditions
    from curewindow.weather.forecast import Forecast

BEFORE: Final = timedelta(days=2)
AFTER: Final = timedelta(days=1)
_AGREE_H: Final = 0.5
_AGREE_K: Final = 2.0
# Other spaces are looked at for a sensor that was carried there, where that is a few days.
_ELSEWHERE_WITHIN: Final = timedelta(days=20)


class KnowsAround(Protocol):
    """Who knows something of where a course was read."""

    def of(self, series: SeriesRead, elsewhere: Sequence[ReadCourse]) -> Surroundings:
        """What a course of readings is held against."""


_SOON = timedelta(hours=3)


class KnownAround:
    """What is known beside the record: the weather that is at hand, and what the model has.

    Nothing is asked of the network; what is not known is not held against anything.
    """

    def __init__(self, folder: Path, boat: Boat, record: Record, now: datetime):
        self._folder, self._boat, self._record, self._now = folder, boat, record, now
        self._there: dict[str, SpaceConditions | None] = {}

    @cached_property
    def forecast(self) -> Forecast | None:
        """The control member of the weather at hand, past days in it, not much beyond now."""
        from curewindow.explain.control import control_member
        from curewindow.weather.choose import get_forecast

        try:
            whole = get_forecast(self._boat, self._folder, self._now, offline=True)
        except CurewindowError:
            return None
        return control_member(whole, self._now + _SOON)

    @cached_property
    def outside(self) -> OutsideCourse | None:
        """The air outside by the hour."""
        import numpy as np

        from curewindow.physics.air import dew_point_from_pressure

        if self.forecast is None:
            return None
        weather = self.forecast
        vapour = np.where(weather.vapour_pa > 0.0, weather.vapour_pa, np.nan)[0]
        dew = np.minimum(dew_point_from_pressure(vapour), weather.temp_c[0])
        return OutsideCourse(
            (weather.times.astype("datetime64[s]").astype(np.int64) / 3600.0).tolist(),
            weather.temp_c[0].tolist(),
            dew.tolist(),
            weather.sun_w_m2[0].tolist(),
        )

    def conditions(self, space: str) -> SpaceConditions | None:
        """What the model has in a described space, no reading in it."""
        if space not in self._there:
            self._there[space] = self._modelled(space)
        return self._there[space]

    def _modelled(self, name: str) -> SpaceConditions | None:
        from curewindow.conditions import boat_conditions, learned_in
        from curewindow.record.heat import with_heat

        space = self._boat.find_space(name)
        if space is None or space.logged_only or self.forecast is None:
            return None
        boat = with_heat(self._boat, self._record.heat(), [], self._now)
        try:
            found = boat_conditions(
                boat, self.forecast, [], self._now, only=[name], learned=learned_in(self._folder)
            )
        except CurewindowError:
            return None
        return found.get(name)

    def of(self, series: SeriesRead, elsewhere: Sequence[ReadCourse]) -> Surroundings:
        """What a course of readings is held against."""
        boat, outdoors = self._boat, series.space == OUTDOORS
        there = None if outdoors or not self._touched(series) else self.conditions(series.space)
        temp = humidity = None
        if there is not None and (series.panel is None or series.panel in there.surface_c):
            values = there.air_c if series.panel is None else there.surface_c[series.panel]
            temp = _looked_up(there, values)
            humidity = _looked_up(there, there.rh_pct) if series.panel is None else None
        water = boat.place.water_temp
        return Surroundings(
            outside=self.outside,
            expected_c=temp,
            expected_pct=humidity,
            water_c=float("nan") if water is None else water,
            heated=any(space.heating is not None for space in boat.space),
            dried=any(space.dehumidifier is not None for space in boat.space),
            outdoors=outdoors,
            elsewhere=elsewhere,
        )

    def _touched(self, series: SeriesRead) -> bool:
        """Does the weather at hand reach over any of it?"""
        outside = self.outside
        return bool(
            outside is not None
            and outside.hours
            and series.hours[-1] >= outside.hours[0]
            and series.hours[0] <= outside.hours[-1]
        )


def _looked_up(there: SpaceConditions, values: object) -> Callable[[float], float]:
    import numpy as np

    hours = there.times.astype("datetime64[s]").astype(np.int64) / 3600.0
    middle = np.median(np.asarray(values, dtype=np.float64), axis=0)

    def at(hour: float) -> float:
        if not hours[0] <= hour <= hours[-1]:
            return float("nan")
        return float(np.interp(hour, hours, middle))

    return at


def look_over(
    record: Record,
    around: KnowsAround,
    spaces: Iterable[str],
    first: datetime,
    last: datetime,
    *,
    but: Collection[Why] = (),
) -> list[MarkedReading]:
    """Mark what of some spaces' readings is not believed.

    Parameters
    ----------
    record : Record
        Open for writing.
    around : KnowsAround
    spaces : iterable of str
        In which something was read.
    first, last : datetime
        Aware: between which; two days before and one after are looked at with it.
    but : collection of str
        What has been looked for already.

    Returns
    -------
    list of MarkedReading
        What was marked now.
    """
    since, until = first - BEFORE, last + AFTER
    before = record.last_mark()
    for space in dict.fromkeys(spaces):
        pieces = record.series(space, since, until)
        few = last - first <= _ELSEWHERE_WITHIN
        elsewhere = _elsewhere(record, space, since, until) if few else []
        others = list(pieces) if few else []
        for piece in others or pieces:
            found = doubted(_course(piece), around.of(piece, elsewhere))
            record.mark(
                (piece.ids[each.index], each.value, each.why, each.expected)
                for each in found
                if each.why not in but and not _spoken_for(piece, each, others)
            )
    return record.marked(after=before)


def _course(piece: SeriesRead) -> ReadCourse:
    import numpy as np

    from curewindow.physics.air import dew_point

    surface = piece.panel is not None
    temp = piece.surface_c if surface else piece.air_c
    if surface:
        return ReadCourse(piece.hours, temp, surface=True, sure=piece.sure)
    air, rh = np.frombuffer(piece.air_c), np.frombuffer(piece.rh_pct)
    dew = dew_point(air, np.where(rh >= 1.0, rh, np.nan))
    return ReadCourse(piece.hours, temp, piece.rh_pct, dew.tolist(), sure=piece.sure)


def _elsewhere(record: Record, space: str, since: datetime, until: datetime) -> list[ReadCourse]:
    """Believed courses of the other spaces."""
    import numpy as np

    from curewindow.physics.air import dew_point

    readings = [
        each
        for each in record.readings(since=since, until=until, last=20_000)
        if each.space not in (space, OUTDOORS)
        and each.panel is None
        and each.air_c is not None
        and each.rh_pct is not None
    ]
    readings.sort(key=lambda each: (each.space, each.at))
    found = []
    for _, group in groupby(readings, key=lambda each: each.space):
        own = list(group)
        air = [each.air_c or 0.0 for each in own]
        rh = [each.rh_pct or 1.0 for each in own]
        dew = dew_point(np.array(air), np.maximum(np.array(rh), 1.0)).tolist()
        found.append(ReadCourse([each.at.timestamp() / 3600.0 for each in own], air, rh, dew))
    return found


def _spoken_for(piece: SeriesRead, each: DoubtedValue, others: Sequence[SeriesRead]) -> bool:
    """Did anybody else read the same there just then?"""
    if each.why not in ("jump", "sun") or each.value == "humidity":
        return False
    own = piece.surface_c if each.value == "surface" else piece.air_c
    at, read = piece.hours[each.index], own[each.index]
    for other in others:
        if other.panel != piece.panel or other.source == piece.source:
            continue
        theirs = other.surface_c if each.value == "surface" else other.air_c
        near = range(
            bisect_left(other.hours, at - _AGREE_H), bisect_right(other.hours, at + _AGREE_H)
        )
        if any(abs(theirs[k] - read) <= _AGREE_K for k in near):
            return True
    return False
