"""The state of a coat, and its deadline, from what follows it."""

from __future__ import annotations

from datetime import datetime
from itertools import product
from typing import Literal

import numpy as np

from curewindow.curing import CureModel, RecoatRule
from curewindow.findings import Finding, finding
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.windows.after import Followed, followed
from curewindow.windows.grid import at_index

State = Literal["wet", "touch dry", "recoat open", "sand first", "never again", "cured", "unknown"]

_PASSED: dict[str, State] = {
    "sand": "sand first",
    "never": "never again",
    "as is": "recoat open",
}
_DEADLINE_FOR = {
    "sand": "last moment for the next coat without sanding",
    "never": "last moment for the next coat at all",
}


def done_at(sheet: Sheet, found: Followed) -> int | None:
    """Grid point by which a coat is as hard as its sheet follows it."""
    if sheet.cure.full_cure is not None:
        return found.full_cure
    return found.closed_up if sheet.cure.closed_up is not None else None


def state_of(
    found: Followed,
    until: int | None,
    now_at: float,
    sheet: Sheet,
    rule: RecoatRule | None,
    more: bool,
) -> State:
    """The state at a (fractional) grid point.

    Parameters
    ----------
    found : Followed
        What follows the coat.
    until : int or None
        Grid point at which recoating closes.
    now_at : float
        Now.
    sheet : Sheet
    rule : RecoatRule or None
        The table for the next coat.
    more : bool
        Does another coat follow?
    """
    dry = found.touch_dry if sheet.cure.touch_dry is not None else found.set_until
    if dry is None or now_at < dry:
        return "wet"
    if more and rule is not None:
        if found.recoat_from is None or now_at < found.recoat_from:
            return "touch dry"
        if until is not None and now_at > until:
            return _PASSED[rule.recoat.after]
        return "recoat open"
    done = done_at(sheet, found)
    if done is None or now_at < done:
        return "touch dry"
    # Nothing on the sheet for the next coat: a cured film is sanded.
    return "sand first" if more else "cured"


def state_reached(
    model: CureModel,
    points: tuple[int, int, int],
    found: Followed,
    now_at: float,
    rule: RecoatRule | None,
    more: bool,
) -> State:
    """The state, if it is the same whatever the unknown hours were like; else 'unknown'."""
    first, last, at = points
    other = followed(
        model,
        np.array([float(first)]),
        np.array([float(last)]),
        rule,
        unknown="fast",
        unknown_until="stands",
        unknown_counts_to=at,
    )[0]
    states = {
        state_of(opens, closes, now_at, model.sheet, rule, more)
        for opens, closes in product((found, other), (found.recoat_until, other.recoat_until))
    }
    return states.pop() if len(states) == 1 else "unknown"


def crossed_notes(found: Followed, rule: RecoatRule | None) -> list[Finding]:
    """What to say where the quick 'until' comes before the slow 'from'."""
    if rule is None or found.recoat_until is None:
        return []
    if found.recoat_from is not None and found.recoat_from <= found.recoat_until:
        return []
    if rule.recoat.after == "as is":
        return []
    return [finding("test by hand")]


def deadline_of(
    found: Followed, rule: RecoatRule | None, more: bool, series: SurfaceSeries, now: datetime
) -> tuple[datetime | None, str]:
    """The next moment that must not be missed, and what for."""
    if not more or rule is None or found.recoat_until is None:
        return None, ""
    until = at_index(series, found.recoat_until)
    if rule.recoat.after not in _DEADLINE_FOR or until <= now:
        return None, ""
    return until, _DEADLINE_FOR[rule.recoat.after]
