"""A product sheet laid out for a terminal, the way data sheets are printed."""

from __future__ import annotations

from collections.abc import Sequence

from curewindow.cli.text import heading, wrap
from curewindow.sheets.content import (
    TYPICAL,
    Item,
    Pairs,
    Sentence,
    Table,
    cautions_of,
    sections_of,
)
from curewindow.sheets.shelf import LoadedSheet

__all__ = ["TYPICAL", "sheet_page"]


def sheet_page(loaded: LoadedSheet, *, fahrenheit: bool, width: int, colour: bool) -> str:
    """The whole sheet as text.

    Parameters
    ----------
    loaded : LoadedSheet
        The sheet.
    fahrenheit : bool
        Degrees Fahrenheit instead of Celsius.
    width : int
        Columns.
    colour : bool
        May escape codes be used?

    Returns
    -------
    str
    """
    sheet = loaded.sheet
    lines = [heading(line, colour=colour) for line in wrap(sheet.name, width)]
    lines += wrap(
        f"{sheet.kind}, {sheet.chemistry}; {'own' if loaded.own else 'shelf'} sheet "
        f"'{loaded.stem}'; {sheet.basis}",
        width,
    )
    if sheet.typical:
        lines += wrap(TYPICAL, width)
    if sheet.note:
        lines += wrap(sheet.note, width)
    for finding in loaded.warnings:
        lines += wrap(f"warning: {finding.key}: {finding.text}", width, rest="  ")
    for section in sections_of(sheet, fahrenheit=fahrenheit):
        lines += ["", *(heading(line, colour=colour) for line in wrap(section.title, width))]
        lines += [line for item in section.items for line in _laid_out(item, width)]
    lines += ["", heading("Cautions", colour=colour)]
    lines += [line for item in cautions_of(sheet) for line in _laid_out(item, width)]
    return "\n".join(lines)


def _laid_out(item: Item, width: int) -> list[str]:
    if isinstance(item, Sentence):
        return wrap(item.text, width, "  ", item.rest)
    return _pairs(item, width) if isinstance(item, Pairs) else _table(item, width)


def _pairs(pairs: Pairs, width: int) -> list[str]:
    """Name and value in two columns; the value goes on under itself."""
    indent = min(max(len(name) for name, _ in pairs.rows) + 4, width // 2)
    lines = []
    for name, value in pairs.rows:
        lines += wrap(value, width, f"  {name}".ljust(indent), " " * indent)
    return lines


def _table(table: Table, width: int) -> list[str]:
    """Hours by temperature; where the screen is narrow, the columns go on below."""
    label = max(len(name) for name, _ in table.rows) + 2
    texts: Sequence[str] = [*table.head, *(text for _, row in table.rows for text in row)]
    cell = max(len(text) for text in texts) + 2
    at_once = max(1, (width - label) // cell)
    lines = []
    for first in range(0, len(table.head), at_once):
        part = slice(first, first + at_once)
        if first:
            lines.append("")
        lines.append(" " * label + "".join(text.rjust(cell) for text in table.head[part]))
        for name, row in table.rows:
            lines.append(f"  {name}".ljust(label) + "".join(t.rjust(cell) for t in row[part]))
    return lines
