"""How long commands take on the demo with nothing kept from another run.

Run apart from the tests: ``python tests/benchmarks/bench_cold.py``. Every run is a process
of its own with an empty cache; processor time, as others may be at work on the machine, and
the quickest of some. Two shared, busy cores of a small server, before and after counts and
starts of a season were shared and dew was marched as a pressure: outlook 9.4 and 5.9 s,
windows 5.5 and 3.4 s, heat 2.7 and 2.1 s, the day sheet 4.7 and 3.7 s. Before and after
starts were run little longer than their film takes, and what candidates share once (a busier
machine, side by side): windows 4.9 and 3.9 s, heat 3.3 and 3.0 s, the day sheet 9.7 and 7.9 s.
A plan is also asked for a second time with what the first kept.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import click

RUNS = 3
MORNING = "2026-11-25 07:30"
COMMANDS = (
    ("outlook",),
    ("windows",),
    ("heat", "chart table"),
    ("today",),
    ("plan", "--seconds", "4"),
)


def seconds(arguments: tuple[str, ...], boat: Path, room: Path, *, kept: bool = False) -> float:
    """The quickest of some runs, user and system together; ``kept``: with one run's cache."""
    best = float("inf")
    for run in range(RUNS):
        cache = room / f"{arguments[0]}-{0 if kept else run}"
        plain = {**os.environ, "CUREWINDOW_CACHE": str(cache), "COLUMNS": "80"}
        plain.pop("PYTHONDONTWRITEBYTECODE", None)
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(
            [
                *(sys.executable, "-m", "curewindow", *arguments),
                *("--boat", str(boat), "--at", MORNING),
            ],
            check=True,
            stdout=subprocess.DEVNULL,
            env=plain,
        )
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        best = min(best, took)
    return best


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        boat = room / "demo-boat"
        subprocess.run(
            [sys.executable, "-m", "curewindow", "demo", str(boat), "--at", MORNING],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        for arguments in COMMANDS:
            click.echo(f"{' '.join(arguments):<20}{seconds(arguments, boat, room):6.2f} s CPU")
        again = seconds(COMMANDS[-1], boat, room, kept=True)
        click.echo(f"{'plan, again':<20}{again:6.2f} s CPU")


if __name__ == "__main__":
    main()
