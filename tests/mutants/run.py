"""Seeded faults against the quick tests: which are caught, and which live unseen.

``python tests/mutants/run.py`` puts 200 faults into a scratch copy, one at a time, and runs the
quick tests nearest to each. What was tried before, on the same source and the same tests, is not
tried again: stop it and start it as you like. ``--only 20`` tries the first twenty of each draw,
``--room order`` one room, ``--list`` tries nothing. A fault that changes nothing anyone could see
is written into ``equivalent.txt``, as ``KEY -- why``.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import resource
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT))

from tests.mutants.seeding import Fault, drawn, with_fault  # noqa: E402

# Room: how many of 200, its files, and the quick tests nearest to it, the quickest first.
ROOMS: dict[str, tuple[int, tuple[str, ...], tuple[str, ...]]] = {
    "rules": (
        30,
        ("curewindow/rules/*.py",),
        (
            "tests/rules/test_limits.py",
            "tests/windows",
            "tests/laws/test_windows.py",
            "tests/laws/test_unflued.py",
            "tests/test_agreement.py",
            "tests/daysheet/test_rules.py",
            "tests/daysheet/test_safe_side.py",
        ),
    ),
    "windows": (
        40,
        ("curewindow/windows/*.py",),
        (
            "tests/windows",
            "tests/laws/test_windows.py",
            "tests/test_agreement.py",
            "tests/daysheet/test_wet_surface.py",
            "tests/daysheet/test_safe_side.py",
        ),
    ),
    "clocks": (
        20,
        ("curewindow/clocks/*.py",),
        (
            "tests/windows/test_clocks.py",
            "tests/windows/test_recoat.py",
            "tests/daysheet/test_progress.py",
            "tests/daysheet/test_rules.py",
        ),
    ),
    "cure": (
        30,
        ("curewindow/curing/*.py", "curewindow/physics/cure/*.py"),
        (
            "tests/laws/test_cure.py",
            "tests/published/test_cure.py",
            "tests/windows",
            "tests/test_agreement.py",
        ),
    ),
    "heating": (
        30,
        ("curewindow/heating/*.py",),
        ("tests/heating", "tests/laws/test_heating.py", "tests/laws/test_unflued.py"),
    ),
    "order": (
        30,
        ("curewindow/order/*.py",),
        (
            "tests/order/test_recoat_by_hand.py",
            "tests/order/test_sanded_first.py",
            "tests/order/test_second_opinion.py",
            "tests/order/test_in_conflict.py",
            "tests/order",
        ),
    ),
    "balance": (
        20,
        ("curewindow/physics/balance/*.py",),
        (
            "tests/published/test_balance.py",
            "tests/laws/test_balance.py",
            "tests/laws/test_balance_together.py",
            "tests/published/test_balance_together.py",
            "tests/published/test_vdi_6007.py",
            "tests/conditions",
        ),
    ),
}
EQUIVALENT = HERE / "equivalent.txt"
TRIED = ROOT / ".mutants.jsonl"
CPU_S = 300
_COPIED = ("curewindow", "service", "products", "tests", "pyproject.toml", "README.md")
# Loaded once and handed to each trial: none of them is ours.
_BEFOREHAND = (
    "click",
    "httpx",
    "hypothesis",
    "numpy",
    "ortools.sat.python.cp_model",
    "pandas",
    "pydantic",
    "pytest",
    "schemathesis",
    "scipy.optimize",
)


def equivalents() -> dict[str, str]:
    """Faults judged by hand to change nothing that could be seen, and why."""
    lines = EQUIVALENT.read_text("utf-8").splitlines() if EQUIVALENT.exists() else []
    kept = [line for line in lines if line.strip() and not line.startswith("#")]
    return dict(line.split(" -- ", 1) for line in kept)


def scratch(room: Path) -> None:
    """A copy of what the tests need; what was compiled comes along, so that it stays quick."""
    for name in _COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, room / name)
        else:
            shutil.copy2(ROOT / name, room / name)


def mark(fault: Fault, tests: tuple[str, ...]) -> str:
    """Another one as soon as the source or one of the tests is."""
    told = hashlib.sha256((ROOT / fault.path).read_bytes())
    for name in (*tests, "tests/checker.py", "tests/conftest.py"):
        top = ROOT / name
        for path in [top] if top.is_file() else sorted(top.rglob("*.py")):
            told.update(path.read_bytes())
    return told.hexdigest()[:16]


def trial(room: Path, fault: Fault, tests: tuple[str, ...]) -> str:
    """'caught', 'caught: too slow' or 'alive'."""
    file = room / fault.path
    source = file.read_text("utf-8")
    file.write_text(with_fault(source, fault), "utf-8")
    try:
        return _tested(room, tests)
    finally:
        file.write_text(source, "utf-8")


def _tested(room: Path, tests: tuple[str, ...]) -> str:
    """What the tests say, in a process that has loaded everything but us."""
    child = os.fork()
    if child == 0:
        code = 70
        try:
            code = _pytest(room, tests)
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(code)  # what the parent made is the parent's to clear away
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return "caught: too slow"
    code = os.WEXITSTATUS(status)
    if code == 0:
        return "alive"
    if code in (1, 2):
        return "caught"
    raise SystemExit(f"pytest ended with {code}: {(room / 'said.txt').read_text()[-2000:]}")


def _pytest(room: Path, tests: tuple[str, ...]) -> int:
    """Run the tests in this process, what it says in a file."""
    os.setsid()
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S + 5))
    said = os.open(room / "said.txt", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(said, 1)
    os.dup2(said, 2)
    os.chdir(room)
    os.environ["PYTHONPATH"] = f"{room}{os.pathsep}{room / 'service'}"
    sys.path[:0] = [str(room), str(room / "service")]
    for name in [name for name in sys.modules if name.split(".")[0] == "tests"]:
        del sys.modules[name]
    import pytest

    words = ["-n", "0", "-x", "-q", "-p", "no:cacheprovider", *tests]
    words += ["-W", "ignore:Module already imported"]
    return int(pytest.main([*words, f"--basetemp={room / 'tmp'}"]))


def main() -> int:
    """Draw, try, tell."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", type=int, help="so many of each room at most")
    asked.add_argument("--room", choices=ROOMS, action="append")
    asked.add_argument("--key", help="those whose key has this in it")
    asked.add_argument("--list", action="store_true", help="draw them, try none")
    words = asked.parse_args()
    tried = {}
    if TRIED.exists():
        tried = {
            (each["key"], each["mark"]): each["came"]
            for each in map(json.loads, TRIED.read_text("utf-8").splitlines())
        }
    known, counts, living = equivalents(), Counter[str](), []
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    for name in _BEFOREHAND:
        __import__(name)
    with tempfile.TemporaryDirectory() as place:
        room = Path(place)
        if not words.list:
            scratch(room)
        for name in words.room or ROOMS:
            count, globs, tests = ROOMS[name]
            faults = drawn(ROOT, globs, count, words.seed)
            if not words.list:
                _sound(room, tests)
            for fault in faults[: words.only]:
                if words.key and words.key not in fault.key:
                    continue
                if words.list:
                    print(name, fault.key)  # noqa: T201
                    continue
                if fault.key in known:
                    came = "equivalent"
                else:
                    at = (fault.key, mark(fault, tests))
                    began = time.monotonic()
                    came = tried.get(at) or trial(room, fault, tests)
                    if at not in tried:
                        _keep(at, came)
                    print(f"{came} ({time.monotonic() - began:.0f} s) {fault.key}", flush=True)  # noqa: T201
                counts[came.split(":")[0]] += 1
                if came == "alive":
                    living.append(fault.key)
    judged = counts["caught"] + counts["alive"]
    share = 100.0 * counts["caught"] / judged if judged else 0.0
    print(  # noqa: T201
        f"\n{counts['caught']} caught, {counts['equivalent']} equivalent, "
        f"{counts['alive']} alive: {share:.0f} % of those that matter"
    )
    print("".join(f"alive: {key}\n" for key in living), end="")  # noqa: T201
    return 0


def _sound(room: Path, tests: tuple[str, ...]) -> None:
    """Tests that fail without any fault would catch everything."""
    if _tested(room, tests) != "alive":
        said = (room / "said.txt").read_text()
        raise SystemExit(f"the tests fail without a fault:\n{said[-3000:]}")


def _keep(at: tuple[str, str], came: str) -> None:
    with TRIED.open("a", encoding="utf-8") as file:
        file.write(json.dumps({"key": at[0], "mark": at[1], "came": came}) + "\n")


if __name__ == "__main__":
    sys.exit(main())
