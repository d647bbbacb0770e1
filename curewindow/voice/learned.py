"""What the readings of a space tell of it, in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, spoken_of
from curewindow.wording import Wording, counted

NAMES: Final[dict[str, str]] = {
    "air_change": "air change",
    "heat_loss": "heat loss through the panels",
    "interior_mass": "warmth held by joinery and stores",
    "held_water": "damp held by joinery and cushions",
    "moisture": "moisture given off",
    "heater": "the heater's real output",
}
"""What is fitted, by key."""


@dataclass(frozen=True, slots=True)
class ValueFormat:
    """How a value is written: the unit inside, the figure, and what follows it."""

    unit: str
    figure: Callable[[float], str]
    behind: str

    def text(self, value: float) -> str:
        """'0.5 an hour'; of shares '1.1 times what is described', or 'as described'."""
        shown = self.figure(value)
        if not self.unit:
            return "as described" if float(shown) == 1.0 else f"{shown} {self.behind}"
        return f"{shown} {self.behind}"


SHOWN: Final[dict[str, ValueFormat]] = {
    "air_change": ValueFormat("/h", lambda v: f"{v:.2g}", "an hour"),
    "heat_loss": ValueFormat("", lambda v: f"{v:.2g}", "times what is described"),
    "interior_mass": ValueFormat("J/K", lambda v: f"{v / 1000.0:.0f}", "kJ/K"),
    "held_water": ValueFormat("kg", lambda v: f"{v:.2g}", "kg of water"),
    "moisture": ValueFormat("kg/h", lambda v: f"{v * 1000.0:.0f}", "g/h"),
    "heater": ValueFormat("W", lambda v: f"{v / 1000.0:.2g}", "kW"),
}
"""By key."""

_PLAIN = {
    "fit by description": "likely ranges hold as far as the description does: areas, layers and "
    "habits that are off make values less sure than they look",
    "fit by routine": "the heater is taken to have run by its routine in boat.toml, but for what "
    "the log says: other days spoil the fit",
    "fit does worse": "on the readings held out the fitted values do worse than the description: "
    "take more readings before you keep them",
    "fit not tested": "there are too few readings to hold some out and test the values on them",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


@spoken_of("readings without weather")
def _without_weather(f: Finding, w: Wording) -> str:
    are = "is" if f.number("count") == 1 else "are"
    return f"{counted(f.number('count'), 'reading')} {are} left out: the weather then is not known"


@spoken_of("readings off in time")
def _off(f: Finding, w: Wording) -> Said:
    hours = f.number("hours")
    text = (
        f"the readings fit much better taken {abs(hours):.0f} h "
        f"{'later' if hours > 0 else 'earlier'} than they say"
    )
    return Said(
        text,
        f"{text}: is the clock or the time zone of the instrument right?",
        act="check the clock and the time zone of the instrument",
    )


# ---- the answer of a fit --------------------------------------------------------------------

_SUSPECT: Final = {
    "out of range": "no sensor in order shows that",
    "stuck": "the same value again and again while the cabin cannot have stood still",
    "sun": "far too warm, with the sun out: was the sensor in the sun?",
    "°F as °C": "right in °F: typed as °C by mistake?",
    "°C as °F": "right in °C: taken for °F by mistake?",
    "odd": "far off what came before and after",
}
_MOMENT: Final = {
    "before heat": "before the heater is lit",
    "cooling": "while the cabin cools, heater off",
    "long without heat": "long after the heater",
    "warming": "while the cabin warms up",
    "heated": "with the heater on",
}
LEFT_OUT: Final = "Not believed, and left out:"
TELLS_MOST: Final = "Would tell most next:"
NOTHING_TELLS: Final = "No single reading of the day ahead would tell much more."
KEPT: Final = "Kept in learned.toml: used from now on."


def head_text(space: str, readings: int, first: datetime, last: datetime, words: Wording) -> str:
    """'saloon: 12 readings, Thu 26 Nov until Mon 30 Nov'."""
    days = (words.date(first), words.date(last))
    spent = days[0] if days[0] == days[1] else f"{days[0]} until {days[1]}"
    return f"{space}: {counted(readings, 'reading')}, {spent}"


def value_text(
    key: str, value: float, factor: float, before: float, before_factor: float, told: str
) -> str:
    """A value with its likely range, and what was thought before; ``told`` 'in part' or not."""
    shown, name = SHOWN[key], NAMES[key]
    guess = f"{shown.text(before)}, give or take a factor {before_factor:.2g}"
    if told == "not told":
        return f"{name}: these readings do not tell; the value stays near the guess ({guess})"
    low, high = shown.figure(value / factor), shown.figure(value * factor)
    much = "" if told == "told" else "; told in part only"
    return f"{name}: {shown.text(value)}, likely {low} to {high} (before: {guess}){much}"


def misses_text(pairs: dict[str, tuple[float, float]], words: Wording) -> str:
    """'air within 0.3 °C (0.5 °C as described), ...': by name, fitted and as described."""
    return ", ".join(
        f"{name} within {words.difference(round(after, 1))} "
        f"({words.difference(round(before, 1))} as described)"
        for name, (after, before) in pairs.items()
    )


def used_text(misses: str) -> str:
    """How well the readings used are met."""
    return f"Readings used: {misses}"


def held_out_text(count: int, misses: str) -> str:
    """How well readings kept out of the fit are met."""
    last = "The last reading" if count == 1 else f"The last {count} readings"
    return f"{last}, predicted from those before: {misses}"


def suspect_text(
    at: datetime, what: str, read: str, expected: str | None, why: str, words: Wording
) -> str:
    """One value that is not believed; ``read`` and ``expected`` with their units."""
    meant = "" if expected is None else f" (worked out: {expected})"
    return f"{words.when(at)}, {what} {read}{meant}: {_SUSPECT[why]}"


def next_text(
    at: datetime, moment: str, panel: str, tells: str, narrows: float, words: Wording
) -> str:
    """A reading worth taking, and what of."""
    what = f"one reading {words.when(at)}"
    if moment:
        what += f", {_MOMENT[moment]}"
    if panel:
        what += f", with the surface of the {panel}"
    return f"{what}: narrows the likely range of {tells} by {100.0 * narrows:.0f} %"


def unchanged_text(typed: str) -> str:
    """That nothing is kept, and what keeps it."""
    return f"Nothing is changed. To use these values: {typed}"


def remark_text(factor: float, told: bool) -> str:
    """What stands behind a kept value in its file."""
    spread = f"times or divided by {factor:.2f}"
    return spread if told else f"{spread}; not told by the readings"
