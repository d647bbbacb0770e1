"""The picture in a terminal: readable without colour, 40 columns are enough."""

from __future__ import annotations

import os
import textwrap
from dataclasses import dataclass

import numpy as np

from curewindow.charts.alttext import lies, stretches_text, wet_texts
from curewindow.charts.dots import DotGrid
from curewindow.charts.limits import limits_text, strictest
from curewindow.charts.scene import Scene
from curewindow.charts.stretches import day_marks, time_marks
from curewindow.series import BoolArray, FloatArray
from curewindow.voice import full
from curewindow.voice.picture import coldest_text, heater_on_text
from curewindow.wording import keep_together

_LABEL = 8  # columns before the plot: 'too damp'
_KEY = 2  # columns behind it: which line is which


@dataclass(frozen=True, slots=True)
class _Marks:
    """The characters of one kind of terminal."""

    now: str
    limit: str
    window: str
    heater: str
    aboard: str
    broken: str
    dew: str
    axis: str
    braille: bool


_UNICODE = _Marks("│", "┈", "█", "▃", "─", "▒", "≈", "┤", True)
_PLAIN = _Marks("|", ".", "#", "=", "-", "!", "~", "|", False)
_FROST = "*"
_LIES = "-"
_NONE = "none in this time"


def terminal_lines(scene: Scene, width: int, *, plain: bool = False) -> list[str]:
    """Draw a scene in characters.

    Parameters
    ----------
    scene : Scene
    width : int
        Columns there are, 32 at least.
    plain : bool
        ASCII alone.

    Returns
    -------
    list of str
        None longer than ``width``.
    """
    marks = _PLAIN if plain else _UNICODE
    columns = width - _LABEL - 1 - _KEY
    told = _alt_text(scene, marks)
    lines = [*_wrapped(scene.title, width), *_plot(scene, columns, marks)]
    lines += [*_clock(scene, columns), *_bars(scene, columns, marks)]
    for text in told:
        lines += _wrapped(text, width)
    if plain:
        lines = [_ascii(line) for line in lines]
    return [line.rstrip() for line in lines]


def can_show(encoding: str | None) -> bool:
    """Can this encoding, and the terminal's letters, carry the blocks and dots?"""
    if os.environ.get("TERM") in ("linux", "dumb"):  # a text console has no braille
        return False
    try:
        "█▒≈┈⣿°".encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _ascii(line: str) -> str:
    """A line without anything beyond ASCII."""
    for written, meant in (("°", ""), ("−", "-"), ("²", "2"), ("³", "3"), ("…", "...")):
        line = line.replace(written, meant)
    return line.encode("ascii", "replace").decode("ascii")


def _wrapped(text: str, width: int) -> list[str]:
    lines = textwrap.wrap(
        keep_together(text), width, subsequent_indent="  ", break_on_hyphens=False
    )
    return [line.replace("\u00a0", " ") for line in lines]


def _plot(scene: Scene, columns: int, marks: _Marks) -> list[str]:
    shown = [scene.air_c, scene.surface_c, scene.dew_point_c]
    air, surface, dew = (_shown(scene, values) for values in shown)
    rules = _rules(scene)
    low, high, ticks = _scale(np.concatenate([air, surface, dew]), rules)
    rows = 10 if columns < 50 else 14
    sheet = DotGrid(columns, rows, low, high, braille=marks.braille)
    now = int(scene.hour_of(scene.words.now) / _per_column(scene, columns))
    if 0 <= now < columns:
        sheet.upright(now, marks.now)
    for value in rules:
        sheet.rule(value, marks.limit)
    across = (np.arange(2 * columns) + 0.5) * _per_column(scene, columns) / 2.0
    for values, style, letter in (
        (dew, "dotted", "d"),
        (air, "dashed", "a"),
        (surface, "thick", "S"),
    ):
        sheet.curve(_at(scene, values, across), style, letter)  # type: ignore[arg-type]
    axis = {row: f"{value:g}" for value in ticks if (row := sheet.row_of(value)) is not None}
    key = _key_rows(sheet, {"a": air, "S": surface, "d": dew})
    degree = "F" if scene.words.fahrenheit else "C"
    degree = f"°{degree}" if marks.braille else degree  # as wide as it is shown
    top = min(axis, default=0)
    lines = []
    for row, cells in enumerate(sheet.lines()):
        label = axis.get(row, "")
        label = f"{label} {degree}" if label and row == top else label
        edge = marks.axis if label else ("│" if marks.braille else "|")
        label = label.replace("-", "−") if marks.braille else label
        lines.append(f"{label:>{_LABEL}}{edge}{cells} {key.get(row, '')}")
    return lines


def _key_rows(sheet: DotGrid, ends: dict[str, FloatArray]) -> dict[int, str]:
    """Each line's letter at the row where it ends, the nearest free one."""
    taken: dict[int, str] = {}
    for letter, values in ends.items():
        known = values[np.isfinite(values)]
        row = sheet.row_of(float(known[-1])) if known.size else None
        if row is None:
            continue
        free = [r for r in range(sheet.rows) if r not in taken]
        # two that end in one row keep their order: the warmer above
        taken[min(free, key=lambda r: (abs(r - row), r < row))] = letter
    return taken


def _shown(scene: Scene, temp_c: FloatArray) -> FloatArray:
    return temp_c * 1.8 + 32.0 if scene.words.fahrenheit else temp_c


