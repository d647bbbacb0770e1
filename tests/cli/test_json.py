"""Every command that answers does so in JSON, in the form its published schema says."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import click
import jsonschema
import pytest
from click.testing import Result

from curewindow.cli.main import COMMANDS, command
from curewindow.cli.schema import ANSWERS

Run = Callable[..., Result]
AT = "2026-11-25 08:30"
# What has no answer but a text for another program already.
_NONE = {"schema", "completion"}


def _commands() -> dict[str, click.Command]:
    found: dict[str, click.Command] = {}
    ctx = click.Context(command)
    for name in COMMANDS:
        each = command.get_command(ctx, name)
        assert each is not None
        if isinstance(each, click.Group):
            found |= {f"{name} {inner}": made for inner, made in each.commands.items()}
        else:
            found[name] = each
    return found


def test_every_command_has_a_published_answer() -> None:
    with_json = {
        name
        for name, each in _commands().items()
        if any(parameter.name == "as_json" for parameter in each.params)
    }
    assert with_json == set(_commands()) - _NONE
    by_option = {"plan --boats"}  # of the same command, another answer
    assert with_json == set(ANSWERS) - by_option


@pytest.fixture
def boat(demo: Path, tmp_path: Path) -> Path:
    """A copy that may be written to."""
    shutil.copytree(demo, folder := tmp_path / "boat")
    return folder


CALLS: dict[str, list[str]] = {
    "today": ["--at", AT],
    "windows": ["chart table", "--at", AT],
    "why": ["chart table", "--at", AT],
    "heat": ["chart table", "--at", AT],
    "calendar": ["--at", AT],
    "picture": ["chart table", "--at", AT],
    "whatif": ["saloon", "--setpoint", "20 °C", "--at", AT],
    "log reading": ["saloon", "12C", "70%"],
    "log coat": ["chart table"],
    "log done": ["wet locker slats"],
    "log heater": ["forepeak", "20C", "--until", "tomorrow 12:00"],
    "log correct": ["r1", "--air", "12 °C"],
    "log undo": [],
    "log show": [],
    "sheets list": [],
    "sheets show": ["oil-varnish"],
    "sheets check": [],
    "sheets new": ["mine", "--from", "oil-varnish"],
}


@pytest.mark.parametrize("name", CALLS)
def test_answers_keep_to_their_schema(run: Run, boat: Path, name: str) -> None:
    schema = json.loads(run("schema", "--answer", name).stdout)
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    result = run(*name.split(), *CALLS[name], "--boat", boat, "--json")
    assert result.exit_code == 0, result.output
    validator.validate(json.loads(result.stdout))


def test_files_in_and_out(run: Run, boat: Path, tmp_path: Path) -> None:
    table = tmp_path / "log.csv"
    table.write_text("time,air °C,rh %\n2026-11-20 10:00,8,80\n", encoding="utf-8")
    calls = {
        "log import": ["log", "import", table, "--space", "saloon", "--boat", boat],
        "log export": ["log", "export", "readings", tmp_path / "out.csv", "--boat", boat],
        "demo": ["demo", tmp_path / "demo", "--at", AT],
        "setup": ["setup", tmp_path / "mine", "--lat", "52", "--lon", "5", "--zone", "UTC"],
    }
    for name, words in calls.items():
        schema = json.loads(run("schema", "--answer", name).stdout)
        result = run(*words, "--json")
        assert result.exit_code == 0, result.output
        jsonschema.Draft202012Validator(schema).validate(json.loads(result.stdout))


def test_an_answer_there_is_not(run: Run) -> None:
    assert "did you mean 'log show'?" in run("schema", "--answer", "log shw").stderr
    assert run("schema").exit_code == 2
    assert run("schema", "boat", "--answer", "today").exit_code == 2
