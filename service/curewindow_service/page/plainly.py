"""Errors as the page says them."""

from __future__ import annotations

import re
from pathlib import Path

from curewindow.errors import CurewindowError

_SAY_WITH = re.compile(r"\bsay it with --[a-z]+: ")


def plain(bad: CurewindowError, folder: Path) -> str:
    """An error as the page says it: files by their name in the boat folder, no options."""
    text = str(bad).replace(f"{folder}/", "").replace(str(folder), "the boat folder")
    return without_options(text)


def without_options(text: str) -> str:
    """A sentence without advice that is about the command line."""
    text = _SAY_WITH.sub("", text)
    parts = [part for part in text.split("; ") if "--" not in part and "curewindow " not in part]
    return "; ".join(parts) or text.replace("--", "")