def _rules(scene: Scene) -> list[float]:
    """The strictest lower and upper limit of temperature, in the boat's degrees."""
    found = [strictest(scene.limits, "min"), strictest(scene.limits, "max")]
    return [float(_shown(scene, np.array(limit.value))) for limit in found if limit is not None]


def _scale(values: FloatArray, rules: list[float]) -> tuple[float, float, list[float]]:
    """Lower and upper edge, and the values to be written beside the plot."""
    known = values[np.isfinite(values)]
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 10.0)
    near = 0.4 * (high - low) + 3.0  # a limit far from everything would press the curves flat
    low = min([low, *(rule for rule in rules if low - near < rule < low)])
    high = max([high, *(rule for rule in rules if high < rule < high + near)])
    room = max(high - low, 4.0)
    low, high = low - 0.06 * room, low + 1.06 * room
    step = next((s for s in (1.0, 2.0, 5.0, 10.0, 20.0) if (high - low) / s <= 5.5), 50.0)
    first = np.ceil(low / step) * step
    ticks = np.arange(first, high, step)
    return low, high, [float(tick) + 0.0 for tick in ticks]


def _per_column(scene: Scene, columns: int) -> float:
    return (scene.hour_of(scene.right) or 1.0) / columns


def _at(scene: Scene, values: FloatArray, hours: FloatArray) -> FloatArray:
    # np.interp is NaN where either neighbour is: unknown stays unknown
    return np.interp(hours, scene.hours, values)


def _any(scene: Scene, mask: BoolArray, columns: int) -> BoolArray:
    """True for columns in whose time the mask holds at any grid point."""
    cell = np.minimum((scene.hours / _per_column(scene, columns)).astype(np.int64), columns - 1)
    found = np.zeros(columns, np.bool_)
    np.logical_or.at(found, cell, mask)
    return found


def _bars(scene: Scene, columns: int, marks: _Marks) -> list[str]:
    rows: list[tuple[str, BoolArray, str]] = []
    many = len(scene.windows) > 1
    for number, bar in enumerate(scene.windows, 1):
        mask = np.zeros(columns, np.bool_)
        for opens, ends in bar.spans:
            begin, end = (scene.hour_of(at) / _per_column(scene, columns) for at in (opens, ends))
            mask[max(int(np.floor(begin)), 0) : max(int(np.ceil(end)), 0)] = True
        if bar.status != "done":
            rows.append((f"window {number}" if many else "window", mask, marks.window))
    if scene.heat_w is not None:
        rows.append(("heater", _any(scene, scene.heat_w > 0.0, columns), marks.heater))
    rows.append(("aboard", _any(scene, scene.aboard, columns), marks.aboard))
    for name, mask, mark in (
        ("frost", scene.frost, _FROST),
        ("dew", scene.dew, marks.dew),
        ("icy", lies(scene, "frost"), _LIES),
        ("wet", lies(scene, "water"), _LIES),
    ):
        if mask.any():
            rows.append((name, _any(scene, mask, columns), mark))
    for complaint in dict.fromkeys(limit.complaint for limit in scene.limits):
        broken = np.any([x.broken for x in scene.limits if x.complaint == complaint], axis=0)
        if broken.any():
            rows.append((complaint, _any(scene, broken, columns), marks.broken))
    lines = []
    for label, mask, mark in rows:
        cells = "".join(mark if on else " " for on in mask)
        lines.append(f"{label[:_LABEL]:>{_LABEL}} {cells if mask.any() else _NONE}")
    return lines


def _clock(scene: Scene, columns: int) -> list[str]:
    """The row of hours and the row of days."""
    per_column = _per_column(scene, columns)
    every = next(h for h in (3, 6, 12, 24) if h / per_column >= 4.0 or h == 24)
    hours = [" "] * columns
    for hour, text in time_marks(scene, every):
        _write(hours, round(hour / per_column), text)
    days = [" "] * columns
    for day in day_marks(scene):
        first, last = int(np.ceil(day.begin_h / per_column)), int(day.end_h / per_column)
        if last - first >= len(day.name):
            _write(days, first, day.name)
    return [f"{' ' * _LABEL} {''.join(row)}" for row in (hours, days)]


def _write(cells: list[str], at: int, text: str) -> None:
    """Text from a cell on, if there is room for it and a gap before it."""
    if at + len(text) > len(cells) or any(c != " " for c in cells[max(at - 1, 0) : at]):
        return
    cells[at : at + len(text)] = text


def _alt_text(scene: Scene, marks: _Marks) -> list[str]:
    """What stands beneath: which line is which, limits, frost and dew, windows."""
    told = [f"S {scene.surface}, a air, d dew point, {marks.now} now"]
    if marks.braille:
        told = [f"S {scene.surface} (thick), a air (dashes), d dew point (dots), {marks.now} now"]
    if scene.limits:
        told.append(limits_text(scene.limits, scene.words))
    told += [coldest_text(scene.coldest), *wet_texts(scene)]
    for number, bar in enumerate(scene.windows, 1):
        lead = f"{number} {bar.job}" if len(scene.windows) > 1 else bar.job
        told.append(f"{lead}: {full(bar.verdict, scene.words)}")
    if scene.heat_w is not None and np.any(scene.heat_w > 0.0):
        told.append(heater_on_text(stretches_text(scene, scene.heat_w > 0.0)))
    if scene.attribution:
        told.append(scene.attribution)
    return [text for text in told if text and not text.endswith(": ")]
