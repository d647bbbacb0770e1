"""Names are the field's: the guide's glossary says which, and one class has one name."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import sources

GUIDE = sources.ROOT / "DEVELOPERS.md"

# The wheel is tested from a folder that has the tests and no guide.
pytestmark = pytest.mark.skipif(not GUIDE.exists(), reason="no guide beside the tests")

# Names that still are the glossary's third column: 'path name'. There are none left.
LEFT: frozenset[str] = frozenset()
# Phrases still in docstrings and comments: 'path phrase'. The list only shrinks.
SAID: frozenset[str] = frozenset()

# Where the words have their plain meaning.
PLAIN = (("in", "the", "way"), ("turn", "down"), ("tell", "systemd"), ("standing", "alone"))


def _files() -> Iterator[tuple[str, tuple[ast.AST, ...]]]:
    for path in sources.FILES:
        yield sources.name(path), sources.nodes(path)


def glossary() -> list[tuple[str, str, list[str]]]:
    """(say, what it is, not) of each row of the guide's 'Words of the house'."""
    text = GUIDE.read_text("utf-8").split("## Words of the house\n")[1].split("\n## ")[0]
    rows = [line.strip("|").split("|") for line in text.splitlines() if line.startswith("| ")]
    return [
        (say.strip(), what.strip(), [each.strip() for each in no.split(",") if each.strip()])
        for say, what, no in rows[1:]
    ]


def words_of(name: str) -> tuple[str, ...]:
    """('held', 'long', 'runs') of 'held_long_runs' or 'HeldLongRuns'."""
    parts = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "_", name).lower().split("_")
    return tuple(part for part in parts if part)


def has(name: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    return any(name[at : at + len(phrase)] == phrase for at in range(len(name) - len(phrase) + 1))


def names() -> Iterator[tuple[str, str]]:
    """(path, name) of every module, class and function."""
    for path, nodes in _files():
        yield path, Path(path).stem
        for node in nodes:
            if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
                yield path, node.name


def homely(name: str, unwanted: list[tuple[str, ...]]) -> bool:
    words = words_of(name)
    if any(has(words, plain) for plain in PLAIN):
        return False
    return any(has(words, phrase) for phrase in unwanted)


def _unwanted() -> list[tuple[str, ...]]:
    return [tuple(each.lower().split()) for _, _, no in glossary() for each in no]


def test_the_glossary_says_each_thing_once() -> None:
    rows = glossary()
    said = [each.strip() for say, _, _ in rows for each in say.split(",")]
    refused = [each for _, _, no in rows for each in no]
    assert len(rows) > 40
    assert len(set(said)) == len(said)
    assert len(set(refused)) == len(refused)
    assert not set(said) & set(refused)
    assert all(what for _, what, _ in rows)


def test_names_are_the_fields() -> None:
    unwanted = _unwanted()
    found = {f"{path} {name}" for path, name in names() if homely(name, unwanted)}
    assert not found - LEFT, "say it in the glossary's words:\n" + "\n".join(sorted(found - LEFT))
    assert not LEFT - found, "gone: take them off LEFT:\n" + "\n".join(sorted(LEFT - found))


def test_a_class_name_stands_once() -> None:
    where = defaultdict(list)
    for path, nodes in _files():
        for node in nodes:
            if isinstance(node, ast.ClassDef):
                where[node.name].append(path)
    twice = {name: paths for name, paths in where.items() if len(paths) > 1}
    assert not twice, f"two classes of one name: {twice}"


def test_docstrings_say_it_so() -> None:
    phrases = [" ".join(each) for each in _unwanted() if len(each) > 1]
    found = set()
    for path, _ in _files():
        text = " ".join((sources.ROOT / path).read_text("utf-8").lower().split())
        found |= {f"{path} {phrase}" for phrase in phrases if re.search(rf"\b{phrase}\b", text)}
    assert not found - SAID, "say it in the glossary's words:\n" + "\n".join(sorted(found - SAID))
    assert not SAID - found, "gone: take them off SAID:\n" + "\n".join(sorted(SAID - found))


def test_the_guard_sees_them() -> None:
    unwanted = [("throws",), ("held", "up"), ("way",)]
    assert homely("_usual_throws", unwanted)
    assert homely("HeldUpBy", unwanted)
    assert homely("CoatWay", unwanted)
    assert not homely("in_the_way", unwanted)
    assert not homely("throwsaway", unwanted)
