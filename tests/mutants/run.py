"""Seeded faults against the quick tests: which are caught, and which live unseen.

``python tests/mutants/run.py`` puts 200 faults into a scratch copy, one at a time, and runs those
of the quick tests nearest to each that ran its line while it was sound: the quickest first, and no
more than fit into ``--seconds``. Where all of them pass, the fault lives. (What another process
ran, or one test left worked out for the next, shows in no test's lines: so a fault may be told
alive that all of the tests would catch, never the other way.) What was tried before is not tried
again: stop it and start it as you like. What was caught stays so while its source and the file of
tests that caught it do; what lived is tried anew when any of the room's tests changes, or more
seconds are asked for. ``--only 20`` tries the first twenty of each draw, ``--room order`` one room,
``--key words`` those with that in their key, ``--list`` tries nothing. A fault that changes nothing
anyone could see is written into ``equivalent.txt``, as ``KEY -- why``.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import json
import os
import resource
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter, defaultdict
from itertools import accumulate
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT))

from tests.mutants.seeding import Fault, drawn, lines_of, with_fault  # noqa: E402
from tests.mutants.watching import Choosing, Ran, Watching  # noqa: E402

# Room: how many of 200, its files, and the quick tests nearest to it.
ROOMS: dict[str, tuple[int, tuple[str, ...], tuple[str, ...]]] = {
    "rules": (
        30,
        ("curewindow/rules/*.py",),
        (
            "tests/rules/test_limits.py",
            "tests/rules/test_uncertainty.py",
            "tests/rules/test_chance.py",
            "tests/rules/test_work.py",
            "tests/rules/test_unflued_run.py",
            "tests/windows",
            "tests/laws/test_windows.py",
            "tests/laws/test_unflued.py",
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
        ),
    ),
    "heating": (
        30,
        ("curewindow/heating/*.py",),
        ("tests/heating",),
    ),
    "order": (
        30,
        ("curewindow/order/*.py",),
        (
            "tests/order/test_by_enumeration.py",
            "tests/order/test_slots.py",
            "tests/order/test_setpoints.py",
            "tests/order/test_kept.py",
            "tests/order/test_recoat_by_hand.py",
            "tests/order/test_sanded_first.py",
            "tests/order/test_second_opinion.py",
            "tests/order/test_demo_plan.py",
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
            "tests/laws/test_compiled_loops.py",
        ),
    ),
}
EQUIVALENT = HERE / "equivalent.txt"
TRIED = ROOT / ".mutants.jsonl"
WATCHED = ROOT / ".mutants-watched.json"
MOST_S = 6.0  # of the processor, unless more is asked for
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
    "pytest_cov.plugin",
    "respx",
    "schemathesis.pytest.plugin",
    "scipy.optimize",
    "time_machine",
    "xdist.plugin",
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


def mark(*names: str) -> str:
    """Another one as soon as one of these files, or of those in these folders, is."""
    told = hashlib.sha256()
    for name in (*names, "tests/checker.py", "tests/conftest.py"):
        top = ROOT / name
        for path in sorted(top.rglob("*.py")) if top.is_dir() else [top]:
            told.update(path.read_bytes() if path.exists() else b"gone")
    return told.hexdigest()[:16]


def trial(room: Path, fault: Fault, ran: Ran, most: float) -> tuple[str, str]:
    """'caught' or 'alive', and the test that caught it; 'caught: too slow' by none."""
    file = room / fault.path
    source = file.read_text("utf-8")
    near = _near(fault, source, ran, most)
    if not near:
        return "alive", ""
    file.write_text(with_fault(source, fault), "utf-8")
    compiled = Path(importlib.util.cache_from_source(str(file)))
    compiled.unlink(missing_ok=True)  # its time counts whole seconds only
    most_s = 30 + 4 * int(sum(ran["seconds"][each] for each in near))
    try:
        plugin = Choosing(near, room / "failed.txt")
        return _tested(room, tuple(dict.fromkeys(map(_file, near))), plugin, most_s)
    finally:
        file.write_text(source, "utf-8")
        compiled.unlink(missing_ok=True)


def _near(fault: Fault, source: str, ran: Ran, most: float) -> tuple[str, ...]:
    """The tests that ran any of the lines a fault changes, file by file, the quickest first."""
    changed, took = lines_of(source, fault), ran["seconds"]
    lines = ran["lines"].get(fault.path, {})
    found = {each for line in changed for each in lines.get(str(line), ())} if changed else {*took}
    quickest = sorted(found, key=took.__getitem__)
    total = accumulate(took[each] for each in quickest)
    found = {each for each, by_then in zip(quickest, total, strict=True) if by_then <= most}
    by_file: dict[str, float] = defaultdict(float)
    for each in found:
        by_file[_file(each)] += took[each]
    return tuple(sorted(found, key=lambda each: (by_file[_file(each)], _file(each), took[each])))


def _file(test: str) -> str:
    return test.split("::")[0]


def _tested(room: Path, tests: tuple[str, ...], plugin: object, most_s: int) -> tuple[str, str]:
    """What the tests say, in a process that has loaded everything but us."""
    failed = room / "failed.txt"
    failed.unlink(missing_ok=True)
    child = os.fork()
    if child == 0:
        code = 70
        try:
            code = _pytest(room, tests, plugin, most_s)
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(code)  # what the parent made is the parent's to clear away
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return "caught: too slow", ""
    code = os.WEXITSTATUS(status)
    if code == 0:
        return "alive", ""
    if code in (1, 2):
        return "caught", failed.read_text("utf-8") if failed.exists() else ""
    raise SystemExit(f"pytest ended with {code}: {(room / 'said.txt').read_text()[-2000:]}")


def _pytest(room: Path, tests: tuple[str, ...], plugin: object, most_s: int) -> int:
    """Run the tests in this process, what it says in a file."""
    os.setsid()
    resource.setrlimit(resource.RLIMIT_CPU, (most_s, most_s + 5))
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
    words += ["-W", "ignore:Module already imported", f"--basetemp={room / 'tmp'}"]
    return int(pytest.main(words, plugins=[plugin]))


def main() -> int:
    """Draw, try, tell."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", type=int, help="so many of each room at most")
    asked.add_argument("--room", choices=ROOMS, action="append")
    asked.add_argument("--key", help="those whose key has this in it")
    asked.add_argument("--seconds", type=float, default=MOST_S, help="of tests for each fault")
    asked.add_argument("--list", action="store_true", help="draw them, try none")
    words = asked.parse_args()
    known, counts, living = equivalents(), Counter[tuple[str, str]](), []
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    for name in _BEFOREHAND:
        __import__(name)
    with tempfile.TemporaryDirectory() as place:
        room = Path(place)
        if not words.list:
            scratch(room)
        for name in words.room or ROOMS:
            count, globs, tests = ROOMS[name]
            faults, ran = drawn(ROOT, globs, count, words.seed), None
            for fault in faults[: words.only]:
                if words.key and words.key not in fault.key:
                    continue
                if words.list:
                    print(name, fault.key)  # noqa: T201
                    continue
                if fault.key in known:
                    came = "equivalent"
                elif before := _tried_before(fault, tests, words.seconds):
                    came = before[0]
                else:
                    ran = ran or watched(room, name)
                    began = time.monotonic()
                    came, by = trial(room, fault, ran, words.seconds)
                    _keep(fault, tests, came, by, words.seconds)
                    took = time.monotonic() - began
                    print(f"{came} ({took:.0f} s) {fault.key} [{by}]", flush=True)  # noqa: T201
                counts[name, came.split(":")[0]] += 1
                if came == "alive":
                    living.append(fault.key)
    if not words.list:
        print(table(counts))  # noqa: T201
    print("".join(f"alive: {key}\n" for key in living), end="")  # noqa: T201
    return 0


