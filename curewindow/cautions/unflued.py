"""What is said of a heater without a flue, and why it is not advised."""

from __future__ import annotations

from collections.abc import Sequence

from curewindow.cautions.caution import Caution, refused, warning
from curewindow.rules.unflued import Against, Unflued

ALARM = "carbon monoxide alarm (EN 50291-2)"
"""EN 50291-2: alarms for recreational vehicles and craft."""

_WHY: dict[Against, str] = {
    "sleepers": "someone sleeps in the {bunks}, which its air reaches",
    "vents": "the vents are shut",
    "night": "it would burn into the night",
    "nobody aboard": "it would burn while nobody is aboard",
}


def unflued_refused(unflued: Unflued, reasons: Sequence[Against]) -> Caution:
    """An order to light a heater without a flue, refused."""
    why = " and ".join(_WHY[each].format(bunks=" and ".join(unflued.sleepers)) for each in reasons)
    return refused(
        "carbon monoxide",
        f"{unflued.kind} heater in the {unflued.place} has no flue, and {why}",
        f"The {unflued.kind} heater in the {unflued.place} burns without a flue and gives off "
        f"carbon monoxide, and {why}: it is not advised. Never with the vents shut, never "
        "overnight or with nobody aboard, never where someone sleeps or in a space joined to it. "
        "Heat with a heater that has a flue or burns nothing, and fit a working "
        f"{ALARM}.",
    )


def unflued_lit_against(unflued: Unflued, reasons: Sequence[Against]) -> Caution:
    """A heater without a flue is alight where or when it must not be."""
    why = " and ".join(_WHY[each].format(bunks=" and ".join(unflued.sleepers)) for each in reasons)
    return warning(
        "carbon monoxide",
        "put it out before sleep or leaving: no flue; alarm (EN 50291-2)",
        f"The {unflued.kind} heater in the {unflued.place} burns without a flue and gives off "
        f"carbon monoxide, and {why}: put it out before anyone sleeps or leaves, open the vents, "
        f"and never without a working {ALARM}.",
    )


def unflued_by_day_only(unflued: Unflued) -> Caution:
    """No run of a heater without a flue is short enough for a coat."""
    return refused(
        "carbon monoxide",
        f"{unflued.kind} heater in the {unflued.place} has no flue: by day and attended only",
        f"The {unflued.kind} heater in the {unflued.place} burns without a flue and gives off "
        "carbon monoxide: it is advised only by day, vents open, while someone is aboard, and no "
        "run within those hours keeps this coat's limits. Heat with a heater that has a flue or "
        f"burns nothing, and fit a working {ALARM}.",
    )


def unflued_in_plan(unflued: Unflued) -> str:
    """A plan lights heaters the evening before: not one without a flue."""
    return (
        f"carbon monoxide: the {unflued.kind} heater in the {unflued.place} has no flue, so no "
        "step is planned with it lit overnight"
    )


def unflued_warning(unflued: Unflued) -> Caution:
    """Whoever lights it must know."""
    return warning(
        "carbon monoxide",
        "heater without a flue: alarm (EN 50291-2), vents open, no sleep",
        f"The {unflued.kind} heater in the {unflued.place} burns without a flue: it gives off "
        "carbon monoxide, uses up the air, and wets the cabin by about a litre of water "
        f"for each litre of fuel. A working {ALARM}, a vent high and one low kept open, never "
        "while anyone sleeps, never unattended.",
    )
