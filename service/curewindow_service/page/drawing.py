"""A scene as SVG for the page: small, without a style of its own, read in black and white.

Colours, line widths and letters come from the page's style sheet by class, so that light and
dark need no second picture; dashes and hatches tell everything apart without colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from html import escape

import numpy as np

from curewindow.charts.alttext import wet_texts
from curewindow.charts.models import picture_of
from curewindow.charts.page import moved_apart
from curewindow.charts.scene import Scene
from curewindow.charts.stretches import day_marks, stretches, time_marks
from curewindow.charts.strips import Strip, strips_of
from curewindow.series import FloatArray
from curewindow.voice import full
from curewindow.voice.picture import coldest_text
from curewindow.wording import figure
from curewindow_service.page.drawnlimits import Level, levels_of, levels_text, strictest_above_dew
from curewindow_service.page.workings import Drawn


@dataclass(frozen=True, slots=True)
class _Form:
    """Sizes in the picture's own units, which are about a screen's pixels."""

    name: str
    width: float
    plot: float
    left: float
    right: float
    font: float

    @property
    def across(self) -> float:
        return self.width - self.left - self.right


_PHONE = _Form("p", 360.0, 180.0, 30.0, 60.0, 12.0)
_DESK = _Form("d", 920.0, 280.0, 152.0, 128.0, 14.0)
_TOP = 20.0


def drawn(scene: Scene, jobs: Sequence[Scene]) -> Drawn:
    """A scene drawn, told and written as numbers.

    Parameters
    ----------
    scene : Scene
    jobs : sequence of Scene
        Of the jobs whose limits are drawn into it.

    Returns
    -------
    Drawn
    """
    levels = levels_of(jobs)
    told = [coldest_text(scene.coldest), levels_text(scene, levels, jobs), *wet_texts(scene)]
    told += [
        f"{bar.job}: {full(bar.verdict, scene.words)}"
        for bar in scene.windows
        if bar.status != "done"
    ]
    return Drawn(
        title=scene.title,
        surface=scene.surface,
        phone=_svg(scene, levels, jobs, _PHONE),
        desk=_svg(scene, levels, jobs, _DESK),
        told=tuple(text for text in told if text),
        rows=tuple(_rows(scene)),
        json=picture_of(scene).model_dump_json().encode(),
    )


def _rows(scene: Scene) -> list[tuple[str, ...]]:
    """The curves as a table, every six hours of the clock from now on."""
    found = []
    for hour, _ in time_marks(scene, 6):
        at = scene.left + timedelta(hours=hour)
        if at < scene.words.now:
            continue
        index = min(round(hour / scene.step_h), scene.times.size - 1)
        temps = [values[index] for values in (scene.air_c, scene.surface_c, scene.dew_point_c)]
        shown = ["?" if value != value else scene.words.temp(float(value)) for value in temps]
        humid = scene.rh_pct[index]
        found.append((scene.words.when(at), *shown, "?" if humid != humid else f"{humid:.0f} %"))
    return found


def _svg(scene: Scene, levels: Sequence[Level], jobs: Sequence[Scene], form: _Form) -> str:
    strips = strips_of(scene)
    row = form.font * 1.75
    # on a phone a strip's name stands above it
    row_h = row if form is _DESK else form.font * 2.5
    strips_top = _TOP + form.plot + 12.0
    clock_top = strips_top + row_h * len(strips) + 4.0
    height = clock_top + 2.6 * form.font
    scale = _Scale(scene, levels, form)
    parts = [_patterns(form), *_background(scene, form, scale, clock_top)]
    parts += _levels(levels, form, scale)
    parts += _dew_band(scene, jobs, scale)
    parts += [
        _curve(scene, scene.dew_point_c, "dew", scale),
        _curve(scene, scene.air_c, "air", scale),
        _wet(scene, scale),
        _curve(scene, scene.surface_c, "surface", scale),
    ]
    parts += _names(scene, levels, form, scale)
    parts += _strips(scene, strips, strips_top, row_h, form, scale)
    parts += _clock(scene, form, scale, clock_top)
    label = f"{scene.title}: air, {scene.surface} and dew point over the coming days"
    return (
        f'<svg class="chart {"phone" if form is _PHONE else "desk"}" role="img" '
        f'viewBox="0 0 {form.width:g} {height:.0f}" aria-label="{escape(label)}">'
        f"{''.join(parts)}</svg>"
    )


class _Scale:
    """Hours to x, °C to y."""

    def __init__(self, scene: Scene, levels: Sequence[Level], form: _Form) -> None:
        self.form = form
        self.fahrenheit = scene.words.fahrenheit
        self.hours = scene.hour_of(scene.right)
        known = np.concatenate([scene.air_c, scene.surface_c, scene.dew_point_c])
        known = known[np.isfinite(known)]
        low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 10.0)
        room = max(high - low, 4.0)
        for level in levels:  # near enough to be shown
            if level.bound == "min" and high <= level.value_c < high + 0.7 * room:
                high = level.value_c
            if level.bound == "max" and low - 0.4 * room < level.value_c <= low:
                low = level.value_c
        self.low, self.high = low - 0.08 * room, high + 0.08 * room

    def x(self, hour: float) -> float:
        return self.form.left + min(max(hour, 0.0), self.hours) / self.hours * self.form.across

    def y(self, temp_c: float) -> float:
        share = (self.high - temp_c) / (self.high - self.low)
        return _TOP + min(max(share, 0.0), 1.0) * self.form.plot

    def ticks(self) -> list[tuple[float, str]]:
        """Levels in °C, and what is written at them in the boat's degrees."""
        low, high = (t * 1.8 + 32.0 if self.fahrenheit else t for t in (self.low, self.high))
        step = next((s for s in (1.0, 2.0, 5.0, 10.0, 20.0) if (high - low) / s <= 6.0), 50.0)
        values = np.arange(np.ceil(low / step) * step, high, step)
        return [
            ((v - 32.0) / 1.8 if self.fahrenheit else v, figure(v))
            for v in (float(value) for value in values)
        ]


