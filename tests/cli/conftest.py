"""The demo boat, copied once, and a way to run commands on it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from curewindow.cli.main import command

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
AT = "2026-11-25 08:30"


@pytest.fixture(scope="session")
def demo(demo_day: Path) -> Path:
    """The demo boat on its own day; read it, do not change it."""
    return demo_day


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    """Run curewindow with these arguments, on a screen so wide."""

    def ran(*arguments: str | Path, width: int = 80, typed: str | None = None) -> Result:
        monkeypatch.setenv("COLUMNS", str(width))
        return CliRunner().invoke(command, [str(a) for a in arguments], input=typed)

    return ran
