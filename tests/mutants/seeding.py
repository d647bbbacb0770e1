"""Small faults put into the source, one at a time: which there are, and what each makes of a file.

A fault is known by the file, the function it stands in and what is changed there, not by a line
number, so that it stays the same fault when the lines around it move.
"""

from __future__ import annotations

import ast
import copy
import hashlib
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

_COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.Gt),
    ast.LtE: (ast.Lt, ast.GtE),
    ast.Gt: (ast.GtE, ast.Lt),
    ast.GtE: (ast.Gt, ast.LtE),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
# What stands for the other side of something: the wrong one is the fault most easily made.
_SIDES = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "any": "all",
    "all": "any",
    "floor": "ceil",
    "ceil": "floor",
    "fmin": "fmax",
    "fmax": "fmin",
    "argmin": "argmax",
    "argmax": "argmin",
}
_WORDS = {"slow": "quick", "quick": "slow", "min": "max", "max": "min"}


@dataclass(frozen=True)
class Fault:
    """One fault that can be put in.

    Attributes
    ----------
    key : str
        Finds it again: file, function, change, and which of several alike.
    path : str
        File, from the root of the project.
    index : int
        Its place in the walk through the file's tree.
    way : int
        Which of the changes possible there.
    """

    key: str
    path: str
    index: int
    way: int

    def order(self, seed: int) -> str:
        """Where it comes in the draw: by its key alone, whatever other faults there are."""
        return hashlib.sha256(f"{seed}|{self.key}".encode()).hexdigest()


def faults_in(path: str, source: str) -> list[Fault]:
    """All faults that can be put into a file."""
    found: list[Fault] = []
    alike: Counter[str] = Counter()
    tree = ast.parse(source)
    for index, (node, inside) in enumerate(_places(tree)):
        for way, change in enumerate(_changes(node)):
            changed = copy.deepcopy(node)
            change(changed)
            name = f"{path}::{inside}::{ast.unparse(node)} -> {ast.unparse(changed)}"
            alike[name] += 1
            key = name if alike[name] == 1 else f"{name} #{alike[name]}"
            found.append(Fault(key, path, index, way))
    return found


def with_fault(source: str, fault: Fault) -> str:
    """The file with the fault in it."""
    tree = ast.parse(source)
    for index, (node, _) in enumerate(_places(tree)):
        if index == fault.index:
            _changes(node)[fault.way](node)
            break
    return ast.unparse(ast.fix_missing_locations(tree))


def lines_of(source: str, fault: Fault) -> range:
    """The lines a fault changes; none where they run on import, and so for every test."""
    tree = ast.parse(source)
    changed = next(node for index, (node, _) in enumerate(_places(tree)) if index == fault.index)
    functions = (ast.FunctionDef, ast.AsyncFunctionDef)
    bodies = [each.body for each in ast.walk(tree) if isinstance(each, functions)]
    if any(node is changed for body in bodies for line in body for node in ast.walk(line)):
        return range(changed.lineno, (changed.end_lineno or changed.lineno) + 1)
    return range(0)


def _places(tree: ast.Module) -> Iterator[tuple[ast.expr, str]]:
    """Expressions that decide something, with the function each stands in.

    What is said to people, declared to a type checker or raised is no such thing.
    """

    def walk(node: ast.AST, inside: str) -> Iterator[tuple[ast.expr, str]]:
        if isinstance(node, ast.Raise | ast.JoinedStr | ast.Import | ast.ImportFrom | ast.Assert):
            return
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            inside = f"{inside}.{node.name}" if inside else node.name
            for decorator_or_default in _run_in(node):
                yield from walk(decorator_or_default, inside)
            return
        if isinstance(node, ast.AnnAssign):
            if node.value is not None:
                yield from walk(node.value, inside)
            return
        if isinstance(node, ast.expr) and inside and _changes(node):
            yield node, inside
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            return
        for child in ast.iter_child_nodes(node):
            yield from walk(child, inside)

    yield from walk(tree, "")


def _run_in(node: ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) -> Iterator[ast.AST]:
    if not isinstance(node, ast.ClassDef):
        yield from node.args.defaults
        yield from (each for each in node.args.kw_defaults if each is not None)
    yield from node.body


def _changes(node: ast.AST) -> list[Callable[[ast.AST], None]]:
    """What can be changed in an expression itself, not in those below it."""
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        return [_set_op(other) for other in _COMPARED.get(type(node.ops[0]), ())]
    if isinstance(node, ast.BinOp) and type(node.op) in _RECKONED:
        if isinstance(node.left, ast.Constant | ast.JoinedStr) and not _number(node.left):
            return []  # text is joined, not reckoned
        return [_set("op", _RECKONED[type(node.op)])]
    if isinstance(node, ast.BoolOp):
        return [_set("op", ast.Or if isinstance(node.op, ast.And) else ast.And)]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return [] if isinstance(node.operand, ast.Constant) else [_set("op", ast.UAdd)]
    if isinstance(node, ast.Constant):
        return _constants(node)
    if isinstance(node, ast.Call) and (name := _called(node)) in _SIDES:
        return [_call(_SIDES[name])]
    if isinstance(node, ast.IfExp):
        return [_swap_branches]
    return []


def _number(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, int | float)


def _constants(node: ast.Constant) -> list[Callable[[ast.AST], None]]:
    value = node.value
    if isinstance(value, bool):
        return [_value(not value)]
    if isinstance(value, int):
        return [_value(value + 1)]
    if isinstance(value, float):
        return [_value(value * 1.1 if value else 0.5)]
    if isinstance(value, str) and value in _WORDS:
        return [_value(_WORDS[value])]
    return []


def _called(node: ast.Call) -> str:
    if isinstance(node.func, ast.Name):
        return node.func.id
    return node.func.attr if isinstance(node.func, ast.Attribute) else ""


def _set_op(other: type[ast.cmpop]) -> Callable[[ast.AST], None]:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.Compare)
        node.ops[0] = other()

    return change


def _set(name: str, kind: type[ast.AST]) -> Callable[[ast.AST], None]:
    return lambda node: setattr(node, name, kind())


def _value(value: object) -> Callable[[ast.AST], None]:
    return lambda node: setattr(node, "value", value)


def _call(other: str) -> Callable[[ast.AST], None]:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.Call)
        if isinstance(node.func, ast.Name):
            node.func.id = other
        else:
            assert isinstance(node.func, ast.Attribute)
            node.func.attr = other

    return change


def _swap_branches(node: ast.AST) -> None:
    assert isinstance(node, ast.IfExp)
    node.body, node.orelse = node.orelse, node.body


def drawn(root: Path, globs: tuple[str, ...], count: int, seed: int) -> list[Fault]:
    """So many faults of these files, the same ones as long as they can be put in.

    Raises
    ------
    SystemExit
        A pattern finds no file: it has moved, and the table does not know.
    """
    found: list[Fault] = []
    for pattern in globs:
        paths = sorted(root.glob(pattern))
        if not paths:
            raise SystemExit(f"no file is '{pattern}': say in ROOMS where it has gone")
        for path in paths:
            name = path.relative_to(root).as_posix()
            found += faults_in(name, path.read_text("utf-8"))
    return sorted(found, key=lambda fault: fault.order(seed))[:count]
