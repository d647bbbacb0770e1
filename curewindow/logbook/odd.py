"""What is odd about a coat as it is told: it is written down all the same, and asked about."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Final

from curewindow.boat.aboard import Aboard
from curewindow.boat.effort import hands_on_h
from curewindow.boat.folder import own_sheets
from curewindow.boat.schema import Job
from curewindow.boat.substrate import stands_before
from curewindow.errors import CurewindowError
from curewindow.findings import Finding, finding
from curewindow.judgement.below import never_over
from curewindow.record.entries import Coat
from curewindow.rules.over import before, film_of, pair_of
from curewindow.sheets.hours import hours_at
from curewindow.sheets.recoats import recoat_row
from curewindow.sheets.schema import Sheet

# What nobody does in one go, or writes down so late. Common practice, no source.
_LONGEST_H: Final = 12.0
_TIMES_PLANNED: Final = 3.0
_OLDEST: Final = timedelta(days=60)
_WHOLE: Final = 0.9
_WARM_C: Final = 20.0
"""A cabin in winter is seldom warmer: in less than the sheet's time there the coat was too soon."""


def oddities(aboard: Aboard, job: Job, coats: Sequence[Coat], made: Coat) -> list[Finding]:
    """What is asked about a coat before it counts.

    Parameters
    ----------
    aboard : Aboard
    job : Job
    coats : sequence of Coat
        The record before it.
    made : Coat
        As it was told.
    """
    return [
        *_by_times(aboard, job, made),
        *_by_area(job, made),
        *_by_film(aboard, job, coats, made),
    ]


def _by_times(aboard: Aboard, job: Job, made: Coat) -> Iterator[Finding]:
    took = (made.end - made.start) / timedelta(hours=1)
    planned = hands_on_h(job.step[made.step - 1], job) if made.step <= len(job.step) else 1.0
    if took > max(_LONGEST_H, _TIMES_PLANNED * planned):
        yield finding("coat took long", hours=took)
    ago = aboard.now - made.end
    if ago > _OLDEST:
        yield finding("coat long ago", days=ago / timedelta(days=1))


def _by_area(job: Job, made: Coat) -> Iterator[Finding]:
    if job.area and made.area_m2 is not None and made.area_m2 < _WHOLE * job.area:
        yield finding("coat on part", area_m2=made.area_m2, share=made.area_m2 / job.area)


def _by_film(aboard: Aboard, job: Job, coats: Sequence[Coat], made: Coat) -> Iterator[Finding]:
    own = [each for each in coats if each.job == job.name and each.end <= made.start]
    last = max(own, key=lambda each: (each.end, each.id), default=None)
    sheet = _sheet(aboard, made.sheet)
    if sheet is None:
        return
    if last is None:
        below = before(stands_before(job))
    else:
        under = _sheet(aboard, last.sheet)
        if under is None:
            return
        below = film_of(last.sheet, under, "fresh")
        least = _least_h(under, last.sheet, made.sheet, sheet)
        waited = (made.start - last.end) / timedelta(hours=1)
        if least is not None and waited < least:
            yield finding("coat too soon", hours=waited, other_hours=least, temp_c=_WARM_C)
    pair = pair_of(made.sheet, sheet, below)
    if not pair.allowed:
        yield never_over(sheet.name, below, pair)


def _least_h(under: Sheet, stem: str, next_stem: str, coming: Sheet) -> float | None:
    """Hours the sheet below wants before the next coat in a warm cabin; None: not said."""
    row = recoat_row(under, next_stem, coming.kind, stem)
    if row is None:
        return None
    temps = under.cure.temps if row.recoat.temps is None else row.recoat.temps
    at = min(max(_WARM_C, temps[0]), temps[-1])
    return hours_at(temps, row.recoat.from_, at)


def _sheet(aboard: Aboard, stem: str) -> Sheet | None:
    from curewindow.sheets.shelf import get_sheet

    try:
        return get_sheet(stem, own_sheets(aboard.folder)).sheet
    except CurewindowError:
        return None
