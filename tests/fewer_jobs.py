"""The demo boat with part of its work and weather: a short day of few jobs is soon worked out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import tomlkit


def only_jobs(folder: Path, *names: str) -> None:
    """Cut the work list down to these jobs; they wait for none of the others."""
    path = folder / "work.toml"
    work = tomlkit.parse(path.read_text("utf-8"))
    jobs: Any = work["job"]
    there = {str(job["name"]) for job in jobs}
    assert there >= set(names), f"no such job: {set(names) - there}"
    for number in range(len(jobs) - 1, -1, -1):
        if jobs[number]["name"] not in names:
            del jobs[number]
            continue
        for key in ("after", "after_cured"):
            jobs[number].pop(key, None)
    path.write_text(tomlkit.dumps(work), "utf-8")


def weather_until(folder: Path, day: str) -> None:
    """Cut the forecast short: from that day on nothing is known."""
    path = folder / "weather.csv"
    rows = path.read_text("utf-8").splitlines(keepends=True)
    kept = [row for row in rows if not row[0].isdigit() or row < day]
    assert len(kept) < len(rows)
    path.write_text("".join(kept), "utf-8")
