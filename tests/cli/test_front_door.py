"""How a run ends: one clear line, an exit code, never a traceback; and quick to start."""

from __future__ import annotations

import importlib
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import Result

from curewindow.cli import main
from curewindow.demo import files as demofiles
from tests.fewer_jobs import only_jobs, weather_until

Run = Callable[..., Result]


def one_error_line(result: Result) -> str:
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert line.startswith("error: ")
    return line


def test_help_names_every_command(run: Run) -> None:
    result = run("--help")
    assert result.exit_code == 0
    for name, (_, text) in main.COMMANDS.items():
        assert name in result.stdout
        assert text in result.stdout


@pytest.mark.parametrize("name", list(main.COMMANDS))
def test_every_command_is_there_and_has_help(run: Run, name: str) -> None:
    module = importlib.import_module(main.COMMANDS[name][0])
    assert module.command.help
    result = run(name, "--help")
    assert result.exit_code == 0
    assert "Usage: " in result.stdout


def test_help_imports_no_heavy_library() -> None:
    code = (
        "import sys; sys.argv = ['curewindow', '--help']\n"
        "from curewindow.cli.main import run\n"
        "try:\n    run()\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'pandas', 'pydantic', 'httpx', 'rich', 'tomlkit', 'sqlite3', 'llvmlite'}"
        "\n"
        "print(heavy & set(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "set()"


def test_day_sheet_of_a_file_needs_no_pandas_and_no_httpx(demo: Path) -> None:
    arguments = ["curewindow", "today", "--boat", str(demo), "--at", "2026-11-25 08:30"]
    code = (
        f"import sys; sys.argv = {arguments!r}\n"
        "from curewindow.cli.main import run\n"
        "try:\n    run()\nexcept SystemExit:\n    pass\n"
        "print({'pandas', 'httpx', 'rich', 'tenacity'} & set(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "set()"


@pytest.mark.parametrize("command", [["today"], ["sheets", "list"]], ids=" ".join)
def test_what_is_kept_or_needs_no_simulation_loads_no_compiler(
    demo: Path, run: Run, command: list[str]
) -> None:
    of_boat = ["--boat", str(demo), "--at", "2026-11-25 08:30"] if command[0] != "sheets" else []
    if command[0] == "today":
        assert run("today", *of_boat).exit_code == 0
    arguments = ["curewindow", *command, *of_boat]
    code = (
        f"import sys; sys.argv = {arguments!r}\n"
        "from curewindow.cli.main import run\n"
        "try:\n    run()\nexcept SystemExit as end:\n    assert not end.code, end.code\n"
        "print({'numba', 'llvmlite'} & set(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip().splitlines()[-1] == "set()"


def test_public_names_are_lazy_and_all_there() -> None:
    code = (
        "import sys, curewindow\n"
        "assert not {'numpy', 'pydantic'} & set(sys.modules)\n"
        "assert set(curewindow._HOME) | {'__version__'} == set(curewindow.__all__)\n"
        "print(all(getattr(curewindow, name) is not None for name in curewindow.__all__))\n"
        "assert set(curewindow.__all__) <= set(dir(curewindow))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "True"


def test_no_such_public_name() -> None:
    import curewindow

    with pytest.raises(AttributeError, match="no attribute 'dew'"):
        _ = curewindow.dew


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["tody"], "there is no command 'tody'; did you mean 'today'?"),
        (["xyzzy"], "there is no command 'xyzzy'; known: today, windows"),
        (["today", "--bat", "x"], "--bat"),
        (["today", "--boat", "nowhere"], "no boat folder"),
        (["windows", "--days", "-1"], "--days"),
        (["completion", "tcsh"], "tcsh"),
    ],
)
def test_asked_wrongly(run: Run, arguments: list[str], said: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert said in one_error_line(result)


def test_options_alone_belong_to_the_day_sheet(run: Run, demo: Path) -> None:
    given = ("--boat", demo, "--at", "2026-11-25 08:30")
    assert run(*given).stdout == run("today", *given).stdout


def test_no_command_in_a_boat_folder_is_the_day_sheet(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = datetime.now(UTC)
    demofiles.write(tmp_path, now)
    only_jobs(tmp_path, "chart table")
    weather_until(tmp_path, f"{now + timedelta(days=8):%Y-%m-%d}")
    monkeypatch.chdir(tmp_path)
    result = run()
    assert result.exit_code == 0
    assert result.stdout.startswith("Slow Kettle, ")


def test_no_command_and_no_boat_shows_the_way(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("HOME", str(tmp_path))
    result = run()
    assert result.exit_code == 0
    assert "'curewindow demo' shows one" in result.stdout


def test_broken_boat_file(run: Run, demo: Path, tmp_path: Path) -> None:
    text = (demo / "boat.toml").read_text(encoding="utf-8")
    (tmp_path / "boat.toml").write_text(text.replace("latitude", "lattitude"), encoding="utf-8")
    result = run("today", "--boat", tmp_path)
    assert result.exit_code == 3
    line = one_error_line(result)
    assert "boat.toml: line 10, place.lattitude: unknown key" in line


def test_weather_file_that_is_not_there(run: Run, demo: Path, tmp_path: Path) -> None:
    for name in ("boat.toml", "work.toml"):
        shutil.copy(demo / name, tmp_path)
    result = run("today", "--boat", tmp_path)
    assert result.exit_code == 3
    assert "weather.csv: there is no such file" in one_error_line(result)


def test_weather_that_has_run_out(run: Run, demo: Path) -> None:
    result = run("today", "--boat", demo, "--at", "2027-02-01 08:00")
    assert result.exit_code == 4
    assert "ends 2026-12-04" in one_error_line(result)


@pytest.mark.parametrize(
    ("at", "code", "says"),
    [
        ("1970-01-01 00:00", 4, "begins 2026-11-2"),
        ("2199-01-01 00:00", 4, "ends 2026-12-04"),
        ("0001-01-01 00:00", 2, "is not a time"),
        ("9999-12-31 23:59", 2, "so far away"),
        ("9999-12-31T23:59-10:00", 2, "is not a time"),
    ],
)
def test_times_of_which_nothing_is_known(
    run: Run, demo: Path, at: str, code: int, says: str
) -> None:
    result = run("today", "--boat", demo, "--at", at)
    assert result.exit_code == code
    assert says in one_error_line(result)


@pytest.mark.parametrize("group", ["log", "sheets"])
def test_a_group_alone_shows_its_commands(run: Run, group: str) -> None:
    result = run(group)
    assert result.exit_code == 2
    assert "\nCommands:\n" in result.output
    assert "error:" not in result.output


def test_record_that_is_none(run: Run, demo: Path, tmp_path: Path) -> None:
    shutil.copytree(demo, folder := tmp_path / "boat")
    (folder / "record.db").write_bytes(b"not a database at all, not even nearly" * 50)
    result = run("today", "--boat", folder, "--at", "2026-11-25 08:30")
    assert result.exit_code == 5
    one_error_line(result)


def test_a_fault_of_our_own_is_short_and_says_how_to_see_more(
    run: Run, demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import curewindow.daysheet

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("of all things")

    monkeypatch.setattr(curewindow.daysheet, "day_sheet", broken)
    result = run("today", "--boat", demo)
    assert result.exit_code == main.EXIT_FAULT
    line = one_error_line(result)
    assert "ZeroDivisionError: of all things" in line
    assert "--debug" in line
    with_details = run("today", "--boat", demo, "--debug")
    assert isinstance(with_details.exception, ZeroDivisionError)


def test_ctrl_c(run: Run, demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import curewindow.daysheet

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(curewindow.daysheet, "day_sheet", stopped)
    result = run("today", "--boat", demo)
    assert result.exit_code == 130
    assert "Traceback" not in result.output


def test_reader_that_went_away(demo: Path) -> None:
    """As `curewindow ... | head -1` does."""
    arguments = [sys.executable, "-m", "curewindow", "today", "--boat", str(demo)]
    arguments += ["--at", "2026-11-25 08:30"]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as child:
        assert child.stdout is not None
        assert child.stderr is not None
        child.stdout.close()
        assert child.stderr.read() == b""


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_scripts(run: Run, shell: str) -> None:
    result = run("completion", shell)
    assert result.exit_code == 0
    assert "_CUREWINDOW_COMPLETE" in result.stdout


def complete(words: str, tried: int) -> list[str]:
    import os

    environment = {
        **os.environ,
        "_CUREWINDOW_COMPLETE": "bash_complete",
        "COMP_WORDS": words,
        "COMP_CWORD": str(tried),
    }
    done = subprocess.run(
        [sys.executable, "-m", "curewindow"],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    return [line.partition(",")[2] for line in done.stdout.splitlines() if line]


def test_completes_commands_and_jobs(demo: Path) -> None:
    assert complete("curewindow wi", 1) == ["windows"]
    assert complete(f"curewindow windows --boat {demo} wet", 4) == [
        "wet locker primer",
        "wet locker cork",
        "wet locker slats",
    ]
    assert complete("curewindow windows --boat nowhere sal", 4) == []
