"""The demo boat with part of its work: a day of a few jobs is quickly worked out."""

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
