"""What the rules' room writes down stands nowhere else in the house."""

from __future__ import annotations

import ast
import functools
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from tests import sources
from tests.sources import FILES

RULES = sources.PACKAGE / "rules"


def _lists(path: Path) -> Iterator[ast.expr]:
    """The tuples, lists and sets written in a file, but for the choices a Literal lists."""
    nodes = sources.nodes(path)
    choices = {
        id(part)
        for node in nodes
        if isinstance(node, ast.Subscript) and getattr(node.value, "id", "") == "Literal"
        for part in ast.walk(node)
    }
    for node in nodes:
        if isinstance(node, ast.Tuple | ast.List | ast.Set) and id(node) not in choices:
            yield node


def _words(node: ast.AST) -> frozenset[str]:
    """The strings of a literal tuple, list or set of nothing but strings; else none."""
    if not isinstance(node, ast.Tuple | ast.List | ast.Set) or len(node.elts) < 2:
        return frozenset()
    found = [each.value for each in node.elts if isinstance(each, ast.Constant)]
    words = [each for each in found if isinstance(each, str)]
    return frozenset(words) if len(words) == len(node.elts) else frozenset()


def _named_lists() -> Iterator[tuple[str, frozenset[str]]]:
    for path in sorted(RULES.glob("*.py")):
        for node in sources.tree(path).body:
            if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
                target = node.target if isinstance(node, ast.AnnAssign) else node.targets[0]
                if words := _words(node.value):
                    yield ast.unparse(target), words


NAMED = dict(_named_lists())


@functools.cache
def _lists_elsewhere() -> dict[frozenset[str], list[str]]:
    """Lists of strings outside the room, and where they stand."""
    found = defaultdict(list)
    for path in FILES:
        if RULES not in path.parents:
            for node in _lists(path):
                found[_words(node)].append(f"{sources.name(path)}:{node.lineno}")
    return dict(found)


@pytest.mark.parametrize("name", sorted(NAMED))
def test_a_list_of_the_rules_stands_once(name: str) -> None:
    """A copy of it, in whatever order, would one day say something else."""
    copies = _lists_elsewhere().get(NAMED[name])
    assert not copies, f"use curewindow.rules: {name}"


def test_the_lists_are_found() -> None:
    """Or the test above would pass for want of anything to look for."""
    assert {"SANDABLE", "COVERED", "WITH_PRODUCT", "MAKES_DUST", "NOT_TO_SLEEP_OVER"} <= set(NAMED)


def _numbers(nodes: Iterable[ast.AST]) -> Iterator[tuple[int, float]]:
    for node in nodes:
        if isinstance(node, ast.Constant) and isinstance(node.value, float):
            yield node.lineno, node.value


def test_the_gas_constant_of_vapour_is_worked_out_once() -> None:
    """From the molar gas constant and the molar mass of water, and written nowhere."""
    found = [
        f"{sources.name(path)}:{line}"
        for path in FILES
        for line, value in _numbers(sources.nodes(path))
        if 461.0 <= value <= 462.0 or value == 8.314462618
    ]
    assert [each.split(":")[0] for each in found] == ["curewindow/physics/elementwise.py"]


def _compares(nodes: Iterable[ast.AST], name: str) -> Iterator[ast.Compare]:
    for node in nodes:
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            if any(getattr(side, "attr", getattr(side, "id", "")) == name for side in sides):
                yield node


def test_from_which_chance_a_thing_is_sure_is_asked_in_one_way() -> None:
    found = [
        f"{sources.name(path)}:{node.lineno}"
        for path in FILES
        for node in _compares(sources.nodes(path), "confidence")
        for number in ast.walk(node)
        if isinstance(number, ast.Constant) and isinstance(number.value, float)
    ]
    assert not found, "use curewindow.rules.chance.worth_saying"


def test_bedtime_is_no_number_elsewhere() -> None:
    found = [
        f"{sources.name(path)}:{node.lineno}"
        for path in FILES
        if RULES not in path.parents and path.name != "service.py"  # its quiet hours: a setting
        for node in sources.nodes(path)
        if isinstance(node, ast.Call)
        and getattr(node.func, "id", "") == "time"
        and [getattr(each, "value", None) for each in node.args] == [22]
    ]
    assert not found, "use curewindow.rules.sleep"
