"""Small things, counted: abrasives, brushes, pots, gloves, masks. Common practice, no source."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from curewindow.boat.effort import hands_on_h
from curewindow.cautions.fire import flammable
from curewindow.rules.application import application_of
from curewindow.rules.work import MAKES_DUST
from curewindow.sheets.schema import Sheet
from curewindow.supplies.left import Left
from curewindow.supplies.models import Count
from curewindow.voice.supplies import (
    ABRASIVE,
    AIR_FED,
    BASIS,
    BRUSH,
    DUST_MASK,
    FILTERS,
    FINE,
    GLOVES,
    MANY,
    POT,
)

# Sheets of abrasive, 230 x 280 mm, a square metre. Common practice, no source.
_TO_BARE_M2, _BETWEEN_M2 = 1.0, 0.5
# A pair of filters is changed after a working day at the latest. Common practice, no source.
_FILTER_H = 8.0
# Where there is no area. Common practice, no source.
_NO_AREA = 2


def counts_of(
    left: Sequence[Left], sheets: Mapping[str, Sheet], batches: Mapping[tuple[str, str], int]
) -> list[Count]:
    """The small things for some of the work.

    Parameters
    ----------
    left : sequence of Left
    sheets : mapping
        By name.
    batches : mapping of (sheet, job) to int
        Batches a coat is mixed in.
    """
    found: Counter[str] = Counter()
    one_part: set[str] = set()
    open_h = 0.0
    for each in left:
        area = each.job.area
        if each.step.do in MAKES_DUST:
            found[ABRASIVE] += _sheets(area, _TO_BARE_M2)
        if each.step.do in MAKES_DUST or each.sands_before:
            found[DUST_MASK] += 1
        if each.sands_before:
            found[FINE] += _sheets(area, _BETWEEN_M2)
        if each.coat is None or each.step.sheet is None:
            continue
        found[GLOVES] += 1
        sheet = sheets[each.step.sheet]
        if flammable(sheet):
            open_h += hands_on_h(each.step, each.job)
        if "isocyanate" in sheet.hazards:
            by = application_of(each.step, sheet)
            if by == "spray" or (by == "brush" and each.job.space is not None):
                found[AIR_FED] = 1
        if mixed(sheet):
            found[POT] += batches.get((each.step.sheet, each.job.name), 1)
        if each.step.do != "coat":
            continue
        if mixed(sheet):
            found[BRUSH] += 1
        else:
            one_part.add(each.step.sheet)
    found[BRUSH] += len(one_part)
    found[FILTERS] = math.ceil(open_h / _FILTER_H - 1e-9)
    return [
        Count(what=what if found[what] == 1 else MANY[what], count=found[what], basis=basis)
        for what, basis in BASIS.items()
        if found[what]
    ]


def mixed(sheet: Sheet) -> bool:
    """Is it mixed from parts?"""
    return bool(sheet.amounts.mix_by_volume or sheet.amounts.mix_by_mass)


def _sheets(area: float | None, per_m2: float) -> int:
    return max(math.ceil(area * per_m2 - 1e-9), 1) if area else _NO_AREA
