"""What is exported comes back: every kind of entry, to the same bytes."""

from __future__ import annotations

import gc
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.errors import CsvError
from curewindow.record import Coat, Done, Reading, Record
from curewindow.record.entries import Heat, Inspection, Item, Wiped
from curewindow.record.exporting import write_csv
from curewindow.record.importing import ImportOptions, ImportResult, import_csv
from curewindow.record.tables import import_table, kind_of_table
from tests.cases import cases

NOW = datetime(2026, 12, 1, tzinfo=UTC)
# Zones with a half hour, with summer time in the south, with half an hour of summer time.
_zone = st.sampled_from(
    ["Europe/Amsterdam", "Asia/Kathmandu", "Australia/Lord_Howe", "America/St_Johns", "UTC"]
).map(ZoneInfo)
_letters = st.characters(codec="utf-8", exclude_characters="\x00", exclude_categories=("Cs",))
_text = st.text(_letters, max_size=15) | st.sampled_from(
    ["\r", "\n\n", '"', "a,b;c", " =1+1", "\ufeff", "12.50", " x ", "\u2028", "\n" * 60]
)
_name = _text.filter(lambda text: bool(text.strip()))
# Moments all over the years, and many within an hour that the clock shows twice or never.
_at = (
    st.datetimes(datetime(2001, 1, 1), datetime(2026, 11, 28))  # noqa: DTZ001
    | st.integers(0, 7200).map(lambda s: datetime(2026, 10, 25) + timedelta(seconds=s))  # noqa: DTZ001
    | st.integers(0, 7200).map(lambda s: datetime(2026, 3, 29) + timedelta(seconds=s))  # noqa: DTZ001
).map(lambda at: at.replace(microsecond=0, fold=0, tzinfo=UTC))
_number = st.integers(1, 30)
_span = st.integers(1, 40 * 3600).map(lambda s: timedelta(seconds=s))

KINDS: dict[type[Item], st.SearchStrategy[Item]] = {
    Reading: st.builds(
        Reading,
        space=_name,
        at=_at,
        air_c=st.none() | st.floats(-40, 45),
        rh_pct=st.floats(1, 100),
        surface_c=st.none() | st.floats(-40, 60),
        panel=st.none() | _name,
        wood_moisture_pct=st.none() | st.floats(0.1, 200),
        source=_text,
        note=_text,
    ),
    Coat: st.builds(
        lambda start, span, **more: Coat(start=start, end=start + span, **more),
        start=_at,
        span=_span,
        job=_name,
        step=_number,
        coat=_number,
        sheet=_name,
        batch=_text,
        area_m2=st.none() | st.floats(1e-3, 1e4),
        note=_text,
    ),
    Done: st.builds(Done, job=_name, step=_number, at=_at, note=_text),
    Heat: st.builds(
        lambda at, span, **more: Heat(at=at, until=at + span, **more),
        at=_at,
        span=_span,
        space=_name,
        setpoint_c=st.none() | st.floats(3, 40),
        ventilation=st.sampled_from(["closed", "normal", "open"]),
        note=_text,
    ),
    Wiped: st.builds(Wiped, at=_at, job=_name, note=_text)
    | st.builds(Wiped, at=_at, space=_name, panel=st.none() | _name, note=_text),
    Inspection: st.builds(
        Inspection,
        job=_name,
        step=_number,
        coat=_number,
        at=_at,
        found=st.sampled_from(["sound", "dull", "sanded"]),
        note=_text,
    ),
}


def exported(record: Record, kind: type[Item], zone: ZoneInfo, to: Path) -> bytes:
    write_csv(record.each(kind), kind, zone, to)
    return to.read_bytes()


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@cases(6)
@given(data=st.data(), zone=_zone)
def test_export_import_export_is_the_same_to_the_byte(
    tmp_path_factory: pytest.TempPathFactory,
    kind: type[Item],
    data: st.DataObject,
    zone: ZoneInfo,
) -> None:
    """Odd names, odd notes, any zone, the same row twice; and once more changes nothing."""
    items = data.draw(st.lists(KINDS[kind], max_size=5))
    if items and data.draw(st.booleans()):
        items.append(items[0])
    place = tmp_path_factory.mktemp("there")
    with Record(place / "first.db", now=lambda: NOW) as record:
        for item in items:
            record.add(item)
        whole = exported(record, kind, zone, place / "one.csv")
    if items:
        assert kind_of_table(place / "one.csv") is kind
    with Record(place / "second.db", now=lambda: NOW) as record:
        result = import_table(record, place / "one.csv")
        assert (result.read, result.added, result.bad) == (len(items), len(items), ())
        assert exported(record, kind, zone, place / "two.csv") == whole
        again = import_table(record, place / "one.csv")
        assert (again.added, again.duplicates) == (0, len(items))
        assert exported(record, kind, zone, place / "three.csv") == whole


