"""The curves of a drawn picture: temperatures against the dew point, and humidity."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from curewindow.charts.limits import strictest
from curewindow.charts.page import Page, moved_apart
from curewindow.charts.scene import Scene
from curewindow.charts.stretches import day_marks, stretches
from curewindow.rules.asked import Bound
from curewindow.rules.limits import DEW, HUMIDITY
from curewindow.series import BoolArray, FloatArray

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Colours of Okabe and Ito, told apart by colour-blind readers; each line also has
# a style and a name of its own.
_SURFACE, _AIR, _DEW, _WATER, _ICE = "#000000", "#D55E00", "#0072B2", "#56B4E9", "#d9d9d9"
_NIGHT, _GAP = "#f1f1f1", "#cfe0ea"
_BOUNDS: tuple[tuple[Bound, str], ...] = (("min", "≥"), ("max", "≤"))


def background(scene: Scene, axes: Axes, *, named: bool = False) -> None:
    """Nights, midnights and now."""
    for begin, end in stretches(scene, scene.night):
        axes.axvspan(scene.hour_of(begin), scene.hour_of(end), color=_NIGHT, lw=0, zorder=0)
    for begin_h, *_ in day_marks(scene)[1:]:
        axes.axvline(begin_h, color="0.75", lw=0.6, zorder=0.5)
    now = scene.hour_of(scene.words.now)
    if not 0.0 <= now <= scene.hour_of(scene.right):
        return
    axes.axvline(now, color="0.35", lw=1.0, ls=(0, (1, 1)), zorder=1)
    if named:
        axes.annotate(
            "now",
            (now, 1.0),
            (0, 1),
            xycoords=("data", "axes fraction"),
            textcoords="offset points",
            ha="center",
            va="bottom",
            color="0.25",
        )


def temperatures(scene: Scene, axes: Axes, page: Page) -> None:
    """Air, surface and dew point, the limits shaded, dew and frost marked on the surface."""
    from matplotlib.ticker import MaxNLocator

    air, surface, dew = (
        _shown(scene, values) for values in (scene.air_c, scene.surface_c, scene.dew_point_c)
    )
    background(scene, axes, named=True)
    known = np.concatenate([air, surface, dew])
    known = known[np.isfinite(known)]
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 10.0)
    room = max(high - low, 4.0)
    low, high = low - 0.10 * room, high + 0.10 * room
    names = [("air", air, _AIR), (scene.surface, surface, _SURFACE), ("dew point", dew, _DEW)]
    for bound, sign in _BOUNDS:
        limit = strictest(scene.limits, bound)
        if limit is None:
            continue
        value = float(_shown(scene, np.array(limit.value)))
        if bound == "min" and high <= value < high + 0.8 * room:
            high = value + 0.1 * room  # near enough to be shown
        if low < value < high:
            _forbidden(axes, (low, value) if bound == "min" else (value, high), value)
            text = f"{limit.subject} {sign} {scene.words.temp(limit.value)}"
            names.append((text, np.array([value]), "0.3"))
    above = next((limit for limit in scene.limits if limit.kind is DEW and limit.value), None)
    if above is not None:
        needed = _shown(scene, scene.dew_point_c + above.value)
        axes.fill_between(scene.hours, dew, needed, color=_GAP, lw=0, zorder=1.5)
        axes.plot(scene.hours, needed, color="0.45", lw=0.7, zorder=1.6)
        text = f"dew + {scene.words.difference(above.value)}"
        names.append((text, needed, "0.35"))
    axes.plot(scene.hours, dew, color=_DEW, lw=1.5, ls=(0, (1, 1.2)), zorder=3)
    axes.plot(scene.hours, air, color=_AIR, lw=1.4, ls=(0, (5, 2)), zorder=3.5)
    axes.plot(scene.hours, surface, color=_SURFACE, lw=2.2, zorder=4)
    _wet(scene, axes, surface, scene.dew, "dew", _WATER)
    _wet(scene, axes, surface, scene.frost, "frost", _ICE)
    axes.set_ylim(low, high)
    axes.set_xticks([])
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10], integer=True))
    degree = "°F" if scene.words.fahrenheit else "°C"
    axes.set_ylabel(degree, rotation=0, ha="right", va="top", y=1.0)
    _names(axes, names, page, low, high)


def _shown(scene: Scene, temp_c: FloatArray) -> FloatArray:
    return temp_c * 1.8 + 32.0 if scene.words.fahrenheit else temp_c


def _forbidden(axes: Axes, between: tuple[float, float], edge: float) -> None:
    """Hatched where a limit forbids."""
    axes.axhspan(*between, facecolor="none", edgecolor="0.82", hatch="///", lw=0, zorder=0.8)
    axes.axhline(edge, color="0.4", lw=0.9, zorder=0.9)


def _wet(
    scene: Scene, axes: Axes, surface: FloatArray, mask: BoolArray, name: str, colour: str
) -> None:
    """A band along the surface's line where water comes out on it, its longest stretch named."""
    spans = stretches(scene, mask)
    if not spans:
        return
    line = np.where(mask, surface, np.nan)
    axes.plot(scene.hours, line, color=colour, lw=9.0, solid_capstyle="butt", zorder=2.5)
    if name == "frost":
        every = max(round(mask.size / 45), 1)
        axes.plot(
            scene.hours[::every],
            line[::every],
            ls="none",
            marker=(6, 2, 0),
            ms=8,
            mec="0.1",
            zorder=4.5,
        )
    begin, end = max(spans, key=lambda span: span[1] - span[0])
    middle = (scene.hour_of(begin) + scene.hour_of(end)) / 2.0
    value = float(np.interp(middle, scene.hours, surface))
    brief = (end - begin) / (scene.right - scene.left) < 0.08  # beside it, not across the line
    axes.annotate(
        name,
        (middle, value),
        (9, -6) if brief else (0, -7),
        textcoords="offset points",
        ha="left" if brief else "center",
        va="top",
        fontweight="bold",
        zorder=6,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.75},
    )


