"""Times in the pot and in the hand: wait after mixing, pot life, open time, clamps.

Read off the sheet's table at the air's temperature, which the mixed product is taken to
have: what runs out (pot life, open time) at the warmest it gets while it is put on, what
has to be waited for (induction, clamps) at the coldest. Beyond the table its last column
holds, and that is said.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Final

import numpy as np

from curewindow.curing import IntArray
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.sheets.hours import hours_at, shown
from curewindow.sheets.schema import Sheet, Working
from curewindow.windows.grid import at_index
from curewindow.windows.judge import Verdict
from curewindow.wording import Wording

MIX, BATCHES, CLAMP = "mix, wait", "work in", "clamp until"
"""How the notes that belong in the line to go by begin."""
LED: Final = (MIX, BATCHES, CLAMP)


def waits_after_mixing(sheet: Sheet, series: SurfaceSeries) -> IntArray:
    """Grid points from mixing to the first stroke at each start, the most of any member; (T,)."""
    working = sheet.working
    if working is None or not working.induction:
        return np.zeros(len(series.times), np.int64)
    longest = max(working.induction)
    known = np.isfinite(series.air_c)
    hours = np.full(series.air_c.shape, longest)
    inverse = 1.0 / (np.array(working.temps[::-1]) + 273.15)
    logs = np.log(np.maximum(np.array(working.induction[::-1]), 1e-6))
    hours[known] = np.exp(np.interp(1.0 / (series.air_c[known] + 273.15), inverse, logs))
    points: IntArray = np.ceil(hours.max(axis=0) / series.step_h - 1e-9).astype(np.int64)
    return points


def working_notes(verdict: Verdict, start: int, words: Wording) -> list[str]:
    """What to say of mixing, batches and clamps for one start.

    Parameters
    ----------
    verdict : Verdict
    start : int
        Grid point.
    words : Wording

    Returns
    -------
    list of str
        Those that belong in the line to go by begin as :data:`LED` has them.
    """
    working = verdict.sheet.working
    if working is None:
        return []
    applied = min(int(verdict.apply_end[start]), verdict.points - 1)
    air = np.median(verdict.series.air_c[:, start : applied + 1], axis=0)
    if np.isnan(air).any():
        return []
    warm, cold = float(air.max()), float(air.min())
    notes: list[str] = []
    wait_h = _at(working, working.induction, cold)
    if wait_h:
        notes.append(f"{MIX} {shown(wait_h)} before the first stroke")
    pot_h = _at(working, working.pot_life, warm)
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
        lasts = shown(round(60.0 * least) / 60.0)
        batch = working.pot_life_mass
        of = f" in batches of {batch:g} kg" if batch and what == "in the pot" else ""
        if least <= 0.0:
            notes.append(f"it goes off in the pot before it may be put on at {words.temp(warm)}")
        elif verdict.hands_on_h > least + 1e-9:
            count = int(np.ceil(verdict.hands_on_h / least - 1e-9))
            notes.append(
                f"{BATCHES} {count} batches: it stays workable {lasts} {what}{of} "
                f"at {words.temp(warm)}"
            )
        else:
            notes.append(f"it stays workable {lasts} {what}{of}")
    clamp_h = _clamp_h(verdict, working, applied, cold)
    if clamp_h:
        until = at_index(verdict.series, applied) + timedelta(hours=clamp_h)
        notes.append(f"{CLAMP} {words.when(until)}")
    if notes and not working.temps[0] <= cold <= warm <= working.temps[-1]:
        notes.append("working times outside the sheet's own table: less certain than the sheet")
    return notes


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
