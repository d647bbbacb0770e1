"""EnergyPlus weather files against the format's own data dictionary and an independent reader.

Missing markers, hour convention and units: EnergyPlus, Auxiliary Programs,
"EnergyPlus Weather File (EPW) Data Dictionary". Independent reader: pvlib.iotools,
where it is installed. The weather is invented.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from curewindow.errors import InputFileError
from curewindow.weather import read_weather_file
from curewindow.weather.epw import as_measured, read_epw, utc_times
from tests.voiced import said

HEADING = """LOCATION,Nowhere,-,XXX,TEST,000000,59.90,10.70,1.0,5.0
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,invented
COMMENTS 2,
DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31
"""

Cell = Callable[[int], str]


def row(moment: datetime, hour: int, **changed: str) -> str:
    """One row of 35 fields, everything we do not read at its missing marker."""
    count = (moment.timetuple().tm_yday - 1) * 24 + hour
    field = {
        "temp": f"{4.0 + 9.0 * math.sin(count / 1400.0) + 3.0 * math.sin(count / 3.8):.1f}",
        "dew": f"{1.0 + 8.0 * math.sin(count / 1400.0):.1f}",
        "rh": "80",
        "sun": f"{max(0.0, 300.0 * math.sin((hour - 7.5) / 9.0 * math.pi)):.0f}",
        "wind": "3.5",
        "cloud": str(count % 11),
        "rain": "0.0",
        "rain_h": "1.0",
        "year": str(moment.year),
    } | changed
    cells = [field["year"], str(moment.month), str(moment.day), str(hour), "60", "?9?9"]
    cells += [field["temp"], field["dew"], field["rh"], "999999", "9999", "9999", "9999"]
    cells += [field["sun"], "9999", "9999", "999999", "999999", "999999", "9999", "999"]
    cells += [field["wind"], field["cloud"], "99", "9999", "99999", "9", "999999999", "999"]
    cells += [".999", "999", "99", "999", field["rain"], field["rain_h"]]
    assert len(cells) == 35
    return ",".join(cells)


def year_file(
    path: Path, year: int = 2023, change: Callable[[datetime, int], dict[str, str]] | None = None
) -> Path:
    day, lines = datetime(year, 1, 1, tzinfo=UTC), []
    while day.year == year:
        lines += [row(day, hour, **(change(day, hour) if change else {})) for hour in range(1, 25)]
        day += timedelta(days=1)
    path.write_text(HEADING + "\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_hour_one_ends_at_one_o_clock_standard_time(tmp_path: Path) -> None:
    file = read_epw(year_file(tmp_path / "a.epw"))
    times = utc_times(file)
    assert times.size == 8760
    # "Hour 1 is 00:01 to 01:00", one hour east of Greenwich: it ends at 00:00 UTC; and no
    # summer time in July.
    assert times[0] == np.datetime64("2023-01-01T00:00:00")
    assert times[-1] == np.datetime64("2023-12-31T23:00:00")
    july = int(np.flatnonzero((file.month == 7) & (file.day == 1))[0])
    assert times[july + 11] == np.datetime64("2023-07-01T11:00:00")
    assert (np.diff(times) == np.timedelta64(3600, "s")).all()
    assert file.place == "Nowhere, XXX"
    assert file.one_year == 2023


def test_missing_markers_of_the_data_dictionary(tmp_path: Path) -> None:
    missing = {
        "temp": "99.9",
        "dew": "99.9",
        "rh": "999",
        "sun": "9999",
        "wind": "999",
        "cloud": "99",
        "rain": "999",
        "rain_h": "99",
    }
    names = dict(
        zip(
            missing,
            (
                "temp_c",
                "dew_point_c",
                "rh_pct",
                "sun_wh_m2",
                "wind_ms",
                "cloud_tenths",
                "rain_mm",
                "rain_h",
            ),
            strict=True,
        )
    )

    def change(day: datetime, hour: int) -> dict[str, str]:
        # Hour by hour one field after the other goes missing on 2 January; some are blank.
        if (day.month, day.day) == (1, 2) and hour <= 8:
            field = list(missing)[hour - 1]
            return {field: missing[field] if hour % 2 else ""}
        return {}

    file = read_epw(year_file(tmp_path / "a.epw", change=change))
    for i, field in enumerate(missing):
        values = file.values[names[field]]
        assert np.flatnonzero(np.isnan(values)).tolist() == [24 + i], field


def test_rain_and_sun_belong_to_the_hour_before(tmp_path: Path) -> None:
    def change(day: datetime, hour: int) -> dict[str, str]:
        if (day.month, day.day, hour) == (1, 3, 12):
            return {"rain": "6.0", "rain_h": "3.0", "sun": "400"}
        return {"sun": "0"}

    path = year_file(tmp_path / "a.epw", change=change)
    got = read_weather_file(path, datetime(2023, 1, 3, tzinfo=UTC))

    def at(clock: str) -> int:
        return int(np.flatnonzero(got.times == np.datetime64(f"2023-01-03T{clock}"))[0])

    # 6 mm in the three hours to 12:00 local = 11:00 UTC. The two hours before that one
    # have rows of their own (dry); the last hour keeps the rate.
    assert got.rain_mm_h[0, at("09:50")] == 0.0
    assert got.rain_mm_h[0, at("10:00")] == got.rain_mm_h[0, at("10:50")] == 2.0
    assert got.rain_mm_h[0, at("11:10")] == 0.0
    # 400 Wh/m² in the hour to 11:00 UTC: 400 W/m² at its middle.
    assert got.sun_w_m2[0, at("10:30")] == 400.0
    assert got.sun_w_m2[0, at("11:30")] == 0.0


def test_a_measured_year_that_covers_now_is_used_as_it_is(tmp_path: Path) -> None:
    path = year_file(tmp_path / "a.epw")
    got = read_weather_file(path, datetime(2023, 6, 1, tzinfo=UTC))
    assert got.times[0] == np.datetime64("2023-01-01T00:00")
    assert got.times[-1] == np.datetime64("2023-12-31T23:00")
    assert not [note for note in said(got.notes) if "not a forecast" in note]
    assert got.cloud_frac[0, 0] == pytest.approx(read_epw(path).values["cloud_tenths"][0] / 10)


def test_laid_over_the_turn_of_the_year(tmp_path: Path) -> None:
    path = year_file(tmp_path / "a.epw")
    got = read_weather_file(path, datetime(2025, 12, 28, 9, tzinfo=UTC))
    assert got.times[0] == np.datetime64("2025-11-28T09:00")
    assert got.times[-1] == np.datetime64("2026-01-11T09:00")
    assert np.isfinite(got.temp_c).all()
    assert "the weather of 2023, not a forecast" in said(got.notes)[0]
    turn = int(np.flatnonzero(got.times == np.datetime64("2026-01-01T00:00"))[0])
    assert got.temp_c[0, turn] == read_epw(path).values["temp_c"][0]


def test_laid_on_a_leap_year(tmp_path: Path) -> None:
    path = year_file(tmp_path / "a.epw")
    got = read_weather_file(path, datetime(2024, 2, 27, tzinfo=UTC))
    assert np.isfinite(got.temp_c).all()

    def day(text: str) -> np.ndarray:
        # Local standard days, one hour ahead of UTC, from the end of hour 1 on.
        first = int(np.flatnonzero(got.times == np.datetime64(text))[0])
        return got.temp_c[0, first : first + 24 * 6 : 6]

    assert np.array_equal(day("2024-02-29T00:00"), day("2024-02-28T00:00"))
    own = utc_times(read_epw(path), 2024)
    assert not np.isnat(own).any()


def test_a_leap_year_s_file_on_a_common_year(tmp_path: Path) -> None:
    file = read_epw(year_file(tmp_path / "a.epw", year=2024))
    laid = utc_times(file, 2025)
    assert np.isnat(laid).sum() == 24
    got = read_weather_file(tmp_path / "a.epw", datetime(2025, 2, 27, tzinfo=UTC))
    assert np.isfinite(got.temp_c).all()


def test_a_typical_year_of_several_years(tmp_path: Path) -> None:
    path = year_file(tmp_path / "a.epw", change=lambda day, hour: {"year": str(1990 + day.month)})
    assert read_epw(path).one_year is None
    got = read_weather_file(path, datetime(1991, 1, 10, tzinfo=UTC))
    assert "a typical year's weather, not a forecast" in said(got.notes)[0]
    assert np.isfinite(got.temp_c).all()


def test_several_rows_an_hour(tmp_path: Path) -> None:
    heading = HEADING.replace("DATA PERIODS,1,1", "DATA PERIODS,1,2")
    base = row(datetime(2023, 1, 1, tzinfo=UTC), 1, sun="50").split(",")
    lines = []
    for hour in (1, 2):
        for minute in ("30", "60"):
            lines.append(",".join([*base[:3], str(hour), minute, *base[5:]]))
    path = tmp_path / "a.epw"
    path.write_text(heading + "\n".join(lines) + "\n")
    rows = as_measured(read_epw(path))
    assert (np.diff(rows.times) == np.timedelta64(1800, "s")).all()
    assert rows.times[0] == np.datetime64("2022-12-31T23:30")
    # 50 Wh/m² in half an hour is 100 W/m².
    assert rows.columns["sun_w_m2"].values[0] == 100.0


def test_against_an_independent_reader(tmp_path: Path) -> None:
    iotools = pytest.importorskip("pvlib.iotools")
    path = year_file(
        tmp_path / "a.epw",
        change=lambda day, hour: {"rain": "0.4" if day.day % 5 == 0 else "0.0"},
    )
    data, meta = iotools.read_epw(str(path))
    file = read_epw(path)
    assert (meta["latitude"], meta["longitude"], meta["TZ"]) == (59.9, 10.7, 1.0)
    # pvlib labels a row with the beginning of its hour.
    ends = data.index.tz_convert("UTC").tz_localize(None).to_numpy() + np.timedelta64(1, "h")
    assert np.array_equal(utc_times(file), ends.astype("datetime64[s]"))
    for ours, theirs in {
        "temp_c": "temp_air",
        "dew_point_c": "temp_dew",
        "rh_pct": "relative_humidity",
        "sun_wh_m2": "ghi",
        "wind_ms": "wind_speed",
        "cloud_tenths": "total_sky_cover",
        "rain_mm": "liquid_precipitation_depth",
        "rain_h": "liquid_precipitation_quantity",
    }.items():
        assert np.array_equal(file.values[ours], data[theirs].to_numpy(dtype=float)), ours


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "line 1: not an EnergyPlus weather file"),
        ("time,temp_c\n", "line 1: not an EnergyPlus weather file"),
        ("LOCATION,A,,X,T,0,north,10,1,5\n", "line 1: LOCATION needs latitude"),
        ("LOCATION,A,,X\n", "line 1: LOCATION needs latitude"),
        (HEADING, "has a heading but no rows"),
        (HEADING.replace("PERIODS,1,1", "PERIODS,1,7"), "line 8: DATA PERIODS has '7' rows"),
        (HEADING + "2023,1,1,1,60\n", "line 9: has 5 fields; an EPW row has 35"),
        (
            HEADING + row(datetime(2023, 1, 1, tzinfo=UTC), 25) + "\n",
            "line 9: month, day, hour [1, 1, 25]",
        ),
        (
            HEADING + row(datetime(2023, 1, 1, tzinfo=UTC), 1, temp="mild") + "\n",
            "line 9: field 7 'mild' is not a number",
        ),
        (
            HEADING
            + row(datetime(2023, 1, 1, tzinfo=UTC), 1, year="9999")
            + "\n"
            + row(datetime(2023, 1, 1, tzinfo=UTC), 2, year="9999"),
            "the times run from 9999-01-01T00:00:00",
        ),
        (HEADING + "2023,inf,1,1,60" + ",0" * 30, "line 9: its date is not in numbers"),
        ("LOCATION," + "x" * 200_000, "field larger than"),
        (
            HEADING + row(datetime(2023, 1, 1, tzinfo=UTC), 1, year="MMXXIII") + "\n",
            "line 9: its date is not in numbers",
        ),
    ],
)
def test_what_is_no_epw(text: str, says: str, tmp_path: Path) -> None:
    import re

    path = tmp_path / "a.epw"
    path.write_text(text)
    with pytest.raises(InputFileError, match=re.escape(says)) as caught:
        read_weather_file(path, datetime(2025, 1, 1, tzinfo=UTC))
    assert "\n" not in str(caught.value)
