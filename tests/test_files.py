"""A file is written whole or not at all, in one place of the code."""

from __future__ import annotations

import ast
import os
import stat
import threading
from pathlib import Path

import pytest

from curewindow.files import replacing, write_new, write_whole
from tests import sources

ROOT = Path(__file__).resolve().parents[1]
# Folders of their own making, which nobody reads before they are whole.
FREE = {
    "curewindow/files.py",
    "curewindow/backup.py",
    "curewindow/demo/files.py",
    # physics stands below all files: it keeps what it compiled, told whole by its hash
    "curewindow/physics/balance/compiled.py",
    "service/curewindow_service/week.py",
}


def names(folder: Path) -> list[str]:
    return sorted(each.name for each in folder.iterdir())


@pytest.mark.parametrize("lasting", [True, False])
@pytest.mark.parametrize("content", ["so weit: 3 °C\r\nend", b"\x00\xff", ""])
def test_what_is_written_stands_there(tmp_path: Path, content: str | bytes, lasting: bool) -> None:
    for _ in range(2):
        write_whole(tmp_path / "a.txt", content, lasting=lasting)
        data = content.encode() if isinstance(content, str) else content
        assert (tmp_path / "a.txt").read_bytes() == data
        assert names(tmp_path) == ["a.txt"]


@pytest.mark.skipif(os.name == "nt", reason="modes and links are of POSIX")
def test_mode_is_kept_and_a_link_stays_a_link(tmp_path: Path) -> None:
    """A new file has the mode every new file has."""
    file, link = tmp_path / "a.txt", tmp_path / "link.txt"
    (tmp_path / "usual").touch()
    write_whole(file, "old")
    assert file.stat().st_mode == (tmp_path / "usual").stat().st_mode
    file.chmod(0o640)
    link.symlink_to(file)
    write_whole(link, "new")
    assert link.is_symlink()
    assert file.read_text() == "new"
    assert stat.S_IMODE(file.stat().st_mode) == 0o640


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_written_to_not_replaced(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    got: list[str] = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_text()))
    reader.start()
    write_whole(pipe, "through")
    reader.join(10)
    assert got == ["through"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
@pytest.mark.parametrize("where", ["fsync", "replace", "chmod"])
def test_a_failure_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str, error: BaseException
) -> None:
    write_whole(tmp_path / "a.txt", "old")

    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(os, where, fail)
    with pytest.raises(type(error)):
        write_whole(tmp_path / "a.txt", "new")
    monkeypatch.undo()
    assert (tmp_path / "a.txt").read_text() == "old"
    assert names(tmp_path) == ["a.txt"]


def test_a_block_that_fails_replaces_nothing(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.txt", "old")

    def half() -> None:
        with replacing(tmp_path / "a.txt") as part:
            part.write_text("half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        half()
    assert (tmp_path / "a.txt").read_text() == "old"
    assert names(tmp_path) == ["a.txt"]


def test_where_nothing_can_be_written(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    for path in (tmp_path / "none" / "a.txt", tmp_path / "folder", tmp_path / ("x" * 300)):
        with pytest.raises(OSError, match=r"directory|long"):
            write_whole(path, "text")
    assert names(tmp_path) == ["folder"]
    write_whole(tmp_path / ("x" * 250), "a long name, and no longer one beside it")


def test_a_new_file_never_takes_the_place_of_one(tmp_path: Path) -> None:
    write_new(tmp_path / "a.txt", "first")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "a.txt", "second")
    assert (tmp_path / "a.txt").read_text() == "first"


def _writes(call: ast.Call) -> bool:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else ""
    if name in ("write_text", "write_bytes", "mkstemp", "NamedTemporaryFile"):
        return True
    if name == "replace" and isinstance(call.func, ast.Attribute):
        return isinstance(call.func.value, ast.Name) and call.func.value.id == "os"
    opens = name in ("open", "fdopen") or getattr(call.func, "id", "") == "open"
    modes = [*call.args, *(keyword.value for keyword in call.keywords)]
    return opens and any(
        isinstance(mode, ast.Constant)
        and isinstance(mode.value, str)
        and mode.value in ("w", "wb", "x", "xb", "a", "ab", "w+", "wt")
        for mode in modes
    )


def test_nothing_else_writes_files() -> None:
    found = []
    for folder in (ROOT / "curewindow", ROOT / "service" / "curewindow_service"):
        for path in folder.rglob("*.py"):
            name = path.relative_to(ROOT).as_posix()
            if name in FREE:
                continue
            found += [
                f"{name}:{node.lineno}"
                for node in sources.nodes(path)
                if isinstance(node, ast.Call) and _writes(node)
            ]
    assert not found, "use curewindow.files"
