"""How long answers about one moment, about a change, and pictures take, warm.

Run apart from the tests: ``python tests/benchmarks/bench_questions.py``.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import click

from curewindow.boat.named import job_or_space
from curewindow.charts import scene_of, terminal_lines
from curewindow.charts.figure import picture_bytes
from curewindow.cli import demofiles
from curewindow.daysheet.facts import gather
from curewindow.explain import why
from curewindow.explain.change import Change
from curewindow.explain.whatif import what_if

RUNS = 5
MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


def seconds(call: Callable[[], object]) -> float:
    """The quickest of several calls, after one to warm up."""
    call()
    best = float("inf")
    for _ in range(RUNS):
        begun = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - begun)
    return best


def main() -> int:
    """Measure, print, and tell by the exit code whether the bounds hold."""
    held = True
    with tempfile.TemporaryDirectory() as name:
        boat = Path(name) / "demo-boat"
        demofiles.write(boat, MORNING)
        facts = gather(boat, MORNING)
        scene = scene_of(facts, job_or_space(facts.boat, facts.work, "saloon"), 3.0)
        change = Change(start=MORNING + timedelta(hours=3), setpoint_c=12.0)
        rows: list[tuple[str, Callable[[], object], float | None]] = [
            (
                "what if, one space and its jobs",
                lambda: what_if(boat, MORNING, "saloon", change),
                1,
            ),
            ("what if, one job", lambda: what_if(boat, MORNING, "saloon table", change), 1),
            ("why, one job", lambda: why(boat, MORNING, "saloon table"), 1),
            ("picture in characters", lambda: terminal_lines(scene, 80), 0.1),
            ("picture as SVG", lambda: picture_bytes(scene, "svg", phone=True), None),
            ("picture as PNG", lambda: picture_bytes(scene, "png", phone=True), None),
        ]
        for text, call, bound in rows:
            took = seconds(call)
            line = f"{text:<34}{took * 1000:7.0f} ms"
            if bound is not None:
                held &= took <= bound
                line += f"   bound {bound * 1000:.0f} ms: {'held' if took <= bound else 'BROKEN'}"
            click.echo(line)
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
