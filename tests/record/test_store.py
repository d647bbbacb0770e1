"""The record keeps everything, takes back the last entry, and answers what still stands."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.errors import NotFoundError, QuantityError, RecordError
from curewindow.record import Added, Coat, Done, Reading, Record
from tests.cases import cases

NOW = datetime(2026, 1, 10, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def opened(folder: Path, **options: object) -> Record:
    return Record(folder / "record.db", now=lambda: NOW, **options)  # type: ignore[arg-type]


def reading(**changes: object) -> Reading:
    base = Reading("saloon", NOW - HOUR, air_c=12.0, rh_pct=70.0)
    return replace(base, **changes)  # type: ignore[arg-type]


def coat(**changes: object) -> Coat:
    base = Coat("hull side", 1, 1, NOW - 2 * HOUR, NOW - HOUR, "generic-epoxy")
    return replace(base, **changes)  # type: ignore[arg-type]


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    full = reading(surface_c=9.5, panel="port side", wood_moisture_pct=14.0, note="wiped dry")
    with opened(tmp_path) as record:
        kept = record.add_reading(full)
        put_on = record.add_coat(coat(batch="A1", area_m2=6.0, note="thin"))
        finished = record.add_done(Done("hull side", 2, NOW, "80 grit"))
    with opened(tmp_path, read_only=True) as record:
        assert record.readings() == [kept] == [replace(full, id=kept.id)]
        assert record.coats("hull side") == [put_on]
        assert record.done() == [finished]
        assert record.coats("other") == []


def test_readings_by_space_and_time(tmp_path: Path) -> None:
    times = [NOW - n * HOUR for n in (3, 2, 1)]
    with opened(tmp_path) as record:
        for at in reversed(times):
            record.add_reading(reading(at=at))
        record.add_reading(reading(space="forepeak"))
        assert [r.at for r in record.readings("saloon")] == times
        assert [r.at for r in record.readings("saloon", since=times[1])] == times[1:]
        assert [r.at for r in record.readings("saloon", until=times[1])] == times[:2]
        assert [r.at for r in record.readings("saloon", last=1)] == times[2:]
        with pytest.raises(ValueError, match="without zone"):
            record.readings(since=datetime(2026, 1, 1))  # noqa: DTZ001


def test_a_missing_record_reads_as_empty_and_is_not_made(tmp_path: Path) -> None:
    with opened(tmp_path, read_only=True) as record:
        assert record.readings() == []
        assert record.last_entry() is None
        with pytest.raises(RecordError, match="reading only"):
            record.add_reading(reading())
    assert list(tmp_path.iterdir()) == []


def test_undo_goes_back_entry_by_entry_and_deletes_nothing(tmp_path: Path) -> None:
    with opened(tmp_path) as record:
        first = record.add_reading(reading())
        record.add_readings([reading(at=NOW - n * HOUR) for n in (4, 3)], what="logger.csv")
        second = record.add_coat(coat())
        assert record.undo_last().item == second
        assert record.coats() == []
        taken = record.undo_last()
        assert (taken.size, taken.what, taken.item) == (2, "logger.csv", None)
        assert record.readings() == [first]
        assert record.undo_last().item == first
        with pytest.raises(NotFoundError, match="nothing to take back"):
            record.undo_last()
        story = record.history()
        assert [entry.kind for entry in story] == ["readings", "readings", "coat"] + ["undo"] * 3
        assert [entry.withdraws for entry in story[3:]] == [3, 2, 1]
        assert [entry.withdrawn_by for entry in story[:3]] == [6, 5, 4]
        assert record.history(last=1) == story[-1:]
    raw = sqlite3.connect(tmp_path / "record.db")
    assert raw.execute("SELECT count(*) FROM readings").fetchone() == (3,)
    raw.close()


def test_a_sensor_s_report_does_not_stand_in_the_way_of_undo(tmp_path: Path) -> None:
    with opened(tmp_path) as record:
        typed = record.add_reading(reading())
        sensed = record.add_reading(reading(at=NOW, source="probe 1"))
        assert record.undo_last().item == typed
        assert record.readings() == [sensed]
        assert record.last_entry() is None


def test_correcting_keeps_the_old_row_and_undo_brings_it_back(tmp_path: Path) -> None:
    with opened(tmp_path) as record:
        wrong = record.add_reading(reading(air_c=21.0))
        right = record.correct(wrong.id, replace(wrong, air_c=12.0))
        assert record.readings() == [right]
        last = record.last_entry()
        assert last is not None
        assert last.supersedes == wrong.id
        with pytest.raises(NotFoundError, match="corrected already"):
            record.correct(wrong.id, wrong)
        better = record.correct(right.id, replace(right, air_c=12.5))
        assert record.readings() == [better]
        record.undo_last()
        assert record.readings() == [right]
        record.undo_last()
        assert record.readings() == [wrong]
        with pytest.raises(QuantityError, match="humidity"):
            record.correct(wrong.id, replace(wrong, rh_pct=101.0))
        with pytest.raises(NotFoundError, match="no entry 99"):
            record.correct(99, coat())


@pytest.mark.parametrize("table", ["entries", "readings", "coats", "done"])
def test_the_file_itself_refuses_to_change_what_was_written(tmp_path: Path, table: str) -> None:
    with opened(tmp_path) as record:
        record.add_reading(reading())
        record.add_coat(coat())
        record.add_done(Done("hull side", 1, NOW))
    raw = sqlite3.connect(tmp_path / "record.db")
    for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET id = id + 100"):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            raw.execute(statement)
    raw.close()


def test_many_readings_are_kept_whole_or_not_at_all(tmp_path: Path) -> None:
    good = [reading(at=NOW - n * HOUR) for n in range(1, 5)]
    with opened(tmp_path) as record:
        with pytest.raises(QuantityError, match="still to come"):
            record.add_readings([*good, reading(at=NOW + HOUR)])
        assert record.readings() == []
        assert record.add_readings(good) == Added(4)
        assert record.add_readings([]) == Added(0)
        assert len(record.history()) == 1


def test_known_readings_are_skipped_also_corrected_ones_but_not_withdrawn_ones(
    tmp_path: Path,
) -> None:
    batch = [reading(at=NOW - n * HOUR) for n in (3, 2)]
    with opened(tmp_path) as record:
        assert record.add_readings([*batch, batch[0]], skip_known=True) == Added(2, 1)
        one = record.readings()[0]
        record.correct(one.id, replace(one, air_c=8.0))
        assert record.add_readings(batch, skip_known=True) == Added(0, 2)
        record.undo_last()
        record.undo_last()
        assert record.readings() == []
        assert record.add_readings(batch, skip_known=True) == Added(2, 0)


# Refused before anything is written. The bounds are common practice, no source.
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"air_c": 54.0}, "did you mean °F"),
        ({"air_c": -41.0}, "not likely"),
        ({"air_c": float("nan")}, "not a number"),
        ({"surface_c": 61.0}, "surface"),
        ({"rh_pct": 100.5}, "between 0 and 100"),
        ({"rh_pct": -1.0}, "between 0 and 100"),
        ({"rh_pct": 0.7}, "write '70 %'"),
        ({"rh_pct": 0.0}, "broken sensor"),
        ({"wood_moisture_pct": 0.0}, "wood moisture"),
        ({"at": NOW + HOUR}, "still to come"),
        ({"at": datetime(1970, 1, 1, tzinfo=UTC)}, "clock of the instrument"),
        ({"at": datetime(2026, 1, 1)}, "no time zone"),  # noqa: DTZ001
        ({"space": " "}, "name of its space"),
        ({"air_c": None, "rh_pct": None}, "at least one value"),
    ],
)
def test_readings_that_cannot_be(tmp_path: Path, changes: dict[str, object], words: str) -> None:
    with opened(tmp_path) as record:
        with pytest.raises(QuantityError, match=words):
            record.add_reading(reading(**changes))
        assert record.readings() == []


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"start": NOW - HOUR}, "not before the end"),
        ({"start": NOW}, "not before the end"),
        ({"start": NOW - 60 * HOUR}, "not likely"),
        ({"end": NOW + HOUR}, "still to come"),
        ({"coat": 0}, "count from 1"),
        ({"sheet": ""}, "sheet"),
        ({"area_m2": 0.0}, "cannot be coated"),
    ],
)
def test_coats_that_cannot_be(tmp_path: Path, changes: dict[str, object], words: str) -> None:
    with opened(tmp_path) as record, pytest.raises(QuantityError, match=words):
        record.add_coat(coat(**changes))


@pytest.mark.parametrize(
    ("done", "words"),
    [
        (Done("", 1, NOW), "name of its job"),
        (Done("hull", 0, NOW), "count from 1"),
        (Done("hull", 1, NOW + HOUR), "still to come"),
    ],
)
def test_finished_steps_that_cannot_be(tmp_path: Path, done: Done, words: str) -> None:
    with opened(tmp_path) as record, pytest.raises(QuantityError, match=words):
        record.add_done(done)


# A model of what the record promises: a list of entries, the last of which may be dropped.
_actions = st.lists(
    st.one_of(
        st.floats(-20, 40).map(lambda c: ("reading", c)),
        st.integers(1, 4).map(lambda n: ("coat", n)),
        st.floats(-20, 40).map(lambda c: ("correct", c)),
        st.just(("undo", 0)),
    ),
    max_size=14,
)


@cases(40)
@given(_actions)
def test_undo_is_the_inverse_of_the_last_entry(
    tmp_path_factory: pytest.TempPathFactory, actions: list[tuple[str, float]]
) -> None:
    states: list[tuple[list[Reading], list[Coat]]] = [([], [])]
    with opened(tmp_path_factory.mktemp("record")) as record:
        for action, value in actions:
            if action == "undo":
                if len(states) == 1:
                    continue
                record.undo_last()
                states.pop()
            else:
                standing = record.readings()
                if action == "reading":
                    record.add_reading(reading(air_c=value))
                elif action == "coat":
                    record.add_coat(coat(coat=int(value)))
                elif standing:
                    record.correct(standing[0].id, replace(standing[0], air_c=value))
                else:
                    continue
                states.append((record.readings(), record.coats()))
            assert (record.readings(), record.coats()) == states[-1]


@cases(30)
@given(st.lists(st.sampled_from(["reading", "coat", "correct"]), max_size=8), st.data())
def test_any_entry_is_taken_back_in_any_order(
    tmp_path_factory: pytest.TempPathFactory,
    made: list[str],
    data: st.DataObject,
) -> None:
    """What stands is what was never taken back, whatever the order it went in."""
    with opened(tmp_path_factory.mktemp("record")) as record:
        for number, kind in enumerate(made):
            standing = record.readings()
            if kind == "coat":
                record.add_coat(coat(coat=number + 1))
            elif kind == "correct" and standing:
                record.correct(standing[0].id, replace(standing[0], air_c=float(number)))
            else:
                record.add_reading(reading(air_c=float(number)))
        entries = record.history()
        gone: set[int] = set()
        for entry in data.draw(st.permutations(entries)):
            since = {e.supersedes for e in entries if e.id not in gone}
            corrected = isinstance(entry.item, Reading) and entry.item.id in since
            if corrected:
                with pytest.raises(NotFoundError, match="corrected since"):
                    record.undo(entry.id)
                continue
            assert record.undo(entry.id).item == entry.item
            gone.add(entry.id)
            with pytest.raises(NotFoundError, match="taken back already"):
                record.undo(entry.id)
            left = [e for e in entries if e.id not in gone]
            superseded = {e.supersedes for e in left}
            items = [e.item for e in left if e.item is not None]
            readings = [i for i in items if isinstance(i, Reading) and i.id not in superseded]
            assert sorted(record.readings(), key=lambda r: r.id) == readings
            assert record.coats() == [i for i in items if isinstance(i, Coat)]
        assert [e.id for e in record.history() if e.kind != "undo"] == [e.id for e in entries]


def test_what_is_no_entry_is_not_taken_back(tmp_path: Path) -> None:
    with opened(tmp_path) as record:
        record.add_reading(reading())
        record.undo(1)
        for number in (0, 2, 99):  # 2 is the undo itself
            with pytest.raises(NotFoundError, match="no such entry"):
                record.undo(number)
