"""The days as a PDF, by matplotlib: A4 upright, one sheet where that can be read."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from curewindow.errors import CurewindowError
from curewindow.paper.layout import EDGE_IN, HIGH_IN, WIDE_IN, Row, sheets_of
from curewindow.paper.models import Paper

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_NUMBER_PT = 10.0


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
        sheets = sheets_of(paper)
        with PdfPages(out, metadata=about) as pages:
            for number, rows in enumerate(sheets, 1):
                pages.savefig(_drawn(rows, f"{number} of {len(sheets)}" if sheets[1:] else ""))
    return out.getvalue()


def _drawn(rows: list[Row], number: str) -> Figure:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    figure = Figure(figsize=(WIDE_IN, HIGH_IN))
    FigureCanvasAgg(figure)

    def put(x_in: float, y_in: float, text: str, size: float, *, bold: bool = False) -> None:
        weight = "bold" if bold else "normal"
        # a dollar sign begins no formula
        figure.text(
            x_in / WIDE_IN,
            y_in / HIGH_IN,
            text,
            size=size,
            weight=weight,
            va="top",
            parse_math=False,
        )

    y_in = HIGH_IN - EDGE_IN
    for row in rows:
        y_in -= row.above_in
        if row.rule:
            across = [EDGE_IN / WIDE_IN, 1.0 - EDGE_IN / WIDE_IN]
            level = (y_in + row.above_in / 2.0) / HIGH_IN
            figure.add_artist(Line2D(across, [level, level], color="black", linewidth=1.2))
        if row.day:
            put(EDGE_IN, y_in, row.day, row.size_pt, bold=True)
        if row.box:
            side = 0.85 * row.size_pt / 72.0
            left = EDGE_IN + row.indent_in - 1.4 * row.size_pt / 72.0
            corner = (left / WIDE_IN, (y_in - side - 0.025) / HIGH_IN)
            figure.add_artist(
                Rectangle(corner, side / WIDE_IN, side / HIGH_IN, fill=False, linewidth=1.2)
            )
        put(EDGE_IN + row.indent_in, y_in, row.text, row.size_pt, bold=row.bold)
        y_in -= row.high_in - row.above_in
    if number:
        put(WIDE_IN - EDGE_IN - 0.6, EDGE_IN - 0.1, number, _NUMBER_PT)
    return figure
