"""What the service costs while nothing happens: memory, and share of a core.

``python tests/benchmarks/bench_idle.py [MINUTES] [--page]``. The cost of a look, that of merely
being awake and that of the page's hourly round are told apart by runs with and without them, and
put together for an hour in which nobody looks at the page.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.demo import files as demofiles

SETTLES_S = 240.0
TICKS = os.sysconf("SC_CLK_TCK")


def cpu_s(process: int) -> tuple[float, float]:
    """Seconds of a core a process has used, and those of its children that have ended."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    own, others = fields[11:13], fields[13:15]
    return sum(map(int, own)) / TICKS, sum(map(int, others)) / TICKS


def resident_mb(process: int) -> float:
    """Memory resident, shared pages counted whole."""
    for line in Path(f"/proc/{process}/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024.0
    return 0.0


@dataclass(frozen=True, slots=True)
class Used:
    """Seconds of a core: to begin with (own, children), then in the time measured; memory, MB."""

    own_first: float
    children_first: float
    after: float
    memory_mb: float


def run(minutes: float, refresh: str, page: bool) -> Used:
    """Start a service on the demo boat, let it settle, and measure."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "boat"
        demofiles.write(folder, datetime.now(ZoneInfo(demofiles.ZONE)).replace(microsecond=0))
        with (folder / "boat.toml").open("a", encoding="utf-8") as file:
            file.write(f'\n[service]\nrefresh = "{refresh}"\n')
        more = ["--port", "0"] if page else ["--no-page"]
        service = subprocess.Popen(
            [sys.executable, "-m", "curewindow_service", "run", "--boat", str(folder), *more]
        )
        try:
            # the page's own worker goes, and is counted, when it has had nothing to do for a while
            time.sleep(SETTLES_S)
            own, children = cpu_s(service.pid)
            time.sleep(minutes * 60.0)
            after = sum(cpu_s(service.pid)) - own - children
            return Used(own, children, after, resident_mb(service.pid))
        finally:
            service.terminate()
            service.wait(30.0)


def main() -> None:
    words = [word for word in sys.argv[1:] if not word.startswith("-")]
    minutes = float(words[0]) if words else 5.0
    page = "--page" in sys.argv
    awake = run(minutes, "10 h", page)
    looking = run(minutes, "2 min", False)
    quiet = run(minutes, "10 h", False) if page else awake
    look_s = max(looking.after - quiet.after, 0.0) / (minutes / 2.0)
    page_s = max(awake.children_first - quiet.children_first, 0.0) if page else 0.0
    hour_s = awake.after * 60.0 / minutes + 2.0 * look_s + page_s
    print(f"{'with' if page else 'without'} the page, {minutes:g} minutes a run")
    print(f"start {awake.own_first:.1f} s of a core; resident {awake.memory_mb:.0f} MB")
    print(f"awake {awake.after / (minutes * 60.0):.3%} of a core; a look {look_s:.2f} s", end="")
    print(f"; the page's round, once an hour, {page_s:.1f} s" if page else "")
    print(f"an hour with two looks: {hour_s:.1f} s, {hour_s / 3600.0:.2%} of a core")


if __name__ == "__main__":
    main()
