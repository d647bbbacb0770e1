"""The reliability diagram as SVG or PNG, by matplotlib: read without colour."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from curewindow.calibration.answer import DiagramPoint, FeedTrust, TrustAnswer
from curewindow.drawing import drawing, form_of, saved, write
from curewindow.errors import CurewindowError

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def write_diagram(answer: TrustAnswer, path: Path) -> None:
    """Draw the diagrams of the feeds with judged windows, one beside the other.

    Raises
    ------
    CurewindowError
        Another ending, nothing judged yet, no matplotlib, or the file cannot be written.
    """
    form = form_of(path)
    feeds = [feed for feed in answer.feeds if feed.diagram]
    if not feeds:
        raise CurewindowError("there is nothing to draw yet: no stated window is judged")
    with drawing():
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        figure = Figure(figsize=(4.6 * len(feeds), 5.8), layout="constrained")
        FigureCanvasAgg(figure)
        grid = figure.subplots(2, len(feeds), squeeze=False, height_ratios=[4, 1])
        for number, feed in enumerate(feeds):
            _held(grid[0, number], feed)
            _counted(grid[1, number], feed.diagram)
        figure.suptitle(f"{answer.boat}: how often windows held")
        drawn = saved(figure, form, dpi=150, title=f"{answer.boat}: reliability diagram")
    write(path, drawn)


def _held(axes: Axes, feed: FeedTrust) -> None:
    axes.plot([0, 100], [0, 100], color="0.4", linestyle="--", linewidth=1, label="as stated")
    for number, point in enumerate(feed.diagram):
        axes.plot(
            [100 * point.told] * 2,
            [100 * point.least, 100 * point.most],
            color="0.6",
            linewidth=5,
            solid_capstyle="butt",
            label="could be chance" if number == 0 else None,
        )
    for enough, face, label in ((True, "black", "held"), (False, "white", "held, few days")):
        own = [point for point in feed.diagram if point.enough == enough]
        if own:
            axes.plot(
                [100 * point.told for point in own],
                [100 * point.held for point in own],
                linestyle="none",
                marker="o",
                markersize=7,
                markeredgecolor="black",
                markerfacecolor=face,
                label=label,
            )
    axes.set(xlim=(0, 100), ylim=(0, 104), ylabel="held [%]")
    axes.set_title(feed.source, fontsize="medium")
    if feed.score is not None:
        text = f"Brier score {feed.score.score:.3f}, {feed.score.cases} windows"
        axes.text(3, 97, text, fontsize="small", va="top")
    axes.grid(color="0.9", linewidth=0.6)
    axes.legend(loc="lower right", fontsize="small")


def _counted(axes: Axes, points: list[DiagramPoint]) -> None:
    axes.bar(
        [50 * (point.low + point.high) for point in points],
        [point.cases for point in points],
        width=9,
        facecolor="white",
        edgecolor="black",
        hatch="///",
    )
    axes.set(xlim=(0, 100), xlabel="stated [%]", ylabel="windows")
