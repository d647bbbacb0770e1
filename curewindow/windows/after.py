"""What follows a coat: touch dry, recoat, closed up, cured, for one start or one recorded coat."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from curewindow.answers import After
from curewindow.curing import (
    CureModel,
    RecoatRule,
    Unknown,
    milestone_laws,
    recoat_law,
)
from curewindow.series import FloatArray
from curewindow.sheets.schema import Milestone
from curewindow.windows.grid import at_index
from curewindow.windows.judge import Verdict

MEMBERS_SHARE: Final = 0.9
"""Share of members that must be there for 'from'; 'until' is when the rest of them gets there."""


@dataclass(frozen=True, slots=True)
class Followed:
    """Grid points of what follows a coat; None: not on the sheet, or beyond what is known.

    ``set_until`` is the milestone until which the sheet's setting limits hold."""

    touch_dry: int | None = None
    recoat_from: int | None = None
    recoat_until: int | None = None
    closed_up: int | None = None
    full_cure: int | None = None
    set_until: int | None = None
    extrapolated: bool = False
    beyond: list[str] = field(default_factory=list)


def followed(
    model: CureModel,
    first_stroke: float,
    last_stroke: float,
    recoat: RecoatRule | None,
    *,
    unknown: Unknown = "stands",
    unknown_until: Unknown = "fast",
    unknown_counts_to: int = -1,
) -> Followed:
    """Follow one coat.

    Parameters
    ----------
    model : CureModel
    first_stroke, last_stroke : float
        Grid indices. 'From' times and milestones run from the last stroke (the
        youngest film), 'until' from the first (the oldest).
    recoat : RecoatRule, optional
        The table for the next coat.
    unknown, unknown_until : {'stands', 'fast'}
        What unknown hours count towards 'from' and milestones, and towards 'until'.
    unknown_counts_to : int
        A quick time that falls in hours nothing is known of is told only up to this
        grid point (now); later it is beyond what is known.

    Returns
    -------
    Followed
        'From' times at the grid point at or after, 'until' at the one at or before.
    """
    beyond: list[str] = []
    indices: dict[str, int | None] = {}
    flagged = False
    youngest = np.array([last_stroke])

    def slow(name: str, reached: FloatArray) -> int | None:
        found = _quantile(np.ceil(reached[:, 0]), MEMBERS_SHARE)
        if found is None:
            beyond.append(name)
        return found

    setting = model.sheet.setting.until
    reached_set = model.milestone_end(setting, youngest, "slow", unknown)
    milestones: tuple[Milestone, ...] = ("touch dry", "closed up", "full cure")
    for milestone in milestones:
        if model.has(milestone):
            reached = model.milestone_end(milestone, youngest, "slow", unknown)
            index = indices[milestone] = slow(milestone, reached)
            end = len(model.series.times) - 1 if index is None else index
            flagged |= model.extrapolated(
                milestone_laws(model.sheet, milestone), int(last_stroke), end
            )
    if recoat is not None:
        reached = model.recoat_end(recoat, "from", youngest, "slow", unknown)
        index = indices["from"] = slow("recoat from", reached)
        law = recoat_law(model.sheet, recoat, "from")
        end = len(model.series.times) - 1 if index is None else index
        flagged |= law is not None and model.extrapolated((law,), int(last_stroke), end)
        if recoat.recoat.until is not None:
            closes = model.recoat_end(
                recoat, "until", np.array([first_stroke]), "quick", unknown_until
            )
            known = np.isfinite(model.series.surface_c)
            last = known.shape[1] - 1 - known[:, ::-1].argmax(axis=1)
            told = np.maximum(np.where(known.any(axis=1), last, -1), unknown_counts_to)
            inside = np.where(closes[:, 0] <= told, np.floor(closes[:, 0]), np.nan)
            indices["until"] = _quantile(inside, 1.0 - MEMBERS_SHARE)
            if indices["until"] is None:
                beyond.append("recoat until")
    return Followed(
        touch_dry=indices.get("touch dry"),
        recoat_from=indices.get("from"),
        recoat_until=indices.get("until"),
        closed_up=indices.get("closed up"),
        full_cure=indices.get("full cure"),
        set_until=_quantile(np.ceil(reached_set[:, 0]), MEMBERS_SHARE),
        extrapolated=flagged,
        beyond=beyond,
    )


def what_follows(verdict: Verdict, start: int, recoat: RecoatRule | None) -> After:
    """What follows a coat begun at a grid point of a judged series."""
    series = verdict.series
    found = followed(verdict.model, float(start), float(verdict.apply_end[start]), recoat)
    begun = at_index(series, start)

    def moment(index: int | None) -> datetime | None:
        return None if index is None else at_index(series, index)

    return After(
        start=begun,
        applied=begun + timedelta(hours=verdict.hands_on_h),
        touch_dry=moment(found.touch_dry),
        recoat_from=moment(found.recoat_from),
        recoat_until=moment(found.recoat_until),
        recoat_after=None if recoat is None or recoat.recoat.until is None else recoat.recoat.after,
        closed_up=moment(found.closed_up),
        full_cure=moment(found.full_cure),
        extrapolated=found.extrapolated,
        beyond_forecast=found.beyond,
    )


def _quantile(indices: FloatArray, share: float) -> int | None:
    """Index by which a share of members is there (rounded to a member); None: beyond."""
    ordered = np.sort(np.where(np.isnan(indices), np.inf, indices))
    # For 'from' the member above, for 'until' the member below.
    place = (len(ordered) - 1) * share
    chosen = ordered[int(np.ceil(place) if share > 0.5 else np.floor(place))]
    return int(chosen) if np.isfinite(chosen) else None
