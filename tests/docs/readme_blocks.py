"""The README's pictures are real output: this fills them in, and the tests compare.

``python tests/docs/readme_blocks.py`` writes them anew.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

README = Path(__file__).parents[2] / "README.md"
AT = "2026-11-25 08:30"
WIDTH = 60
# Block name -> what is run in a folder with the demo boat in it.
ON_THE_DEMO = ["--boat", "demo-boat", "--at", AT]
BLOCKS = {
    "day sheet": ["today", *ON_THE_DEMO],
    "why": ["why", "forepeak frames", "15:00", *ON_THE_DEMO],
    "picture": ["picture", "forepeak frames", "--days", "3", *ON_THE_DEMO],
}


def outputs() -> dict[str, str]:
    """Run each block's command on a fresh demo boat; text by block name."""
    with tempfile.TemporaryDirectory() as folder:
        plain = {
            **os.environ,
            "COLUMNS": str(WIDTH),
            "NO_COLOR": "1",
            "PYTHONIOENCODING": "utf-8",
            "PYTHONUTF8": "1",
            "CUREWINDOW_CACHE": str(Path(folder) / "cache"),  # nothing of an older program
        }
        plain.pop("CUREWINDOW_BOAT", None)

        def run(words: list[str]) -> str:
            return subprocess.run(
                [sys.executable, "-m", "curewindow", *words],
                cwd=folder,
                env=plain,
                check=True,
                capture_output=True,
                encoding="utf-8",
            ).stdout

        run(["demo", "--at", AT])
        return {name: run(words) for name, words in BLOCKS.items()}


def block(name: str, text: str) -> str:
    """A block as it stands in the README, its marks with it."""
    shown = "\n".join(line.rstrip() for line in text.strip("\n").splitlines())
    return f"<!-- begin: {name} -->\n```text\n{shown}\n```\n<!-- end: {name} -->"


def filled(readme: str, texts: dict[str, str]) -> str:
    """The README with each block's text in its place."""
    for name, text in texts.items():
        pattern = rf"<!-- begin: {name} -->.*?<!-- end: {name} -->"
        readme, found = re.subn(
            pattern, lambda _, n=name, t=text: block(n, t), readme, flags=re.DOTALL
        )
        if found != 1:
            raise SystemExit(f"README.md has {found} places for '{name}', not one")
    return readme


if __name__ == "__main__":
    README.write_text(filled(README.read_text("utf-8"), outputs()), "utf-8")
