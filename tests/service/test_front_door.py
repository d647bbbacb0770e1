"""How the service's own commands end: an exit code that is explained, and one line."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

FULL = Path("/dev/full")
_CALL = "from curewindow_service.main import run; run()"


def ended(*words: str | Path, stdout: object = subprocess.DEVNULL) -> tuple[int, str]:
    """A command in a process of its own: its exit code, and what it says of what went wrong."""
    done = subprocess.run(
        [sys.executable, "-c", _CALL, *map(str, words)],
        stdout=stdout,  # type: ignore[call-overload]
        stderr=subprocess.PIPE,
        env={**os.environ, "CUREWINDOW_PAGE_TOKEN": "a long made-up token 4711"},
        text=True,
        timeout=120,
        check=False,
    )
    return done.returncode, done.stderr


@pytest.mark.skipif(not FULL.exists(), reason="no /dev/full here")
@pytest.mark.parametrize("words", [["--help"], ["notices", "--days", "9"]])
def test_a_full_disk_is_told_in_one_line(folder: Path, words: list[str]) -> None:
    given = words if words[0] != "notices" else [*words, "--boat", str(folder)]
    with FULL.open("w") as full:
        assert ended(*given, stdout=full) == (
            6,
            "error: the answer cannot be written: No space left on device\n",
        )


@pytest.mark.slow
@pytest.mark.parametrize("host", ["x" * 300, "127.0.0.1.5", "no-such-host.invalid"])
def test_a_host_that_is_none_is_told(folder: Path, host: str) -> None:
    code, said = ended("run", "--boat", folder, "--host", host, "--port", "0", "--https")
    assert code == 2
    assert "Traceback" not in said
    assert "cannot listen on" in said.splitlines()[-1]


def test_without_a_command_it_says_which_there_are() -> None:
    code, said = ended()
    assert code == 2
    assert said.startswith("Usage: ")
    assert "error" not in said
