"""The picture as SVG or PNG, by matplotlib: read without colour as well as with it."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from curewindow.charts.alttext import wet_texts
from curewindow.charts.curves import background, humidity, temperatures
from curewindow.charts.limits import limits_text
from curewindow.charts.page import DESK, PHONE, Page
from curewindow.charts.scene import Scene
from curewindow.charts.stretches import day_marks, time_marks
from curewindow.charts.strips import Strip, strips_of
from curewindow.drawing import Form, drawing, form_of, saved, write
from curewindow.voice import full
from curewindow.voice.picture import coldest_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def picture_bytes(scene: Scene, form: Form, *, phone: bool = False) -> bytes:
    """Draw a scene.

    Parameters
    ----------
    scene : Scene
    form : {'svg', 'png'}
    phone : bool
        As wide as a phone's screen.

    Returns
    -------
    bytes
        The same for the same scene.

    Raises
    ------
    CurewindowError
        matplotlib is not there.
    """
    page = PHONE if phone else DESK
    with drawing(page.font):
        return saved(
            _figure(scene, page),
            form,
            dpi=page.dpi,
            title=scene.title,
            description="; ".join(_alt_text(scene)),
        )


def write_picture(scene: Scene, path: Path, *, phone: bool = False) -> None:
    """Draw a scene into a file, SVG or PNG by its name.

    Raises
    ------
    CurewindowError
        matplotlib is not there, the name ends otherwise, or it cannot be written.
    """
    write(path, picture_bytes(scene, form_of(path), phone=phone))


def _figure(scene: Scene, page: Page) -> Figure:
    """Everything one below the other, each as high as it has to be."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    line = page.line
    head = page.wrapped(scene.title, 1.3)  # bold, and a little larger
    place = "" if scene.where == scene.title else f"{scene.where}; "
    now = f"{scene.words.date(scene.words.now)} {scene.words.clock(scene.words.now)}"
    under = page.wrapped(f"{place}{scene.boat}, {now}")
    told = [row for text in _alt_text(scene) for row in page.wrapped(text)]
    strips = strips_of(scene)
    labels = [textwrap.wrap(strip.label, 11)[:2] for strip in strips]

    damp_h, gap_h = 0.26 * page.plot, 0.5 * line
    strips_h = line * sum(_tall(label) for label in labels)
    plot_top = line * (1.2 * len(head) + len(under) + 1.3)
    damp_top = plot_top + page.plot + gap_h
    strips_top = damp_top + damp_h + gap_h
    told_top = strips_top + strips_h + 3.1 * line  # hours and days between
    height = told_top + line * (len(told) + 0.6)
    figure = Figure(figsize=(page.width, height))
    FigureCanvasAgg(figure)

    def axes(top: float, tall: float) -> Axes:
        left, bottom = page.left / page.width, 1.0 - (top + tall) / height
        found = figure.add_axes((left, bottom, page.across / page.width, tall / height))
        found.set_xlim(0.0, scene.hour_of(scene.right))
        found.spines[["top", "right"]].set_visible(False)
        return found

    def text(rows: list[str], top: float, scale: float = 1.0, weight: str = "normal") -> None:
        for number, row in enumerate(rows):
            x, y = 0.1 / page.width, 1.0 - (top + number * line * scale) / height
            figure.text(x, y, row, va="top", fontsize=page.font * scale, fontweight=weight)

    text(head, 0.4 * line, 1.15, "bold")
    text(under, line * (0.5 + 1.2 * len(head)))
    temperatures(scene, axes(plot_top, page.plot), page)
    humidity(scene, axes(damp_top, damp_h))
    lowest = axes(strips_top, strips_h)
    _strips(scene, lowest, strips, labels)
    _clock(scene, lowest, page)
    text(told, told_top)
    return figure


def _alt_text(scene: Scene) -> list[str]:
    """What stands beneath the picture."""
    told = [coldest_text(scene.coldest)]
    if scene.limits:
        told.append(limits_text(scene.limits, scene.words))
    told += wet_texts(scene)
    told += [f"{bar.job}: {full(bar.verdict, scene.words)}" for bar in scene.windows]
    return [text for text in [*told, scene.attribution] if text]


def _tall(label: list[str]) -> float:
    """Height of a bar with its label, in lines."""
    return 0.35 + max(len(label), 1)


def _strips(scene: Scene, axes: Axes, strips: list[Strip], labels: list[list[str]]) -> None:
    background(scene, axes)
    right = scene.hour_of(scene.right)
    middles: list[float] = []
    upper = 0.0
    for strip, label in zip(strips, labels, strict=True):
        middles.append(upper + _tall(label) / 2.0)
        upper += _tall(label)
        spans = [(max(scene.hour_of(a), 0.0), min(scene.hour_of(b), right)) for a, b in strip.spans]
        bars = [(begin, end - begin) for begin, end in spans if end > begin]
        if bars:
            axes.broken_barh(
                bars,
                (middles[-1] - 0.42, 0.84),
                facecolor=strip.colour,
                edgecolor="0.15",
                hatch=strip.hatch,
                lw=0.5,
                zorder=3,
            )
        elif strip.none:
            box = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}
            at = (0.006 * right, middles[-1])
            axes.text(*at, strip.none, va="center", color="0.25", zorder=4, bbox=box)
    axes.set_ylim(upper, 0.0)
    axes.set_yticks(middles, ["\n".join(label) for label in labels], linespacing=0.95)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)


def _clock(scene: Scene, axes: Axes, page: Page) -> None:
    """Hours and days beneath the lowest axes."""
    an_hour = 72.0 * page.across / scene.hour_of(scene.right)  # points
    every = next((h for h in (3, 6, 12, 24) if h * an_hour >= 2.2 * page.font), 24)
    marks = time_marks(scene, every)
    axes.set_xticks([hour for hour, _ in marks], [text for _, text in marks])
    for day in day_marks(scene):
        fitting = [
            text
            for text in (day.name, day.weekday)
            if (day.end_h - day.begin_h) * an_hour >= 0.72 * page.font * (len(text) + 0.5)
        ]
        if fitting:
            axes.annotate(
                fitting[0],
                ((day.begin_h + day.end_h) / 2.0, 0.0),
                (0, -2.25 * page.font),
                xycoords=("data", "axes fraction"),
                textcoords="offset points",
                ha="center",
                va="top",
                fontweight="bold",
                annotation_clip=False,
            )
