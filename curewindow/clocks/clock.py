"""The clock of one recorded coat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from curewindow.answers import Clock
from curewindow.clocks.past import broken_limits, hours_counted, stretched_over
from curewindow.clocks.state import crossed_notes, deadline_of, done_at, state_of, state_reached
from curewindow.curing import CureModel, recoat_bounds
from curewindow.findings import Finding, finding
from curewindow.record.entries import Coat, Inspection
from curewindow.rules.tins import with_tin
from curewindow.series import BoolArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.windows.after import Followed, followed
from curewindow.windows.grid import at_index, last_at_or_before, position
from curewindow.windows.judge import film_known


@dataclass(frozen=True, slots=True)
class NextCoat:
    """What goes on next: the sheet's file name and its kind."""

    stem: str
    kind: str


def clock_for(
    coat: Coat,
    sheet: Sheet,
    next_coat: NextCoat | None,
    series: SurfaceSeries,
    now: datetime,
    of_coats: int,
    *,
    covering: Sequence[str] = (),
    looked: Inspection | None = None,
    bare_wood: bool = False,
) -> Clock:
    """Where a recorded coat stands now and what comes of it.

    Parameters
    ----------
    coat : Coat
        The last of its step.
    sheet : Sheet
        What was put on.
    next_coat : NextCoat or None
        What goes on it next; None: another coat of the same while the step has any
        left, else nothing.
    series : SurfaceSeries
        Conditions where it is, from before the coat (where known) to the horizon.
    now : datetime
        Aware.
    of_coats : int
        Coats of the step.
    covering : sequence of str
        Jobs that will close it up once it is cured for that.
    looked : Inspection, optional
        What somebody who looked at it last found.
    bare_wood : bool
        Was it put on bare wood?

    Returns
    -------
    Clock
        'From' times and milestones from the last stroke on the slow side, 'until' from
        the first stroke on the quick side.

    Raises
    ------
    SheetError
        The sheet's tables cannot be used.
    """
    more = next_coat is not None or coat.coat < of_coats
    rule = recoat_bounds(
        sheet,
        None if next_coat is None else next_coat.stem,
        sheet.kind if next_coat is None else next_coat.kind,
        coat.sheet,
    )
    begun, ended = min(coat.start, coat.end), max(coat.start, coat.end)
    series = with_tin(series, sheet, (ended - begun) / timedelta(hours=1))
    series = stretched_over(series, begun, max(now, ended))
    model = CureModel(sheet, series)
    first = int(np.floor(position(series, begun)))
    last = int(np.ceil(position(series, ended)))
    at = last_at_or_before(series, now)

    begin, end = np.array([float(first)]), np.array([float(last)])
    found = followed(model, begin, end, rule, unknown_counts_to=at)[0]
    done = done_at(sheet, found)
    until_now = min(at, done) if done is not None else at
    everywhere: BoolArray = np.logical_and.reduce(film_known(series, sheet), axis=0)
    known = everywhere[first : until_now + 1]
    notes: list[Finding] = []
    state = state_of(found, found.recoat_until, position(series, now), sheet, rule, more)
    if not known.all():
        state = state_reached(model, (first, last, at), found, position(series, now), rule, more)
        notes.append(finding("hours unknown", hours=float(np.sum(~known)) * series.step_h))
    if rule is not None and rule.note and more:
        notes.append(finding("remark", note=rule.note))
    if rule is not None and rule.borrowed and next_coat is not None:
        notes.append(finding("no times for pair", sheet=next_coat.stem, state="self"))
    if rule is None and more:
        notes.append(finding("recoat not on sheet"))
    if more:
        notes += crossed_notes(found, rule)
    broken, unseen, said = broken_limits(
        series,
        sheet,
        (first, last, at),
        found.set_until,
        bare_wood,
        None if looked is None else int(np.ceil(position(series, looked.at))),
    )
    notes += said
    notes += [_covering(job, found, sheet, series, now) for job in covering]

    # where nothing follows there is no recoat interval, whatever the sheet has
    opens, until = None, None
    after: Literal["sand", "never", "as is"] | None = None
    if more:
        opens = done if rule is None else found.recoat_from
        until = found.recoat_until
        if rule is None:
            after = "sand"
        elif rule.recoat.until is not None:
            after = rule.recoat.after
    deadline, deadline_for = deadline_of(found, rule, more, series, now)
    share, basis = hours_counted(series.measured[first : until_now + 1], known, series.step_h)

    def moment(index: int | None) -> datetime | None:
        return None if index is None else at_index(series, index)

    return Clock(
        job=coat.job,
        step=coat.step,
        coat=coat.coat,
        of_coats=max(of_coats, coat.coat),
        sheet=coat.sheet,
        applied=ended,
        state=state,
        touch_dry=moment(found.touch_dry),
        recoat_from=moment(opens),
        recoat_until=moment(until),
        recoat_after=after,
        closed_up=moment(found.closed_up),
        full_cure=moment(found.full_cure),
        next_deadline=deadline,
        deadline_for=deadline_for,
        measured_share=share,
        basis=basis,
        extrapolated=found.extrapolated,
        limits_broken=broken,
        to_check=unseen,
        found=None if looked is None else looked.found,
        found_at=None if looked is None else looked.at,
        notes=notes,
    )


def _covering(
    job: str, found: Followed, sheet: Sheet, series: SurfaceSeries, now: datetime
) -> Finding:
    """When another job may close it up."""
    if sheet.cure.closed_up is None and sheet.cure.full_cure is None:
        return finding("covering not on sheet", other_job=job)
    index = found.closed_up if sheet.cure.closed_up is not None else found.full_cure
    if index is None:
        return finding("covering beyond", other_job=job)
    when = at_index(series, index)
    return finding("may be covered", other_job=job, begins=when if when > now else None)
