"""A longer fuzz of damaged files and odd command lines than the tests have.

Arguments: how many folders to damage, how many command lines to draw, and the first seed.
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.cli.damaging import (
    LONG,
    QUICK,
    ask,
    damaged_and_asked,
    drawn_words,
    every_command,
    whole_folder,
)


def main() -> int:
    """Print what went wrong, and how much was tried."""
    import shutil

    folders, lines, first = (int(word) for word in [*sys.argv[1:], "300", "300", "0"][:3])
    faults: list[str] = []
    asked = 0
    began = time.process_time()
    with tempfile.TemporaryDirectory() as made:
        place = Path(made)
        os.environ["CUREWINDOW_CACHE"] = str(place / "cache")
        whole = whole_folder(place)
        for seed in range(first, first + folders):
            rng = random.Random(-seed - 1)
            commands = [*rng.sample(QUICK, 8), *rng.sample(LONG, int(seed % 4 == 0))]
            asked += len(commands)
            for fault in damaged_and_asked(whole, place, seed, commands):
                faults.append(fault)
                print(fault, flush=True)
        every = sorted(every_command().items())
        for seed in range(first, first + lines):
            rng = random.Random(seed)
            folder = place / "odd"
            shutil.rmtree(folder, ignore_errors=True)
            shutil.copytree(whole, folder)
            words = drawn_words(*rng.choice(every), rng)
            if words[:2] == ["service", "week"]:
                continue
            asked += 1
            if fault := ask(folder, words).fault():
                faults.append(fault)
                print(f"line {seed}: {words}: {fault}", flush=True)
    print(f"{asked} commands in {time.process_time() - began:.0f} s of CPU, {len(faults)} faults")
    return bool(faults)


if __name__ == "__main__":
    sys.exit(main())