def _patterns(form: _Form) -> str:
    return (
        f'<defs><pattern id="no-{form.name}" class="hatch" width="7" height="7" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V7"/></pattern>'
        f'<pattern id="dots-{form.name}" class="hatch" width="5" height="5" '
        'patternUnits="userSpaceOnUse"><circle cx="2.5" cy="2.5" r="1.1"/></pattern>'
        f'<pattern id="cross-{form.name}" class="hatch" width="6" height="6" '
        'patternUnits="userSpaceOnUse"><path d="M0 0L6 6M6 0L0 6"/></pattern></defs>'
    )


def _background(scene: Scene, form: _Form, scale: _Scale, bottom: float) -> list[str]:
    parts = []
    for begin, end in stretches(scene, scene.night):
        left, right = scale.x(scene.hour_of(begin)), scale.x(scene.hour_of(end))
        parts.append(_box("night", left, _TOP, right - left, bottom - _TOP))
    for temp_c, text in scale.ticks():
        y = scale.y(temp_c)
        parts.append(_line("grid", form.left, y, form.left + form.across, y))
        parts.append(_text(form.left - 5.0, y + form.font * 0.35, text, "end"))
    degree = "°F" if scale.fahrenheit else "°C"
    parts.append(_text(form.left - 5.0, _TOP - 7.0, degree, "end"))
    for begin_h, *_ in day_marks(scene)[1:]:
        parts.append(_line("midnight", scale.x(begin_h), _TOP, scale.x(begin_h), bottom))
    now = scene.hour_of(scene.words.now)
    if 0.0 <= now <= scale.hours:
        parts.append(_line("now", scale.x(now), _TOP, scale.x(now), bottom))
        parts.append(_text(scale.x(now), _TOP - 7.0, "now", "middle", "strong"))
    return parts


def _levels(levels: Sequence[Level], form: _Form, scale: _Scale) -> list[str]:
    parts = []
    edge = {"min": ("max", scale.low), "max": ("min", scale.high)}
    for bound, (_, end) in edge.items():
        inside = [v for v in levels if v.bound == bound and scale.low < v.value_c < scale.high]
        for level in inside:
            y = scale.y(level.value_c)
            parts.append(_line("limit", form.left, y, form.left + form.across, y))
        if inside:
            # hatched is what forbids all that is drawn: below the least, above the greatest
            values = [level.value_c for level in inside]
            reach = scale.y(min(values) if bound == "min" else max(values))
            top, low = sorted((reach, scale.y(end)))
            parts.append(
                f'<rect fill="url(#no-{form.name})" x="{form.left:.1f}" y="{top:.1f}" '
                f'width="{form.across:.1f}" height="{low - top:.1f}"/>'
            )
    return parts


def _dew_band(scene: Scene, jobs: Sequence[Scene], scale: _Scale) -> list[str]:
    above = strictest_above_dew(jobs)
    if above is None:
        return []
    upper = _points(scene, scene.dew_point_c + above, scale)
    lower = _points(scene, scene.dew_point_c, scale)
    return [
        f'<path class="band" d="M{" ".join(a)}L{" ".join(reversed(b))}Z"/>'
        for a, b in zip(upper, lower, strict=True)
    ]


def _points(scene: Scene, values: FloatArray, scale: _Scale) -> list[list[str]]:
    """Runs of known points, thinned to what the width can show."""
    every = max(int(values.size / (scale.form.across / 2.2)), 1)
    runs: list[list[str]] = [[]]
    hours = scene.hours
    for i in [*range(0, values.size - 1, every), values.size - 1]:
        value = float(values[i])
        if value != value:
            if runs[-1]:
                runs.append([])
            continue
        runs[-1].append(f"{scale.x(float(hours[i])):.1f},{scale.y(value):.1f}")
    return [run for run in runs if run]