def table(counts: Counter[tuple[str, str]]) -> str:
    """Room by room and of all, with the share caught of those that matter."""
    kinds = ("caught", "equivalent", "alive")
    rows = {room: [counts[room, kind] for kind in kinds] for room, _ in counts}
    rows["all"] = [sum(each) for each in zip(*rows.values(), strict=True)]
    lines = ["".join(f"{each:>12}" for each in ("room", *kinds, "share"))]
    for room, (caught, equivalent, alive) in rows.items():
        share = f"{100.0 * caught / (caught + alive):.0f} %" if caught + alive else "-"
        lines.append("".join(f"{x:>12}" for x in (room, caught, equivalent, alive, share)))
    return "\n".join(lines)


def watched(room: Path, name: str) -> Ran:
    """Which of a room's tests ran which lines; they fail without a fault, and nothing is tried."""
    kept = json.loads(WATCHED.read_text("utf-8")) if WATCHED.exists() else {}
    came = Ran(lines={}, seconds={})
    for tests in ROOMS[name][2]:
        if kept.get(tests, {}).get("marks", {}).get(name) != mark(tests, *_sources(name)):
            globs = tuple(glob for _, globs, _ in ROOMS.values() for glob in globs)
            plugin = Watching(room, globs, room / "ran.json")
            if _tested(room, (tests,), plugin, 3600)[0] != "alive":
                said = (room / "said.txt").read_text()
                raise SystemExit(f"the tests fail without a fault:\n{said[-3000:]}")
            kept[tests] = json.loads((room / "ran.json").read_text("utf-8"))
            kept[tests]["marks"] = {each: mark(tests, *_sources(each)) for each in ROOMS}
            WATCHED.write_text(json.dumps(kept), "utf-8")
        came["seconds"] |= kept[tests]["seconds"]
        for path, lines in kept[tests]["lines"].items():
            for line, names in lines.items():
                came["lines"].setdefault(path, {}).setdefault(line, []).extend(names)
    return came


def _sources(name: str) -> list[str]:
    return sorted(str(path) for glob in ROOMS[name][1] for path in ROOT.glob(glob))


def _tried_before(fault: Fault, tests: tuple[str, ...], most: float) -> tuple[str, str] | None:
    if TRIED.exists():
        for line in reversed(TRIED.read_text("utf-8").splitlines()):
            each = json.loads(line)
            if each["key"] == fault.key:
                by = each["by"]
                if not by and each["seconds"] < most:
                    return None
                if each["mark"] == mark(fault.path, *((_file(by),) if by else tests)):
                    return each["came"], each["by"]
    return None


def _keep(fault: Fault, tests: tuple[str, ...], came: str, by: str, most: float) -> None:
    held = mark(fault.path, *((_file(by),) if by else tests))
    with TRIED.open("a", encoding="utf-8") as file:
        told = {"key": fault.key, "mark": held, "came": came, "by": by, "seconds": most}
        file.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    sys.exit(main())
