"""What sensors send, printed as it comes: `curewindow-service listen`."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.boat.folder import RECORD_FILE, load_boat
from curewindow.errors import BoatError, CurewindowError
from curewindow.record.entries import Reading
from curewindow.wording import Wording
from curewindow_service.clock import Clock, system_clock
from curewindow_service.sensors.expected import around_by, expected_of
from curewindow_service.sensors.heard import Around
from curewindow_service.sensors.listener import Listener, SensorLine
from curewindow_service.sensors.status import SensorsStatus

_WORDS = {
    "kept": "kept",
    "thinned": "not kept, the last one is fresh",
    "set aside": "set aside",
    "refused": "not used",
    "link": "",
    "trouble": "trouble",
}


def hear(
    folder: Path,
    show: Callable[[str], None],
    *,
    stop: threading.Event,
    clock: Clock = system_clock,
) -> SensorsStatus:
    """Listen to a boat's sensors and show each message, until ``stop`` is set.

    Parameters
    ----------
    folder : Path
        The boat folder.
    show : callable
        Gets a line.

    Returns
    -------
    SensorsStatus
        How they stood at the end.

    Raises
    ------
    BoatError
        boat.toml cannot be used, or has no sensor.
    """
    boat = load_boat(folder)
    if not boat.sensor:
        raise BoatError(
            "there is no [[sensor]] yet; one has a name, a space, and a topic (MQTT) or a path "
            "(Signal K)",
            file=folder / "boat.toml",
            key="sensor",
        )
    zone = ZoneInfo(boat.place.time_zone)
    fahrenheit = boat.units.fahrenheit
    around, without = _expected(folder, clock())
    count = f"{len(boat.sensor)} sensor{'s' if len(boat.sensor) > 1 else ''}"
    show(f"{count}; readings go into {folder / RECORD_FILE}; Ctrl-C ends it")
    if without:
        show(f"judged without what is expected aboard: {without}")

    def write(told: SensorLine) -> None:
        words = Wording(zone, clock(), fahrenheit)
        show(sensor_line(told, words))

    listener = Listener(folder, clock=clock, tell=write, around=around)
    listener.run(stop)
    return listener.status()


def _expected(folder: Path, now: datetime) -> tuple[Around | None, str]:
    """What is expected aboard, or why nobody knows."""
    from curewindow.situation import read_situation

    try:
        return around_by(expected_of(read_situation(folder, now))), ""
    except CurewindowError as bad:
        return None, str(bad)


def sensor_line(told: SensorLine, words: Wording) -> str:
    """'08:10 saloon meter: 12.5 °C, 71 %, kept'."""
    parts = []
    if told.reading is not None:
        parts.append(reading_text(told.reading, words))
    state = _WORDS[told.what]
    if told.said:
        state = f"{state}: {told.said}" if state else told.said
    parts.append(state)
    at = words.now if told.reading is None else told.reading.at
    said = ", ".join(part for part in parts if part)
    return f"{words.clock(at)} {told.name}: {said}" if told.name else f"{words.clock(at)} {said}"


def reading_text(reading: Reading, words: Wording) -> str:
    """'12.5 °C, 71 %'."""
    temp = reading.air_c if reading.panel is None else reading.surface_c
    parts = [] if temp is None else [words.temp(temp)]
    if reading.rh_pct is not None:
        parts.append(f"{reading.rh_pct:.0f} %")
    return ", ".join(parts)
