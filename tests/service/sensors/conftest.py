"""A boat with sensors, a listener in a thread, a clock that tests can set."""

from __future__ import annotations

import importlib.util
import sys
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from curewindow_service.sensors import Listener, SensorLine

BOAT = """
format = 1
name = "Tin Heron"

[place]
latitude = 52.2
longitude = 5.4
time_zone = "Europe/Amsterdam"

[[space]]
name = "saloon"
logged_only = true

[[space]]
name = "forepeak"
logged_only = true
"""


class Clock:
    """Runs along with the real one from a moment that can be moved."""

    def __init__(self, start: datetime):
        self._ahead = start - datetime.now(UTC)

    def __call__(self) -> datetime:
        return (datetime.now(UTC) + self._ahead).replace(microsecond=0)

    def on(self, by: timedelta) -> None:
        self._ahead += by


class Aboard:
    """A boat folder that is listened to."""

    def __init__(self, folder: Path, clock: Clock):
        self.folder, self.clock = folder, clock
        self.told: list[SensorLine] = []
        self.listener: Listener
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None

    def describe(self, text: str) -> None:
        (self.folder / "boat.toml").write_text(BOAT + text, encoding="utf-8")

    def listen(self, **options: Any) -> Listener:
        self._stop.clear()
        self.listener = Listener(self.folder, clock=self.clock, tell=self.told.append, **options)
        self._thread = threading.Thread(target=self.listener.run, args=(self._stop,))
        self._thread.start()
        return self.listener

    def stop(self) -> None:
        self._stop.set()
        if self._thread is not None:
            self._thread.join(20)
            assert not self._thread.is_alive()

    def said(self, what: str) -> list[SensorLine]:
        return [told for told in self.told if told.what == what]

    def readings(self) -> list[tuple[Any, ...]]:
        from curewindow.record.store import Record

        with Record(self.folder / "record.db", read_only=True) as record:
            return [
                (each.space, each.air_c, each.rh_pct, each.source) for each in record.readings()
            ]

    @property
    def connected(self) -> bool:
        return any(link.connected for link in self.listener.status().links)


@pytest.fixture
def aboard(tmp_path: Path) -> Iterator[Aboard]:
    folder = tmp_path / "boat"
    folder.mkdir()
    there = Aboard(folder, Clock(datetime(2026, 11, 25, 8, 0, tzinfo=UTC)))
    yield there
    there.stop()


def _beside(name: str) -> ModuleType:
    full = f"curewindow_tests_sensors_{name}"
    if full not in sys.modules:
        spec = importlib.util.spec_from_file_location(full, Path(__file__).with_name(f"{name}.py"))
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[full] = module
        spec.loader.exec_module(module)
    return sys.modules[full]


@pytest.fixture(scope="session")
def mqtt() -> ModuleType:
    """tests/service/sensors/broker.py."""
    return _beside("broker")


@pytest.fixture(scope="session")
def until(mqtt: ModuleType) -> Callable[..., None]:
    found: Callable[..., None] = mqtt.until
    return found


@pytest.fixture
def broker(mqtt: ModuleType) -> Iterator[Any]:
    running = mqtt.RealBroker()
    yield running
    running.stop()


@pytest.fixture(scope="session")
def signalk() -> ModuleType:
    """tests/service/sensors/signalk_server.py."""
    return _beside("signalk_server")
