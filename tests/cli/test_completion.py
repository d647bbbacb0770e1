"""Completion in a real bash, at a real prompt: names with blanks, quotes and dollars."""

from __future__ import annotations

import os
import select
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

BASH = shutil.which("bash")
pytestmark = pytest.mark.skipif(
    BASH is None or sys.platform == "win32", reason="needs bash on a terminal"
)

BOAT = """
name = "test boat"
[place]
latitude = 51.5
longitude = 0.0
time_zone = "Europe/London"
[[space]]
name = "aft cabin"
logged_only = true
"""
JOB = """
[[job]]
name = {name}
outdoors = true
[[job.step]]
do = "fit"
"""


@pytest.fixture
def boat(tmp_path: Path) -> Path:
    names = [
        '"""rail \'port\' "top" $HOME `id`"""',
        '"saloon doors"',
        '"saloon shelf, dry"',
        '"Süll"',
    ]
    (tmp_path / "boat.toml").write_text(BOAT, encoding="utf-8")
    work = "".join(JOB.format(name=name) for name in names)
    (tmp_path / "work.toml").write_text(work, encoding="utf-8")
    return tmp_path


@pytest.fixture
def typed(run: Callable[..., Result], boat: Path, tmp_path: Path) -> Callable[[str], list[str]]:
    """Type a line with tabs at a bash prompt; the words curewindow is then called with."""
    script = tmp_path / "completion.bash"
    script.write_text(run("completion", "bash").stdout, encoding="utf-8")
    # stands in for the command: asked to complete it is the real one, else it tells its words
    name = tmp_path / "curewindow"
    name.write_text(
        "#!/bin/bash\n"
        f'if [ -n "$_CUREWINDOW_COMPLETE" ]; then "{sys.executable}" -m curewindow; '
        f'echo >> "{tmp_path}/asked"; exit; fi\n'
        "printf '<%s>' \"$@\"; echo '<END>'\n",
        encoding="utf-8",
    )
    name.chmod(0o755)

    def words(line: str) -> list[str]:
        import pty

        assert BASH is not None
        shell, tty = pty.fork()
        if shell == 0:
            os.chdir(boat)
            home = {
                "PATH": f"{tmp_path}:{os.environ['PATH']}",
                "HOME": str(tmp_path),
                "TERM": "dumb",
                "LC_ALL": "C.UTF-8",
                "PS1": "ready> ",
                "COLUMNS": "400",
            }
            for key in ("PYTHONPATH", "VIRTUAL_ENV"):
                if key in os.environ:
                    home[key] = os.environ[key]
            os.execve(BASH, ["bash", "--norc", "--noprofile", "-i"], home)
        try:
            _wait(tty, "ready> ")
            os.write(tty, f"bind 'set enable-bracketed-paste off'; . {script}\n".encode())
            _wait(tty, "ready> ")
            for number, part in enumerate(line.split("\t")[:-1], 1):
                os.write(tty, part.encode() + b"\t")
                _asked(tmp_path / "asked", number)
            os.write(tty, line.split("\t")[-1].encode() + b"\n")
            said = _wait(tty, "<END>\r")
        finally:
            os.close(tty)
            os.waitpid(shell, 0)
        answer = said[: said.rindex("<END>")].splitlines()[-1]
        return answer[1:-1].split("><")

    return words


def _asked(marks: Path, times: int) -> None:
    """Wait until the program has been asked so often, and bash has put in what it said."""
    until = time.monotonic() + 20
    while not marks.exists() or len(marks.read_text(encoding="utf-8")) < times:
        if time.monotonic() > until:
            pytest.fail("bash did not ask")
        time.sleep(0.02)
    time.sleep(0.2)


def _wait(tty: int, text: str) -> str:
    """Read until a text comes; what was read."""
    said, until = b"", time.monotonic() + 20
    while time.monotonic() < until:
        ready, _, _ = select.select([tty], [], [], 0.2)
        if ready:
            said += os.read(tty, 4096)
        if said.decode(errors="replace").endswith(text) or f"\n{text}" in said.decode(
            errors="replace"
        ):
            return said.decode()
        if text.encode() in said and text != "ready> ":
            return said.decode()
    pytest.fail(f"bash did not say {text!r}, but {said!r}")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("curewindow tod\t", ["today"]),
        ("curewindow today ra\t", ["today", "rail 'port' \"top\" $HOME `id`"]),
        ("curewindow today sal\td\t", ["today", "saloon doors"]),
        ("curewindow today saloon\\ sh\t", ["today", "saloon shelf, dry"]),
        ('curewindow today "saloon d\t', ["today", "saloon doors"]),
        ('curewindow today "ra\t', ["today", "rail 'port' \"top\" $HOME `id`"]),
        ("curewindow today 'saloon d\t", ["today", "saloon doors"]),
        (
            "curewindow log coat Sü\t--sheet oil-v\t",
            ["log", "coat", "Süll", "--sheet", "oil-varnish"],
        ),
        ("curewindow log reading a\t", ["log", "reading", "aft cabin"]),
    ],
)
def test_names_arrive_whole(typed: Callable[[str], list[str]], line: str, words: list[str]) -> None:
    assert typed(line) == words
