"""One sensor as it is listened to: what it said last, what of that is kept, what is doubted."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import partial
from typing import Final

from curewindow.boat.sensors import Sensor
from curewindow.record.doubted import Doubted
from curewindow.record.entries import Reading
from curewindow.record.plausible import CLOCK_SLACK, reading_problem
from curewindow_service.sensors.drift import Drift
from curewindow_service.sensors.heard import Expected, Heard
from curewindow_service.sensors.payload import Payload
from curewindow_service.sensors.quality import (
    Jump,
    QualityFlag,
    Standstill,
    begun,
    jumped,
    quality_flag_of,
    stuck,
    temp_of,
)
from curewindow_service.sensors.status import LinkKind, SensorStatus

# A change that is worth a reading of its own, and how often at most.
CHANGE_K, CHANGE_PCT = 0.5, 3.0
CHANGE_AT_MOST: Final = timedelta(minutes=1)
# Temperature and humidity that come apart are one reading when they come so close together.
TOGETHER_S: Final = 10.0
# A live message this late was delayed, or its clock is wrong; a stored one may be older.
LATE: Final = timedelta(minutes=15)
STORED_FOR: Final = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class CheckedMessage:
    """What becomes of a message: a reading to keep, one to set aside, or neither (with why)."""

    keep: Reading | None = None
    aside: Doubted | None = None
    refused: str = ""
    doubt: str = ""
    thinned: Reading | None = None


@dataclass(slots=True)
class One:
    """State of one sensor between messages; touched by the listener's thread alone."""

    sensor: Sensor
    last_message: datetime | None = None
    last_kept: Reading | None = None
    last_aside: Reading | None = None
    last_believed: Reading | None = None
    jump: Jump | None = None
    last_at: datetime | None = None
    temp_c: float | None = None
    rh_pct: float | None = None
    messages: int = 0
    readings: int = 0
    set_aside: int = 0
    refused: int = 0
    refused_because: str = ""
    doubt: str = ""
    online: bool | None = None
    still: Standstill | None = None
    drifts: list[Drift] = field(default_factory=list)
    _temp: tuple[float, datetime] | None = None
    _rh: tuple[float, datetime] | None = None
    _waits_since: float | None = None
    _sources: dict[str, tuple[str, datetime]] = field(default_factory=dict)
    _passed_over: set[str] = field(default_factory=set)
    _fresh: set[str] = field(default_factory=set)
    _seen: set[str] = field(default_factory=set)

    @property
    def link(self) -> LinkKind:
        """What it is heard through."""
        return "mqtt" if self.sensor.topic is not None else "signal k"

    def hear(self, heard: Heard, now: datetime) -> str:
        """Take a message in; returns why it cannot be used, or nothing."""
        if heard.online is not None:
            self.online = heard.online
            return ""
        self.messages += 1
        if isinstance(heard.said, str):
            return self.refuse(heard.said)
        at = _time_of(heard.said, heard.stored, now)
        if isinstance(at, str):
            return self.refuse(at)
        if not self._is_its_source(heard, at):
            return ""
        self.last_message = max(at, self.last_message or at)
        self._take(heard.said, at)
        return ""

    def _is_its_source(self, heard: Heard, at: datetime) -> bool:
        """Of several sources of one value the first that is heard counts, until it falls silent.

        Two thermometers taken in turns would look like one that jumps.
        """
        if not heard.source or isinstance(heard.said, str):
            return True
        value = "rh" if heard.said.temp_c is None else "temp"
        used, heard_at = self._sources.get(value, (heard.source, at))
        # a humidity belongs to the temperature beside it, whoever was heard before
        own, _ = self._sources.get("temp", ("", at))
        foreign = used != heard.source and (value == "temp" or heard.source != own)
        if foreign and at - heard_at <= self._quiet():
            self._passed_over.add(heard.source)
            return False
        self._passed_over.discard(heard.source)
        self._sources[value] = (heard.source, max(at, heard_at))
        return True

    def _quiet(self) -> timedelta:
        """Silent for longer than this is not heard any more."""
        return max(2 * timedelta(hours=self.sensor.every), timedelta(hours=1))

    def refuse(self, why: str) -> str:
        """Count a message that cannot be used."""
        self.refused += 1
        self.refused_because = why
        return why

    def _take(self, said: Payload, at: datetime) -> None:
        if said.temp_c is not None:
            self._temp = (said.temp_c, at)
            self._fresh.add("temp")
        if said.rh_pct is not None:
            self._rh = (said.rh_pct, at)
            self._fresh.add("rh")
        self._seen |= self._fresh
        if self._waits_since is None:
            self._waits_since = time.monotonic()

    def ready(self) -> Reading | None:
        """A reading, once all that belongs together has come."""
        if self._waits_since is None:
            return None
        whole = self._fresh >= self._seen and (
            len(self._seen) == 2 or self.sensor.panel is not None
        )
        if not whole and time.monotonic() - self._waits_since < TOGETHER_S:
            return None
        self._waits_since = None
        return self._joined()

    def _joined(self) -> Reading | None:
        fresh, self._fresh = self._fresh, set()
        parts = {"temp": self._temp, "rh": self._rh}
        at = max((part[1] for name in fresh if (part := parts[name]) is not None), default=None)
        if at is None:
            return None
        near = timedelta(hours=self.sensor.every)
        temp, rh = (
            None if part is None or at - part[1] > near else part[0] for part in parts.values()
        )
        self.temp_c, self.rh_pct = temp, rh
        stuck_to = self.sensor.panel
        if stuck_to is not None and temp is None:
            return None
        return Reading(
            space=self.sensor.space,
            at=at,
            air_c=None if stuck_to is not None or temp is None else round(temp, 3),
            # beside a cold panel the humidity is the panel's, not the cabin's
            rh_pct=None if stuck_to is not None or rh is None else round(rh, 2),
            surface_c=None if stuck_to is None or temp is None else round(temp, 3),
            panel=stuck_to,
            source=self.sensor.name,
        )

    def judge(
        self,
        reading: Reading,
        expected: Expected,
        others_c: list[float],
        now: datetime,
        *,
        read_by_others: Callable[[], list[float]],
        sun_may_shine: Callable[[], bool],
        heated: bool,
    ) -> CheckedMessage:
        """What becomes of a reading; see :func:`.quality.quality_flag_of`."""
        problem = reading_problem(reading, now)
        if problem is not None:
            return CheckedMessage(refused=self.refuse(problem))
        if self.last_at is not None and self.last_at > now + CLOCK_SLACK:
            self.last_at = self.last_kept = self.last_aside = None  # the clock was set back
            self.last_believed = self.jump = None
        if self.last_at is not None and reading.at <= self.last_at:
            return CheckedMessage()  # told before: a duplicate, or one that was overtaken
        self.last_at = reading.at
        shown = (temp_of(reading), reading.rh_pct)
        self.still = (
            begun(shown, reading.at, expected)
            if self.still is None
            else self.still.then(shown, reading.at, expected)
        )
        look = partial(
            quality_flag_of,
            reading,
            expected,
            last_believed=self.last_kept,
            sun_may_shine=sun_may_shine,
            heated=heated,
        )
        doubt = look(others_c)
        if doubt is not None:
            doubt = look([*others_c, *read_by_others()])
        self.jump = jumped(reading, self.last_believed, self.jump)
        if doubt is None and self.jump is not None:
            doubt = _jump(reading, self.last_believed)
        doubt = doubt or stuck(reading, self.still)
        if doubt is None:
            doubt = self._drift_of(reading)
        believed, aside = _parted(reading, doubt)
        self.doubt = "" if doubt is None else f"{doubt.why}: {doubt.said}"
        judged = CheckedMessage(doubt=self.doubt)
        if believed is not None:
            self.last_believed = believed
            if self._is_due(believed, self.last_kept):
                self.last_kept = believed
                judged = replace(judged, keep=believed)
            else:
                judged = replace(judged, thinned=believed)
        if aside is not None and doubt is not None and self._is_due(aside, self.last_aside):
            self.last_aside = aside
            judged = replace(judged, aside=Doubted(aside, doubt.why, doubt.expected))
        return judged

    def _drift_of(self, reading: Reading) -> QualityFlag | None:
        # a drifting temperature takes the humidity with it, so it comes first
        for drift in self.drifts:
            if drift.value == "air" and reading.air_c is not None:
                return QualityFlag("air", "drift", reading.air_c - drift.off, drift.said)
            if drift.value == "humidity" and reading.rh_pct is not None:
                return QualityFlag("humidity", "drift", reading.rh_pct - drift.off, drift.said)
        return None

    def _is_due(self, reading: Reading, last: Reading | None) -> bool:
        if last is None:
            return True
        since = reading.at - last.at
        # a sensor that reports every ten minutes is not late by a second
        if since >= timedelta(hours=self.sensor.every) * 0.95:
            return True
        return since >= CHANGE_AT_MOST and (
            _moved(temp_of(reading), temp_of(last), CHANGE_K)
            or _moved(reading.rh_pct, last.rh_pct, CHANGE_PCT)
        )

    def status(self, now: datetime) -> SensorStatus:
        """For the page."""
        heard = self.last_message
        age = None if heard is None else max(now - heard, timedelta(0))
        return SensorStatus(
            name=self.sensor.name,
            space=self.sensor.space,
            link=self.link,
            source=self.sensor.topic or self.sensor.path or "",
            heard_from=sorted({source for source, _ in self._sources.values()}),
            passed_over=sorted(self._passed_over),
            last_message=heard,
            message_age_s=None if age is None else age.total_seconds(),
            last_reading=None if self.last_kept is None else self.last_kept.at,
            air_c=self.temp_c if self.sensor.panel is None else None,
            rh_pct=self.rh_pct if self.sensor.panel is None else None,
            surface_c=None if self.sensor.panel is None else self.temp_c,
            messages=self.messages,
            readings=self.readings,
            set_aside=self.set_aside,
            refused=self.refused,
            refused_because=self.refused_because,
            doubt=self.doubt,
            online=self.online,
            overdue=age is None or age > self._quiet(),
        )


