"""How long the command line takes to start and to answer, beside plain imports.

Run apart from the tests: ``python tests/benchmarks/bench_start.py``. Each figure is
the quickest of several runs in processes of their own; the bounds are relative to
the machine, so they can be held against any.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import click

RUNS = 7


def seconds(*arguments: str) -> float:
    """The quickest of several runs of this Python with these arguments."""
    best = float("inf")
    for _ in range(RUNS):
        begun = time.perf_counter()
        subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
        best = min(best, time.perf_counter() - begun)
    return best


def main() -> int:
    """Measure, print, and tell by the exit code whether the bounds hold."""
    held = True
    with tempfile.TemporaryDirectory() as folder:
        demo = str(Path(folder) / "demo-boat")
        subprocess.run(
            [sys.executable, "-m", "curewindow", "demo", demo],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        click_s = seconds("-c", "import click")
        libraries_s = seconds("-c", "import pandas, pydantic, httpx")
        today = ("-m", "curewindow", "today", "--boat", demo)
        rows = [
            ("curewindow --help", seconds("-m", "curewindow", "--help"), 1.3 * click_s + 0.1),
            ("import curewindow", seconds("-c", "import curewindow"), None),
            ("day sheet of the demo, warm", seconds(*today), 2.0 * libraries_s),
            ("the same as JSON", seconds(*today, "--json"), None),
            ("windows of the demo", seconds("-m", "curewindow", "windows", "--boat", demo), None),
        ]
    click.echo(f"{'import click':<34}{click_s * 1000:7.0f} ms")
    click.echo(f"{'import pandas, pydantic, httpx':<34}{libraries_s * 1000:7.0f} ms")
    for name, took_s, bound_s in rows:
        text = f"{name:<34}{took_s * 1000:7.0f} ms"
        if bound_s is not None:
            held &= took_s <= bound_s
            text += f"   bound {bound_s * 1000:.0f} ms: {'held' if took_s <= bound_s else 'BROKEN'}"
        click.echo(text)
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
