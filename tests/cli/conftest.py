"""The demo boat, copied once, and a way to run commands on it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from curewindow.cli.main import command
from curewindow.demo import files as demofiles

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
AT = "2026-11-25 08:30"


@pytest.fixture(autouse=True)
def quicker(share_worked_out: None) -> None:
    """The demo boat's day is worked out once for all of these tests."""


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo boat on its own day; read it, do not change it."""
    folder = tmp_path_factory.mktemp("boats") / "demo-boat"
    demofiles.write(folder, MORNING)
    return folder


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    """Run curewindow with these arguments, on a screen so wide."""

    def ran(*arguments: str | Path, width: int = 80, typed: str | None = None) -> Result:
        monkeypatch.setenv("COLUMNS", str(width))
        return CliRunner().invoke(command, [str(a) for a in arguments], input=typed)

    return ran
