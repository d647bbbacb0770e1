"""What can hurt someone of heaters, in words: carbon monoxide, fire with nobody by.

The cautions are common practice of the trade and of safety data sheets, no single source,
unless one is named.
"""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.cautions import ALARM
from curewindow.voice.speaking import Said, and_all, spoken_of
from curewindow.wording import Wording

_AGAINST = {
    "sleepers": "someone sleeps {where}",
    "vents": "the vents are shut",
    "night": "it would burn into the night",
    "nobody aboard": "it would burn while nobody is aboard",
}


def _against(f: Finding, most: int | None = None) -> str:
    bunks = and_all(f.texts("spaces")) if f.texts("spaces") else ""
    where = f"in the {bunks}, which its air reaches" if bunks else "where its air gets to"
    return "; ".join(
        _AGAINST.get(each, each).format(where=where) for each in f.texts("against")[:most]
    )


def _flueless(f: Finding) -> str:
    return f"the {f.text('heater')} heater in the {f.text('space')}"


@spoken_of("no flue, refused")
def _refused(f: Finding, w: Wording) -> Said:
    return Said(
        f"{f.text('heater')} heater without a flue: {_against(f, 1)}",
        f"{_flueless(f)} burns without a flue and gives off carbon monoxide, so it is not "
        f"advised: {_against(f)}. Never with the vents shut, never overnight or with nobody "
        "aboard, never where someone sleeps or in a space joined to it. Heat with a heater that "
        f"has a flue or burns nothing, and fit a working {ALARM}",
    )


@spoken_of("no flue, no run short enough")
def _by_day(f: Finding, w: Wording) -> Said:
    return Said(
        f"{f.text('heater')} heater without a flue: by day and attended only",
        f"{_flueless(f)} burns without a flue and gives off carbon monoxide: it is advised only by "
        "day, vents open, while someone is aboard, and no run within those hours keeps this coat's "
        f"limits. Heat with a heater that has a flue or burns nothing, and fit a working {ALARM}",
    )


@spoken_of("no flue, alight")
def _alight(f: Finding, w: Wording) -> Said:
    return Said(
        "put it out before sleep or leaving; alarm (EN 50291-2)",
        f"put {_flueless(f)} out before anyone sleeps or leaves, and open the vents: it burns "
        f"without a flue and gives off carbon monoxide, and: {_against(f)}. Never without a "
        f"working {ALARM}",
    )


@spoken_of("no flue, not planned")
def _not_planned(f: Finding, w: Wording) -> Said:
    return Said(
        f"{f.text('heater')} heater without a flue: the plan never lights it",
        f"{_flueless(f)} burns without a flue and gives off carbon monoxide: a plan lights heaters "
        "the evening before, so no step is planned with this one lit",
    )


def _openings(f: Finding) -> str:
    area = f.maybe("area_cm2")
    if area is None:
        return ""
    return (
        f". What burns there takes its air from the cabin: openings nobody can shut, "
        f"{area:.0f} cm² in all, half high, half low (PD 5482-3)"
    )


@spoken_of("not left alone, not planned")
def _not_alone_in_plan(f: Finding, w: Wording) -> Said:
    return Said(
        f"{f.text('heater')} heater never left alone: planned only for what sets in hours aboard",
        f"a plan lights heaters the evening before and holds them overnight, and boat.toml does "
        f"not say that {_flueless(f)} may be left alone: it is lit only within the forecast, for "
        "what sets while someone is aboard. If maker, harbour and insurer let it run alone, say so "
        "(unattended = 'yes')",
    )


@spoken_of("no flue")
def _no_flue(f: Finding, w: Wording) -> Said:
    return Said(
        "no flue: alarm (EN 50291-2), vents open, no sleep",
        f"{_flueless(f)} burns without a flue: a working {ALARM}, a vent high and one low kept "
        "open, never while anyone sleeps, never unattended. It gives off carbon monoxide, uses up "
        "the air, and wets the cabin by about a litre of water for each litre of fuel"
        f"{_openings(f)}",
    )


@spoken_of("heater burns")
def _burns(f: Finding, w: Wording) -> Said:
    return Said(
        "test the alarm (EN 50291-2), keep the flue clear",
        f"a heater burns aboard: test the {ALARM}, keep its flue, air inlet and vents clear, and "
        f"take off any masking or sheeting over them{_openings(f)}",
    )


_NEAR = (
    "nothing that burns or dries near it, its own thermostat and cut-outs in order, cables fully "
    "unrolled"
)


@spoken_of("heater at night")
def _night(f: Finding, w: Wording) -> Said:
    return Said(
        f"{f.text('heater')} heater runs at night: a common cause of fires",
        f"{_flueless(f)} is set to run through the night: {_NEAR}. Heating with nobody aboard and "
        "awake is a common cause of boat fires; many harbours and insurers forbid it, and makers "
        "of many heaters too",
    )


@spoken_of("electric heater at night")
def _electric_night(f: Finding, w: Wording) -> Said:
    return Said(
        "nothing that burns near the heater",
        f"the electric heater in the {f.text('space')} is set to run through the night: {_NEAR}",
    )


@spoken_of("heat unattended")
def _unattended(f: Finding, w: Wording) -> Said:
    return Said(
        "the heater runs while nobody is aboard or awake",
        "the heater runs while nobody is aboard or awake, a common cause of boat fires; many "
        "harbours, insurers and makers of heaters forbid it. Nothing that burns near the "
        "heater, its thermostat and cut-outs in order; if you may not, sit the hours out or "
        "choose another day",
    )


@spoken_of("never left alone")
def _never_alone(f: Finding, w: Wording) -> Said:
    return Said(
        "put the heater out before you leave or sleep",
        f"put {_flueless(f)} out before you leave or sleep: boat.toml does not say that it may "
        "be left alone",
    )


_WHOSE = {
    "routine": "by its routine it runs",
    "log": "by the log it is lit",
    "order": "lit for it, it would run",
}
_ALONE = {"nobody aboard": "while nobody is aboard", "night": "at night"}


@spoken_of("left alone")
def _left_alone(f: Finding, w: Wording) -> Said:
    when = and_all(tuple(_ALONE.get(each, each) for each in f.texts("against")))
    whose = _WHOSE.get(f.text("state"), "it runs")
    return Said(
        f"{f.text('heater')} heater in the {f.text('space')} runs {when}: never left alone?",
        f"{_flueless(f)}: {whose} {when}, and boat.toml does not say that it may. Put it out "
        "before you leave or sleep; if maker, harbour and insurer let it run alone, say so there "
        "(unattended = 'yes')",
    )
