"""`curewindow learn` on the demo boat: said in plain words, kept only when asked."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import Result

from curewindow.conditions import learned_in
from curewindow.daysheet import DaySheet
from tests.fewer_jobs import only_jobs
from tests.voiced import said

AT = "2026-11-25 08:30"
Run = Callable[..., Result]


@pytest.fixture
def boat(demo: Path, tmp_path: Path) -> Path:
    folder = Path(shutil.copytree(demo, tmp_path / "boat"))
    only_jobs(folder, "chart table")
    return folder


def test_kept_drawn_and_used(run: Run, boat: Path, tmp_path: Path) -> None:
    picture = tmp_path / "saloon.svg"
    done = run("learn", "saloon", "--boat", boat, "--at", AT, "--keep", "--picture", picture)
    assert done.exit_code == 0, done.output
    assert done.output.startswith("saloon: 12 readings, ")
    assert "Kept in learned.toml" in done.output
    assert "before the heater is lit" in done.output
    assert all(len(line) <= 80 for line in done.output.splitlines() if "/" not in line)
    assert ElementTree.parse(picture).getroot().tag.endswith("svg")
    assert set(learned_in(boat)) == {"saloon"}
    today = DaySheet.model_validate_json(run("today", "--boat", boat, "--at", AT, "--json").stdout)
    (note,) = [n for n in said(today.provenance.notes) if n.startswith("saloon: fitted to")]
    assert "12 readings on Wed 25 Nov 2026" in note


@pytest.mark.slow
def test_json_and_nothing_kept(run: Run, boat: Path) -> None:
    done = run("learn", "saloon", "--boat", boat, "--at", AT, "--json")
    assert done.exit_code == 0, done.output
    answer = json.loads(done.output)
    assert answer["space"] == "saloon"
    assert not answer["kept"]
    assert {v["key"] for v in answer["values"]} >= {"air_change", "heat_loss", "moisture"}
    assert all(v["told"] in ("told", "in part", "not told") for v in answer["values"])
    assert not (boat / "learned.toml").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("salon",), "did you mean 'saloon'?"),
        (("saloon", "--picture", "saloon.gif"), ".svg or .png"),
    ],
)
def test_asked_wrongly(run: Run, boat: Path, arguments: tuple[str, ...], said: str) -> None:
    done = run("learn", *arguments, "--boat", boat, "--at", AT)
    assert done.exit_code == 2
    assert said in done.output


def test_a_space_hardly_read(run: Run, boat: Path) -> None:
    done = run("learn", "saloon", "--boat", boat, "--at", "2026-11-22 08:30")
    assert done.exit_code == 2
    assert "a fit takes 6 at least" in done.output
