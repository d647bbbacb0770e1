"""A whole copy of a boat folder, and the folder brought back from it."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import stat
import threading
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import Result
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from curewindow.backup import CONTENTS, make_backup, restore
from curewindow.boat.lock import only_one
from curewindow.errors import BackupError, RecordError
from curewindow.record import Reading, Record
from tests.cases import cases

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
BOAT = """name = "listed"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "UTC"
[[channel]]
name = "phone"
address_file = "push.address"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A boat folder with a file of every kind."""
    made = tmp_path / "boat"
    (made / "sheets").mkdir(parents=True)
    (made / "forecasts" / "2026-11").mkdir(parents=True)
    (made / "empty").mkdir()
    (made / "boat.toml").write_text(BOAT, "utf-8")
    (made / "work.toml").write_text("format = 1\n", "utf-8")
    (made / "sheets" / "own.toml").write_text("name = 'own'\n", "utf-8")
    (made / "forecasts" / "2026-11" / "25.npz").write_bytes(os.urandom(5000))
    (made / "weather.csv").write_bytes(b"time;temp\r\n\xff\x00")
    (made / "push.address").write_text("desktop:\n", "utf-8")
    (made / "push.address").chmod(0o600)
    with Record(made / "record.db", now=lambda: NOW) as record:
        record.add_reading(Reading("saloon", NOW, air_c=12.0, rh_pct=70.0))
    return made


def told(folder: Path) -> dict[str, bytes | list[tuple[object, ...]]]:
    """What a folder holds: bytes, and of a database its rows."""
    found: dict[str, bytes | list[tuple[object, ...]]] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if name.endswith(("-wal", "-shm")):
            continue
        if path.suffix == ".db":
            with sqlite3.connect(path) as read:
                found[name] = read.execute("SELECT * FROM readings").fetchall()
            read.close()
        else:
            found[name] = path.read_bytes() if path.is_file() else b"folder"
    return found


def test_what_comes_back_is_what_was_there(folder: Path, tmp_path: Path) -> None:
    file, there = tmp_path / "boat.zip", tmp_path / "again" / "boat"
    made = make_backup(folder, file, NOW)
    assert (made.secrets, made.damaged, made.left_out) == (("push.address",), (), ())
    restore(file, there, NOW)
    assert told(there) == told(folder)
    assert stat.S_IMODE((there / "push.address").stat().st_mode) == 0o600
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert (there / "work.toml").stat().st_mtime == (folder / "work.toml").stat().st_mtime
    # and once more from the folder that came back
    make_backup(there, tmp_path / "second.zip", NOW)
    restore(tmp_path / "second.zip", tmp_path / "third", NOW)
    assert told(tmp_path / "third") == told(folder)


_name = st.text(
    st.characters(codec="utf-8", exclude_characters="/\x00"), min_size=1, max_size=12
).filter(lambda name: name not in (".", "..") and len(name.encode()) < 200)


@cases(15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.dictionaries(_name, st.binary(max_size=300), max_size=5))
def test_any_file_of_any_name_comes_back(
    tmp_path_factory: pytest.TempPathFactory, files: dict[str, bytes]
) -> None:
    place = tmp_path_factory.mktemp("any")
    boat = place / "boat"
    boat.mkdir()
    for name, content in files.items():
        (boat / name).write_bytes(content)
    kept = {path.name: path.read_bytes() for path in boat.iterdir()}
    make_backup(boat, place / "copy.zip", NOW)
    restore(place / "copy.zip", place / "back", NOW)
    assert {path.name: path.read_bytes() for path in (place / "back").iterdir()} == kept


def test_a_copy_is_whole_while_another_writes(folder: Path, tmp_path: Path) -> None:
    """Entries come in by pairs, one transaction each: no copy holds half of one."""
    stop, written = threading.Event(), threading.Event()

    def write() -> None:
        with Record(folder / "record.db") as record:
            at = NOW - timedelta(days=30)
            while not stop.is_set():
                at += timedelta(minutes=1)
                record.add_readings(
                    [Reading("saloon", at, air_c=1.0), Reading("bow", at, air_c=2.0)]
                )
                written.set()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        assert written.wait(10)
        sizes = []
        for number in range(4):
            file = tmp_path / f"{number}.zip"
            make_backup(folder, file, NOW)
            restore(file, tmp_path / f"back{number}", NOW)
            with Record(tmp_path / f"back{number}" / "record.db", read_only=True) as record:
                assert len(record.readings("bow")) == len(record.readings("saloon")) - 1
                sizes.append(len(record.readings()))
    finally:
        stop.set()
        writer.join()
    assert sizes == sorted(sizes)
    assert sizes[-1] > 2


def test_a_copy_in_the_folder_does_not_hold_the_ones_before(folder: Path) -> None:
    first = make_backup(folder, folder / "one.zip", NOW)
    second = make_backup(folder, folder / "two.zip", NOW)
    assert [each.path for each in second.contents.files] == [
        each.path for each in first.contents.files
    ]


def test_a_living_folder_is_never_written_over(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "boat.zip"
    make_backup(folder, file, NOW)
    (folder / "work.toml").write_text("# newer\n", "utf-8")
    before = told(folder)
    with pytest.raises(BackupError, match=r"holds something already.*--aside"):
        restore(file, folder, NOW)
    assert told(folder) == before
    with only_one(folder), pytest.raises(RecordError, match="already runs"):
        restore(file, folder, NOW, aside=True)
    assert told(folder) == before
    done = restore(file, folder, NOW, aside=True)
    assert done.aside is not None
    assert told(done.aside) == before
    assert (folder / "work.toml").read_text("utf-8") == "format = 1\n"
    assert not [path for path in tmp_path.iterdir() if path.name.endswith(".part")]
    # an empty one is filled
    (tmp_path / "new").mkdir()
    assert restore(file, tmp_path / "new", NOW).aside is None


def _spoilt(file: Path, how: str) -> None:
    data = bytearray(file.read_bytes())
    if how == "cut":
        file.write_bytes(data[: len(data) // 2])
    elif how == "no zip":
        file.write_bytes(b"name = 'boat'")
    else:
        with zipfile.ZipFile(file) as kept:
            held = {name: kept.read(name) for name in kept.namelist()}
        contents = json.loads(held[CONTENTS])
        if how == "other bytes":
            held["weather.csv"] = b"time;temp\r\n"
        elif how == "missing":
            del held["work.toml"]
        elif how == "no list":
            del held[CONTENTS]
        elif how == "newer":
            contents["format"] = 2
        else:
            held[how] = b"x"
            digest = hashlib.sha256(b"x").hexdigest()
            entry = contents["files"][0] | {"path": how, "size": 1, "sha256": digest}
            contents["files"].append(entry)
        if how != "no list":
            held[CONTENTS] = json.dumps(contents).encode()
        with zipfile.ZipFile(file, "w") as again:
            for name, content in held.items():
                again.writestr(name, content)


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ("cut", "is damaged"),
        ("no zip", "is damaged or no backup"),
        ("other bytes", r"'weather\.csv' is not what was put in"),
        ("missing", "is damaged"),
        ("no list", "no backup"),
        ("newer", "newer curewindow"),
        ("../outside", "outside the boat folder"),
        ("/outside", "outside the boat folder"),
        ("sheets/../../outside", "outside the boat folder"),
    ],
)
def test_a_spoilt_copy_writes_nothing(folder: Path, tmp_path: Path, how: str, words: str) -> None:
    file = tmp_path / "boat.zip"
    make_backup(folder, file, NOW)
    _spoilt(file, how)
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(BackupError, match=words):
        restore(file, tmp_path / "back", NOW)
    assert sorted(tmp_path.rglob("*")) == before


def test_a_damaged_record_is_copied_as_it_is_and_told(folder: Path, tmp_path: Path) -> None:
    record = folder / "record.db"
    data = bytearray(record.read_bytes())
    data[4096:8192] = b"\x01" * 4096
    record.write_bytes(data)
    made = make_backup(folder, tmp_path / "boat.zip", NOW)
    assert made.damaged == ("record.db",)
    restore(tmp_path / "boat.zip", tmp_path / "back", NOW)
    assert (tmp_path / "back" / "record.db").read_bytes() == bytes(data)


def test_what_is_no_file_of_the_folder_is_told(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (folder / "linked").symlink_to(tmp_path / "elsewhere")
    (folder / "gone.csv").symlink_to(tmp_path / "nowhere.csv")
    os.mkfifo(folder / "pipe")
    made = make_backup(folder, tmp_path / "boat.zip", NOW)
    assert sorted(made.left_out) == ["gone.csv", "linked", "pipe"]


def test_the_two_commands(folder: Path, tmp_path: Path, run: Callable[..., Result]) -> None:
    file, there = tmp_path / "boat.zip", tmp_path / "back"
    done = run("backup", file, "--boat", folder)
    assert (done.exit_code, done.stderr) == (0, "")
    assert "passwords (push.address)" in done.stdout
    assert "is there already" in run("backup", file, "--boat", folder).stderr
    assert run("backup", file, "--boat", folder, "--overwrite", "--json").exit_code == 0
    back = run("restore", file, there)
    assert (back.exit_code, back.stderr) == (0, "")
    assert told(there) == told(folder)
    again = run("restore", file, there)
    assert again.exit_code == 3
    assert "--aside" in again.stderr
    moved = json.loads(run("restore", file, there, "--aside", "--json").stdout)
    assert told(Path(moved["aside"])) == told(folder)
    assert run("restore", tmp_path / "none.zip", tmp_path / "x").stderr.count("\n") == 1
    assert run("backup", tmp_path / "no" / "way" / "x.zip", "--boat", folder).exit_code == 3
