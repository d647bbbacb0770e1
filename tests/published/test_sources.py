"""Every table of check values has its row in SOURCES.md, and the other way round."""

from __future__ import annotations

import re
from pathlib import Path

HERE = Path(__file__).parent
ROWS = [
    [cell.strip() for cell in line.strip().strip("|").split("|")]
    for line in (HERE / "SOURCES.md").read_text(encoding="utf-8").splitlines()
    if line.startswith("|") and not line.startswith(("| id", "|---"))
]


def test_every_row_is_whole():
    assert ROWS
    for row in ROWS:
        assert len(row) == 7, row[0]
        assert all(row), row[0]
    assert len({row[0] for row in ROWS}) == len(ROWS)


def test_files_and_rows_match():
    named = [name for row in ROWS for name in re.findall(r"`([^`]+)`", row[-1])]
    there = [
        path.relative_to(HERE / "data").as_posix()
        for path in (HERE / "data").rglob("*")
        if path.is_file()
    ]
    assert sorted(named) == sorted(there)