def test_a_logger_s_table_is_none_of_ours(tmp_path: Path) -> None:
    file = tmp_path / "logger.csv"
    for header in ("time,air,humidity", "time_utc,space,air_c,rh_pct", "", "job,step"):
        file.write_text(header + "\n", "utf-8")
        assert kind_of_table(file) is None
    with Record(tmp_path / "record.db") as record, pytest.raises(CsvError, match="is no table"):
        import_table(record, file)


def test_a_spreadsheet_s_own_separator_and_fewer_columns(tmp_path: Path) -> None:
    file = tmp_path / "coats.csv"
    file.write_text(
        "\ufeffjob;step;coat;start_utc;end_utc;sheet;area_m2\r\n"
        "hull;1;2;2026-07-01T06:00:00Z;2026-07-01T08:00:00Z;epoxy;6\r\n",
        "utf-8",
    )
    with Record(tmp_path / "record.db", now=lambda: NOW) as record:
        assert import_table(record, file).added == 1
        (coat,) = record.coats()
        assert (coat.job, coat.coat, coat.area_m2, coat.batch) == ("hull", 2, 6.0, "")


BAD = """time_utc,job,step,note
2026-07-01T06:00:00Z,hull,1,
2026-07-01 6 o'clock,hull,2,
2027-07-01T06:00:00Z,hull,2,
2026-07-01T06:00:00Z,hull,first,
2026-07-01T06:00:00Z,hull,99999999999999999999,
2026-07-01T06:00:00Z,,1,
2026-07-01T06:00:00Z,hull
"""
REASONS = ["is not a time like", "still to come", "'first' is not", "is not", "name", "2 cells"]


def test_bad_lines_are_told_and_nothing_is_written(tmp_path: Path) -> None:
    file = tmp_path / "done.csv"
    file.write_text(BAD, "utf-8")
    with Record(tmp_path / "record.db", now=lambda: NOW) as record:
        result = import_table(record, file)
        assert (result.read, result.added, record.done()) == (7, 0, [])
        assert [line for line, _ in result.bad] == [3, 4, 5, 6, 7, 8]
        for (_, why), words in zip(result.bad, REASONS, strict=True):
            assert words in why
        kept = import_table(record, file, keep_good=True)
        assert (kept.added, kept.bad_count) == (1, 6)


def test_an_import_of_coats_is_taken_back_as_one(tmp_path: Path) -> None:
    at = datetime(2026, 7, 1, 6, tzinfo=UTC)
    coats = [Coat("hull", 1, n, at + timedelta(days=n), at + timedelta(days=n, hours=1), "epoxy")
             for n in (1, 2)]  # fmt: skip
    write_csv(coats, Coat, UTC, tmp_path / "coats.csv")
    with Record(tmp_path / "record.db", now=lambda: NOW) as record:
        import_table(record, tmp_path / "coats.csv")
        entry = record.undo_last()
        assert (entry.kind, entry.size, entry.what, record.coats()) == ("coat", 2, "coats.csv", [])
        assert import_table(record, tmp_path / "coats.csv").added == 2


def _minutes(count: int) -> Iterator[str]:
    begin = datetime(2001, 1, 1, tzinfo=UTC)
    yield "time,air,humidity\n"
    for n in range(count):
        yield f"{begin + timedelta(minutes=n):%Y-%m-%d %H:%M},{10 + n % 7},{60 + n % 9}\n"


@pytest.mark.slow
def test_a_long_import_takes_no_more_memory_than_a_short_one(tmp_path: Path) -> None:
    """Five times the lines, and on the way no more is held of them."""
    most = []
    for number, count in enumerate((400, 4000, 20000)):  # the first loads what is loaded once
        file = tmp_path / f"{count}.csv"
        file.write_text("".join(_minutes(count)), "utf-8")
        held: list[int] = []

        def sample(_: float, held: list[int] = held) -> None:
            gc.collect()
            held.append(sys.getallocatedblocks())

        with Record(tmp_path / f"{number}.db", now=lambda: NOW) as record:
            gc.collect()
            before = sys.getallocatedblocks()
            result = import_csv(record, file, ImportOptions(UTC, "saloon"), sample)
            assert result == ImportResult(count, count, 0)
        most.append(max(held) - before)
    # each line held would be ten blocks and more
    assert most[2] - most[1] < 16_000


@pytest.mark.slow
def test_a_long_import_stays_within_its_memory() -> None:
    """A fifth of a million by the command itself; a million: tests/benchmarks/bench_million.py."""
    bench = Path(__file__).parents[1] / "benchmarks" / "bench_million.py"
    done = subprocess.run(
        [sys.executable, str(bench), "200000"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
