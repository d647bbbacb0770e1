"""What the rules' room writes down stands nowhere else in the house."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
RULES = ROOT / "curewindow" / "rules"
FILES = [
    path
    for folder in (ROOT / "curewindow", ROOT / "service" / "curewindow_service")
    for path in sorted(folder.rglob("*.py"))
]
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in FILES}


def _expressions(tree: ast.AST) -> Iterator[ast.AST]:
    """Every part of a file but the choices a Literal lists."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Subscript) and getattr(node.value, "id", "") == "Literal":
            continue
        yield node
        yield from _expressions(node)


def _words(node: ast.AST) -> frozenset[str]:
    """The strings of a literal tuple, list or set of nothing but strings; else none."""
    if not isinstance(node, ast.Tuple | ast.List | ast.Set) or len(node.elts) < 2:
        return frozenset()
    found = [each.value for each in node.elts if isinstance(each, ast.Constant)]
    words = [each for each in found if isinstance(each, str)]
    return frozenset(words) if len(words) == len(node.elts) else frozenset()


def _named_lists() -> Iterator[tuple[str, frozenset[str]]]:
    for path in sorted(RULES.glob("*.py")):
        for node in TREES[path].body:
            value = node.value if isinstance(node, ast.Assign | ast.AnnAssign) else None
            target = node.target if isinstance(node, ast.AnnAssign) else None
            if value is not None and (words := _words(value)):
                yield getattr(target, "id", "?"), words


NAMED = dict(_named_lists())


@pytest.mark.parametrize("name", sorted(NAMED))
def test_a_list_of_the_rules_stands_once(name: str) -> None:
    """A copy of it, in whatever order, would one day say something else."""
    copies = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path, tree in TREES.items()
        if RULES not in path.parents
        for node in _expressions(tree)
        if _words(node) == NAMED[name]
    ]
    assert not copies, f"use curewindow.rules: {name}"


def test_the_lists_are_found() -> None:
    """Or the test above would pass for want of anything to look for."""
    assert {"SANDABLE", "COVERED", "WITH_PRODUCT", "MAKES_DUST", "NOT_TO_SLEEP_OVER"} <= set(NAMED)


def _numbers(tree: ast.AST) -> Iterator[tuple[int, float]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, float):
            yield node.lineno, node.value


def test_the_gas_constant_of_vapour_is_worked_out_once() -> None:
    """From the molar gas constant and the molar mass of water, and written nowhere."""
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for path, tree in TREES.items()
        for line, value in _numbers(tree)
        if 461.0 <= value <= 462.0 or value == 8.314462618
    ]
    assert [each.split(":")[0] for each in found] == ["curewindow/physics/elementwise.py"]


def _compares(tree: ast.AST, name: str) -> Iterator[ast.Compare]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            if any(getattr(side, "attr", getattr(side, "id", "")) == name for side in sides):
                yield node


def test_from_which_chance_a_thing_is_sure_is_asked_in_one_way() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path, tree in TREES.items()
        for node in _compares(tree, "confidence")
        for number in ast.walk(node)
        if isinstance(number, ast.Constant) and isinstance(number.value, float)
    ]
    assert not found, "use curewindow.rules.chance.worth_saying"


def test_bedtime_is_no_number_elsewhere() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path, tree in TREES.items()
        if RULES not in path.parents and path.name != "service.py"  # its quiet hours: a setting
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and getattr(node.func, "id", "") == "time"
        and [getattr(each, "value", None) for each in node.args] == [22]
    ]
    assert not found, "use curewindow.rules.sleep"
