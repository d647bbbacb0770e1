"""What the listener asks of the record, and what it writes there."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Final

from curewindow.boat.sensorchecks import OUTDOORS
from curewindow.boat.sensors import Sensor
from curewindow.logbook.doubting import look_over
from curewindow.record.doubted import Doubted, add_doubted, doubted_in
from curewindow.record.entries import Reading
from curewindow.record.marking import SeriesRead
from curewindow.record.store import Record
from curewindow.rules.readings import ReadCourse, Surroundings, Why
from curewindow_service.clock import Clock
from curewindow_service.sensors.drift import Drift, drifts
from curewindow_service.sensors.heard import Around, Expected
from curewindow_service.sensors.quality import AGREE_FOR, temp_of

_LAST: Final = timedelta(days=2)


def last_readings(path: Path, sensors: Sequence[Sensor], now: datetime) -> dict[str, Reading]:
    """The last reading of each sensor, so that a restart doubles nothing.

    Raises
    ------
    RecordError
        The record cannot be read; as with all of these.
    """
    if not sensors:
        return {}
    with Record(path, read_only=True) as record:
        return {reading.source: reading for reading in record.readings(since=now - _LAST)}


def read_by_others(path: Path, sensor: Sensor, ours: Collection[str], at: datetime) -> list[float]:
    """Temperatures that people, or anything but our sensors, read at the same place just now."""
    with Record(path, read_only=True) as record:
        near = record.readings(sensor.space, at - AGREE_FOR, at + AGREE_FOR)
    return [
        temp
        for reading in near
        if reading.source not in ours
        and reading.panel == sensor.panel
        and (temp := temp_of(reading)) is not None
    ]


# These a listener sees by itself, message by message, before anything is written.
_SEEN_ALREADY: Final[tuple[Why, ...]] = ("°F as °C", "sun", "jump")


def save(
    path: Path,
    items: Sequence[Reading | Doubted],
    clock: Clock,
    around: Around | None = None,
) -> None:
    """Write readings, and those set aside; then hold the whole course against all that is known."""
    readings = [item for item in items if isinstance(item, Reading)]
    with Record(path, now=clock) as record:
        record.add_readings(readings, what="sensors", by_person=False, skip_known=True)
        if readings:
            times = [reading.at for reading in readings]
            look_over(
                record,
                ExpectedAround(around),
                {reading.space for reading in readings},
                min(times),
                max(times),
                but=_SEEN_ALREADY,
            )
    add_doubted(path, [item for item in items if isinstance(item, Doubted)], clock())


class ExpectedAround:
    """What a look has worked out, as the rule about readings wants it."""

    def __init__(self, around: Around | None):
        self._around = around

    def of(self, series: SeriesRead, elsewhere: Sequence[ReadCourse]) -> Surroundings:
        """What a course of readings is held against."""
        if self._around is None:
            return Surroundings(elsewhere=elsewhere)
        expected = partial(self._at, self._around, series)
        return Surroundings(
            expected_c=lambda hour: _or_nan(expected(hour).temp_c),
            expected_pct=lambda hour: _or_nan(expected(hour).rh_pct),
            outdoors=series.space == OUTDOORS,
            elsewhere=elsewhere,
        )

    @staticmethod
    def _at(around: Around, series: SeriesRead, hour: float) -> Expected:
        return around(series.space, series.panel, datetime.fromtimestamp(hour * 3600.0, UTC))


def _or_nan(value: float | None) -> float:
    return float("nan") if value is None else value


def drifts_by_sensor(
    path: Path, sensors: Sequence[Sensor], now: datetime
) -> dict[str, list[Drift]]:
    """Which sensors have drifted, by the whole record; those on a panel are not looked at."""
    with Record(path, read_only=True) as record:
        ever = datetime.fromtimestamp(0, now.tzinfo)
        readings = record.readings_lately({sensor.space for sensor in sensors}, now, ever)
    everything = [
        *readings,
        *(
            item.reading
            for item in doubted_in(path, datetime.fromtimestamp(0, now.tzinfo))
            if item.why == "drift"
        ),
    ]
    everything.sort(key=lambda each: each.at)
    by_place: dict[str, dict[str, list[Reading]]] = {}
    for each in everything:
        if each.panel is None:
            by_place.setdefault(each.space, {}).setdefault(each.source, []).append(each)
    found = {}
    for sensor in sensors:
        sources = by_place.get(sensor.space, {})
        own = sources.get(sensor.name, [])
        others = {name: each for name, each in sources.items() if name != sensor.name}
        found[sensor.name] = [] if sensor.panel is not None else drifts(own, others, now)
    return found
