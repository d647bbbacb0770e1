"""What the loader and the check of a sheet accept, the physics can take: no fault, no hang."""

from __future__ import annotations

import random
import re
import shutil
from pathlib import Path

import pytest

from curewindow.boat.folder import load_boat, load_work
from curewindow.errors import CurewindowError
from curewindow.quantity import ranges
from curewindow.sheets.shelf import get_sheet, inspect
from tests.cli.damaging import ask
from tests.laws.judgement import boats

# The ends of what each quantity may be, and beyond them; other units; words for no number.
_ODD = (
    "0", "1e308", "-1e308", "1e-300", "1e9", "-273.15", "nan", "inf", "-inf", "1,5", "45", "18",
    "99999", "0.0001", "-5", "100",
)  # fmt: skip
_UNITS = (
    "°C", "°F", "K", "mm", "m", "m²", "m³", "L", "%", "W", "kW", "h", "min", "d", "/h", "g/L",
    "kg", "µm", "W/mK", "kg/L", "J/K", "g/h", "m/s", "m²/L",
)  # fmt: skip
_QUANTITY = re.compile(r'"([+−-]?[\d.,]+)\s*([^"\d][^"]*)"')
_NUMBER = re.compile(r"(?<== )-?\d+(?:\.\d+)?(?=\s|$|\s*#)")


def _ends() -> list[str]:
    """Every end of every range, as it may be written."""
    found = []
    for table in (ranges.BOAT, ranges.WORK, ranges.SHEET):
        for each in table.values():
            found += [each.least, each.most]
    return sorted(set(found))


def mutated(text: str, rng: random.Random) -> str:
    """A file in which one to three figures are others."""
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        places = [*_QUANTITY.finditer(text), *_NUMBER.finditer(text)]
        if not places:
            return text
        place = rng.choice(places)
        draw = rng.random()
        if place.re is _NUMBER:
            new = rng.choice(_ODD)
        elif draw < 0.45:
            unit = place[2].strip()
            fitting = [end for end in _ends() if end.endswith(f" {unit}")]
            new = f'"{rng.choice(fitting) if fitting else f"{rng.choice(_ODD)} {unit}"}"'
        elif draw < 0.8:
            new = f'"{rng.choice(_ODD)} {place[2]}"'
        else:
            new = f'"{place[1]} {rng.choice(_UNITS)}"'
        text = text[: place.start()] + new + text[place.end() :]
    return text


def _folder(place: Path) -> Path:
    case = boats.demo(place / "demo")
    boats.keep_jobs(case, {"chart table", "saloon doors"})
    folder = boats.write(case, place / "boat")
    (folder / "sheets").mkdir(exist_ok=True)
    used = {step.sheet for job in load_work(folder).job for step in job.step if step.sheet}
    for name in used:
        (folder / "sheets" / f"{name}.toml").write_text(
            get_sheet(name).path.read_text("utf-8"), "utf-8"
        )
    return folder


def _accepted(folder: Path, file: Path) -> bool:
    """Is it taken by who reads it first: the loader, or `sheets check`?"""
    if file.parent.name == "sheets":
        return not [found for found in inspect(file) if found.level == "error"]
    try:
        load_work(folder, load_boat(folder))
    except CurewindowError:
        return False
    return True


def _tried(place: Path, seeds: range, commands: tuple[list[str], ...]) -> tuple[int, list[str]]:
    """How many mutated files were accepted, and what went wrong with those."""
    whole = _folder(place)
    files = [whole / "boat.toml", whole / "work.toml", *sorted((whole / "sheets").iterdir())]
    accepted, faults = 0, []
    for seed in seeds:
        rng = random.Random(seed)
        folder = place / "odd"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(whole, folder)
        file = folder / rng.choice(files).relative_to(whole)
        before = file.read_text("utf-8")
        after = mutated(before, rng)
        file.write_text(after, "utf-8")
        if not _accepted(folder, file):
            continue
        accepted += 1
        changed = [
            line for line, was in zip(after.splitlines(), before.splitlines(), strict=False)
            if line != was
        ]  # fmt: skip
        for words in commands:
            asked = ask(folder, words)
            # weather and record are in order, and so is what was accepted
            if asked.fault() or asked.code not in (0, 1):
                faults.append(f"{seed} {file.name} {changed}: {words}: {asked.code} {asked.err}")
    return accepted, faults


def test_what_is_accepted_makes_no_fault(tmp_path: Path) -> None:
    accepted, faults = _tried(tmp_path, range(14), (["today"],))
    assert not faults, "\n".join(faults)
    assert accepted > 2


@pytest.mark.slow
def test_what_is_accepted_makes_no_fault_in_many(tmp_path: Path) -> None:
    commands = (["today", "--full"], ["heat"], ["why", "chart table"])
    accepted, faults = _tried(tmp_path, range(1000, 1200), commands)
    assert not faults, "\n".join(faults)
    assert accepted > 30
