"""The laws of the judgement on any boat, any minute, asked of every face.

The quick run asks a seeded share; the slow one 300 boats at 20 moments each (some 40 minutes of
CPU). What breaks a law is printed with its seed, its moment and the fewest disturbances that
still break it.
"""

from __future__ import annotations

import os
import random
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.laws.judgement import (
    boats,
    law_agree,
    law_alike,
    law_danger,
    law_done,
    law_obeyed,
    law_reason,
    law_smooth,
)
from tests.laws.judgement.faces import Faces
from tests.laws.judgement.planned import keep_plan

QUICK, QUICK_MOMENTS = 2, 3
# The gate, which has twenty minutes for everything, asks fewer of them: see .ci/run.
BOATS = int(os.environ.get("CUREWINDOW_LAW_BOATS", "300"))
MOMENTS, PART = 20, 2


def broken_of(
    seed: int,
    base: boats.Case,
    folder: Path,
    moments: int,
    without: frozenset[str] = frozenset(),
) -> Iterator[tuple[str, str]]:
    """What breaks a law in the case of a seed: the law and what is said."""
    case = boats.drawn(seed, base, moments=moments, without=without)
    boats.write(case, folder)
    before: Faces | None = None
    if seed % 2:
        keep_plan(Faces(case, folder, case.moments[0]), folder, random.Random(seed))
    for number, now in enumerate(case.moments):
        faces = Faces(case, folder, now)
        found = {
            "agree": law_agree.broken(faces, random.Random(seed + number)),
            "smooth": iter(()) if before is None else law_smooth.broken(before, faces),
            "done": law_done.broken(faces),
            "obeyed": law_obeyed.broken(case, now, folder / "obeyed")
            if number % 5 == 1
            else iter(()),
            "danger": law_danger.broken(faces),
            "reason": law_reason.broken(faces, random.Random(seed + number)),
            "alike": law_alike.broken(faces, folder / "twin", sorted(law_alike.CHANGES)[seed % 5])
            if number == moments // 2
            else iter(()),
        }
        for law, said in found.items():
            for each in said:
                yield law, f"{now:%d %H:%M:%S} {each}"
        before = faces


def shrunk(seed: int, base: boats.Case, folder: Path, moments: int, law: str) -> list[str]:
    """The disturbances that are needed for a law to be broken."""
    needed = boats.drawn(seed, base, moments=moments).told
    left_out: frozenset[str] = frozenset()
    for name in needed:
        tried = left_out | {name}
        if any(each == law for each, _ in broken_of(seed, base, folder, moments, tried)):
            left_out = tried
    return [name for name in needed if name not in left_out]


def hold(seeds: range, folder: Path, moments: int) -> None:
    """Ask the boats of these seeds."""
    base = boats.demo(folder / "demo")
    counted: Counter[str] = Counter()
    said: list[str] = []
    for seed in seeds:
        first: dict[str, str] = {}
        for law, each in broken_of(seed, base, folder / str(seed), moments):
            counted[law] += 1
            first.setdefault(law, each)
        for law, each in first.items():
            needed = shrunk(seed, base, folder / f"{seed}-shrunk", moments, law)
            said.append(f"seed {seed}, law '{law}', needs {needed}: {each}")
    assert not said, f"{dict(counted)}\n" + "\n".join(said)


def test_the_laws_hold_for_a_few_boats(tmp_path: Path) -> None:
    hold(range(QUICK), tmp_path, QUICK_MOMENTS)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(BOATS // PART))
def test_the_laws_hold_for_any_boat(part: int, tmp_path: Path) -> None:
    first = 1000 + part * PART
    hold(range(first, first + PART), tmp_path, MOMENTS)
