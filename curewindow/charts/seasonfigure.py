"""The season as SVG or PNG: black on white, read without colour."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from curewindow.charts.page import DESK, PHONE, Page
from curewindow.charts.seasonlines import kind_name
from curewindow.drawing import Form, drawing, form_of, saved, write
from curewindow.season.answer import Outlook

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def write_season(outlook: Outlook, path: Path, *, phone: bool = False) -> None:
    """Draw an outlook into a file, SVG or PNG by its name.

    Raises
    ------
    CurewindowError
        matplotlib is not there, the name ends otherwise, or it cannot be written.
    """
    write(path, season_bytes(outlook, form_of(path), phone=phone))


def season_bytes(outlook: Outlook, form: Form, *, phone: bool = False) -> bytes:
    """Draw an outlook.

    Parameters
    ----------
    outlook : Outlook
    form : {'svg', 'png'}
    phone : bool
        As wide as a phone's screen.

    Returns
    -------
    bytes
        The same for the same outlook.

    Raises
    ------
    CurewindowError
        matplotlib is not there.
    """
    page = PHONE if phone else DESK
    with drawing(page.font):
        return saved(
            _figure(outlook, page),
            form,
            dpi=page.dpi,
            title=f"Season outlook, {outlook.boat}",
            description="; ".join(outlook.words),
        )


def _figure(outlook: Outlook, page: Page) -> Figure:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    line = page.line
    told = [row for text in outlook.words for row in page.wrapped(text)]
    kinds = max(len(outlook.workable), 1)
    name_w = 0.36 * page.width
    row_h = 2.3 * line
    top, gap = 2.9 * line, 4.2 * line
    tall = top + page.plot + gap + kinds * row_h + 4.4 * line + line * (len(told) + 1.0)
    figure = Figure(figsize=(page.width, tall))
    FigureCanvasAgg(figure)
    figure.text(
        0.1 / page.width,
        1.0 - 0.5 * line / tall,
        f"{outlook.boat}: when all is done, from {len(outlook.years)} past years",
        va="top",
        fontsize=page.font * 1.1,
        fontweight="bold",
    )

    def axes(left: float, from_top: float, height: float) -> Axes:
        wide = (page.width - left - 0.25) / page.width
        return figure.add_axes(
            (left / page.width, 1.0 - (from_top + height) / tall, wide, height / tall)
        )

    _fan(outlook, axes(page.left, top, page.plot))
    weeks_top = top + page.plot + gap
    _weeks(outlook, axes(name_w, weeks_top, kinds * row_h), page, name_w)
    text_top = weeks_top + kinds * row_h + 4.4 * line
    for number, row in enumerate(told):
        figure.text(0.1 / page.width, 1.0 - (text_top + number * line) / tall, row, va="top")
    return figure


def _fan(outlook: Outlook, axes: Axes) -> None:
    """The chance of being done against the date; below it a mark for each year's middle."""
    axes.spines[["top", "right"]].set_visible(False)
    days = np.arange(len(outlook.curve_pct))
    axes.step(days, outlook.curve_pct, where="post", color="black", lw=1.8)
    axes.fill_between(days, outlook.curve_pct, step="post", color="0.88")
    for each in outlook.dates:
        axes.axhline(each.chance_pct, color="0.4", lw=0.7, ls=":")
        if each.on is not None:
            x = (each.on - outlook.curve_on[0]).days
            axes.annotate(
                f"{each.on.day} {each.on:%b}",
                (x, each.chance_pct),
                (-4, 3),
                textcoords="offset points",
                ha="right",
            )
    middles = [
        (each.middle - outlook.curve_on[0]).days
        for each in outlook.years
        if each.middle is not None
    ]
    axes.plot(middles, [3.0] * len(middles), "|", color="black", ms=9, clip_on=False)
    if outlook.done_by is not None:
        x = (outlook.done_by - outlook.curve_on[0]).days
        if 0 <= x < days.size:
            axes.axvline(x, color="black", lw=1.2, ls="--")
            axes.annotate(
                f"the date, {outlook.done_by.day} {outlook.done_by:%b}",
                (x, 102.0),
                ha="center",
                va="bottom",
                annotation_clip=False,
            )
    axes.set_ylim(0.0, 100.0)
    axes.set_xlim(0, days.size - 1)
    axes.set_yticks([0, 50, 80, 95], ["0", "50", "80", "95 %"])
    months = [(n, day) for n, day in enumerate(outlook.curve_on) if day.day == 1]
    axes.set_xticks([n for n, _ in months], [f"{day:%b}" for _, day in months])
    axes.set_xlabel("dashes at the foot: half-way of each year's seasons")


def _weeks(outlook: Outlook, axes: Axes, page: Page, name_w: float) -> None:
    """Hours a week as shades of grey with the figures in them."""
    table = np.array([each.hours_warmed for each in outlook.workable]).reshape(
        len(outlook.workable), -1
    )
    if not table.size:
        axes.set_axis_off()
        return
    most = max(float(np.max(outlook.aboard_hours)), 1.0)
    axes.imshow(table, cmap="Greys", vmin=0.0, vmax=most, aspect="auto", interpolation="nearest")
    cell = 72.0 * (page.width - name_w) / table.shape[1]
    every = 1 if cell >= 1.5 * page.font else 2 if cell >= 0.8 * page.font else 4
    for (row, column), hours in np.ndenumerate(table):
        if column % every == 0:
            axes.text(
                column,
                row,
                f"{hours:.0f}",
                ha="center",
                va="center",
                color="white" if hours > 0.55 * most else "black",
                fontsize=0.72 * page.font,
            )
    letters = int(name_w * 72.0 / (0.62 * page.font))
    names = ["\n".join(textwrap.wrap(kind_name(each), letters)[:2]) for each in outlook.workable]
    axes.set_yticks(range(len(names)), names, fontsize=0.85 * page.font)
    weeks = outlook.weeks_from
    marks = [n for n, day in enumerate(weeks) if day.day <= 7]
    axes.set_xticks(marks, [f"{weeks[n]:%b}" for n in marks])
    label = "hours a week a coat could be begun, with the heat it needs (mean)"
    across = int((page.width - name_w) * 72.0 / (0.6 * page.font))
    axes.set_xlabel("\n".join(textwrap.wrap(label, across)))
