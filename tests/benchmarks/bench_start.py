"""How long the command line takes to start and to answer, beside plain imports.

Run apart from the tests: ``python tests/benchmarks/bench_start.py``. Each figure is
the quickest of several runs in processes of their own; the bounds are relative to
the machine, so they can be held against any.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import click

RUNS = 9


def seconds(runs: dict[str, tuple[str, ...]], room: Path) -> dict[str, float]:
    """The quickest of several runs of this Python with each of these arguments, in turn.

    In turn, so that a busy machine is busy for all of them; compiled files are kept, as
    they are for whoever uses the program a second time.
    """
    plain = {**os.environ, "CUREWINDOW_CACHE": str(room / "cache"), "COLUMNS": "80"}
    plain.pop("PYTHONDONTWRITEBYTECODE", None)
    best = dict.fromkeys(runs, float("inf"))
    for _ in range(RUNS):
        for name, arguments in runs.items():
            begun = time.perf_counter()
            subprocess.run(
                [sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL, env=plain
            )
            best[name] = min(best[name], time.perf_counter() - begun)
    return best


def main() -> int:
    """Measure, print, and tell by the exit code whether the bounds hold."""
    with tempfile.TemporaryDirectory() as folder:
        room = Path(folder)
        demo = str(room / "demo-boat")
        subprocess.run(
            [sys.executable, "-m", "curewindow", "demo", demo],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        aboard = ("--boat", demo)
        took = seconds(
            {
                "import click": ("-c", "import click"),
                "import pandas, pydantic, httpx": ("-c", "import pandas, pydantic, httpx"),
                "curewindow --help": ("-m", "curewindow", "--help"),
                "import curewindow": ("-c", "import curewindow"),
                "day sheet of the demo, warm": ("-m", "curewindow", "today", *aboard),
                "the same as JSON": ("-m", "curewindow", "today", *aboard, "--json"),
                "windows of the demo": ("-m", "curewindow", "windows", *aboard),
            },
            room,
        )
    bounds = {
        "curewindow --help": 1.3 * took["import click"] + 0.1,
        "day sheet of the demo, warm": 2.0 * took["import pandas, pydantic, httpx"],
    }
    for name, took_s in took.items():
        text = f"{name:<34}{took_s * 1000:7.0f} ms"
        if name in bounds:
            text += f"   bound {bounds[name] * 1000:.0f} ms: "
            text += "held" if took_s <= bounds[name] else "BROKEN"
        click.echo(text)
    held = all(took[name] <= bound for name, bound in bounds.items())
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
