"""What the listener asks of the record, and what it writes there."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from curewindow.boat.sensors import Sensor
from curewindow.record.doubted import Doubted, add_doubted, doubted_in
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from curewindow_service.clock import Clock
from curewindow_service.sensors.drift import Drift, drifts
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


def save(path: Path, items: Sequence[Reading | Doubted], clock: Clock) -> None:
    """Write readings, and those set aside."""
    with Record(path, now=clock) as record:
        record.add_readings(
            [item for item in items if isinstance(item, Reading)],
            what="sensors",
            by_person=False,
            skip_known=True,
        )
    add_doubted(path, [item for item in items if isinstance(item, Doubted)], clock())


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
