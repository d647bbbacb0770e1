"""Listening: links in threads of their own, one thread that judges and writes.

::

    listener = Listener(folder)
    threading.Thread(target=listener.run, args=(stop,), name="sensors").start()
    listener.status()                     # from any thread
    listener.know(around_by(course))      # whenever a look has worked out what is expected
"""

from __future__ import annotations

import logging
import queue
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final, Literal

from curewindow.boat.folder import BOAT_FILE, RECORD_FILE, load_boat
from curewindow.boat.schema import Boat
from curewindow.errors import CurewindowError, RecordError
from curewindow.record.doubted import Doubted
from curewindow.record.entries import Reading
from curewindow_service.clock import Clock, system_clock
from curewindow_service.sensors.heard import Around, Expected, Heard, Link, LinkNews
from curewindow_service.sensors.inrecord import (
    drifts_by_sensor,
    last_readings,
    read_by_others,
    save,
)
from curewindow_service.sensors.one import CheckedMessage, One
from curewindow_service.sensors.quality import AGREE_FOR, temp_of
from curewindow_service.sensors.status import LinkStatus, SensorsStatus

logger = logging.getLogger(__name__)

_TICK_S: Final = 0.5
_FILE_EVERY_S: Final = 2.0
_RETRY_S: Final = 10.0
_DRIFT_EVERY_S: Final = 6 * 3600.0
_UNSAVED_MOST: Final = 2000
_SUN_ALTITUDE_DEG: Final = 10.0


@dataclass(frozen=True, slots=True)
class SensorLine:
    """One line for whoever looks on.

    Attributes
    ----------
    what : str
        'kept', 'thinned', 'set aside', 'refused', 'link' or 'trouble'.
    name : str
        The sensor's name, or the link's address.
    said : str
    reading : Reading or None
    """

    what: Literal["kept", "thinned", "set aside", "refused", "link", "trouble"]
    name: str
    said: str = ""
    reading: Reading | None = None


