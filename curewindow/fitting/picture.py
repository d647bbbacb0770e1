"""Measured against predicted, drawn so that a printer without colours tells it all."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.drawing import drawing, form_of, saved, write
from curewindow.fitting.data import AIR, DEW, SURFACE
from curewindow.fitting.data import course_of as course
from curewindow.fitting.lesson import Lesson

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_TITLES: Final = {AIR: "air", DEW: "dew point"}


def draw(lesson: Lesson, path: Path, zone: ZoneInfo, *, fahrenheit: bool = False) -> None:
    """Draw what was read beside what the fitted and the described cabin have.

    Parameters
    ----------
    lesson : Lesson
    path : Path
        Where to, ending in .svg or .png.
    zone : ZoneInfo
        The boat's.
    fahrenheit : bool
        °F instead of °C.

    Raises
    ------
    CurewindowError
        Another ending, no such folder, or matplotlib is not installed.
    """
    form = form_of(path)
    with drawing():
        figure = _figure(lesson, zone, fahrenheit)
        drawn = saved(figure, form, dpi=150, title=f"{lesson.learned.space}: read and worked out")
    write(path, drawn)


def _figure(lesson: Lesson, zone: ZoneInfo, fahrenheit: bool) -> Figure:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter
    from matplotlib.figure import Figure

    def shown(temp_c: np.ndarray) -> np.ndarray:
        return temp_c * 1.8 + 32.0 if fahrenheit else temp_c

    data, cabin = lesson.data, lesson.cabin
    kinds = [int(kind) for kind in np.unique(data.kind)]
    seconds = cabin.times.astype("datetime64[s]").astype(np.int64)
    begin, end = lesson.first.timestamp() - 6 * 3600, lesson.last.timestamp() + 6 * 3600
    inside = (seconds >= begin) & (seconds <= end)
    at = [datetime.fromtimestamp(int(second), UTC) for second in seconds[inside]]

    figure = Figure(figsize=(9.0, 2.6 * len(kinds) + 0.8), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots(len(kinds), 1, sharex=True, squeeze=False)[:, 0]
    for axis, kind in zip(axes, kinds, strict=True):
        for courses, style, label in (
            (lesson.courses_described, {"color": "0.55", "linestyle": "--"}, "as described"),
            (lesson.courses, {"color": "black", "linestyle": "-"}, "fitted"),
        ):
            values = shown(course(courses, kind)[0, inside])
            axis.plot(at, values, linewidth=1.2, label=label, **style)
        for used, marker, label in ((True, "o", "read"), (False, "x", "left out")):
            rows = np.flatnonzero((data.kind == kind) & (lesson.stays == used))
            if not rows.size:
                continue
            axis.plot(
                [data.readings[int(data.owner[row])].at for row in rows],
                shown(data.value[rows]),
                linestyle="none",
                marker=marker,
                markersize=6 if marker == "x" else 4,
                markeredgecolor="black",
                markerfacecolor="white",
                label=label,
            )
        name = _TITLES.get(kind) or cabin.space.panel[kind - SURFACE].name
        axis.set_ylabel(f"{name} [{'°F' if fahrenheit else '°C'}]")
        axis.grid(color="0.9", linewidth=0.6)
    locator = AutoDateLocator(tz=zone)  # type: ignore[no-untyped-call]
    axes[-1].xaxis.set_major_locator(locator)
    axes[-1].xaxis.set_major_formatter(
        ConciseDateFormatter(locator, tz=zone)  # type: ignore[no-untyped-call]
    )
    axes[0].set_title(f"{lesson.learned.space}: read and worked out")
    handles = {
        label: h for a in axes for h, label in zip(*a.get_legend_handles_labels(), strict=True)
    }
    axes[0].legend(handles.values(), handles.keys(), loc="best", fontsize="small", ncols=4)
    return figure
