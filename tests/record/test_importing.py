"""Loggers' tables as they come: separators, commas, degrees, clocks, and bad lines."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.errors import CsvError, QuantityError
from curewindow.record import Coat, Reading, Record
from curewindow.record.csv_layout import read_mapping
from curewindow.record.csv_times import read_time, read_zone
from curewindow.record.exporting import write_csv
from curewindow.record.importing import ImportOptions, ImportResult, import_csv
from tests.cases import cases

NOW = datetime(2026, 12, 1, tzinfo=UTC)
AMSTERDAM = ZoneInfo("Europe/Amsterdam")


def imported(
    folder: Path, text: str | bytes, **options: object
) -> tuple[ImportResult, list[Reading]]:
    file = folder / "logger.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    given = {"zone": AMSTERDAM, "space": "saloon"} | options
    with Record(folder / "record.db", now=lambda: NOW) as record:
        result = import_csv(record, file, ImportOptions(**given))  # type: ignore[arg-type]
        return result, record.readings()


def values(readings: list[Reading]) -> list[tuple[str, float | None, float | None]]:
    return [(f"{r.at:%m-%d %H:%M}", r.air_c, r.rh_pct) for r in readings]


# Amsterdam is an hour ahead of UTC in January, two in July (IANA time zone database).
EXPECTED = [("01-05 07:00", 12.5, 71.0), ("01-05 08:00", -1.5, 68.5)]


@pytest.mark.parametrize(
    "text",
    [
        "time,air,humidity\n2026-01-05 08:00,12.5,71\n2026-01-05 09:00,-1.5,68.5\n",
        "Timestamp,Temperature,RH\r\n2026-01-05T08:00:00,12.5,71\r\n2026-01-05T09:00,-1.5,68.5",
        "Datum;Temperatur (°C);Luftfeuchte %\n"
        "05.01.2026 08:00;12,5;71\n05.01.2026 09:00;-1,5;68,5\n",
        "No.\tDate\tTime\tTemp [C]\tRel. humidity\n"
        "1\t2026/1/5\t08:00:00\t12.5\t71 %\n2\t2026/1/5\t09:00:00\t-1.5\t68.5 %\n",
        "Serial,77\nStarted,2026\n\nDate Time,Temp (°F),RH (%),Dew point temp (°F)\n"
        "2026-01-05 08:00:00,54.5,71,45\n2026-01-05 09:00:00,29.3,68.5,20\n",
        'date/time;"air temp.";"humidity";battery\n"5.1.26 8:00";"12,5 °C";"71 %";3.0\n'
        '"5.1.26 9:00";"29,3 °F";"68,5 %";3.0\n',
        "timestamp|temp|hum\n1767596400|12.5|71\n1767600000|-1.5|68.5\n",
        "timestamp,temp,hum\n1767596400000,12.5,71\n1767600000000,−1.5,68.5\n",
        "time (UTC),temp,hum\n2026-01-05 07:00,12.5,71\n2026-01-05 08:00,-1.5,68.5\n",
        "Date Time GMT+02:00,temp,hum\n2026-01-05 09:00,12.5,71\n2026-01-05 10:00,-1.5,68.5\n",
        "time,temp,hum\n2026-01-05T09:00:00+02:00,12.5,71\n2026-01-05 08:00Z,-1.5,68.5\n",
        "\n\ntime,temp,hum\n\n2026-01-05 08:00,12.5,71\n,,\n2026-01-05 09:00,-1.5,68.5\n\n",
    ],
)
def test_tables_of_all_kinds_say_the_same(tmp_path: Path, text: str) -> None:
    result, readings = imported(tmp_path, text)
    assert result == ImportResult(2, 2, 0)
    assert [(at, pytest.approx(air), rh) for at, air, rh in EXPECTED] == values(readings)
    assert {r.source for r in readings} == {"logger.csv"}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    text = "time;Temperatur °C;RH;note\n2026-01-05 08:00;12,5;71;früh\n"
    result, readings = imported(tmp_path, text.encode(encoding))
    assert result.added == 1
    assert readings[0].note == "früh"


def test_month_first_and_half_days(tmp_path: Path) -> None:
    text = "Time,Temp\n1/5/2026 12:30:00 AM,1\n1/13/2026 12:30:00 PM,2\n1/13/2026 1:05 pm,3\n"
    _, readings = imported(tmp_path, text, zone=UTC)
    assert [at for at, *_ in values(readings)] == ["01-05 00:30", "01-13 12:30", "01-13 13:05"]


def test_day_or_month_first_is_asked_for_where_it_cannot_be_seen(tmp_path: Path) -> None:
    text = "Time,Temp\n1/5/2026 08:00,1\n1/6/2026 08:00,2\n"
    with pytest.raises(CsvError, match="--dates day-first"):
        imported(tmp_path, text)
    _, readings = imported(tmp_path, text, order="day first")
    assert [r.at.month for r in readings] == [5, 6]
    with pytest.raises(CsvError, match="some dates have the day first and some the month"):
        imported(tmp_path, "Time,Temp\n13/5/2026 08:00,1\n1/16/2026 08:00,2\n")


def test_columns_named_by_the_owner(tmp_path: Path) -> None:
    text = "D,C,Channel 1, Channel 2,ch3\n2026-01-05,08:00,12.5,71,9.5\n"
    with pytest.raises(CsvError, match=r"no header line.*'Channel 1'.*--columns"):
        imported(tmp_path, text)
    columns = read_mapping("time=D+C,air=Channel 1,humidity=channel 2,surface=ch3")
    _, readings = imported(tmp_path, text, columns=columns, panel="hull side")
    assert values(readings) == [("01-05 07:00", 12.5, 71.0)]
    assert (readings[0].surface_c, readings[0].panel) == (9.5, "hull side")


def test_a_mapping_with_commas_in_a_header() -> None:
    assert read_mapping("time=Date Time, GMT,air=Temp, °C (LGR 1)") == {
        "time": "Date Time, GMT",
        "air": "Temp, °C (LGR 1)",
    }
    with pytest.raises(CsvError, match="did you mean 'humidity'"):
        read_mapping("humdity=RH")
    with pytest.raises(CsvError, match="write it like"):
        read_mapping("Timestamp")


def test_two_columns_that_could_be_the_same_are_asked_about(tmp_path: Path) -> None:
    with pytest.raises(CsvError, match="'Temp 1', 'Temp 2' could all be the air"):
        imported(tmp_path, "time,Temp 1,Temp 2\n2026-01-05 08:00,1,2\n")
    with pytest.raises(CsvError, match="could all be the time"):
        imported(tmp_path, "start time,end time,temp\n2026-01-05 08:00,2026-01-05 09:00,2\n")


BAD = """time;air;humidity
2026-01-05 08:00;12,5;71
2026-01-05 09:00;warm;71
2026-01-05 10:00;12,5;104
;12,5;71
yesterday;12,5;71
2026-01-05 13:00;;
2026-01-05 14:00;54,5;71
2026-12-05 08:00;12,5;71
2026-01-05 15:00;12,5;71;9;9
2026-02-30 15:00;12,5;71
"""
REASONS = {
    3: "'warm' is not a number",
    4: "not between 0 and 100",
    5: "no time",
    6: "'yesterday' is not a time",
    7: "at least one value",
    8: "did you mean °F",
    9: "still to come",
    10: "5 cells under 3 headers",
    11: "is not a time",
}


def test_bad_lines_are_listed_and_nothing_is_written(tmp_path: Path) -> None:
    result, readings = imported(tmp_path, BAD)
    assert (result.read, result.added, readings) == (10, 0, [])
    assert [line for line, _ in result.bad] == list(REASONS)
    for line, reason in result.bad:
        assert REASONS[line] in reason


def test_the_good_lines_can_be_kept(tmp_path: Path) -> None:
    result, readings = imported(tmp_path, BAD, keep_good=True)
    assert (result.added, len(result.bad)) == (1, 9)
    assert values(readings) == EXPECTED[:1]


def test_duplicates_are_skipped_and_counted(tmp_path: Path) -> None:
    first = "time,air\n2026-01-05 08:00,12.5\n2026-01-05 08:00,12.5\n"
    assert imported(tmp_path, first)[0] == ImportResult(2, 1, 1)
    longer = first + "2026-01-05 09:00,12.5\n"
    assert imported(tmp_path, longer)[0] == ImportResult(3, 1, 2)
    assert len(imported(tmp_path, longer)[1]) == 2


def test_spaces_in_a_column_must_be_known(tmp_path: Path) -> None:
    text = "time,space,air\n2026-01-05 08:00,salon,1\n2026-01-05 08:00,forepeak,2\n"
    known = ["saloon", "forepeak"]
    result, _ = imported(tmp_path, text, space=None, known_spaces=known)
    assert result.bad == ((2, "there is no space 'salon'; did you mean 'saloon'?"),)
    with pytest.raises(CsvError, match="--space"):
        imported(tmp_path, "time,air\n2026-01-05 08:00,1\n", space=None)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is not a table"),
        ("only words here\n", "is not a table"),
        ("time,pressure\n2026-01-05 08:00,1013\n", "no header line"),
        ('time,air,note\n2026-01-05 08:00,1,"open\n' + "x,y,z\n" * 100, "does not close"),
    ],
)
def test_files_that_are_no_table(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(CsvError, match=words) as caught:
        imported(tmp_path, text)
    assert "logger.csv" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with (
        Record(tmp_path / "record.db") as record,
        pytest.raises(CsvError, match="no such file"),
    ):
        import_csv(record, tmp_path / "none.csv", ImportOptions(UTC, "saloon"))


# ---- the clock changes ---------------------------------------------------------------
# In 2026 the clocks of Amsterdam go from 02:00 to 03:00 on 29 March and from 03:00 back
# to 02:00 on 25 October, both at 01:00 UTC (EU directive 2000/84/EC: last Sundays).


def test_spring_forward(tmp_path: Path) -> None:
    text = "time,air\n2026-03-29 01:30,1\n2026-03-29 02:30,2\n2026-03-29 03:30,3\n"
    result, _ = imported(tmp_path, text)
    ((line, reason),) = result.bad
    assert line == 3
    assert "does not exist" in reason
    assert "UTC+1" in reason
    _, readings = imported(tmp_path, text, keep_good=True)
    assert values(readings) == [("03-29 00:30", 1.0, None), ("03-29 01:30", 3.0, None)]


def test_autumn_back_is_told_by_the_order_of_the_lines(tmp_path: Path) -> None:
    clock = ["01:30", "02:00", "02:30", "02:00", "02:30", "03:00"]
    lines = [f"2026-10-25 {at},{n}" for n, at in enumerate(clock)]
    expected = [
        (f"10-{day} {at}", float(n), None)
        for n, (day, at) in enumerate(
            [
                (24, "23:30"),
                (25, "00:00"),
                (25, "00:30"),
                (25, "01:00"),
                (25, "01:30"),
                (25, "02:00"),
            ]
        )
    ]
    result, readings = imported(tmp_path, "\n".join(["time,air", *lines]))
    assert result.bad == ()
    assert values(readings) == expected
    # the newest line first, as some loggers write
    (tmp_path / "other").mkdir()
    _, readings = imported(tmp_path / "other", "\n".join(["time,air", *lines[::-1]]))
    assert values(readings) == expected


def test_a_surface_s_newest_line_first(tmp_path: Path) -> None:
    """Whose panel is named beside the file: its clock goes backwards as well."""
    clock = ["03:00", "02:30", "02:00", "02:30", "02:00", "01:30"]
    lines = [f"2026-10-25 {at},{n}" for n, at in enumerate(clock)]
    result, readings = imported(
        tmp_path, "\n".join(["time,surface", *lines]), panel="hull side", zone=AMSTERDAM
    )
    assert result.bad == ()
    assert [r.surface_c for r in readings] == [5.0, 4.0, 3.0, 2.0, 1.0, 0.0]


def test_autumn_back_that_cannot_be_told_is_listed(tmp_path: Path) -> None:
    text = "time,air\n2026-10-25 01:30,1\n2026-10-25 02:30,2\n2026-10-25 03:30,3\n"
    result, _ = imported(tmp_path, text)
    ((line, reason),) = result.bad
    assert (line, "came twice" in reason) == (3, True)


@pytest.mark.parametrize("day", ["2026-03-29", "2026-10-25"])
def test_a_logger_on_winter_time_has_no_gap_and_no_second_pass(tmp_path: Path, day: str) -> None:
    text = f"time,air\n{day} 01:30,1\n{day} 02:30,2\n{day} 03:30,3\n"
    result, readings = imported(tmp_path, text, zone=read_zone("UTC+1"))
    assert result.bad == ()
    assert [r.at.hour for r in readings] == [0, 1, 2]


@cases(25)
@given(
    start=st.datetimes(datetime(2026, 10, 24, 20), datetime(2026, 10, 25, 2)),  # noqa: DTZ001
    step_min=st.sampled_from([5, 10, 15, 20, 30]),
)
def test_a_night_of_readings_survives_the_clock(
    tmp_path_factory: pytest.TempPathFactory, start: datetime, step_min: int
) -> None:
    """Local clock times of a regular series, straight from zoneinfo, come back as that series."""
    begin = start.replace(second=0, microsecond=0, tzinfo=UTC)
    times = [begin + timedelta(minutes=step_min * n) for n in range(6 * 60 // step_min)]
    lines = [f"{at.astimezone(AMSTERDAM):%Y-%m-%d %H:%M},{n % 30}" for n, at in enumerate(times)]
    result, readings = imported(
        tmp_path_factory.mktemp("night"), "\n".join(["time,air", *lines]), keep_good=True
    )
    # a series that begins within the first or ends within the second pass shows no step back
    left_open = sum("came twice" in reason for _, reason in result.bad)
    assert len(readings) + left_open == len(times)
    assert {r.at for r in readings} <= set(times)
    if begin < datetime(2026, 10, 24, 23, tzinfo=UTC):
        assert left_open == 0


def test_zones() -> None:
    at = datetime(2026, 1, 5, 8, 0)  # noqa: DTZ001
    for text, ahead_h in (
        ("UTC", 0),
        ("z", 0),
        ("UTC+1", 1),
        ("+05:30", 5.5),
        ("gmt-3", -3),
        ("Europe/Amsterdam", 1),
    ):
        assert at.replace(tzinfo=read_zone(text)).utcoffset() == timedelta(hours=ahead_h)
    for text in ("Amsterdam", "UTC+99", ""):
        with pytest.raises(QuantityError, match="not a time zone"):
            read_zone(text)


@pytest.mark.parametrize("text", ["20260105", "5.1.", "13:00", "2026-01-05 25:00", "1.2.3.4", "x"])
def test_texts_that_are_no_time(text: str) -> None:
    assert read_time(text, "day first") is None


# ---- there and back --------------------------------------------------------------------

_text = st.text(
    st.characters(codec="utf-8", exclude_characters="\x00", exclude_categories=("Cs",)), max_size=20
)
_name = st.text("abcdefghij ü,;\"'", min_size=1, max_size=12).filter(lambda t: t == t.strip() != "")
_whole_seconds = st.datetimes(datetime(2001, 1, 1), datetime(2026, 11, 30)).map(  # noqa: DTZ001
    lambda at: at.replace(microsecond=0, fold=0, tzinfo=UTC)
)
_readings = st.builds(
    Reading,
    space=_name,
    at=_whole_seconds,
    air_c=st.none() | st.floats(-40, 45),
    rh_pct=st.floats(1, 100),
    surface_c=st.none() | st.floats(-40, 60),
    panel=st.none() | _name,
    wood_moisture_pct=st.none() | st.floats(0.1, 200),
    source=_name,
    note=_text,
)


def _key(reading: Reading) -> tuple[datetime, str]:
    return reading.at, reading.space


@cases(40)
@given(st.lists(_readings, max_size=8, unique_by=lambda r: (r.at, r.space)))
def test_an_export_is_imported_to_the_same_record(
    tmp_path_factory: pytest.TempPathFactory, readings: list[Reading]
) -> None:
    folder = tmp_path_factory.mktemp("there")
    file = folder / "readings.csv"
    write_csv(readings, Reading, AMSTERDAM, file)
    with Record(folder / "record.db", now=lambda: NOW) as record:
        result = import_csv(record, file, ImportOptions(zone=ZoneInfo("Asia/Kathmandu"), space="x"))
        back = record.readings()
        again = import_csv(record, file, ImportOptions(zone=UTC, space="x"))
    assert result == ImportResult(len(readings), len(readings), 0)
    assert again == ImportResult(len(readings), 0, len(readings))
    same = [replace(reading, id=0) for reading in back]
    assert sorted(same, key=_key) == sorted(readings, key=_key)


def test_the_exported_columns_are_the_documented_ones(tmp_path: Path) -> None:
    at = datetime(2026, 7, 1, 6, 0, tzinfo=UTC)
    file = tmp_path / "coats.csv"
    coat = Coat("hull", 1, 2, at, at + timedelta(hours=2), "epoxy", "A1", 6.0)
    assert write_csv([coat], Coat, AMSTERDAM, file) == 1
    assert file.read_text(encoding="utf-8").splitlines() == [
        '"job","step","coat","start_utc","end_utc","start_local","end_local","sheet","batch",'
        '"area_m2","note"',
        '"hull",1,2,"2026-07-01T06:00:00Z","2026-07-01T08:00:00Z","2026-07-01T08:00:00+02:00",'
        '"2026-07-01T10:00:00+02:00","epoxy","A1",6.0,""',
    ]
    write_csv([Reading("saloon", at, air_c=12.5)], Reading, AMSTERDAM, file)
    assert file.read_text(encoding="utf-8").splitlines() == [
        '"time_utc","time_local","space","air_c","rh_pct","surface_c","panel",'
        '"wood_moisture_pct","source","note"',
        '"2026-07-01T06:00:00Z","2026-07-01T08:00:00+02:00","saloon",12.5,"","","","","by hand",""',
    ]
    assert [path.name for path in tmp_path.iterdir()] == ["coats.csv"]
    with pytest.raises(CsvError, match="cannot be written"):
        write_csv([], Coat, UTC, tmp_path / "nowhere" / "coats.csv")


def test_progress_only_grows_and_ends_at_one(tmp_path: Path) -> None:
    start = datetime(2026, 1, 1, tzinfo=UTC)
    lines = [f"{start + timedelta(minutes=n):%Y-%m-%dT%H:%M:%SZ},10" for n in range(6000)]
    file = tmp_path / "long.csv"
    file.write_text("\n".join(["time,air", *lines]), encoding="utf-8")
    told: list[float] = []
    with Record(tmp_path / "record.db", now=lambda: NOW) as record:
        result = import_csv(record, file, ImportOptions(UTC, "saloon"), told.append)
    assert result.added == 6000
    assert len(told) >= 4
    assert told == sorted(told)
    assert told[-1] == 1.0
