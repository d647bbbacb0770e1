"""Times in the pot and in the hand: wait after mixing, pot life, open time, clamps.

Read off the sheet's table: in the pot (induction, pot life) at the temperature of the mixed
product, which is the tin's, spread out (open time, clamps) at the air's. What runs out counts
at the warmest it gets while it is put on, what has to be waited for at the coldest. Beyond the
table its last column holds, and that is said.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from curewindow.curing import IntArray
from curewindow.findings import Finding, finding
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.sheets.hours import hours_at, hours_over
from curewindow.sheets.schema import Sheet, Working
from curewindow.windows.grid import at_index
from curewindow.windows.judge import Verdict


def waits_after_mixing(sheet: Sheet, series: SurfaceSeries) -> IntArray:
    """Grid points from mixing to the first stroke at each start, the most of any member; (T,)."""
    working = sheet.working
    if working is None or not working.induction:
        return np.zeros(len(series.times), np.int64)
    mixed = series.air_c if series.tin_c is None else series.tin_c
    hours = hours_over(working.temps, working.induction, mixed)
    hours[np.isnan(hours)] = max(working.induction)
    points: IntArray = np.ceil(hours.max(axis=0) / series.step_h - 1e-9).astype(np.int64)
    return points


def working_findings(verdict: Verdict, start: int) -> list[Finding]:
    """What there is to say of mixing, batches and clamps for one start.

    Parameters
    ----------
    verdict : Verdict
    start : int
        Grid point.

    Returns
    -------
    list of Finding
        Empty where the sheet gives no working times, or the air is not known.
    """
    working = verdict.sheet.working
    if working is None:
        return []
    applied = min(int(verdict.apply_end[start]), verdict.points - 1)
    air = np.median(verdict.series.air_c[:, start : applied + 1], axis=0)
    if np.isnan(air).any():
        return []
    warm, cold = float(air.max()), float(air.min())
    mixed = _mixed(verdict, start, applied, air)
    warm_mix, cold_mix = float(mixed.max()), float(mixed.min())
    found: list[Finding] = []
    wait_h = _at(working, working.induction, cold_mix)
    if wait_h:
        found.append(finding("mix and wait", hours=wait_h))
    pot_h = _at(working, working.pot_life, warm_mix)
    open_h = _at(working, working.open_time, warm)
    usable = [
        (hours, what)
        for hours, what in (
            (None if pot_h is None else pot_h - (wait_h or 0.0), "in the pot"),
            (open_h, "open"),
        )
        if hours is not None
    ]
    if usable:
        least, what = min(usable)
        at_c = round(warm_mix if what == "in the pot" else warm, 1)
        mass = working.pot_life_mass if what == "in the pot" else None
        if least <= 0.0:
            found.append(finding("goes off in the pot", temp_c=at_c))
        elif verdict.hands_on_h > least + 1e-9:
            count = int(np.ceil(verdict.hands_on_h / least - 1e-9))
            found.append(
                finding(
                    "batches",
                    count=count,
                    hours=least,
                    temp_c=at_c,
                    state=what,
                    value=mass or None,
                )
            )
        else:
            found.append(finding("workable", hours=least, state=what, value=mass or None))
    clamp_h = _clamp_h(verdict, working, applied, cold)
    if clamp_h:
        until = at_index(verdict.series, applied) + timedelta(hours=clamp_h)
        found.append(finding("clamp", until=until))
    least_c, most_c = min(cold, cold_mix), max(warm, warm_mix)
    if found and not working.temps[0] <= least_c <= most_c <= working.temps[-1]:
        found.append(finding("outside table", kind_of="working"))
    return found


def _mixed(verdict: Verdict, start: int, applied: int, air: FloatArray) -> FloatArray:
    """Temperature of the mixed product while it is put on; the air's where no tin is followed."""
    tin = verdict.series.tin_c
    if tin is None:
        return air
    middle: FloatArray = np.median(tin[:, start : applied + 1], axis=0)
    return air if np.isnan(middle).any() else middle


def _at(working: Working, row: list[float] | None, temp_c: float) -> float | None:
    return None if row is None else hours_at(working.temps, row, temp_c)


def _clamp_h(verdict: Verdict, working: Working, applied: int, cold: float) -> float | None:
    """Clamp time at the coldest air while it is clamped."""
    hours = _at(working, working.clamp, cold)
    if hours is None:
        return None
    last = min(applied + int(np.ceil(hours / verdict.series.step_h)), verdict.points - 1)
    ahead: FloatArray = np.median(verdict.series.air_c[:, applied : last + 1], axis=0)
    known = ahead[np.isfinite(ahead)]
    return _at(working, working.clamp, float(known.min()) if known.size else cold)