def _time_of(said: Payload, stored: bool, now: datetime) -> datetime | str:
    """When it was measured, or why nobody can tell."""
    at = said.measured_at
    if at is None:
        if stored:
            return "kept by broker or server and of unknown age; the next one counts"
        return now
    if at > now + CLOCK_SLACK:
        ahead = (at - now) / timedelta(minutes=1)
        return f"its time is {ahead:.0f} min ahead; set the clock of the sensor or its gateway"
    behind = now - at
    if behind > (STORED_FOR if stored else LATE):
        if stored:
            return f"its last value is {behind / timedelta(hours=1):.0f} h old"
        minutes = behind / timedelta(minutes=1)
        return f"its time is {minutes:.0f} min behind; set the clock of the sensor or its gateway"
    return min(at, now)


def _parted(reading: Reading, doubt: QualityFlag | None) -> tuple[Reading | None, Reading | None]:
    """What is believed of a reading, and what is set aside."""
    if doubt is None:
        return reading, None
    # a humidity says nothing without the temperature it was read at
    if doubt.value != "humidity":
        return None, reading
    believed = replace(reading, rh_pct=None)
    return (None if believed.air_c is None else believed), replace(reading, air_c=None)


def _jump(reading: Reading, before: Reading | None) -> QualityFlag | None:
    read = temp_of(reading)
    last = None if before is None else temp_of(before)
    if read is None or last is None:
        return None
    said = f"{read:.1f} °C just after {last:.1f}; believed if it stays"
    return QualityFlag("air" if reading.panel is None else "surface", "jump", last, said)


def _moved(value: float | None, before: float | None, least: float) -> bool:
    return value is not None and (before is None or abs(value - before) >= least)
