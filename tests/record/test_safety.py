"""What may befall the file: other writers, a kill, a full disk, damage, other versions."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.errors import RecordError
from curewindow.record import Reading, Record, migrations

AT = datetime(2026, 1, 10, 12, 0, tzinfo=UTC)
READING = Reading("saloon", AT, air_c=12.0, rh_pct=70.0)


@contextmanager
def raw(path: Path) -> Iterator[sqlite3.Connection]:
    """The file as any program sees it."""
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        yield connection
    finally:
        connection.close()


def minutes(count: int) -> list[Reading]:
    start = AT - timedelta(days=30)
    return [Reading("saloon", start + timedelta(minutes=n), air_c=10.0) for n in range(count)]


# ---- more than one ---------------------------------------------------------------


def test_a_second_writer_waits_then_is_told_in_one_line(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    with Record(path), Record(path, wait_s=0.2) as second, raw(path) as other:
        other.execute("BEGIN IMMEDIATE")
        begun = time.monotonic()
        with pytest.raises(RecordError, match="another program is writing") as caught:
            second.add_reading(READING)
        assert time.monotonic() - begun >= 0.15
        assert "\n" not in str(caught.value)
        assert second.readings() == []  # reading goes on meanwhile
        other.execute("ROLLBACK")
        second.add_reading(READING)
        assert len(second.readings()) == 1


def test_a_second_writer_gets_its_turn(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    with Record(path), raw(path) as other:
        other.execute("BEGIN IMMEDIATE")
        written = threading.Event()

        def write() -> None:
            with Record(path) as second:
                second.add_reading(READING)
            written.set()

        thread = threading.Thread(target=write)
        thread.start()
        assert not written.wait(0.2)
        other.execute("COMMIT")
        thread.join(10)
        assert written.is_set()


_WRITER = """
import sys
from datetime import UTC, datetime, timedelta
from curewindow.record import Reading, Record
path, name = sys.argv[1:]
at = datetime(2026, 1, 1, tzinfo=UTC)
for n in range(20):
    with Record(path, wait_s=30) as record:
        record.add_reading(Reading(name, at + timedelta(minutes=n), air_c=float(n)))
"""


def test_two_programs_that_make_and_write_the_same_record_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    writers = [
        subprocess.Popen([sys.executable, "-c", _WRITER, str(path), name])
        for name in ("one", "two")
    ]
    assert [writer.wait(60) for writer in writers] == [0, 0]
    with Record(path, read_only=True) as record:
        for name in ("one", "two"):
            assert [r.air_c for r in record.readings(name)] == [float(n) for n in range(20)]
        assert len(record.history()) == 40


_UNDOING = """
import sys
from curewindow.errors import NotFoundError
from curewindow.record import Record
with Record(sys.argv[1]) as record:
    last = record.last_entry()
    print(last.id, flush=True)
    sys.stdin.readline()
    try:
        print("took", record.undo(last.id).id)
    except NotFoundError as bad:
        print(bad)
"""


def test_two_programs_take_the_same_entry_back_once(tmp_path: Path) -> None:
    """Both saw the same last entry; the second must not take the one before it."""
    path = tmp_path / "record.db"
    with Record(path) as record:
        for hour in (3, 2):
            record.add_reading(Reading("saloon", AT - timedelta(hours=hour), air_c=12.0))
    running = [
        subprocess.Popen(
            [sys.executable, "-c", _UNDOING, str(path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    for each in running:
        assert each.stdout is not None
        assert each.stdout.readline() == "2\n"
    said = sorted(each.communicate("go\n", timeout=60)[0].strip() for each in running)
    assert said[1] == "took 2"
    assert said[0] == "that entry was taken back already"
    with Record(path, read_only=True) as record:
        assert [reading.at for reading in record.readings()] == [AT - timedelta(hours=3)]


def test_a_record_of_another_thread_is_refused_by_name(tmp_path: Path) -> None:
    caught: list[Exception] = []
    with Record(tmp_path / "record.db") as record:

        def use() -> None:
            try:
                record.readings()
            except RecordError as bad:
                caught.append(bad)

        thread = threading.Thread(target=use)
        thread.start()
        thread.join()
    assert "one Record in each" in str(caught[0])
    with pytest.raises(RecordError, match="closed"):
        record.readings()


# ---- a kill, a full disk, damage ---------------------------------------------------

_KILLED = """
import sys, time
from datetime import UTC, datetime, timedelta
from curewindow.record import Reading, Record
at = datetime(2026, 1, 1, tzinfo=UTC)
record = Record(sys.argv[1])
record._connection.execute("PRAGMA cache_size = 5")  # spills to the file before the commit
with record._writing() as write:
    entry = record._enter(write, "readings", 20000)
    write.executemany(
        "INSERT INTO readings (entry, space, at, air_c, source) VALUES (?, 'saloon', ?, 1.0, 'x')",
        ((entry, n) for n in range(20000)),
    )
    print("in the middle", flush=True)
    time.sleep(60)
