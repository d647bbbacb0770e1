"""The seeder of faults: what it changes, what it leaves alone, and that it draws the same again."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.mutants.run import ROOMS
from tests.mutants.seeding import drawn, faults_in, with_fault

ROOT = Path(__file__).resolve().parents[2]


def seeded(body: str) -> set[str]:
    """Each fault of a function's one line, as that line stands with it."""
    source = f"def f(a, b):\n    return {body}\n"
    found = {with_fault(source, fault) for fault in faults_in("f.py", source)}
    return {text.splitlines()[1].removeprefix("    return ") for text in found}


@pytest.mark.parametrize(
    ("body", "faults"),
    [
        ("a < b", {"a <= b", "a > b"}),
        ("a is None", {"a is not None"}),
        ("a + b", {"a - b"}),
        ("a and b", {"a or b"}),
        ("max(a, b)", {"min(a, b)"}),
        ("np.minimum(a, b)", {"np.maximum(a, b)"}),
        ("a if b else f", {"f if b else a"}),
        ("3", {"4"}),
        ("0.0", {"0.5"}),
        ("True", {"False"}),
        ("'slow'", {"'quick'"}),
        ("'text' + a", set()),
        ("f'{a + b}'", set()),
        ("-a", {"+a"}),
    ],
)
def test_each_way_to_go_wrong(body: str, faults: set[str]) -> None:
    assert seeded(body) == faults


def test_what_is_said_or_declared_is_left_alone() -> None:
    source = (
        'LIMIT = 3\n\ndef f(a: "int | None" = None) -> "int | None":\n'
        '    """Two + two."""\n    assert a\n    raise ValueError(1 + 1)\n'
    )
    assert faults_in("f.py", source) == []


def test_every_fault_is_another_program_and_has_a_key_of_its_own() -> None:
    path = "curewindow/physics/cure/progress.py"
    source = (ROOT / path).read_text("utf-8")
    faults = faults_in(path, source)
    plain = ast.unparse(ast.parse(source))
    assert len({fault.key for fault in faults}) == len(faults) > 10
    assert all(with_fault(source, fault) != plain for fault in faults)


def test_a_line_more_moves_no_fault() -> None:
    source = "def f(a):\n    return a + 1\n"
    moved = "X = 2\n\n" + source
    assert [each.key for each in faults_in("f.py", source)] == [
        each.key for each in faults_in("f.py", moved)
    ]


def test_the_table_of_rooms_names_what_is_there() -> None:
    """Or a room that was moved is mutated no more, and nobody sees."""
    for room, (count, globs, tests) in ROOMS.items():
        assert len(drawn(ROOT, globs, count, 1)) == count, room
        gone = [name for name in tests if not (ROOT / name).exists()]
        assert not gone, f"say in ROOMS where they have gone: {gone}"


def test_the_same_are_drawn_again_and_a_pattern_without_files_is_told() -> None:
    globs = ("curewindow/physics/cure/*.py",)
    assert drawn(ROOT, globs, 5, 1) == drawn(ROOT, globs, 9, 1)[:5]
    with pytest.raises(SystemExit, match="no file"):
        drawn(ROOT, ("curewindow/nowhere/*.py",), 5, 1)
