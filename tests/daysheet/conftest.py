"""A small boat in steady mild dry weather: what stops a job is then never the weather."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from curewindow import situation as facts
from curewindow.daysheet import DaySheet, day_sheet
from curewindow.judgement.models import JobDay
from curewindow.record.entries import Coat, Done
from curewindow.record.store import Record
from curewindow.wording import Wording

NOW = datetime(2026, 5, 11, 7, 0, tzinfo=UTC)  # Monday 08:00 in London
WORDS = Wording(ZoneInfo("Europe/London"), NOW)

BOAT = """
name = "test boat"
[place]
latitude = 51.5
longitude = 0.0
time_zone = "Europe/London"
water_temp = "15 °C"
{units}
[weather]
feed = "file"
file = "weather.csv"
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = 08:00:00
until = 18:00:00
[[space]]
name = "cabin"
volume = "20 m³"
air_change = "2 /h"
connected_to = ["fore cabin"]
{cabin}
[[space.panel]]
name = "side"
area = "10 m²"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
{heating}
[[space]]
name = "fore cabin"
volume = "8 m³"
air_change = "2 /h"
{fore}
[[space.panel]]
name = "side"
area = "6 m²"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
[[space]]
name = "lazarette"
volume = "3 m³"
air_change = "2 /h"
[[space.panel]]
name = "side"
area = "4 m²"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
[[sealed]]
between = ["lazarette", "cabin"]
[[sealed]]
between = ["lazarette", "fore cabin"]
"""

COAT = """
[[job.step]]
do = "coat"
sheet = "{sheet}"
coats = 3
hands_on = "1 h"
"""


VARNISH = COAT.format(sheet="waterborne-acrylic-varnish")
SOLVENT = COAT.format(sheet="one-part-urethane-varnish")
SAND = '[[job.step]]\ndo = "sand"\nhands_on = "1 h"\n'
FLAME = """
[space.heating]
kind = "gas"
power = "2 kW"
vented = false
open_flame = true
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with weather that stays at 15 °C and a dew point of 5 °C."""
    first = datetime(2026, 5, 7, tzinfo=UTC)
    rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    rows += [
        f"{first + timedelta(hours=hour):%Y-%m-%dT%H:%M}Z,15,5,2,0,100,0" for hour in range(14 * 24)
    ]
    (tmp_path / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return tmp_path


@pytest.fixture
def make(folder: Path) -> Callable[..., DaySheet]:
    """Write the boat, its work and its record, and make the day sheet."""

    def made(
        work: str,
        *,
        coats: list[Coat] | None = None,
        done: list[Done] | None = None,
        now: datetime = NOW,
        cabin: str = "",
        fore: str = "",
        heating: str = "",
        units: str = "",
    ) -> DaySheet:
        text = BOAT.format(cabin=cabin, fore=fore, heating=heating, units=units)
        (folder / "boat.toml").write_text(text, encoding="utf-8")
        (folder / "work.toml").write_text(work, encoding="utf-8")
        (folder / "record.db").unlink(missing_ok=True)
        with Record(folder / "record.db", now=lambda: now) as record:
            for coat in coats or []:
                record.add_coat(coat)
            for item in done or []:
                record.add_done(item)
        return day_sheet(folder, now)

    return made


def put_on(
    job: str,
    start: datetime,
    *,
    coat: int = 1,
    step: int = 1,
    sheet: str = "waterborne-acrylic-varnish",
) -> Coat:
    """A coat that took an hour."""
    return Coat(job, step, coat, start, start + timedelta(hours=1), sheet)


def job(name: str, step: str = VARNISH, *more: str, space: str = "cabin") -> str:
    where = f'space = "{space}"' if space else "outdoors = true"
    return "\n".join(["[[job]]", f'name = "{name}"', where, 'area = "2 m²"', *more, step])


def of(sheet: DaySheet, name: str) -> JobDay:
    return next(day for day in sheet.jobs if day.job == name)


@pytest.fixture
def sure(monkeypatch: pytest.MonkeyPatch) -> None:
    """The forecast taken at its word: where a test is about rules and not about doubt."""
    monkeypatch.setattr(facts, "as_ensemble", lambda forecast, boat: forecast)
