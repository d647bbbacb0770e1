"""What a coat went through: hours measured and unknown, limits that were broken."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np

from curewindow.answers import Margin
from curewindow.findings import Finding, finding
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.windows.faults import margin_at
from curewindow.windows.grid import at_index, position
from curewindow.windows.limits import LimitTrack, limit_tracks
from curewindow.windows.reasons import broken


def stretched_over(series: SurfaceSeries, first: datetime, last: datetime) -> SurfaceSeries:
    """The series with unknown hours before and behind it, so that both moments lie within."""
    points = len(series.times)
    before = max(0, -int(np.floor(position(series, first))))
    behind = max(0, int(np.ceil(position(series, last))) + 1 - points)
    if not before and not behind:
        return series

    def stretched(values: FloatArray | None) -> FloatArray | None:
        if values is None:
            return None
        return np.pad(values, ((0, 0), (before, behind)), constant_values=np.nan)

    def known(values: FloatArray) -> FloatArray:
        return np.pad(values, ((0, 0), (before, behind)), constant_values=np.nan)

    step = series.times[1] - series.times[0]
    index = np.arange(-before, points + behind)
    return replace(
        series,
        times=series.times[0] + index * step,
        air_c=known(series.air_c),
        rh_pct=known(series.rh_pct),
        dew_point_c=known(series.dew_point_c),
        surface_c=known(series.surface_c),
        wood_moisture_pct=stretched(series.wood_moisture_pct),
        wind_ms=stretched(series.wind_ms),
        rain_mm_h=stretched(series.rain_mm_h),
        sun_w_m2=stretched(series.sun_w_m2),
        tin_c=stretched(series.tin_c),
        measured=np.pad(series.measured, (before, behind), constant_values=False),
        lead_h=np.pad(series.lead_h, (before, behind), mode="edge"),
    )


def hours_counted(measured: np.ndarray, known: np.ndarray, step_h: float) -> tuple[float, Finding]:
    """Share of the hours so far with readings, and what all of them rest on."""
    total = len(known)
    read = int(np.sum(measured & known))
    dark = int(np.sum(~known))
    counted = finding(
        "hours counted",
        hours=round(total * step_h, 3),
        read_h=round(read * step_h, 3),
        model_h=round((total - read - dark) * step_h, 3),
        unknown_h=round(dark * step_h, 3),
    )
    return round(read / total, 3) if total else 0.0, counted


def broken_limits(
    series: SurfaceSeries,
    sheet: Sheet,
    points: tuple[int, int, int],
    set_until: int | None,
    bare_wood: bool,
    looked: int | None = None,
) -> tuple[list[Margin], list[Margin], list[Finding]]:
    """Limits broken so far while applying and setting, and those expected while it still sets.

    The second list holds those that were broken again after somebody ``looked`` (a point).
    """
    first, last, at = points
    unseen: list[Margin] = []
    horizon = len(series.times) - 1
    setting_end = horizon if set_until is None else set_until
    margins: list[Margin] = []
    notes: list[Finding] = []
    phases = (
        ("applying", limit_tracks(series, sheet.applying, "applying", bare_wood=bare_wood), last),
        (
            "setting",
            limit_tracks(series, sheet.setting, "setting", bare_wood=bare_wood),
            setting_end,
        ),
    )
    for phase, tracks, end in phases:
        for track in tracks:
            # What has been is the same in every member.
            past = track.margin[0, first : min(at, end) + 1]
            low = np.flatnonzero(past < 0.0)
            if low.size:
                worst = first + int(np.nanargmin(past))
                margin = margin_at(series, track, 0, worst)
                margins.append(margin)
                begun = first if looked is None else _next_break(track.margin[0], looked, first)
                since = track.margin[0, begun : min(at, end) + 1]
                if (since < 0.0).any():
                    unseen.append(margin_at(series, track, 0, begun + int(np.nanargmin(since))))
                notes.append(
                    finding(
                        "limit was broken",
                        hours=round(low.size * series.step_h, 3),
                        phase=phase,
                        value=margin.value,
                        unit=track.unit,
                        at=margin.at,
                        because=[_broken(track, series, worst)],
                    )
                )
            start = track.first_break(at + 1, end)
            if start is not None:
                notes.append(
                    finding(
                        "limit will break",
                        phase=phase,
                        begins=at_index(series, start),
                        because=[_broken(track, series, start)],
                    )
                )
    return margins, unseen, notes


def _next_break(margin: FloatArray, looked: int, first: int) -> int:
    """The first point that is not of what was broken already when somebody looked."""
    point = max(looked, first)
    while point < margin.size and margin[point] < 0.0:
        point += 1
    return point


def _broken(track: LimitTrack, series: SurfaceSeries, index: int) -> Finding:
    """A broken limit, by the first member that breaks it there."""
    member = int(np.argmax(track.margin[:, index] < 0.0))
    return broken(track, series, float(track.value[member, index]))
