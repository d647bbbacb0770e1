"""When dew falls on work outdoors: on the surface before it falls in the air."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.cli.daytext import day_lines
from curewindow.daysheet import DaySheet, day_sheet
from curewindow.record.store import Record

NOW = datetime(2026, 5, 11, 7, 0, tzinfo=UTC)  # Monday 08:00 in London
BOAT = """
name = "test boat"
[place]
latitude = 51.5
longitude = 0.0
time_zone = "Europe/London"
[weather]
feed = "file"
file = "weather.csv"
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = 08:00:00
until = 18:00:00
"""
JOB = """
[[job]]
name = "{name}"
{where}
area = "1 m²"
[[job.step]]
do = "coat"
sheet = "alkyd-enamel"
hands_on = "1 h"
"""


def told(folder: Path, cloud_pct: int, dew_c: float, *, temp_c: float = 14.0) -> DaySheet:
    """A day of steady air, its sky by night as given, sunny by day."""
    (folder / "boat.toml").write_text(BOAT, encoding="utf-8")
    (folder / "work.toml").write_text(JOB.format(name="rail", where="outdoors = true"))
    first = datetime(2026, 5, 7, tzinfo=UTC)
    rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    for hour in range(10 * 24):
        at = first + timedelta(hours=hour)
        sun = 400 if 5 <= at.hour < 19 else 0
        rows.append(f"{at:%Y-%m-%dT%H:%M}Z,{temp_c},{dew_c},2,0,{cloud_pct},{sun}")
    (folder / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    with Record(folder / "record.db"):
        pass
    return day_sheet(folder, NOW)


def test_a_clear_night_wets_the_deck_though_the_air_is_dry(tmp_path: Path) -> None:
    sheet = told(tmp_path, 0, 11.0)
    fall = sheet.jobs[0].dewfall
    assert fall is not None
    # Some time about sunset, about 20:40 by the clock in London on 11 May (from memory).
    assert datetime(2026, 5, 11, 17, 30, tzinfo=UTC) < fall.at
    assert fall.at < datetime(2026, 5, 11, 22, 0, tzinfo=UTC)
    assert not fall.frost
    text = "\n".join(day_lines(sheet))
    assert "dew from about" in text
    assert "daylight 05:1" in text
    assert " until 20:3" in text or " until 20:4" in text


def test_a_covered_sky_or_dry_air_keeps_it_dry(tmp_path: Path) -> None:
    assert told(tmp_path, 100, 4.0).jobs[0].dewfall is None
    assert told(tmp_path, 0, -4.0).jobs[0].dewfall is None


def test_below_freezing_it_is_frost(tmp_path: Path) -> None:
    fall = told(tmp_path, 0, -4.0, temp_c=1.0).jobs[0].dewfall
    assert fall is not None
    assert fall.frost


@pytest.mark.parametrize("where", ['space = "cabin"'])
def test_nothing_of_it_indoors(tmp_path: Path, where: str) -> None:
    told(tmp_path, 0, 11.0)
    cabin = '[[space]]\nname = "cabin"\nlogged_only = true\n'
    (tmp_path / "boat.toml").write_text(BOAT + cabin, encoding="utf-8")
    (tmp_path / "work.toml").write_text(JOB.format(name="shelf", where=where), encoding="utf-8")
    sheet = day_sheet(tmp_path, NOW)
    assert sheet.jobs[0].dewfall is None
    assert not any(line.startswith("daylight") for line in day_lines(sheet))
