"""Which coats count, which clock is most pressing, and when the next coat may go on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from curewindow.answers import Clock
from curewindow.findings import Finding, finding
from curewindow.record.entries import Coat


@dataclass(frozen=True, slots=True)
class CoatBounds:
    """Between which moments the next coat may be started.

    Attributes
    ----------
    allowed : bool
        False where it may never go on again, or it cannot be told when.
    earliest, latest : datetime or None
        Bounds for :func:`curewindow.windows.judge`; None: no bound.
    sand_after : datetime or None
        From here on the coat below must be sanded first.
    notes : tuple of Finding
        What has to be said.
    """

    allowed: bool
    earliest: datetime | None
    latest: datetime | None
    sand_after: datetime | None
    notes: tuple[Finding, ...] = ()


def latest_coats(coats: Iterable[Coat]) -> list[Coat]:
    """The last coat of each step of each job, in order of job and step."""
    newest: dict[tuple[str, int], Coat] = {}
    for coat in coats:
        key = (coat.job, coat.step)
        held = newest.get(key)
        if held is None or (coat.end, coat.coat) > (held.end, held.coat):
            newest[key] = coat
    return [newest[key] for key in sorted(newest)]


def sort_clocks(clocks: Iterable[Clock]) -> list[Clock]:
    """Clocks by what must not be missed first; those without a deadline by their age."""

    def urgency(clock: Clock) -> tuple[bool, datetime, datetime]:
        deadline = clock.next_deadline
        return deadline is None, deadline or clock.applied, clock.applied

    return sorted(clocks, key=urgency)


def next_coat_bounds(clock: Clock, *, hot_coat: bool = False) -> CoatBounds:
    """Between which moments the next coat on a clock may be started.

    Parameters
    ----------
    clock : Clock
        Of the coat below.
    hot_coat : bool
        The next coat must go on while the interval is open: sanding is no way out.

    Returns
    -------
    CoatBounds
    """
    until = clock.recoat_until
    if clock.state == "never again":
        return CoatBounds(False, None, None, None, (finding("no further coat"),))
    if clock.recoat_from is None:
        return CoatBounds(False, None, None, None, (finding("recoat unknown"),))
    after = clock.recoat_after
    if until is None or (after == "as is" and not hot_coat):
        # No end on the sheet, or beyond what is known.
        endless = hot_coat and after is None
        notes = (finding("hot coat while tacky"),) if endless else ()
        return CoatBounds(True, clock.recoat_from, None, None, notes)
    if after == "never" or hot_coat:
        possible = until >= clock.recoat_from
        notes = () if possible else (finding("recoat gap not sure"),)
        return CoatBounds(possible, clock.recoat_from, until, None, notes)
    return CoatBounds(True, clock.recoat_from, None, until)
