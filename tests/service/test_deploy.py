"""The files that start it on boot say what the program understands."""

from __future__ import annotations

import configparser
import json
import os
import re
import shlex
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner
from curewindow_service.channels import Destination, read_destinations
from curewindow_service.main import command

from curewindow.boat.folder import load_boat
from tests.service.conftest import BOAT

ROOT = Path(__file__).resolve().parents[2]
DEPLOY = ROOT / "service" / "deploy"
UNIT = DEPLOY / "curewindow.service"

pytestmark = pytest.mark.skipif(not DEPLOY.exists(), reason="no service/deploy beside the tests")


def unit() -> configparser.RawConfigParser:
    parsed = configparser.RawConfigParser(strict=False, delimiters=("=",))
    parsed.optionxform = str  # type: ignore[assignment,method-assign]
    parsed.read_string(UNIT.read_text("utf-8"))
    return parsed


def options_of(arguments: list[str]) -> None:
    """The run command takes them (and is not run: help comes first)."""
    assert arguments[0] == "run"
    done = CliRunner().invoke(command, [*arguments, "--help"])
    assert done.exit_code == 0
    known = {option for parameter in command.commands["run"].params for option in parameter.opts}  # type: ignore[attr-defined]
    assert {argument for argument in arguments if argument.startswith("--")} <= known


def test_the_unit_starts_a_command_there_is() -> None:
    parsed = unit()
    program, *arguments = shlex.split(parsed["Service"]["ExecStart"])
    with (ROOT / "pyproject.toml").open("rb") as file:
        scripts = tomllib.load(file)["project"]["scripts"]
    assert Path(program).name in scripts
    options_of(arguments)
    # what it is told by sd_notify, and more often than the watchdog bites
    from curewindow_service.schedule import TICK_S

    assert parsed["Service"]["Type"] == "notify"
    assert int(parsed["Service"]["WatchdogSec"]) > 5 * TICK_S


def test_the_unit_passes_systemd(tmp_path: Path) -> None:
    found = shutil.which("systemd-analyze")
    if found is None:
        if os.environ.get("CUREWINDOW_NOTHING_SKIPPED") == "1":
            pytest.fail("systemd-analyze is not on this machine")
        pytest.skip("systemd-analyze is not on this machine")
    # the program need not be installed where the test runs
    copy = tmp_path / "curewindow.service"
    text = UNIT.read_text("utf-8").replace("/opt/curewindow/bin/curewindow-service", "/bin/true")
    copy.write_text(text, "utf-8")
    done = subprocess.run(
        [found, "verify", "--man=no", str(copy)], capture_output=True, text=True, check=False
    )
    said = [line for line in done.stderr.splitlines() if "curewindow" in line]
    assert said == []
    assert done.returncode == 0, done.stderr


def test_the_unit_is_hardened() -> None:
    """systemd's own measure, offline: 'exposure' 0 (none) to 10 (all); 2 is far below usual."""
    found = shutil.which("systemd-analyze")
    if found is None:
        pytest.skip("systemd-analyze is not on this machine")
    done = subprocess.run(
        [found, "security", "--offline=yes", "--no-pager", str(UNIT)],
        capture_output=True,
        text=True,
        check=False,
    )
    level = re.search(r"exposure level for .*: ([\d.]+)", done.stdout)
    if level is None:
        pytest.skip("this systemd-analyze cannot look at a file alone")
    assert float(level[1]) <= 2.0


def test_the_example_settings_are_read(tmp_path: Path) -> None:
    example = (DEPLOY / "boat.example.toml").read_text("utf-8")
    space = (
        '[[space]]\nname = "forepeak"\nvolume = "7 m³"\n[[space.panel]]\nname = "side"\n'
        'area = "9 m²"\nlayers = [{ material = "steel", thickness = "5 mm" }]\n'
    )
    (tmp_path / "boat.toml").write_text(f"{BOAT}{space}{example}", "utf-8")
    boat = load_boat(tmp_path)
    # what it says about what is taken where nothing stands
    assert boat.service == type(boat.service)()
    environ = dict(
        line.split("=", 1)
        for line in (DEPLOY / "curewindow.env.example").read_text("utf-8").splitlines()
        if line and not line.startswith("#")
    )
    secret = tmp_path / "secrets" / "push.address"
    secret.parent.mkdir()
    secret.write_text(environ["CUREWINDOW_PUSH"] + "\n", "utf-8")
    secret.chmod(0o600)
    ways = read_destinations(boat.channel, tmp_path, environ)
    assert [(way.name, way.kind) for way in ways] == [
        ("mail", "mail"), ("phone", "apprise"), ("screen", "desktop"), ("house", "webhook"),
    ]  # fmt: skip
    assert all(isinstance(way, Destination) for way in ways)


def test_the_container_starts_the_same_command() -> None:
    lines = (DEPLOY / "Containerfile").read_text("utf-8").replace("\\\n", " ").splitlines()
    by_word: dict[str, list[str]] = {}
    for line in lines:
        if line and not line.startswith("#"):
            word, _, rest = line.partition(" ")
            by_word.setdefault(word, []).append(rest)
    assert set(by_word) <= {
        "FROM", "WORKDIR", "COPY", "RUN", "USER", "ENV", "VOLUME", "EXPOSE", "HEALTHCHECK",
        "STOPSIGNAL", "ENTRYPOINT", "CMD",
    }  # fmt: skip
    assert by_word["USER"] == ["curewindow"]  # not root
    program, *arguments = [*json.loads(by_word["ENTRYPOINT"][0]), *json.loads(by_word["CMD"][0])]
    assert Path(program).name == "curewindow-service"
    options_of(arguments)
    for copied in by_word["COPY"]:
        if not copied.startswith("--from"):
            for source in copied.split()[:-1]:
                assert (ROOT / source).exists(), source