def _names(
    axes: Axes, names: list[tuple[str, FloatArray, str]], page: Page, low: float, high: float
) -> None:
    """Names at the right ends of the lines."""
    ends = sorted(
        (float(values[np.isfinite(values)][-1]), page.beside(name), colour)
        for name, values, colour in names
        if np.isfinite(values).any()
    )
    a_line = page.line * (high - low) / page.plot
    tall = [a_line * len(lines) for _, lines, _ in ends]
    roof = high + 0.06 * (high - low)
    middles = moved_apart([value for value, _, _ in ends], tall, low, roof)
    for middle, (_, lines, colour) in zip(middles, ends, strict=True):
        _beside(axes, "\n".join(lines), middle, colour)


def _beside(axes: Axes, text: str, middle: float, colour: str) -> None:
    axes.annotate(
        text,
        (1.0, middle),
        (4, 0),
        xycoords=("axes fraction", "data"),
        textcoords="offset points",
        va="center",
        color=colour,
        linespacing=1.0,
        annotation_clip=False,
    )


def humidity(scene: Scene, axes: Axes) -> None:
    """Relative humidity, with what the limits forbid."""
    background(scene, axes)
    axes.plot(scene.hours, scene.rh_pct, color="0.15", lw=1.3, zorder=3)
    known = scene.rh_pct[np.isfinite(scene.rh_pct)]
    low = min(40.0, float(known.min()) - 4.0) if known.size else 40.0
    for limit in scene.limits:
        if limit.kind is HUMIDITY and low < limit.value:
            between = (limit.value, 104.0) if limit.bound == "max" else (low, limit.value)
            _forbidden(axes, between, limit.value)
    axes.set_ylim(low, 104.0)
    axes.set_yticks([50.0, 75.0, 100.0])
    axes.set_xticks([])
    at = float(known[-1]) if known.size else 75.0
    _beside(axes, "humidity\n%", min(max(at, low + 18.0), 90.0), "0.15")
