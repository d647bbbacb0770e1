"""Damaged files and odd command lines: an answer or one line of error, never a fault.

Every kind of file of a boat folder is damaged in turn and every command asked of what is left, the
service's too. ``tests/benchmarks/fuzz_files.py`` spends a larger budget.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from tests.cli.damaging import (
    LONG,
    NOW,
    QUICK,
    ask,
    damaged_and_asked,
    drawn_words,
    every_command,
    whole_folder,
)

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return whole_folder(tmp_path_factory.mktemp("whole"))


def test_no_damaged_file_is_a_fault(whole: Path, tmp_path: Path) -> None:
    faults: list[str] = []
    for seed in range(50):
        rng = random.Random(-seed - 1)
        commands = [*rng.sample(QUICK, 6), *rng.sample(LONG, int(seed % 10 == 0))]
        faults += damaged_and_asked(whole, tmp_path, seed, commands)
    assert not faults, "\n".join(faults)


def test_no_command_line_of_any_command_is_a_fault(whole: Path, tmp_path: Path) -> None:
    every = sorted(every_command().items())
    for seed in range(120):
        rng = random.Random(seed)
        words = drawn_words(*every[seed % len(every)], rng)
        if words[:2] == ["service", "week"]:  # seven days of notices, for a minute
            continue
        folder = tmp_path / "odd"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(whole, folder)
        fault = ask(folder, words).fault()
        assert not fault, (seed, words, fault)


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE told SET hands_on_h = ''",
        "UPDATE told SET told = '{}'",
        "UPDATE told SET stated = 2.5",
        "UPDATE seen SET rain_mm_h = 'x'",
    ],
)
def test_a_cell_that_cannot_be_is_told_by_trust(whole: Path, tmp_path: Path, damage: str) -> None:
    folder = tmp_path / "boat"
    shutil.copytree(whole, folder)
    later = NOW + timedelta(hours=30)
    assert ask(folder, ["trust"], later).code == 0
    with closing(sqlite3.connect(folder / "trust.db")) as database, database:
        assert database.execute(damage).rowcount > 0
    asked = ask(folder, ["trust"], later)
    assert (asked.code, asked.fault()) == (5, "")
