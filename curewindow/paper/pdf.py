"""The days as a PDF, by matplotlib: A4 upright, as many sheets as it takes."""

from __future__ import annotations

import io
import textwrap
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from curewindow.errors import CurewindowError
from curewindow.paper.models import Paper
from curewindow.voice.paper import days_text

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_WIDE, _HIGH, _EDGE = 8.27, 11.69, 0.55  # A4 [in]
_LARGE, _PLAIN, _SMALL = 16.0, 12.0, 10.0  # letters [pt]
_DAY, _BOX = 1.35, 0.28  # width of the day's column and of a box [in]


@dataclass(frozen=True, slots=True)
class _Row:
    """One line of letters: how large, how far in, with what before it."""

    text: str
    size: float
    indent: float
    bold: bool = False
    box: bool = False
    day: str = ""
    rule: bool = False
    keep: int = 0  # so many rows after it belong on the same sheet

    @property
    def high(self) -> float:
        """Height [in]."""
        return 1.38 * self.size / 72.0 + (0.1 if self.rule else 0.0)


def pdf_bytes(paper: Paper) -> bytes:
    """Draw the days.

    Raises
    ------
    CurewindowError
        matplotlib is not there.
    """
    try:
        import matplotlib as mpl
        from matplotlib.backends.backend_pdf import PdfPages
    except ImportError:
        raise CurewindowError(
            "a PDF needs matplotlib, which is not installed: "
            "pip install 'curewindow[pictures]' (a name in .html needs nothing and prints as well)"
        ) from None
    out = io.BytesIO()
    about = {"Title": f"{paper.boat}, the planned days", "CreationDate": paper.as_of}
    with mpl.rc_context({"font.family": ["DejaVu Sans"], "pdf.fonttype": 42}):
        sheets = _sheets(_rows(paper))
        with PdfPages(out, metadata=about) as pages:
            for number, rows in enumerate(sheets, 1):
                pages.savefig(_drawn(rows, f"{number} of {len(sheets)}"))
    return out.getvalue()


def _wrapped(text: str, size: float, indent: float, *, bold: bool = False) -> list[str]:
    # letters are a good half as wide as high
    size *= 1.15 if bold else 1.0
    letters = int((_WIDE - 2 * _EDGE - indent) * 72.0 / (0.55 * size))
    return textwrap.wrap(text, letters, break_on_hyphens=False) or [""]


def _rows(paper: Paper) -> list[_Row]:
    first, last = paper.days[0].title, paper.days[-1].title
    title = f"{paper.boat}, {days_text(first, last)}"
    rows = [_Row(text, _LARGE, 0.0, bold=True) for text in _wrapped(title, _LARGE, 0.0, bold=True)]
    for warning in paper.warnings:
        texts = _wrapped(f"! {warning}", _PLAIN, 0.0, bold=True)
        rows += [_Row(text, _PLAIN, 0.0, bold=True) for text in texts]
    for day in paper.days:
        name = f"{day.title}{' ~' if day.typical_weather else ''}"
        own: list[_Row] = []
        for line in day.lines:
            indent = _DAY + _BOX
            bold = line.kind == "deadline"
            texts = _wrapped(f"{line.clock} {line.text}", _PLAIN, indent, bold=bold)
            small = [each for text in line.under for each in _wrapped(text, _SMALL, indent)]
            after = len(texts) + len(small) - 1
            for at, text in enumerate(texts):
                own.append(
                    _Row(
                        text,
                        _PLAIN,
                        indent,
                        bold,
                        box=line.tick and at == 0,
                        keep=max(after - at, 0),
                    )
                )
            own += [_Row(text, _SMALL, indent) for text in small]
        own = own or [_Row("nothing planned", _PLAIN, _DAY + _BOX)]
        head = own[0]
        own[0] = _Row(head.text, head.size, head.indent, head.bold, head.box, name, True, head.keep)
        rows += own
    notes = [each for note in paper.notes for each in _wrapped(note, _SMALL, 0.0)]
    rows += [
        _Row(text, _SMALL, 0.0, rule=at == 0, keep=len(notes) - 1 - at)
        for at, text in enumerate(notes)
    ]
    return rows


def _sheets(rows: list[_Row]) -> list[list[_Row]]:
    """Rows on sheets; what belongs together stays together."""
    room = _HIGH - 2 * _EDGE - 0.3
    sheets: list[list[_Row]] = [[]]
    used = 0.0
    day = ""
    for at, row in enumerate(rows):
        together = sum(each.high for each in rows[at : at + row.keep + 1])
        if sheets[-1] and used + min(together, room) > room:
            sheets.append([])
            used = 0.0
            if row.indent and not row.day:  # a day goes on: say which
                row = replace(row, day=day)
        day = row.day or day
        sheets[-1].append(row)
        used += row.high
    return sheets


def _drawn(rows: list[_Row], number: str) -> Figure:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    figure = Figure(figsize=(_WIDE, _HIGH))
    FigureCanvasAgg(figure)

    def put(x_in: float, y_in: float, text: str, size: float, *, bold: bool = False) -> None:
        weight = "bold" if bold else "normal"
        # a dollar sign begins no formula
        figure.text(
            x_in / _WIDE, y_in / _HIGH, text, size=size, weight=weight, va="top", parse_math=False
        )

    y_in = _HIGH - _EDGE
    for row in rows:
        if row.rule:
            y_in -= 0.1
            across = [_EDGE / _WIDE, 1.0 - _EDGE / _WIDE]
            level = (y_in + 0.05) / _HIGH
            figure.add_artist(Line2D(across, [level, level], color="black", linewidth=1.2))
        if row.day:
            put(_EDGE, y_in, row.day, _PLAIN, bold=True)
        if row.box:
            side = 0.8 * row.size / 72.0
            corner = ((_EDGE + _DAY) / _WIDE, (y_in - side - 0.025) / _HIGH)
            figure.add_artist(
                Rectangle(corner, side / _WIDE, side / _HIGH, fill=False, linewidth=1.2)
            )
        put(_EDGE + row.indent, y_in, row.text, row.size, bold=row.bold)
        y_in -= 1.38 * row.size / 72.0
    put(_WIDE - _EDGE - 0.6, _EDGE, number, _SMALL)
    return figure
