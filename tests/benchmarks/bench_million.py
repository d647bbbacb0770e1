"""A million readings: the memory and time their import takes, and what they cost a day sheet.

Argument: how many, else a million. Times are CPU time of the commands' own processes.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
AT = "2026-11-25 08:30"
MOST_MB = 300


def command(*words: str) -> tuple[float, float]:
    """CPU seconds and resident megabytes at most of a run of curewindow."""
    process = subprocess.Popen(
        [sys.executable, "-m", "curewindow", *words], stdout=subprocess.DEVNULL
    )
    _, status, used = os.wait4(process.pid, 0)
    assert status == 0, words
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0


def write_logger(file: Path, count: int) -> None:
    """A logger's file of a reading a minute that ends this morning."""
    rng, value = random.Random(1), 8.0
    begin = MORNING - timedelta(minutes=count + 30)
    with file.open("w", encoding="utf-8") as out:
        out.write("time,air,humidity\n")
        for n in range(count):
            value += rng.gauss(0.0, 0.03) + (8.0 - value) * 0.001
            at = begin + timedelta(minutes=n)
            out.write(f"{at:%Y-%m-%dT%H:%M:%SZ},{value:.1f},{70 + (n // 97) % 9}\n")


def main() -> int:
    """Print the figures; 1 where the import takes more memory than it may."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    with tempfile.TemporaryDirectory() as made:
        os.environ["CUREWINDOW_CACHE"] = f"{made}/cache"
        boat, file = f"{made}/boat", Path(made) / "logger.csv"
        command("demo", boat, "--at", AT)
        day = ("today", "--boat", boat, "--at", AT)
        before = min(command(*day)[0] for _ in range(4))
        write_logger(file, count)
        took, held = command("log", "import", str(file), "--space", "forepeak", "--boat", boat)
        after = min(command(*day)[0] for _ in range(4))
    print(f"import of {count} readings: {took:.1f} s of CPU, {held:.0f} MB resident at most")
    print(f"day sheet: {before:.2f} s before, {after:.2f} s after")
    return int(held > MOST_MB)


if __name__ == "__main__":
    sys.exit(main())
