"""`curewindow heat` as an owner meets it, on the demo boat."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

from click.testing import Result

from curewindow.heating import HeatPlans
from tests.fewer_jobs import only_jobs

Run = Callable[..., Result]
AT = "2026-11-25 08:30"


def test_plans_the_primer_on_a_phone(run: Run, demo: Path) -> None:
    result = run("heat", "forepeak frames", "--boat", demo, "--at", AT, width=40)
    assert result.exit_code == 0, result.stderr
    text = " ".join(result.stdout.split())
    assert "Light the heater by " in text
    assert " L of diesel" in text
    assert "Air it through " in text
    assert "! fire:" in text
    assert max(map(len, result.stdout.splitlines())) <= 40


def test_json_is_its_model(run: Run, demo: Path, tmp_path: Path) -> None:
    shutil.copytree(demo, boat := tmp_path / "boat")
    only_jobs(boat, "forepeak frames", "wheelhouse windows", "chart table")
    settings = (boat / "boat.toml").read_text(encoding="utf-8")
    left_aboard = settings.replace('tins_kept = "home"', "#")
    (boat / "boat.toml").write_text(left_aboard, encoding="utf-8")
    result = run("heat", "--boat", boat, "--at", AT, "--json")
    assert result.exit_code == 0, result.stderr
    plans = HeatPlans.model_validate(json.loads(result.stdout))
    by_job = {plan.job: plan for plan in plans.plans}
    assert by_job["forepeak frames"].status == "possible"
    assert by_job["wheelhouse windows"].missing is not None  # no heater there
    assert "chart table" not in by_job  # goes today as it is


def test_keeps_to_a_setpoint(run: Run, demo: Path) -> None:
    args = ("heat", "chart table", "--boat", demo, "--at", AT)
    result = run(*args, "--setpoint", "61 °F")
    assert result.exit_code == 0, result.stderr
    assert "hold at least 16.1 °C" in " ".join(result.stdout.split())


def test_what_cannot_be_asked(run: Run, demo: Path) -> None:
    result = run("heat", "forepeak", "--boat", demo, "--at", AT)
    assert result.exit_code == 2
    assert "forepeak frames" in result.stderr
    assert run("heat", "--boat", demo, "--at", AT, "--setpoint", "warm").exit_code == 2


def test_needs_no_heat(run: Run, demo: Path) -> None:
    for job, word in (
        ("mooring bitts", "Outdoors"),
        ("wet locker slats", "needs no heat"),
        ("sail rack", "Done"),
    ):
        result = run("heat", job, "--boat", demo, "--at", AT)
        assert result.exit_code == 0
        assert word in result.stdout
