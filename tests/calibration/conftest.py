"""A boat with two months behind it: forecasts used, windows told, readings taken outdoors."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from curewindow.boat.folder import load_boat, load_work
from curewindow.boat.schema import Boat, Work
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from curewindow.series import FloatArray
from curewindow.weather import kept_file, kept_forecasts
from curewindow.weather.forecast import Forecast
from curewindow.weather.packed import vapour_of

NOW = datetime(2026, 3, 1, 9, tzinfo=UTC)
DAYS = 50
SOURCE = "made-up feed"

BOAT = """
name = "test boat"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "UTC"
water_temp = "6 °C"
[weather]
feed = "file"
file = "weather.csv"
{more}
[[space]]
name = "cabin"
volume = "15 m³"
air_change = "2 /h"
[[space.panel]]
name = "side"
area = "20 m²"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
"""
WORK = """
[[job]]
name = "deck"
outdoors = true
area = "2 m²"
[[job.step]]
do = "coat"
sheet = "own"
coats = 2
hands_on = "1 h"
[[job]]
name = "lockers"
space = "cabin"
panel = "side"
area = "2 m²"
[[job.step]]
do = "coat"
sheet = "own"
coats = 2
hands_on = "1 h"
"""
SHEET = """
name = "made-up enamel"
kind = "paint"
chemistry = "oxidation"
basis = "made up"
[applying]
surface = { min = "8 °C" }
above_dew_point = "1 K"
[setting]
surface = { min = "3 °C" }
until = "touch dry"
[cure]
temps = ["10 °C"]
touch_dry = ["3 h"]
"""


@dataclass(frozen=True)
class History:
    """The boat, its weather as it came on full hours, and the moment it is."""

    folder: Path
    boat: Boat
    work: Work
    now: datetime
    hours: FloatArray  # seconds since 1970
    temp_c: FloatArray
    dew_c: FloatArray

    def forecast(self, made: datetime, off_k: float = 0.0, members: int = 1) -> Forecast:
        """What a perfect feed (but for a constant) would have said then, on ten minutes."""
        first = int(made.timestamp()) // 3600 * 3600
        at = first + np.arange(0, 7 * 86400, 600)
        shape = (members, at.size)
        temp = np.broadcast_to(np.interp(at, self.hours, self.temp_c) + off_k, shape)
        dew = np.broadcast_to(np.interp(at, self.hours, self.dew_c) + off_k, shape)
        return Forecast(
            times=at.astype("datetime64[s]"),
            temp_c=np.array(temp),
            vapour_pa=vapour_of(np.array(dew)),
            wind_ms=np.full(shape, 3.0),
            rain_mm_h=np.zeros(shape),
            cloud_frac=np.full(shape, 0.9),
            sun_w_m2=np.zeros(shape),
            gap_h=np.ones(at.size),
            source=SOURCE,
            attribution="",
            issued_at=None,
            fetched_at=made,
        )

    def keep(self, off_k: float = 0.0, every_h: int = 6) -> None:
        """Keep a forecast so many times a day through the whole time."""
        for step in range(0, DAYS * 24, every_h):
            made = self.now - timedelta(days=DAYS) + timedelta(hours=step)
            kept_forecasts.keep(self.folder, self.boat.place, self.forecast(made, off_k), made)

    def tell(self, hour: int, stated: float, job: str = "deck", days_ahead: int = 1) -> None:
        """A window at this hour of every day, told so many days before."""
        with kept_file.to_write(self.folder) as connection:
            for day in range(4, DAYS - 1):
                start = (self.now - timedelta(days=day)).replace(hour=hour)
                told = start - timedelta(days=days_ahead)
                connection.execute(
                    "INSERT INTO told (source, job, step, coat, start, told, spell, sheet, "
                    "hands_on_h, stated, shown) VALUES (?, ?, 1, 1, ?, ?, ?, 'own', 1, ?, ?)",
                    (
                        SOURCE,
                        job,
                        int(start.timestamp()),
                        int(told.timestamp()),
                        int(told.timestamp()) // 10800,
                        stated,
                        stated,
                    ),
                )

    def read_outdoors(self, off_k: float, every_h: int = 6, spread_k: float = 0.3) -> None:
        """Readings that are off from the weather by so much."""
        rng = np.random.default_rng(4)
        items = []
        for step in range(0, DAYS * 24 - 24, every_h):
            at = self.now - timedelta(days=DAYS) + timedelta(hours=step + 1)
            air = float(np.interp(at.timestamp(), self.hours, self.temp_c))
            items.append(
                Reading("outdoors", at, air_c=round(air + off_k + rng.normal(0.0, spread_k), 1))
            )
        with Record(self.folder / "record.db", now=lambda: self.now) as record:
            record.add_readings(items)


@pytest.fixture
def history(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., History]:
    """Make the boat; the clock stands at NOW."""
    monkeypatch.setattr(kept_forecasts, "_clock", lambda: NOW)

    def made(more: str = "") -> History:
        (tmp_path / "boat.toml").write_text(BOAT.format(more=more), encoding="utf-8")
        (tmp_path / "work.toml").write_text(WORK, encoding="utf-8")
        (tmp_path / "sheets").mkdir(exist_ok=True)
        (tmp_path / "sheets" / "own.toml").write_text(SHEET, encoding="utf-8")
        boat = load_boat(tmp_path)
        hours = NOW.timestamp() + 3600.0 * np.arange(-24 * DAYS - 24, 24 * 10)
        clock = (hours / 3600.0) % 24.0
        rng = np.random.default_rng(3)
        fronts = np.repeat(rng.normal(0.0, 3.0, hours.size // 48 + 1), 48)[: hours.size]
        temp = 10.0 + 3.0 * np.cos((clock - 14.0) / 24.0 * 2.0 * np.pi) + fronts
        return History(tmp_path, boat, load_work(tmp_path, boat), NOW, hours, temp, temp - 6.0)

    return made