"""


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_a_kill_in_mid_transaction_leaves_the_record_sound(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    with Record(path) as record:
        before = record.add_reading(READING)
    writer = subprocess.Popen(
        [sys.executable, "-c", _KILLED, str(path)], stdout=subprocess.PIPE, text=True
    )
    assert writer.stdout is not None
    assert writer.stdout.readline() == "in the middle\n"
    os.kill(writer.pid, signal.SIGKILL)
    writer.wait(10)
    writer.stdout.close()
    with Record(path) as record:
        assert record.readings() == [before]
        record.add_reading(READING)
        assert len(record.readings()) == 2
    with raw(path) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_full_disk_keeps_nothing_and_says_so(tmp_path: Path) -> None:
    with Record(tmp_path / "record.db") as record:
        pages = record._connection.execute("PRAGMA page_count").fetchone()[0]
        record._connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(RecordError, match="disk is full, nothing was written"):
            record.add_readings(minutes(5000))
        assert record.readings() == []
        record._connection.execute("PRAGMA max_page_count = 100000")
        assert record.add_readings(minutes(5000)).added == 5000


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize(
    ("content", "words"),
    [(b"not a database at all, only some text\n" * 50, "not a database")],
)
def test_a_file_of_something_else(
    tmp_path: Path, content: bytes, words: str, read_only: bool
) -> None:
    path = tmp_path / "record.db"
    path.write_bytes(content)
    with pytest.raises(RecordError, match=words):
        Record(path, read_only=read_only)
    assert path.read_bytes() == content


def test_a_damaged_file(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    with Record(path) as record:
        record.add_readings(minutes(5000))
    whole = bytearray(path.read_bytes())
    whole[8192:] = b"\xa5" * (len(whole) - 8192)
    path.write_bytes(bytes(whole))
    with pytest.raises(RecordError, match="is damaged") as caught, Record(path) as record:
        record.readings()
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("read_only", [False, True])
def test_another_program_s_database(tmp_path: Path, read_only: bool) -> None:
    path = tmp_path / "record.db"
    with raw(path) as other:
        other.execute("CREATE TABLE theirs (x)")
    before = path.read_bytes()
    with pytest.raises(RecordError, match="not written by curewindow"):
        Record(path, read_only=read_only)
    assert path.read_bytes() == before


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="does its folder exist"):
        Record(tmp_path / "nowhere" / "record.db")


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere"
)
def test_a_folder_that_may_not_be_written_to_can_still_be_read(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    with Record(path) as record:
        record.add_reading(READING)
    path.chmod(0o444)
    tmp_path.chmod(0o555)
    try:
        with Record(path, read_only=True) as record:
            assert len(record.readings()) == 1
        with pytest.raises(RecordError, match="permissions"), Record(path) as record:
            record.add_reading(READING)
    finally:
        tmp_path.chmod(0o755)


# ---- older and newer ---------------------------------------------------------------

_LATER = (
    "ALTER TABLE coats ADD COLUMN film_um REAL",
    "CREATE TABLE tins (id INTEGER PRIMARY KEY, sheet TEXT NOT NULL)",
)


def test_an_older_record_is_copied_then_brought_up_to_date(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.db"
    with Record(path) as record:
        kept = record.add_reading(READING)
    was = len(migrations.STEPS)
    monkeypatch.setattr(migrations, "STEPS", (*migrations.STEPS, _LATER))
    # reading alone does not touch it
    before = path.read_bytes()
    with Record(path, read_only=True) as record:
        assert record.readings() == [kept]
    assert path.read_bytes() == before
    with Record(path) as record:
        assert record.readings() == [kept]
        columns = record._connection.execute("SELECT name FROM pragma_table_info('coats')")
        assert "film_um" in {row[0] for row in columns}
        record.undo_last()
    with raw(path) as file:
        assert file.execute("PRAGMA user_version").fetchone() == (was + 1,)
    with raw(tmp_path / f"record.db.version-{was}") as copy:
        assert copy.execute("PRAGMA user_version").fetchone() == (was,)
        assert copy.execute("SELECT count(*) FROM readings").fetchone() == (1,)
        assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_new_record_has_no_copy_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(migrations, "STEPS", (*migrations.STEPS, _LATER))
    with Record(tmp_path / "record.db"):
        pass
    assert [file.name for file in tmp_path.iterdir()] == ["record.db"]


def test_a_step_that_fails_leaves_the_older_record_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.db"
    with Record(path) as record:
        kept = record.add_reading(READING)
    steps = migrations.STEPS
    with monkeypatch.context() as patch:
        patch.setattr(migrations, "STEPS", (*steps, (*_LATER, "NOT SQL")))
        with pytest.raises(RecordError, match=r"record\.db"):
            Record(path)
        # a reference that a step breaks is noticed before the commit
        broken = ("DROP TRIGGER readings_stay_written", "UPDATE readings SET entry = 999")
        patch.setattr(migrations, "STEPS", (*steps, broken))
        with pytest.raises(RecordError, match="left as it was"):
            Record(path)
    with Record(path) as record:
        assert record.readings() == [kept]
        tables = {row[0] for row in record._connection.execute("SELECT name FROM sqlite_master")}
    assert "tins" not in tables


@pytest.mark.parametrize("read_only", [False, True])
def test_a_newer_record_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, read_only: bool
) -> None:
    path = tmp_path / "record.db"
    with monkeypatch.context() as patch:
        patch.setattr(migrations, "STEPS", (*migrations.STEPS, _LATER))
        with Record(path):
            pass
    with pytest.raises(RecordError, match=r"newer curewindow .*update curewindow"):
        Record(path, read_only=read_only)
