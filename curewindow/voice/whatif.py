"""A change that is only thought of, in words."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from curewindow.findings import Finding
from curewindow.voice.speaking import full, spoken_of
from curewindow.wording import Wording, figure

_PLAIN = {
    "drier in the cold": "a condensing dehumidifier takes out little in the cold and next to "
    "nothing below {cold}; a desiccant one goes on",
    "water runs down": "where more than some 100 g/m² of water would lie, it runs down",
    "heater brought": "the heater is taken as electric without a glowing element: dry heat",
}
_NOTHING_BELOW_C: Final = 5.0


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind].format(cold=w.temp(_NOTHING_BELOW_C))


@spoken_of("door then")
def _door(f: Finding, w: Wording) -> str:
    return f"door to the {f.text('other_space')} {f.text('state')}"


@spoken_of("change")
def _change(f: Finding, w: Wording) -> str:
    parts = []
    held, power, air = f.maybe("temp_c"), f.maybe("power_w"), f.maybe("air_changes_h")
    if f.text("state") == "heater off":
        parts.append("heater off")
    elif held is not None:
        parts.append(w.temp(held))
    if power is not None:
        parts.append(f"heater of {figure(power / 1000.0)} kW")
    if air is not None:
        parts.append(f"{figure(air)} air changes an hour")
    elif "vents" in f.about:
        parts.append(f"vents {f.text('vents')}")
    drier, litres = f.text("kind_of"), f.maybe("litres")
    if litres is not None:
        parts.append(f"{drier} dehumidifier of {figure(litres)} L a day")
    elif drier:
        parts.append(f"dehumidifier {drier}")
    parts += [full(each, w) for each in f.because]
    return ", ".join(parts) or "nothing changed"


@spoken_of("as forecast alone")
def _alone(f: Finding, w: Wording) -> str:
    return (
        "worked out for the weather as forecast, as if the forecast were sure, until "
        f"{w.when(f.time('until'))}"
    )


@spoken_of("heater too weak")
def _weak(f: Finding, w: Wording) -> str:
    highest, wanted = w.temp(f.number("temp_c")), w.temp(f.number("other_temp_c"))
    return f"the heater is too weak: the air gets to {highest} at most, not {wanted}"


@spoken_of("door size taken")
def _door_size(f: Finding, w: Wording) -> str:
    wide, high = figure(f.number("width_m")), figure(f.number("height_m"))
    return (
        f"the door to the {f.text('other_space')} is taken as {wide} m by {high} m; a [[door]] in "
        "boat.toml says it better"
    )


@spoken_of("air change taken")
def _air(f: Finding, w: Wording) -> str:
    changes = f"{figure(f.number('air_changes_h'))} air changes an hour"
    better = w.by_command("; --air-change says it better")
    return f"vents {f.text('vents')} are taken as {changes} (estimate){better}"


def head_text(change: Finding, begins: datetime, until: datetime | None, words: Wording) -> str:
    """'What if saloon: 12 °C from today 18:00 until tomorrow 06:00?'"""
    ends = "" if until is None else f" until {words.when(until)}"
    space = change.text("space")
    return f"What if {space}: {full(change, words)} from {words.when(begins)}{ends}?"


def looked_text(until: datetime, words: Wording) -> str:
    """How far a change without an end was looked at."""
    return f"Looked at until {words.when(until)}"


def lying_text(
    panel: str, frost: tuple[float | None, float | None], water: tuple[float | None, float | None]
) -> str:
    """'locker side: frost up to 250 g/m², then none; water up to 390 g/m², then 12'."""
    parts = []
    for what, (before, after) in (("frost", frost), ("water", water)):
        if before is None or after is None:
            parts.append(f"{what} not known")
        elif before >= 1.0 or after >= 1.0:
            parts.append(f"{what} {_grams(before)}, then {_grams(after)}")
    return f"{panel}: {'; '.join(parts)}"


def _grams(value: float) -> str:
    return f"up to {value:.0f} g/m²" if value >= 1.0 else "none"


def job_lines(before: str, after: str) -> list[str]:
    """A job as it is, and then."""
    if before == after:
        return [f"no change: {before}"]
    return [f"as it is: {before}", f"then: {after}"]


def starts_text(spans: list[str], more: int) -> str:
    """'start Thu 10:20 until 13:40 and 2 more'."""
    return f"start {', '.join(spans)}{f' and {more} more' if more > 0 else ''}"
