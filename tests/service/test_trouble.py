"""Disks that are full, records that cannot be written, a second service, a file that is wrong."""

from __future__ import annotations

import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
import urllib.request
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from curewindow_service.app import Service
from curewindow_service.look import look_here
from curewindow_service.main import command
from curewindow_service.outbox import Outbox

from curewindow.boat.lock import only_one
from curewindow.errors import RecordError
from curewindow.reminders import Reminder
from tests.service.conftest import HandClock, reminder
from tests.service.test_days import Collector, boat_in, tick

MORNING = datetime(2026, 11, 25, 6, 30, tzinfo=UTC)


@pytest.fixture
def boat(folder: Path) -> Path:
    boat_in(folder, "Europe/Amsterdam", date(2026, 11, 20), 12)
    return folder


def test_a_second_service_refuses_with_one_line(boat: Path) -> None:
    with only_one(boat):
        done = subprocess.run(
            [sys.executable, "-m", "curewindow_service", "run", "--no-page", "--boat", str(boat)],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
    assert done.returncode == 5
    (line,) = done.stderr.splitlines()
    assert line == (
        f"error: {boat}: another curewindow-service already runs for this boat; stop that one first"
    )
    with only_one(boat):  # freed again
        pass


def test_a_locked_record_is_waited_for(boat: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("curewindow_service.outbox.WAIT_S", 0.05)
    monkeypatch.setattr(Outbox.__init__, "__kwdefaults__", {"clock": None, "wait_s": 0.05})
    clock, got = HandClock(MORNING), Collector()
    service = Service(boat, clock=clock, look=look_here, send=got)
    tick(service)
    assert got.mornings() == ["2026-11-25"]
    clock.on(days=1)
    other = sqlite3.connect(boat / "record.db", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    tick(service)
    assert "another program is writing" in service.status().record_problem
    assert len(got.got) == 1
    other.execute("ROLLBACK")
    other.close()
    tick(service)
    assert got.mornings() == ["2026-11-25", "2026-11-26"]
    assert service.status().well


def _filler(key: str, size: int) -> Reminder:
    return reminder(key, body="y" * size, due=MORNING + timedelta(days=365))


def test_a_full_disk_sends_nothing_twice_and_is_told(
    boat: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite's own limit of pages stands for the disk's."""
    clock, got = HandClock(MORNING - timedelta(hours=2)), Collector()
    service = Service(boat, clock=clock, look=look_here, send=got)
    tick(service)
    real = sqlite3.connect

    def full(*args: object, **options: object) -> sqlite3.Connection:
        opened = real(*args, **options)  # type: ignore[arg-type]
        opened.execute("PRAGMA max_page_count = 1")  # no page more than there are
        return opened

    with Outbox(service.record, clock=clock) as outbox:  # no room left in the pages there are
        outbox._connection.execute("VACUUM")
        outbox._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    clock.now = MORNING
    with monkeypatch.context() as patch:
        patch.setattr(sqlite3, "connect", full)
        for size in (3000, 300, 30, 3):  # every corner
            for number in range(400):
                try:
                    with Outbox(service.record, clock=clock) as outbox:
                        outbox.add(_filler(f"filler {size} {number}", size))
                except RecordError:
                    break
        for _ in range(15):
            tick(service)
            clock.on(minutes=1)
        assert "the disk is full" in service.status().record_problem
        told = [m for _, m in got.got if m.kind == "trouble"]
        assert [m.title for m in told] == ["test boat: no notices until this is put right"]
    for _ in range(3):
        tick(service)
        clock.on(minutes=1)
    assert service.status().well
    assert got.mornings() == ["2026-11-25"]


def test_written_down_late_is_not_sent_twice(boat: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk fills in the moment after a mail was taken."""
    clock, got = HandClock(MORNING), Collector()
    service = Service(boat, clock=clock, look=look_here, send=got)

    def fails(self: Outbox, id: int, said: str = "") -> None:
        raise RecordError("the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr(Outbox, "sent", fails)
        tick(service)
        tick(service)
    assert got.mornings() == ["2026-11-25"]
    tick(service)
    with Outbox(service.record, clock=clock) as outbox:
        assert outbox.counts() == {"sent": 1}
    assert got.mornings() == ["2026-11-25"]


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere"
)
def test_a_folder_that_may_not_be_written(boat: Path) -> None:
    boat.chmod(0o555)
    try:
        service = Service(boat, clock=HandClock(MORNING), look=look_here, send=Collector())
        tick(service)
        assert "permissions" in service.status().record_problem
    finally:
        boat.chmod(0o755)


def test_a_record_that_is_read_only(boat: Path) -> None:
    """Whoever runs it: SQLite is told so by its own switch."""
    clock, got = HandClock(MORNING), Collector()
    service = Service(boat, clock=clock, look=look_here, send=got)
    real = sqlite3.connect

    def read_only(*args: object, **options: object) -> sqlite3.Connection:
        opened = real(*args, **options)  # type: ignore[arg-type]
        opened.execute("PRAGMA query_only = ON")
        return opened

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sqlite3, "connect", read_only)
        tick(service)
        assert "may not be written" in service.status().record_problem
        assert got.got == []
    tick(service)
    assert got.mornings() == ["2026-11-25"]


def test_a_boat_file_spoiled_while_it_runs(boat: Path) -> None:
    clock, got = HandClock(MORNING - timedelta(hours=3)), Collector()
    service = Service(boat, clock=clock, look=look_here, send=got)
    tick(service)
    good = (boat / "boat.toml").read_text(encoding="utf-8")
    (boat / "boat.toml").write_text(good + "\nnonsense\n", encoding="utf-8")
    clock.now = MORNING + timedelta(minutes=20)
    tick(service)
    assert "going on with what it said before" in service.status().boat_problem
    assert got.mornings() == ["2026-11-25"]  # says why there is no day sheet
    (boat / "boat.toml").write_text(good + "\n", encoding="utf-8")
    clock.on(minutes=10)
    tick(service)
    assert service.status().well


def test_a_channel_that_is_gone_fails_its_notices(boat: Path) -> None:
    clock = HandClock(MORNING)
    with Outbox(boat / "record.db", clock=clock) as outbox:
        outbox.sync([reminder("a")])
        outbox.give_out([("old phone", "low")])
    service = Service(boat, clock=clock, look=look_here, send=Collector())
    tick(service)
    with Outbox(boat / "record.db", clock=clock) as outbox:
        (sending,) = next(n for n in outbox.notices() if n.key == "a").sendings
    assert (sending.state, sending.result) == ("failed", "no such channel in boat.toml any more")


def test_the_real_command_looks_serves_and_stops(boat: Path, tmp_path: Path) -> None:
    """Started, it makes the record, its outbox and the page; told to stop, it ends well."""
    now = datetime.now(UTC)
    boat_in(boat, "Europe/Amsterdam", now.date() - timedelta(days=1), 12)
    log, out = tmp_path / "log", tmp_path / "out"
    words = ["run", "--port", "0", "--verbose", "--boat", str(boat)]
    with log.open("w") as file, out.open("w") as said:
        started = subprocess.Popen(
            [sys.executable, "-m", "curewindow_service", *words], stderr=file, stdout=said
        )
    try:
        give_up = time.monotonic() + 60.0
        looked, port = False, None
        while not (looked and port) and time.monotonic() < give_up:
            assert started.poll() is None, log.read_text()
            time.sleep(0.1)
            if (boat / "record.db").exists():
                with Outbox(boat / "record.db") as outbox:
                    looked = outbox.recall("plan") is not None
            port = re.search(r"^page: http://127\.0\.0\.1:(\d+)/$", out.read_text(), re.M)
        assert looked
        assert port is not None
        assert out.read_text().startswith("test boat: reminders by m\n")
        with urllib.request.urlopen(f"http://127.0.0.1:{port[1]}/health", timeout=20) as answer:
            assert json.load(answer)["status"] in ("starting", "ok")
        started.terminate()
        assert started.wait(30.0) == 0
    finally:
        started.kill()
        started.wait(5.0)
    assert "Traceback" not in log.read_text()


@pytest.mark.parametrize("words", [["--port", "0"], ["--no-page"]])
def test_ctrl_c_in_the_middle_of_a_look_ends_it_without_a_word(
    boat: Path, tmp_path: Path, words: list[str]
) -> None:
    """A terminal sends it to everything it started: the look's own process, too."""
    now = datetime.now(UTC)
    boat_in(boat, "Europe/Amsterdam", now.date() - timedelta(days=1), 12)
    log = tmp_path / "log"
    with log.open("w") as file:
        started = subprocess.Popen(
            [sys.executable, "-m", "curewindow_service", "run", *words, "--boat", str(boat)],
            stderr=file,
            stdout=subprocess.PIPE,
            start_new_session=True,
        )
    try:
        give_up = time.monotonic() + 60.0
        while not (boat / "record.db").exists():  # made by the first tick, which then looks
            assert started.poll() is None, log.read_text()
            assert time.monotonic() < give_up
            time.sleep(0.02)
        time.sleep(0.5)
        os.killpg(started.pid, signal.SIGINT)
        assert started.wait(20.0) == 0
    finally:
        started.kill()
        started.communicate()
    assert log.read_text() == ""


def test_plain_http_on_a_network_is_warned_of_at_the_start(
    boat: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Runs nothing: what is said before it would run counts; nor does it quieten any log."""
    monkeypatch.setattr("logging.Logger.setLevel", lambda *_: None)
    monkeypatch.setattr("logging.basicConfig", lambda **_: None)
    monkeypatch.setattr("curewindow_service.schedule.run_service", lambda *_: None)
    monkeypatch.setenv("CUREWINDOW_PAGE_TOKEN", "a long made-up token 4711")
    words = ["run", "--host", "0.0.0.0", "--boat", str(boat)]
    said = CliRunner().invoke(command, words).stderr
    assert "speaks plain http" in said
    assert "4711" not in said
    assert CliRunner().invoke(command, [*words, "--https"]).stderr == ""
    assert CliRunner().invoke(command, ["run", "--boat", str(boat)]).stderr == ""


@pytest.mark.parametrize(
    ("host", "names", "https", "said"),
    [
        ("127.0.0.1", (), False, "http://127.0.0.1:8460/"),
        ("::1", (), False, "http://[::1]:8460/"),
        ("0.0.0.0", (), False, "port 8460 of every address this machine has"),
        ("0.0.0.0", ("boat.local",), False, "http://boat.local:8460/"),
        ("127.0.0.1", ("boat.example.org",), True, "https://boat.example.org/"),
    ],
)
def test_where_the_page_is_said_to_be(
    host: str, names: tuple[str, ...], https: bool, said: str
) -> None:
    from curewindow_service.page import PageSettings
    from curewindow_service.schedule import Listen

    settings = PageSettings(token="a long made-up token 4711", hosts=names, https=https)
    assert Listen(host, 8460, settings).where(8460) == said
