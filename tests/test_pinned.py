"""The house runs on every Python it names, with the numpy pinned there: see constraints.txt."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests import sources

ROOT = Path(__file__).resolve().parents[1]
FILES = sorted(
    path
    for folder in ("curewindow", "service", "tests")
    for path in (ROOT / folder).rglob("*.py")
    if path != Path(__file__)
)
# Where each takes its unit. A value without one has the 'generic' unit, which numpy deprecates
# from 2.5 on (pinned for Python 3.12 and newer) and which 2.4 (for 3.11) takes in silence.
_UNIT_AT = {"datetime64": 1, "timedelta64": 1}


def _without_unit(tree: ast.AST) -> list[int]:
    """Lines that make a numpy time of no unit; one read from a full ISO text has its own."""
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
            continue
        at = _UNIT_AT.get(node.func.attr)
        if at is None or len(node.args) > at or not node.args:
            continue
        first = node.args[0]
        whole_number = isinstance(first, ast.Constant) and isinstance(first.value, int)
        not_a_time = isinstance(first, ast.Constant) and first.value in ("NaT", "nat", "")
        if not_a_time or whole_number or node.func.attr == "timedelta64":
            found.append(node.lineno)
    return found


@pytest.mark.parametrize("text", ['np.datetime64("NaT")', "np.timedelta64(3)", "np.timedelta64(n)"])
def test_the_guard_sees_a_time_without_a_unit(text: str) -> None:
    assert _without_unit(ast.parse(text)) == [1]
    assert not _without_unit(ast.parse(text.replace(")", ', "s")')))


def test_no_time_of_numpy_is_without_its_unit() -> None:
    wrong = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in FILES
        if any(name in path.read_text(encoding="utf-8") for name in _UNIT_AT)
        for line in _without_unit(sources.tree(path))
    ]
    assert not wrong, f"give the unit, as np.datetime64('NaT', 's'): {wrong}"
