"""A yard's boats side by side: a line each, broken ones told, the others planned all the same."""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result

from curewindow.cli.main import command
from curewindow.demo import files as demofiles
from curewindow.fleet.models import FleetBoat
from curewindow.fleet.run import Asked, _heard, boats_in, plan_all
from curewindow.order.kept import load
from tests.fewer_jobs import only_jobs

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
AT = "2026-11-25 08:30"


@pytest.fixture(scope="module")
def laid_up(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three boats with a job each, the third with a broken work list; and what is no boat."""
    yard = tmp_path_factory.mktemp("yard")
    demofiles.write(yard / "a", NOW)
    only_jobs(yard / "a", "chart table")
    for name in ("b", "c"):
        shutil.copytree(yard / "a", yard / name)
    work = yard / "b" / "work.toml"
    work.write_text(work.read_text("utf-8").replace("chart table", "galley table"), "utf-8")
    (yard / "c" / "work.toml").write_text("nonsense [", encoding="utf-8")
    (yard / "keys").mkdir()
    (yard / "berths.txt").write_text("a 12\n", encoding="utf-8")
    return yard


@pytest.fixture(scope="module")
def told(laid_up: Path) -> list[FleetBoat]:
    return list(plan_all(boats_in(laid_up), Asked(AT, seconds=2.0, days=6)))


def run(*arguments: str | Path) -> Result:
    return CliRunner(env={"COLUMNS": "80"}).invoke(command, ["plan", *map(str, arguments)])


def test_each_boat_is_planned_in_its_own_folder(laid_up: Path, told: list[FleetBoat]) -> None:
    assert [each.folder for each in told] == ["a", "b", "c"]
    for boat, act in zip(told, ("chart table coat 1", "galley table sand"), strict=False):
        plan = load(laid_up / boat.folder).plan
        assert plan is not None
        first = min(plan.steps, key=lambda step: step.start)
        assert (boat.finish, boat.exit_code) == (plan.finish, 0)
        assert (boat.next_job, boat.next_at) == (first.job, first.start)
        assert boat.next_act == act  # nothing is logged of the other's table
        assert boat.seconds > 0.0
    broken = told[2]
    assert broken.exit_code == 3
    assert "work.toml" in broken.problem
    assert "\n" not in broken.problem
    assert not (laid_up / "c" / "plan.json").exists()


def test_a_line_a_boat_and_not_nought_where_one_is_broken(
    laid_up: Path, told: list[FleetBoat]
) -> None:
    assert told
    said = run("--boats", laid_up, "--kept", "--at", AT)
    assert said.exit_code == 1
    first, second, third = said.stdout.splitlines()
    assert first.startswith("Slow Kettle (a): all done ")
    assert first.endswith("chart table coat 1")
    assert second.endswith("galley table sand")
    assert third.startswith("Slow Kettle (c): ")
    assert "3 boats, 1 boat without a plan" in said.stderr
    whole = laid_up.parent / "whole"
    shutil.copytree(laid_up, whole, ignore=shutil.ignore_patterns("c"), dirs_exist_ok=True)
    fine = run("--boats", whole, "--kept", "--at", AT)
    assert (fine.exit_code, fine.stderr) == (0, "")


def test_as_json_it_is_a_list(laid_up: Path, told: list[FleetBoat]) -> None:
    answer = json.loads(run("--boats", laid_up, "--kept", "--at", AT, "--json").stdout)
    assert [each["folder"] for each in answer] == [each.folder for each in told]
    schema = CliRunner().invoke(command, ["schema", "--answer", "plan --boats"]).stdout
    jsonschema.Draft202012Validator(json.loads(schema)).validate(answer)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--boats", "nowhere"), "there is no folder"),
        (("--boats", "."), "boat.toml"),
        (("--boats", ".", "--fix", "x"), "--fix is for one boat"),
        (("--boats", ".", "--boat", "."), "--boat is for one boat"),
    ],
)
def test_a_slip_is_one_clear_line(
    words: tuple[str, ...], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    said = run(*words)
    assert said.exit_code == 2
    assert says in said.stderr
    assert len(said.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("ends", "says"), [(9, "ended by itself (9)"), (-9, "SIGKILL: is there memory enough?")]
)
def test_a_process_that_dies_is_told_of_its_boat(ends: int, says: str, tmp_path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_dies, args=(ends,))
    process.start()
    there.close()
    found = _heard(here, process, tmp_path / "heron")
    assert (found.folder, found.exit_code) == ("heron", 70)
    assert says in found.problem


def _dies(how: int) -> None:
    if how < 0:
        os.kill(os.getpid(), -how)
    os._exit(how)


def test_ctrl_c_ends_all_of_it(laid_up: Path) -> None:
    """No traceback, the code for it, and no process that goes on."""
    words = ["plan", "--boats", str(laid_up), "--at", AT, "--seconds", "600", "--days", "60"]
    asked = subprocess.Popen(
        [sys.executable, "-m", "curewindow", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    time.sleep(3.0)
    os.killpg(asked.pid, signal.SIGINT)
    out, err = asked.communicate(timeout=30)
    if asked.returncode == 1:  # so quick a machine had done it all by then
        assert "boats" in err
        return
    assert asked.returncode == 130, err
    assert err.strip() == "stopped"
    assert "Traceback" not in out
    until = datetime.now(UTC) + timedelta(seconds=10)
    while _left(asked.pid) and datetime.now(UTC) < until:
        time.sleep(0.2)
    assert _left(asked.pid) == []


def _left(session: int) -> list[str]:
    """Processes of a session that are still at work."""
    shown = subprocess.run(
        ["ps", "-o", "stat=", "-s", str(session)], capture_output=True, text=True, check=False
    )
    return [line for line in shown.stdout.split() if not line.startswith("Z")]
