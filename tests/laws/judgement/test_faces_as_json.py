"""The faces that programs read: the page's interface and the commands' JSON say the same."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from curewindow.cli import main
from tests.laws.judgement import boats
from tests.laws.judgement.faces import Faces
from tests.page import hands
from tests.page.hands import client_of


@pytest.mark.parametrize("seed", [3, *(pytest.param(s, marks=pytest.mark.slow) for s in (8, 21))])
def test_programs_are_told_what_people_are(
    seed: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = boats.drawn(seed, boats.demo(tmp_path / "demo"), moments=2)
    folder = boats.write(case, tmp_path / "boat")
    now = case.moments[0].replace(second=0) + timedelta(minutes=1)
    faces = Faces(case, folder, now)
    monkeypatch.setattr(hands, "MORNING", now)
    job = faces.facts.work.job[0].name
    by_page: dict[str, Any] = {}
    with client_of(folder) as client:
        for name in ("today", "windows", f"why?job={job}"):
            answer = client.get(f"/api/{name}")
            assert answer.status_code == 200, answer.text
            by_page[name.partition("?")[0]] = answer.json()
    at = ["--boat", str(folder), "--at", f"{now:%Y-%m-%dT%H:%M}+00:00", "--json"]
    by_command = {
        "today": _asked(["today", *at]),
        "windows": _asked(["windows", "--days", "30", *at]),
        "why": _asked(["why", job, *at]),
    }
    own = {
        "today": json.loads(faces.sheet.model_dump_json()),
        "windows": json.loads(faces.ahead.model_dump_json()),
        "why": json.loads(faces.why(faces.facts.work.job[0], now).model_dump_json()),
    }
    for name, told in own.items():
        assert by_page[name] == told, name
        assert by_command[name] == told, name


def _asked(words: list[str]) -> Any:
    done = CliRunner().invoke(main.command, words)
    assert done.exit_code == 0, done.output
    return json.loads(done.output)
