"""The machine code of the balance's loops: kept whole, made anew where it cannot be, alone."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import llvmlite.binding as llvm
import pytest

from curewindow.physics.balance import compiled
from curewindow.weather.cache import cache_folder

RUN = (
    "import sys, numpy as np\n"
    "from pathlib import Path\n"
    "from curewindow.physics.balance import compiled\n"
    "folders = tuple(Path(each) for each in sys.argv[1:])\n"
    "compiled._folders = lambda: folders\n"
    "p = np.full((1, 2), 800.0)\n"
    "one = np.ones((1, 1))\n"
    "two = np.zeros((12, 1, 1)); two[0] = 1.0; two[2] = 7.0\n"
    "compiled.run('march_water', 1, 1, 1, two, np.full((1, 1, 2), 2e3), np.full((1, 2), 2e3),\n"
    "    *np.ones((6, 1)), p, np.ones((1, 2)), np.zeros((1, 1, 2)), one)\n"
    "print(p[0, 1], 'numba' in sys.modules)\n"
)


@pytest.fixture(scope="module")
def machine() -> Any:
    compiled.run("march_water", 0, 0, 0, *[compiled.np.empty(1)] * 13)
    triple = llvm.get_process_triple()
    return llvm.Target.from_triple(triple).create_target_machine(
        cpu=llvm.get_host_cpu_name(), features=compiled._features(), opt=3, jit=True
    )


def _run(*folders: Path) -> subprocess.Popen[str]:
    arguments = [sys.executable, "-W", "error", "-c", RUN, *map(str, folders)]
    return subprocess.Popen(
        arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8"
    )


def _said(process: subprocess.Popen[str]) -> str:
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    assert not err
    return out.strip()


def test_two_at_a_time_make_it_once_kept_it_needs_no_numba(tmp_path: Path) -> None:
    said = [_said(each) for each in [_run(tmp_path), _run(tmp_path)]]
    assert "807.0 True" in said
    assert set(said) <= {"807.0 True", "807.0 False"}  # one may come when the other is done
    assert len(list(tmp_path.iterdir())) == 1
    assert _said(_run(tmp_path)) == "807.0 False"


def test_where_nothing_can_be_kept_it_is_made_each_time(tmp_path: Path) -> None:
    file = tmp_path / "a file in place of a folder"
    file.touch()
    assert _said(_run(file, file / "below")) == "807.0 True"


def test_the_second_folder_serves_where_the_first_cannot_be_written_to(tmp_path: Path) -> None:
    file, own = tmp_path / "file", tmp_path / "own"
    file.touch()
    assert _said(_run(file, own)) == "807.0 True"
    assert _said(_run(file, own)) == "807.0 False"


@pytest.mark.parametrize("damage", ["cut short", "emptied", "a bit turned"])
def test_what_is_damaged_is_made_anew(
    damage: str, tmp_path: Path, machine: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiled, "_compiled", lambda machine: b"machine code")
    assert compiled.machine_code(machine, (tmp_path,)) == b"machine code"
    (kept,) = tmp_path.iterdir()
    whole = kept.read_bytes()
    turned = bytes([*whole[:-1], whole[-1] ^ 1])
    kept.write_bytes({"cut short": whole[:-1], "emptied": b"", "a bit turned": turned}[damage])
    assert compiled.machine_code(machine, (tmp_path,)) == b"machine code"
    assert kept.read_bytes() == whole


def test_other_loops_or_another_processor_have_other_code(
    tmp_path: Path, machine: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiled, "_compiled", lambda machine: b"")
    compiled.machine_code(machine, (tmp_path,))
    monkeypatch.setattr(compiled, "_features", lambda: "+one-more")
    compiled.machine_code(machine, (tmp_path,))
    edited = tmp_path / "sub" / "loops.py"
    edited.parent.mkdir()
    edited.write_text("pass\n", encoding="utf-8")
    monkeypatch.setattr(compiled, "LOOPS", edited)
    compiled.machine_code(machine, (tmp_path,))
    assert len(list(tmp_path.glob("*.o"))) == 3


def test_the_code_calls_for_nothing_outside_itself() -> None:
    """Else it would run on what only numba, or this run of it, has."""
    import numba

    from curewindow.physics.balance import loops

    kinds: dict[str, Any] = {
        "n": numba.types.int64,
        "i": numba.types.CPointer(numba.types.int64),
        "d": numba.types.CPointer(numba.types.float64),
    }
    for name, arguments in compiled.ARGUMENTS.items():
        signature = numba.types.void(*(kinds[each] for each in arguments))
        text = numba.cfunc(signature, error_model="numpy")(getattr(loops, name)).inspect_llvm()
        outside = re.findall(r"^declare .*@([\w.]+)\(", text, re.MULTILINE)
        assert all(each.startswith("llvm.") for each in outside), outside
        assert "external global" not in text


def test_the_second_folder_is_where_all_else_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    for value in ("~/kept", "/var/tmp/kept"):
        monkeypatch.setenv("CUREWINDOW_CACHE", value)
        assert compiled._folders()[1] == cache_folder()
    monkeypatch.delenv("CUREWINDOW_CACHE")
    assert compiled._folders()[1] == cache_folder()
