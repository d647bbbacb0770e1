"""The season in a terminal: the fan of finish dates, and workable hours week by week."""

from __future__ import annotations

import textwrap

import numpy as np

from curewindow.charts.dots import DotGrid
from curewindow.season.answer import Outlook, WorkableWeeks
from curewindow.sheets.naming import short_name

_LABEL = 6
_SHADES = " ░▒▓█"
_PLAIN = " .+*#"
LEVELS_H = (1.0, 5.0, 15.0, 35.0)
"""Hours a week at which a darker shade begins."""


def season_lines(outlook: Outlook, width: int, *, plain: bool = False) -> list[str]:
    """Draw an outlook in characters.

    Parameters
    ----------
    outlook : Outlook
    width : int
        Columns there are, 32 at least.
    plain : bool
        ASCII alone.

    Returns
    -------
    list of str
        None longer than ``width``.
    """
    return [*_curve(outlook, width, plain=plain), "", *_weeks(outlook, width, plain=plain)]


def _curve(outlook: Outlook, width: int, *, plain: bool) -> list[str]:
    columns = max(20, min(width - _LABEL - 1, 90))
    rows = 8
    sheet = DotGrid(columns, rows, 0.0, 100.0, braille=not plain)
    count = len(outlook.curve_pct)
    at = np.linspace(0, count - 1, 2 * columns)
    values = np.interp(at, np.arange(count), np.clip(outlook.curve_pct, 0.0, 99.9))
    sheet.curve(values, "thick", "#")
    if outlook.done_by is not None:
        day = (outlook.done_by - outlook.curve_on[0]).days
        if 0 <= day < count:
            sheet.upright(round(day * (columns - 1) / max(count - 1, 1)), "|" if plain else "│")
    for level in (50.0, 80.0, 95.0):
        sheet.rule(level, "." if plain else "┈")
    names = {sheet.row_of(level): f"{level:.0f} %" for level in (95.0, 80.0, 50.0)}
    names[rows - 1] = "0 %"
    edge = "|" if plain else "┤"
    lines = ["in how many of 100 seasons all is done"]
    for number, row in enumerate(sheet.lines()):
        lines.append(f"{names.get(number, ''):>{_LABEL - 1}}{edge}{row}".rstrip())
    lines.append(" " * _LABEL + _months(outlook, columns))
    if outlook.done_by is not None:
        bar = "|" if plain else "│"
        lines += textwrap.wrap(f"{bar} the date: {outlook.done_by.day} {outlook.done_by:%b}", width)
    return lines


def _months(outlook: Outlook, columns: int) -> str:
    row = [" "] * columns
    count = len(outlook.curve_on)
    free = 0
    for number, day in enumerate(outlook.curve_on):
        column = round(number * (columns - 1) / max(count - 1, 1))
        if day.day == 1 and free <= column <= columns - 3:
            row[column : column + 3] = f"{day:%b}"
            free = column + 4
    return "".join(row).rstrip()


def _weeks(outlook: Outlook, width: int, *, plain: bool) -> list[str]:
    shades = _PLAIN if plain else _SHADES
    weeks = len(outlook.weeks_from)
    label = max(10, min(width - weeks - 1, 44))
    lines = textwrap.wrap("hours a week a coat could be begun, with the heat it needs", width)
    for each in outlook.workable:
        cells = "".join(shades[_level(hours)] for hours in each.hours_warmed[: width - label - 1])
        name = textwrap.shorten(kind_name(each), label, placeholder="...")
        lines.append(f"{name:<{label}} {cells}".rstrip())
    marks = [" "] * weeks
    free = 0
    for number, day in enumerate(outlook.weeks_from):
        if day.day <= 7 and free <= number <= weeks - 3:
            marks[number : number + 3] = f"{day:%b}"
            free = number + 4
    lines.append((" " * (label + 1) + "".join(marks))[:width].rstrip())
    key = ", ".join(
        f"{shade} from {level:.0f} h" for shade, level in zip(shades[1:], LEVELS_H, strict=True)
    )
    return lines + textwrap.wrap(
        f"{key}; someone is aboard {np.mean(outlook.aboard_hours):.0f} h", width
    )


def _level(hours: float) -> int:
    return int(np.searchsorted(LEVELS_H, hours, side="right"))


def kind_name(each: WorkableWeeks) -> str:
    """'saloon: Waterborne acrylic varnish': the place first, it is never cut off."""
    return f"{each.place}: {short_name(each.product)}"
