"""Laying text out on a terminal: width, wrapping, colour where there is a terminal for it."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap

import click

from curewindow.wording import keep_together

NARROWEST, WIDEST = 32, 96
# Colour only repeats what the words say.
_COLOURS = {
    "go": "green",
    "wait": "yellow",
    "blocked": "bright_black",
    "refused": "red",
    "done": "bright_black",
    "head": None,
}


def screen_width() -> int:
    """Columns to write in: the terminal's (or COLUMNS), 80 into a file, within reason."""
    columns = shutil.get_terminal_size((80, 24)).columns
    return max(NARROWEST, min(columns, WIDEST))


def colour_wanted() -> bool:
    """Is there a terminal, and nobody who asked for none (NO_COLOR, TERM=dumb)?"""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return sys.stdout.isatty()


def paint(text: str, style: str, *, colour: bool, bold: bool = False) -> str:
    """Text in the colour of a status, or as it is."""
    if not colour:
        return text
    return click.style(text, fg=_COLOURS.get(style), bold=bold or style == "head")


def wrap(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """Lines of at most ``width``, the first led by ``first``, the others by ``rest``."""
    lines = textwrap.wrap(
        keep_together(text),
        width,
        initial_indent=first,
        subsequent_indent=first if rest is None else rest,
        break_long_words=True,
        break_on_hyphens=False,
    )
    return [line.replace("\u00a0", " ") for line in lines] or [first.rstrip()]


def heading(text: str, *, colour: bool) -> str:
    """A heading line."""
    return paint(text.upper(), "head", colour=colour)


def columns(rows: list[tuple[str, ...]], gap: str = "  ") -> list[str]:
    """Rows with their cells in line; the last cell runs free."""
    if not rows:
        return []
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]) - 1)]
    return [
        gap.join([*(cell.ljust(w) for cell, w in zip(row, widths, strict=False)), row[-1]]).rstrip()
        for row in rows
    ]
