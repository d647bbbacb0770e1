"""The demo boat with a figure changed, and what the loader says of it."""

from __future__ import annotations

import re
from pathlib import Path

from curewindow.boat.folder import load_boat, load_work
from curewindow.errors import CurewindowError

DEMO = Path(__file__).parents[2] / "curewindow" / "demo_boat"


def folder_with(place: Path, file: str, key: str, value: str) -> Path:
    """A copy of the demo's two files in which the first of a key holds something else."""
    for name in ("boat.toml", "work.toml"):
        text = (DEMO / name).read_text("utf-8")
        if name == file:
            text, count = re.subn(
                rf"^(\s*){key} = [^\n#]*", rf"\g<1>{key} = {value} ", text, count=1, flags=re.M
            )
            if not count and key == "water_temp":
                text = text.replace("[place]\n", f"[place]\n{key} = {value}\n", 1)
            elif not count:
                text, count = re.subn(
                    rf"\b{key} = (\"[^\"]*\"|[\w.]+)", f"{key} = {value}", text, count=1
                )
                if not count:
                    text = text.replace("[[space]]\n", f"[[space]]\n{key} = {value}\n", 1)
        (place / name).write_text(text, "utf-8")
    return place


def loaded(folder: Path) -> str:
    """What is said of the files; '' where they are taken."""
    try:
        load_work(folder, load_boat(folder))
    except CurewindowError as bad:
        return str(bad)
    return ""
