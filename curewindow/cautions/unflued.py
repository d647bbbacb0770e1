"""A heater without a flue: what is found of it, and why it is not ordered."""

from __future__ import annotations

from collections.abc import Sequence

from curewindow.findings import Finding, finding
from curewindow.rules.unflued import Against, Unflued


def unflued_refused(unflued: Unflued, reasons: Sequence[Against]) -> Finding:
    """An order to light it, refused."""
    return finding(
        "no flue, refused",
        heater=unflued.kind,
        space=unflued.place,
        against=tuple(reasons),
        spaces=unflued.sleepers or None,
        refuses=True,
    )


def unflued_by_day_only(unflued: Unflued) -> Finding:
    """No run that is allowed is long enough for a coat."""
    return finding(
        "no flue, no run short enough", heater=unflued.kind, space=unflued.place, refuses=True
    )


def unflued_in_plan(unflued: Unflued) -> Finding:
    """A plan lights heaters the evening before: not this one."""
    return finding("no flue, not planned", heater=unflued.kind, space=unflued.place)


def unflued_alight(unflued: Unflued, reasons: Sequence[Against]) -> Finding:
    """It is alight where or when it must not be."""
    return finding(
        "no flue, alight",
        heater=unflued.kind,
        space=unflued.place,
        against=tuple(reasons),
        spaces=unflued.sleepers or None,
    )