def _curve(scene: Scene, values: FloatArray, kind: str, scale: _Scale) -> str:
    runs = _points(scene, values, scale)
    path = "".join(f"M{' '.join(run)}" for run in runs)
    return f'<path class="{kind}" d="{path}"/>' if path else ""


def _wet(scene: Scene, scale: _Scale) -> str:
    """A broad band along the surface where water comes out on it."""
    line = np.where(scene.dew | scene.frost, scene.surface_c, np.nan)
    path = "".join(f"M{' '.join(run)}" for run in _points(scene, line, scale))
    return f'<path class="wet" d="{path}"/>' if path else ""


def _names(scene: Scene, levels: Sequence[Level], form: _Form, scale: _Scale) -> list[str]:
    surface = "surface" if form is _PHONE or scene.surface == "coldest surface" else scene.surface
    surface = "coldest surface" if form is _DESK and surface == "surface" else surface
    names = [("air", scene.air_c), (surface, scene.surface_c), ("dew pt", scene.dew_point_c)]
    wanted: list[tuple[float, str]] = []
    for name, values in names:
        known = values[np.isfinite(values)]
        if known.size:
            wanted.append((scale.y(float(known[-1])), name))
    for level in levels:
        if scale.low < level.value_c < scale.high:
            wanted.append((scale.y(level.value_c), level.short(scene.words)))
    wanted.sort()
    tall = [form.font * 1.12] * len(wanted)
    bottom = _TOP + form.plot + 8.0
    middles = moved_apart([y for y, _ in wanted], tall, _TOP - 4.0, bottom)
    x = form.left + form.across + 4.0
    return [
        _text(x, middle + form.font * 0.35, name, "start", "strong" if name == surface else "")
        for middle, (_, name) in zip(middles, wanted, strict=True)
    ]


# by the first mark of the hatch: however dense, it is told apart by its form
_LOOK = {"": "win", "/": "no", ".": "dots", "x": "cross"}


def _strips(
    scene: Scene, strips: Sequence[Strip], top: float, row_h: float, form: _Form, scale: _Scale
) -> list[str]:
    parts = []
    for number, strip in enumerate(strips):
        upper = top + number * row_h
        label = strip.label
        if form is _DESK:
            bar, tall = upper + 0.16 * row_h, 0.68 * row_h
            short = label if len(label) <= 19 else f"{label[:18]}…"
            parts.append(_text(form.left - 6.0, bar + 0.5 * tall + 5.0, short, "end"))
        else:
            bar, tall = upper + form.font * 1.2, form.font * 1.05
            parts.append(_text(form.left, bar - 3.0, label, "start"))
        parts.append(_line("grid", form.left, bar + tall, form.left + form.across, bar + tall))
        look = _LOOK.get(strip.hatch[:1], "no")
        kind = {"heater on": "heat", "aboard": "aboard"}.get(label, look)
        drawn_any = False
        for begin, end in strip.spans:
            left, right = scale.x(scene.hour_of(begin)), scale.x(scene.hour_of(end))
            if right - left < 0.3:
                continue
            drawn_any = True
            parts.append(_box(f"bar {kind}", left, bar, right - left, tall))
            if look in ("no", "dots", "cross"):
                parts.append(
                    f'<rect fill="url(#{look}-{form.name})" x="{left:.1f}" y="{bar:.1f}" '
                    f'width="{right - left:.1f}" height="{tall:.1f}"/>'
                )
        if not drawn_any and strip.none:
            parts.append(
                _text(form.left + 6.0, bar + 0.5 * tall + 4.5, strip.none, "start", "soft")
            )
    return parts


def _clock(scene: Scene, form: _Form, scale: _Scale, top: float) -> list[str]:
    an_hour = form.across / scale.hours
    every = next((h for h in (3, 6, 12, 24) if h * an_hour >= 2.4 * form.font), 24)
    parts = []
    for hour, text in time_marks(scene, every):
        parts.append(_line("tick", scale.x(hour), top - 4.0, scale.x(hour), top))
        parts.append(_text(scale.x(hour), top + form.font, text, "middle"))
    for day in day_marks(scene):
        if (day.end_h - day.begin_h) * an_hour >= 0.6 * form.font * (len(day.name) + 1):
            middle = (scale.x(day.begin_h) + scale.x(day.end_h)) / 2.0
            parts.append(_text(middle, top + 2.3 * form.font, day.name, "middle", "strong"))
    return parts


def _text(x: float, y: float, text: str, anchor: str, kind: str = "") -> str:
    named = f' class="{kind}"' if kind else ""
    return f'<text{named} x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'


def _line(kind: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<path class="{kind}" d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"/>'


def _box(kind: str, x: float, y: float, width: float, height: float) -> str:
    return (
        f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" '
        f'width="{max(width, 0.5):.1f}" height="{height:.1f}"/>'
    )
