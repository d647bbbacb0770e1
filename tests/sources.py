"""The project's own Python files, each read once by whichever test asks first."""

from __future__ import annotations

import ast
import functools
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "curewindow"
SERVICE = ROOT / "service" / "curewindow_service"
FILES = [path for top in (PACKAGE, SERVICE) for path in sorted(top.rglob("*.py"))]


@functools.cache
def tree(path: Path) -> ast.Module:
    """A file's syntax tree: every worker imports these tests, few need the trees."""
    return ast.parse(path.read_text(encoding="utf-8"))


@functools.cache
def nodes(path: Path) -> tuple[ast.AST, ...]:
    """Every node of that tree, as ``ast.walk`` gives them."""
    return tuple(ast.walk(tree(path)))


def name(path: Path) -> str:
    """A file as the checkout names it."""
    return path.relative_to(ROOT).as_posix()
