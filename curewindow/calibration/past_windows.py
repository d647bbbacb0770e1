"""Windows that are past, judged again on what was seen."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

import numpy as np

from curewindow.boat.folder import own_sheets
from curewindow.boat.schema import Boat, Job, Work
from curewindow.calibration.stated import ScoredWindow
from curewindow.conditions import SpaceConditions, boat_conditions, learned_in, surface_series
from curewindow.errors import CurewindowError
from curewindow.record.entries import Reading
from curewindow.series import SurfaceSeries
from curewindow.sheets.shelf import get_sheet
from curewindow.weather.forecast import Forecast
from curewindow.windows import Verdict, judge
from curewindow.windows.grid import first_at_or_after

log = logging.getLogger(__name__)

Basis = Literal["readings", "analysis"]


@dataclass(frozen=True, slots=True)
class WindowOutcome:
    """What came of a window: did every limit hold, and by what that was judged."""

    id: int
    held: bool
    basis: Basis


def judge_past(
    folder: Path,
    boat: Boat,
    work: Work,
    told: Sequence[ScoredWindow],
    seen: Forecast,
    readings: Sequence[Reading],
    now: datetime,
) -> list[WindowOutcome]:
    """Judge the told starts on the weather seen and the readings.

    Parameters
    ----------
    folder : Path
        For sheets and what was learned of the cabins.
    boat, work : Boat, Work
        As they are described now.
    told : sequence of StatedWindow
    seen : Forecast
        From :func:`curewindow.calibration.seen.seen_weather`.
    readings : sequence of Reading
    now : datetime
        Aware.

    Returns
    -------
    list of WindowOutcome
        Without those of which something in the span is not known, and those whose job or
        sheet is there no more. A limit seen broken settles it, whatever else is unknown.
    """
    jobs = {job.name: job for job in work.job}
    spaces: dict[str, SpaceConditions] | None = None
    series: dict[str, SurfaceSeries] = {}
    verdicts: dict[tuple[str, str, float], Verdict | None] = {}
    found: list[WindowOutcome] = []
    for each in told:
        job = jobs.get(each.job)
        if job is None:
            continue
        if job.name not in series:
            if job.space is not None and spaces is None:
                spaces = boat_conditions(boat, seen, readings, now, learned=learned_in(folder))
            series[job.name] = surface_series(
                boat, job, None, seen, readings, now, spaces=spaces or {}
            )
        key = (job.name, each.sheet, each.hands_on_h)
        if key not in verdicts:
            verdicts[key] = _verdict(folder, job, each, series[job.name])
        verdict = verdicts[key]
        if verdict is None:
            continue
        held = _held(verdict, first_at_or_after(verdict.series, each.start))
        if held is not None:
            found.append(WindowOutcome(each.id, held[0], held[1]))
    return found


def _verdict(folder: Path, job: Job, told: ScoredWindow, series: SurfaceSeries) -> Verdict | None:
    try:
        sheet = get_sheet(told.sheet, own_sheets(folder)).sheet
        return judge(
            series,
            sheet,
            told.hands_on_h,
            hours_ok=np.ones(series.times.size, np.bool_),
            bare_wood=job.bare_wood and told.coat == 1 and told.step == 1,
        )
    except (CurewindowError, ValueError) as bad:
        log.warning("windows of '%s' with %s cannot be judged: %s", job.name, told.sheet, bad)
        return None


def _held(verdict: Verdict, start: int) -> tuple[bool, Basis] | None:
    points = verdict.points
    if start >= points or start == 0:
        return None  # the grid begins after it, or ends before
    ends = {
        "applying": int(verdict.apply_end[start]),
        "setting": int(verdict.setting_end[0, start]),
    }
    unknown = max(ends.values()) >= points
    last = min(max(ends.values()), points - 1)
    basis: Basis = (
        "readings" if verdict.series.measured[start : last + 1].mean() >= 0.5 else "analysis"
    )
    for track in verdict.tracks:
        # Where the film's end is not known, its limits hold to the end of what is known.
        margin = track.margin[0, start : min(ends[track.phase], points - 1) + 1]
        known = np.isfinite(margin)
        broken = np.flatnonzero(known & (margin < 0.0))
        if broken.size and (track.phase == "applying" or bool(known[: int(broken[0])].all())):
            return False, basis
        unknown = unknown or not bool(known.all())
    return None if unknown else (True, basis)
