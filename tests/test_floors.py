"""Imports point one way, physics knows only numpy, and no file outgrows a reader."""

from __future__ import annotations

import ast
import functools
import sys
from collections.abc import Iterable
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

from tests import sources

ROOT, PACKAGE, SERVICE = sources.ROOT, sources.PACKAGE, sources.SERVICE
LONGEST = 600

# From the ground up. A name may import its own floor and those below; between
# names on one floor only circles are forbidden.
FLOORS: tuple[tuple[str, ...], ...] = (
    ("physics",),
    ("errors", "nearest", "numbers", "trust"),
    (
        "answers",
        "drawing",
        "ending",
        "files",
        "findings",
        "handwritten",
        "quantity",
        "readback",
        "series",
        "transaction",
        "wording",
    ),
    # A sheet's check and the rules about it read each other's files, no two in a circle.
    ("boat", "rules", "sheets"),
    # It says findings and the smallest answers, so that it needs nothing above.
    ("voice",),
    ("weather",),
    ("backup", "record"),
    ("conditions", "curing"),
    ("fitting",),
    ("clocks", "windows"),
    ("cautions", "changes"),
    ("heating", "order", "season"),
    ("situation",),
    ("judgement",),
    ("daysheet",),
    (
        "calendar",
        "calibration",
        "charts",
        "demo",
        "explain",
        "logbook",
        "paper",
        "reminders",
        "supplies",
    ),
    ("fleet",),
    ("cli",),
    ("__main__",),
)
RANK = {name: rank for rank, floor in enumerate(FLOORS) for name in floor}


def _module(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _imports(nodes: Iterable[ast.AST]) -> list[tuple[int, int, str]]:
    """(line, level, module) of each import in a file: in functions and under TYPE_CHECKING too."""
    found: list[tuple[int, int, str]] = []
    for node in nodes:
        if isinstance(node, ast.Import):
            found += [(node.lineno, 0, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            # 'from curewindow.boat import hours' may mean the module curewindow.boat.hours.
            base = node.module or ""
            found += [(node.lineno, node.level, base)]
            found += [(node.lineno, node.level, f"{base}.{alias.name}") for alias in node.names]
    return found


FILES = {_module(path): path for path in sorted(PACKAGE.rglob("*.py"))}


@functools.cache
def _imports_of_all() -> dict[str, list[tuple[int, int, str]]]:
    """Read when first asked for: every worker imports this file, one needs them."""
    return {name: _imports(sources.nodes(path)) for name, path in FILES.items()}


def _floor(module: str) -> str | None:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 and parts[0] == "curewindow" else None


def test_every_module_has_a_floor() -> None:
    strangers = {floor for name in FILES if (floor := _floor(name)) and floor not in RANK}
    assert not strangers, f"give {sorted(strangers)} a floor in FLOORS"


def test_nothing_imports_upward() -> None:
    wrong = []
    for name, imports in _imports_of_all().items():
        own = _floor(name)
        if own is None:  # curewindow/__init__.py hands names on from every floor
            continue
        for line, level, target in imports:
            if level:
                wrong.append(f"{FILES[name]}:{line}: relative import")
            if target.split(".")[0] == "curewindow_service":
                wrong.append(f"{FILES[name]}:{line}: the package does not know its service")
            floor = _floor(target)
            # 'from curewindow import __version__' names no floor.
            if floor in RANK and RANK[floor] > RANK[own]:
                wrong.append(f"{FILES[name]}:{line}: {own} imports {floor}, which stands above it")
    assert not wrong, "\n".join(wrong)


def test_no_circles() -> None:
    """Also between files of one floor; graphlib raises CycleError and names the circle."""
    graph: dict[str, set[str]] = {}
    for name, imports in _imports_of_all().items():
        targets = {target for _, _, target in imports} & set(FILES)
        # A file importing a sibling by 'from package.sibling import x' does not
        # wait for what the package's __init__ hands on.
        graph[name] = {
            target
            for target in targets - {name}
            if not (target != "curewindow" and name.startswith(target + "."))
        } - {"curewindow"}
    TopologicalSorter(graph).prepare()


def test_physics_knows_only_numpy() -> None:
    """And one file of it what makes machine code, and where that may be kept."""
    allowed = {"numpy", *sys.stdlib_module_names}
    compiles = {"curewindow.physics.balance.compiled": {"llvmlite", "numba", "platformdirs"}}
    wrong = [
        f"{FILES[name]}:{line}: {target}"
        for name, imports in _imports_of_all().items()
        if _floor(name) == "physics"
        for line, _, target in imports
        if target.split(".")[0] not in allowed | compiles.get(name, set())
        and _floor(target) != "physics"
    ]
    assert not wrong, "\n".join(wrong)


def test_the_service_knows_nothing_of_the_command_line() -> None:
    """Both are faces: what one needs of the other belongs below both."""
    wrong = [
        f"{path}:{line}: {target}"
        for path in sorted(SERVICE.rglob("*.py"))
        for line, _, target in _imports(sources.nodes(path))
        if _floor(target) in ("cli", "__main__")
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("folder", [PACKAGE, SERVICE], ids=lambda path: path.name)
def test_no_file_outgrows_a_reader(folder: Path) -> None:
    long = {
        str(path.relative_to(ROOT)): count
        for path in folder.rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST
    }
    assert not long, f"split by subject: {long}"


def test_the_guard_itself_sees_hidden_imports() -> None:
    """An import in a function or under TYPE_CHECKING counts."""
    tree = ast.parse(
        "from typing import TYPE_CHECKING\n"
        "if TYPE_CHECKING:\n    from curewindow.cli import main\n"
        "def f():\n    import curewindow.windows.find\n"
    )
    found = {_floor(target) for _, _, target in _imports(ast.walk(tree))}
    assert {"cli", "windows"} <= found
