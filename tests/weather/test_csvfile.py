"""Our own weather CSV: what it may hold, and the one line for what it may not."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from curewindow.errors import CsvError
from curewindow.weather import read_weather_file
from curewindow.weather.csvfile import read_csv
from tests.voiced import said

DATA = Path(__file__).parent / "data"
NOW = datetime(2025, 1, 7, 8, 0, tzinfo=UTC)


def written(folder: Path, text: str) -> Path:
    path = folder / "weather.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_everything_it_may_hold(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        "\ufeff# from the logger\n"
        "time,temp_c,dew_point_c,rh_pct,wind_ms,rain_mm_h,cloud_pct,sun_w_m2\n"
        "2025-01-07T06:00Z,4.0,2.0,87,3,0.5,100,0\n"
        "\n"
        "2025-01-07T08:00+01:00,5.0,,90,4,0,80,12\n"
        "2025-01-07 08:00:00+00:00,6.0,3.0,,,,,\n",
    )
    got = read_weather_file(path, NOW)
    assert got.source == "weather.csv"
    assert list(got.times[[0, -1]]) == [
        np.datetime64("2025-01-07T06:00"),
        np.datetime64("2025-01-07T08:00"),
    ]
    assert got.temp_c[0, [0, 6, 12]] == pytest.approx([4.0, 5.0, 6.0])
    # 90 % of saturation over water at 5 °C, 872 Pa (WMO-No. 8, annex 4.B).
    assert got.vapour_pa[0, 6] == pytest.approx(0.9 * 872.5, abs=1.0)
    assert got.rain_mm_h[0, [0, 5, 6, 11]] == pytest.approx([0.5, 0.5, 0.0, 0.0])
    assert got.cloud_frac[0, 0] == 1.0
    # Nothing is said of the wind after 07:00.
    assert np.isnan(got.wind_ms[0, 12])
    assert got.notes == ()


def test_missing_columns_are_said(tmp_path: Path) -> None:
    path = written(tmp_path, "time,temp_c,rh_pct\n2025-01-07T06:00Z,4,80\n2025-01-07T07:00Z,4,80\n")
    got = read_weather_file(path, NOW)
    assert said(got.notes) == ["weather.csv has no wind, no rain, no cloud, no sunshine"]
    assert np.isnan(got.rain_mm_h).all()


def test_members(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        "time,member,temp_c,rh_pct\n"
        "2025-01-07T06:00Z,7,4,80\n2025-01-07T06:00Z,2,1,80\n"
        "2025-01-07T07:00Z,7,5,80\n2025-01-07T08:00Z,2,3,80\n",
    )
    got = read_weather_file(path, NOW)
    assert got.members == 2
    assert got.temp_c[0, [0, 12]] == pytest.approx([1.0, 3.0])  # member 2
    assert got.temp_c[0, 6] == pytest.approx(2.0)
    assert got.temp_c[1, [0, 6]] == pytest.approx([4.0, 5.0])  # member 7
    assert np.isnan(got.temp_c[1, 12])


def test_semicolons_and_decimal_commas(tmp_path: Path) -> None:
    path = written(
        tmp_path, "time;temp_c;rh_pct\n2025-01-07T06:00Z;4,5;80\n2025-01-07T07:00Z;-0,5;81,5\n"
    )
    got = read_weather_file(path, NOW)
    assert got.temp_c[0, [0, 6]] == pytest.approx([4.5, -0.5])


def test_the_hour_that_comes_twice() -> None:
    # Europe/Amsterdam leaves summer time on 2025-10-26 at 03:00 CEST = 01:00 UTC (EU
    # directive 2000/84/EC): 02:00 to 03:00 comes twice, first at +02:00, then at +01:00.
    rows = read_csv(DATA / "clocks_back.csv")
    assert [str(t)[11:16] for t in rows.times] == [
        "23:00",
        "00:00",
        "00:30",
        "01:00",
        "01:30",
        "02:00",
    ]
    got = read_weather_file(DATA / "clocks_back.csv", datetime(2025, 10, 26, tzinfo=UTC))
    assert got.temp_c[0, [6, 12, 18]] == pytest.approx([8.5, 8.2, 8.0])
    assert got.rain_mm_h[0, [9, 11, 12]] == pytest.approx([0.4, 0.4, 0.0])


def test_the_hour_that_does_not_come(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        "# time_zone: Europe/Amsterdam\ntime,temp_c,rh_pct\n"
        "2025-03-30T01:30,4,80\n2025-03-30T02:30,4,80\n",
    )
    with pytest.raises(CsvError, match=r"line 4: time '2025-03-30T02:30' does not exist in"):
        read_csv(path)


def test_summer_time_goes_forward(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        "# time_zone: Europe/Amsterdam\ntime,temp_c,rh_pct\n"
        "2025-03-30T01:00,4,80\n2025-03-30T03:00,5,80\n",
    )
    times = read_csv(path).times
    assert times[1] - times[0] == np.timedelta64(3600, "s")


HEAD = "time,temp_c,rh_pct\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty; the first line names the columns: time, temp_c"),
        ("# only a remark\n", "is empty"),
        (HEAD, "has no rows"),
        ("time,temp,rh_pct\n", "line 1: unknown column 'temp'; did you mean 'temp_c'?"),
        ("#x\ntime,temp_c,Rh_Pct\n", "line 2: unknown column 'Rh_Pct'; did you mean 'rh_pct'?"),
        ("time,temp_c,zzz\n", "unknown column 'zzz'; known: time, temp_c, dew_point_c"),
        ("time,temp_c,temp_c\n", "column 'temp_c' stands there twice"),
        ("temp_c,rh_pct\n", "column 'time' is missing"),
        ("time,rh_pct\n", "column 'temp_c' is missing"),
        ("time,temp_c\n", "column 'dew_point_c' or 'rh_pct' is missing"),
        (HEAD + "2025-01-07T06:00Z,4\n", "line 2: has 2 cells, not 3"),
        (HEAD + "7 January,4,80\n", "line 2: time '7 January' is not ISO 8601"),
        (HEAD + "2025-01-07T06:00,4,80\n", "line 2: time '2025-01-07T06:00' has no offset"),
        ("# time_zone: Europe/Amsterdm\n" + HEAD, "line 1: time zone 'Europe/Amsterdm'"),
        (HEAD + "2025-01-07T06:00Z,warm,80\n", "line 2: temp_c 'warm' is not a number"),
        (HEAD + "2025-01-07T06:00Z,nan,80\n", "temp_c nan is not within -70 to 60"),
        (HEAD + "2025-01-07T06:00Z,40,800\n", "rh_pct 800 is not within 1 to 100"),
        (HEAD + "\n\n2025-01-07T06:00Z,400,80\n", "line 4: temp_c 400 is not within"),
        ("time,temp_c,dew_point_c\n2025-01-07T06:00Z,4,9\n", "dew_point_c 9 is above temp_c 4"),
        ("time,temp_c,rh_pct,member\n2025-01-07T06:00Z,4,80,a\n", "member 'a' is not a whole"),
        (HEAD + "2025-01-07T06:00Z,4,80\n", "fewer than two different times"),
        (HEAD + "0001-01-01T00:00Z,4,80\n2025-01-07T06:00Z,4,80\n", "the times run from"),
        (HEAD + "2025-01-07T06:00Z,,80\n2025-01-07T07:00Z,,80\n", "no temperatures"),
    ],
)
def test_what_it_may_not_hold(text: str, says: str, tmp_path: Path) -> None:
    import re

    from curewindow.errors import InputFileError

    path = written(tmp_path, text)
    with pytest.raises(InputFileError, match=re.escape(says)) as caught:
        read_weather_file(path, NOW)
    assert str(caught.value).startswith(str(path))
    assert "\n" not in str(caught.value)


def test_not_text(tmp_path: Path) -> None:
    path = tmp_path / "weather.csv"
    path.write_bytes(b"time,temp_c,rh_pct\n\xff\xfe\n")
    with pytest.raises(CsvError, match="not UTF-8"):
        read_csv(path)
    with pytest.raises(CsvError, match="cannot be read"):
        read_csv(tmp_path)


def test_years_are_read_as_line_by_line(tmp_path: Path) -> None:
    """Columns read at once are those read line by line, which any quotation mark asks for."""
    rows = "".join(
        f"2025-01-{7 + hour // 24:02d}T{hour % 24:02d}:00+01:00,{4 + hour % 7}.5,{hour % 3},,\n"
        f"2025-01-{7 + hour // 24:02d}T{hour % 24:02d}:00+01:00,{5 + hour % 7},,80,2\n"
        for hour in range(50)
    )
    heading = "time,temp_c,dew_point_c,rh_pct,member\n"
    at_once = read_csv(written(tmp_path, heading + rows))
    by_line = read_csv(written(tmp_path, '# "by line"\n' + heading + rows))
    assert np.array_equal(at_once.times, by_line.times)
    for name, column in by_line.columns.items():
        assert np.array_equal(at_once.columns[name].values, column.values, equal_nan=True)


@pytest.mark.parametrize("cell", ["nan", "inf", "4..5", "-71"])
def test_what_is_wrong_is_told_with_its_line(tmp_path: Path, cell: str) -> None:
    text = f"time,temp_c,rh_pct\n2025-01-07T06:00Z,4,80\n2025-01-07T07:00Z,{cell},80\n"
    with pytest.raises(CsvError, match="line 3"):
        read_csv(written(tmp_path, text))