class Listener:
    """Listens to a boat's sensors and writes their readings into its record.

    Parameters
    ----------
    folder : Path
        The boat folder; boat.toml is read again whenever it is changed.
    clock : callable
        What time it is, aware UTC.
    tell : callable, optional
        Gets a :class:`SensorLine` for everything that comes, in the listener's thread.
    around : callable, optional
        What is expected; see :meth:`know`.
    """

    def __init__(
        self,
        folder: Path,
        *,
        clock: Clock = system_clock,
        tell: Callable[[SensorLine], None] | None = None,
        around: Around | None = None,
    ):
        self.folder, self.clock = folder, clock
        self._record = folder / RECORD_FILE
        self._tell = tell
        self._around = around
        self._lock = threading.Lock()
        self._ones: dict[str, One] = {}
        self._links: dict[str, LinkStatus] = {}
        self._trouble = ""
        self._inbox: queue.SimpleQueue[Heard | LinkNews] = queue.SimpleQueue()
        self._unsaved: deque[Reading | Doubted] = deque(maxlen=_UNSAVED_MOST)
        self._retry_at = 0.0
        self._drift_at = 0.0

    def know(self, around: Around | None) -> None:
        """Set what readings are held against from now on; from any thread."""
        self._around = around

    def status(self) -> SensorsStatus:
        """How sensors and links stand; from any thread."""
        now = self.clock()
        with self._lock:
            return SensorsStatus(
                as_of=now,
                links=list(self._links.values()),
                sensors=[one.status(now) for one in self._ones.values()],
                trouble=self._trouble,
                unsaved=len(self._unsaved),
            )

    def run(self, stop: threading.Event) -> None:
        """Listen until ``stop`` is set; begins anew when boat.toml changes."""
        while not stop.is_set():
            stamp = _stamp(self.folder / BOAT_FILE)
            try:
                boat = load_boat(self.folder)
                links = self._prepare(boat)
            except CurewindowError as bad:
                self._in_trouble(str(bad))
                while _stamp(self.folder / BOAT_FILE) == stamp and not stop.wait(_FILE_EVERY_S):
                    pass
                continue
            self._in_trouble("")
            for link in links:
                link.start()
            try:
                self._listen(boat, stop, stamp)
            finally:
                for link in links:
                    link.stop()
        self._save()

    # ---- in the listener's thread --------------------------------------------------

    def _prepare(self, boat: Boat) -> list[Link]:
        """Sensors and links of a boat; counts of sensors that stay are kept."""
        by_topic = [sensor for sensor in boat.sensor if sensor.topic is not None]
        by_path = [sensor for sensor in boat.sensor if sensor.path is not None]
        links: list[Link] = []
        # imported only where there is something to listen to
        if by_topic:
            from curewindow_service.sensors.mqtt import MqttLink

            links.append(MqttLink(boat.mqtt, by_topic, self.folder, self._inbox.put))
        if by_path:
            from curewindow_service.sensors.signalk import SignalKLink

            links.append(SignalKLink(boat.signal_k, by_path, self.folder, self._inbox.put))
        try:
            last = last_readings(self._record, boat.sensor, self.clock())
        except RecordError as bad:
            logger.warning("%s", bad)
            last = {}
        with self._lock:
            before = self._ones
            self._ones = {}
            for sensor in boat.sensor:
                known = before.get(sensor.name)
                if known is not None and known.sensor == sensor:
                    self._ones[sensor.name] = known
                    continue
                kept = last.get(sensor.name)
                self._ones[sensor.name] = One(
                    sensor,
                    last_kept=kept,
                    last_believed=kept,
                    last_at=None if kept is None else kept.at,
                )
            self._links = {
                link.address: LinkStatus(
                    kind=link.kind, address=link.address, connected=False, since=None
                )
                for link in links
            }
        self._drift_at = 0.0
        return links

    def _listen(self, boat: Boat, stop: threading.Event, stamp: object) -> None:
        look_at = time.monotonic() + _FILE_EVERY_S
        while not stop.is_set():
            try:
                heard = self._inbox.get(timeout=_TICK_S)
            except queue.Empty:
                heard = None
            if isinstance(heard, LinkNews):
                self._link_news(heard)
            elif heard is not None:
                self._hear(heard)
            for one in self._ones.values():
                reading = one.ready()
                if reading is not None:
                    self._judge(boat, one, reading)
            now = time.monotonic()
            if self._unsaved and now >= self._retry_at:
                self._save()
            if now >= self._drift_at and boat.sensor:
                self._drift_at = now + _DRIFT_EVERY_S
                self._look_for_drift(boat)
            if now >= look_at:
                look_at = now + _FILE_EVERY_S
                if _stamp(self.folder / BOAT_FILE) != stamp and self._may_begin_anew():
                    return

    def _may_begin_anew(self) -> bool:
        """A boat.toml that cannot be read leaves what was listened to before."""
        try:
            load_boat(self.folder)
        except CurewindowError as bad:
            self._in_trouble(f"{bad}; listening on as before")
            return False
        return True

    def _hear(self, heard: Heard) -> None:
        one = self._ones.get(heard.sensor)
        if one is None:
            return  # of before boat.toml was changed
        with self._lock:
            why = one.hear(heard, self.clock())
        if why:
            self._say(SensorLine("refused", one.sensor.name, why))

    def _judge(self, boat: Boat, one: One, reading: Reading) -> None:
        sensor, now = one.sensor, self.clock()
        around = self._around
        expected = Expected() if around is None else around(sensor.space, sensor.panel, reading.at)
        space = boat.find_space(sensor.space)
        with self._lock:
            judged = one.judge(
                reading,
                expected,
                self._others(one, reading.at),
                now,
                read_by_others=lambda: self._read_by_others(one, reading.at),
                sun_may_shine=lambda: _sun_is_up(boat, reading.at),
                heated=space is not None and space.heating is not None,
            )
            if judged.keep is not None:
                self._unsaved.append(judged.keep)
                one.readings += 1
            if judged.aside is not None:
                self._unsaved.append(judged.aside)
                one.set_aside += 1
        if judged.keep is not None or judged.aside is not None:
            self._save()
        self._show(one, judged)

    def _others(self, one: One, at: datetime) -> list[float]:
        """What other believed sensors read just now at the same place."""
        place = (one.sensor.space, one.sensor.panel)
        return [
            temp
            for other in self._ones.values()
            if other is not one
            and not other.doubt
            and other.last_kept is not None
            and (other.sensor.space, other.sensor.panel) == place
            and abs(at - other.last_kept.at) <= AGREE_FOR
            and (temp := temp_of(other.last_kept)) is not None
        ]

    def _read_by_others(self, one: One, at: datetime) -> list[float]:
        try:
            return read_by_others(self._record, one.sensor, self._ones.keys(), at)
        except RecordError:
            return []

    def _save(self) -> None:
        """Write what waits; what cannot be written waits on."""
        if not self._unsaved:
            return
        try:
            save(self._record, list(self._unsaved), self.clock, self._around)
        except CurewindowError as bad:
            self._retry_at = time.monotonic() + _RETRY_S
            self._in_trouble(str(bad))
            return
        with self._lock:
            self._unsaved.clear()
        self._in_trouble("")

    def _look_for_drift(self, boat: Boat) -> None:
        try:
            found = drifts_by_sensor(self._record, boat.sensor, self.clock())
        except RecordError as bad:
            logger.warning("%s", bad)
            return
        with self._lock:
            for name, one in self._ones.items():
                one.drifts = found.get(name, [])

    # ---- telling ---------------------------------------------------------------------

    def _link_news(self, news: LinkNews) -> None:
        with self._lock:
            before = self._links.get(news.address)
            if before is None:
                return
            if (before.connected, before.said) == (news.connected, news.said) and before.since:
                return
            since = self.clock()
            if before.since is not None and before.connected == news.connected:
                since = before.since
            self._links[news.address] = LinkStatus(
                kind=news.kind,
                address=news.address,
                connected=news.connected,
                since=since,
                said=news.said,
            )
        state = "connected" if news.connected else "not connected"
        self._say(SensorLine("link", news.address, f"{state}: {news.said}" if news.said else state))
        logger.info("%s %s: %s %s", news.kind, news.address, state, news.said)

    def _show(self, one: One, judged: CheckedMessage) -> None:
        name = one.sensor.name
        if judged.refused:
            self._say(SensorLine("refused", name, judged.refused))
        if judged.aside is not None:
            self._say(SensorLine("set aside", name, judged.doubt, judged.aside.reading))
        if judged.keep is not None:
            self._say(SensorLine("kept", name, "", judged.keep))
        elif judged.thinned is not None:
            self._say(SensorLine("thinned", name, "", judged.thinned))

    def _in_trouble(self, said: str) -> None:
        with self._lock:
            changed, self._trouble = said != self._trouble, said
        if changed and said:
            logger.error("%s", said)
            self._say(SensorLine("trouble", "", said))

    def _say(self, told: SensorLine) -> None:
        if self._tell is not None:
            self._tell(told)


def listen(
    folder: Path,
    clock: Clock = system_clock,
    stop: threading.Event | None = None,
    *,
    tell: Callable[[SensorLine], None] | None = None,
    around: Around | None = None,
) -> None:
    """Listen to a boat's sensors until ``stop`` is set; see :class:`Listener`."""
    Listener(folder, clock=clock, tell=tell, around=around).run(stop or threading.Event())


def _stamp(path: Path) -> object:
    try:
        found = path.stat()
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_size, found.st_ino)


def _sun_is_up(boat: Boat, at: datetime) -> bool:
    """Can the sun shine into a cabin? Asked only when a reading rises and nothing is known."""
    import numpy as np

    from curewindow.boat.hours import sun_altitude

    moment = np.array([int(at.timestamp())], dtype="datetime64[s]")
    place = boat.place
    return float(sun_altitude(place.latitude, place.longitude, moment)[0]) >= _SUN_ALTITUDE_DEG
