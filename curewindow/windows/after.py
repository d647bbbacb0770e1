"""What follows a coat: touch dry, recoat, closed up, cured, for one start or one recorded coat."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from curewindow.answers import After
from curewindow.curing import (
    CureModel,
    IntArray,
    Law,
    RecoatRule,
    Unknown,
    milestone_laws,
    recoat_law,
)
from curewindow.series import FloatArray
from curewindow.sheets.schema import Milestone
from curewindow.windows.grid import at_index, last_known
from curewindow.windows.judge import Verdict

MEMBERS_SHARE: Final = 0.9
"""Share of members that must be there for 'from'; 'until' is when the rest of them gets there."""


@dataclass(frozen=True, slots=True)
class Followed:
    """Grid points of what follows a coat; None: not on the sheet, or beyond what is known.

    ``set_until`` is the milestone until which the sheet's setting limits hold.
    """

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
    first_strokes: FloatArray,
    last_strokes: FloatArray,
    recoat: RecoatRule | None,
    *,
    unknown: Unknown = "stands",
    unknown_until: Unknown = "fast",
    unknown_counts_to: int = -1,
) -> list[Followed]:
    """Follow coats.

    Parameters
    ----------
    model : CureModel
    first_strokes, last_strokes : ndarray, shape (K,)
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
    list of Followed, length K
        'From' times at the grid point at or after, 'until' at the one at or before.
    """
    sheet = model.sheet
    named: list[tuple[str, tuple[Law, ...], list[int | None]]] = []
    milestones: tuple[Milestone, ...] = ("touch dry", "closed up", "full cure")
    for milestone in milestones:
        if model.has(milestone):
            reached = model.milestone_end(milestone, last_strokes, "slow", unknown)
            named.append((milestone, milestone_laws(sheet, milestone), _slow(reached)))
    setting = model.milestone_end(sheet.setting.until, last_strokes, "slow", unknown)
    set_until = _slow(setting)
    until: list[int | None] | None = None
    if recoat is not None:
        reached = model.recoat_end(recoat, "from", last_strokes, "slow", unknown)
        law = recoat_law(sheet, recoat, "from")
        named.append(("recoat from", (law,) if law is not None else (), _slow(reached)))
        if recoat.recoat.until is not None:
            closes = model.recoat_end(recoat, "until", first_strokes, "quick", unknown_until)
            told = np.maximum(last_known(model.series), unknown_counts_to)[:, np.newaxis]
            until = _quick(np.where(closes <= told, closes, np.nan))

    points = len(model.series.times)
    coats: list[Followed] = []
    for k, stroke in enumerate(last_strokes):
        index = {name: found[k] for name, _, found in named}
        beyond = [name for name, found in index.items() if found is None]
        if until is not None and until[k] is None:
            beyond.append("recoat until")
        ends = ((laws, found[k]) for _, laws, found in named)
        coats.append(
            Followed(
                touch_dry=index.get("touch dry"),
                recoat_from=index.get("recoat from"),
                recoat_until=None if until is None else until[k],
                closed_up=index.get("closed up"),
                full_cure=index.get("full cure"),
                set_until=set_until[k],
                extrapolated=any(
                    model.extrapolated(laws, int(stroke), points if end is None else end)
                    for laws, end in ends
                ),
                beyond=beyond,
            )
        )
    return coats


def what_follows(verdict: Verdict, starts: IntArray, recoat: RecoatRule | None) -> list[After]:
    """What follows coats begun at grid points (K,) of a judged series."""
    series = verdict.series
    first_strokes = starts.astype(np.float64)
    last_strokes = verdict.apply_end[starts].astype(np.float64)
    coats = followed(verdict.model, first_strokes, last_strokes, recoat)
    if verdict.given_off is not None:
        courses = verdict.given_off.courses(starts)
        coats = [
            _later(
                coat,
                followed(
                    CureModel(verdict.sheet, course),
                    first_strokes[k : k + 1],
                    last_strokes[k : k + 1],
                    recoat,
                )[0],
            )
            for k, (course, coat) in enumerate(zip(courses, coats, strict=True))
        ]

    def moment(index: int | None) -> datetime | None:
        return None if index is None else at_index(series, index)

    return [
        After(
            start=at_index(series, int(start)),
            applied=at_index(series, int(start)) + timedelta(hours=verdict.hands_on_h),
            touch_dry=moment(coat.touch_dry),
            recoat_from=moment(coat.recoat_from),
            recoat_until=moment(coat.recoat_until),
            recoat_after=None
            if recoat is None or recoat.recoat.until is None
            else recoat.recoat.after,
            closed_up=moment(coat.closed_up),
            full_cure=moment(coat.full_cure),
            extrapolated=coat.extrapolated,
            beyond_forecast=coat.beyond,
        )
        for start, coat in zip(starts, coats, strict=True)
    ]


def _later(shut: Followed, own: Followed) -> Followed:
    """The careful one of two courses: 'from' the later, 'until' the earlier."""

    def last(one: int | None, other: int | None) -> int | None:
        return None if one is None or other is None else max(one, other)

    ends = [end for end in (shut.recoat_until, own.recoat_until) if end is not None]
    return Followed(
        touch_dry=last(shut.touch_dry, own.touch_dry),
        recoat_from=last(shut.recoat_from, own.recoat_from),
        recoat_until=min(ends) if ends else None,
        closed_up=last(shut.closed_up, own.closed_up),
        full_cure=last(shut.full_cure, own.full_cure),
        set_until=last(shut.set_until, own.set_until),
        extrapolated=shut.extrapolated or own.extrapolated,
        beyond=list(dict.fromkeys([*shut.beyond, *own.beyond])),
    )


def _slow(reached: FloatArray) -> list[int | None]:
    """Grid point at or after (M, K) indices, of the member by which enough are there."""
    place = int(np.ceil((len(reached) - 1) * MEMBERS_SHARE))
    return [_index(value) for value in _ordered(np.ceil(reached))[place]]


def _quick(reached: FloatArray) -> list[int | None]:
    """Grid point at or before (M, K) indices, of the member by which the first few are there."""
    place = int(np.floor((len(reached) - 1) * (1.0 - MEMBERS_SHARE)))
    return [_index(value) for value in _ordered(np.floor(reached))[place]]


def _ordered(indices: FloatArray) -> FloatArray:
    ordered: FloatArray = np.sort(np.where(np.isnan(indices), np.inf, indices), axis=0)
    return ordered


def _index(value: float) -> int | None:
    return int(value) if np.isfinite(value) else None
