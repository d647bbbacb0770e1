"""What can hurt someone, in words; folded with what is folded counted and named, never dropped.

The cautions are common practice of the trade and of safety data sheets, no single source,
unless one is named.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from typing import Final

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, full, short, spoken_of
from curewindow.wording import Wording

DEFER: Final = (
    "The product's own data sheet and safety data sheet, the rules of the place and licensed "
    "practice come first."
)
"""Who has the last word: once a screen or notice, not behind each caution."""
DEFER_SHORT: Final = "data sheets come first"
# EN 50291-2: alarms for recreational vehicles and craft.
ALARM: Final = "carbon monoxide alarm (EN 50291-2)"
_CO: Final = "carbon monoxide"
IN_MOST: Final = 0.8
"""A danger of so many of the steps is named once, above them all."""

TOPIC: Final[dict[str, str]] = {
    "ignition over vapour": "fire",
    "flame over vapour": "fire",
    "spark over vapour": "fire",
    "flammable vapour": "fire",
    "self-heating rags": "rags",
    "airflow for vapour": "vapour",
    "airflow out of reach": "vapour",
    "methanol or oxime vapour": "vapour",
    "too little air for vapour": "vapour",
    "drier over vapour": "fire",
    "sleepers over vapour": "sleeping",
    "sleepers apart from vapour": "sleeping",
    "sleepers not known": "sleeping",
    "nobody sleeps here tonight": "sleeping",
    "sanding dust": "dust",
    "fresh film sanded": "dust",
    "oily dust": "dust",
    "antifouling sanded": "biocide",
    "launch before immersion": "launch",
    "epoxy sensitiser": "epoxy",
    "skin irritant": "skin",
    "no flue, refused": _CO,
    "no flue, no run short enough": _CO,
    "no flue, alight": _CO,
    "no flue, not planned": _CO,
    "no flue": _CO,
    "heater burns": _CO,
    "heater at night": "unattended heating",
    "electric heater at night": "unattended heating",
    "heat unattended": "unattended heating",
    "never left alone": "unattended heating",
    "not left alone, not planned": "unattended heating",
    "left alone": "unattended heating",
    "tin frozen": "tin",
    "tin past life": "tin",
    "tin will freeze": "tin",
    "tin too cold": "tin",
    "goes on what is below": "coat below",
    "does not go on": "coat below",
    "isocyanate where someone sleeps": "isocyanate",
    "stove to tend": "stove",
}
"""The name of a danger where it is not that of its kind."""


def topic(found: Finding) -> str:
    """The name of a danger: 'fire', 'isocyanate', 'carbon monoxide'."""
    return TOPIC.get(found.kind, found.kind)


def standing_alone(found: Finding) -> str:
    """The name of a danger where nothing is said behind it: of carbon monoxide the alarm's."""
    return ALARM if topic(found) == _CO else topic(found)


def topics(found: Iterable[Finding], but: Collection[str] = ()) -> str:
    """'isocyanate, fire, rags': every danger by its name, each once, in their order.

    Parameters
    ----------
    found : iterable of Finding
    but : collection of str
        Names that stand elsewhere.
    """
    names = dict.fromkeys(standing_alone(each) for each in found)
    return ", ".join(name for name in names if name not in but)


def care_text(found: Iterable[Finding], but: Collection[str] = ()) -> str:
    """'take care: isocyanate, fire, rags'; '' where there is nothing."""
    named = topics(found, but)
    return f"take care: {named}" if named else ""


def in_most(steps: Collection[Sequence[Finding]]) -> list[str]:
    """Names of dangers that nearly all of the steps have: said once, they are read."""
    count = Counter(name for each in steps for name in {standing_alone(one) for one in each})
    return sorted(name for name, times in count.items() if times >= IN_MOST * len(steps))


def every_step_text(names: Sequence[str]) -> str:
    """What would stand at nearly every step, said once."""
    return f"take care in every step: {', '.join(names)}"


def caution(found: Finding, words: Wording) -> str:
    """'rags: oily rags light themselves: off the boat, flat or under water'."""
    return f"{topic(found)}: {short(found, words)}"


def whole_caution(found: Finding, words: Wording) -> str:
    """All there is to say of a danger, its name first."""
    return f"{topic(found)}: {full(found, words)}"


def by_topic(found: Iterable[Finding], words: Wording) -> dict[str, str]:
    """'vapour': all that is to be said of it, each thing once; in their order."""
    said: dict[str, dict[str, None]] = {}
    for each in found:
        said.setdefault(topic(each), {})[short(each, words)] = None
    return {name: "; ".join(texts) for name, texts in said.items()}


def care_lines(found: Iterable[Finding], words: Wording, most: int | None = None) -> list[str]:
    """A line a danger in their order; beyond ``most`` they are counted and named."""
    found = list(found)
    every = list(by_topic(found, words).items())
    # A fold of one takes the line it would save.
    kept = every if most is None or len(every) <= most + 1 else every[:most]
    lines = [f"{name[:1].upper()}{name[1:]}: {text}." for name, text in kept]
    told = {name for name, _ in kept}
    more = dict.fromkeys(standing_alone(each) for each in found if topic(each) not in told)
    if more:
        lines.append(f"And {len(more)} more: {', '.join(more)}.")
    return lines


# ---- skin and eyes -----------------------------------------------------------


@spoken_of("peroxide")
def _peroxide(f: Finding, w: Wording) -> Said:
    return Said(
        "blinds: goggles before you open it, eye wash at hand",
        f"{f.text('product')}: goggles on before the bottle is opened, eye wash within reach: the "
        "peroxide catalyst blinds. Never let it meet accelerator, metals or rust outside the mix: "
        "it can burn or explode. Soak up spills with something that does not burn and keep it wet",
    )


@spoken_of("epoxy sensitiser")
def _epoxy(f: Finding, w: Wording) -> Said:
    return Said(
        "allergy for life: gloves, sleeves, goggles; sand no soft film",
        f"{f.text('product')}: nitrile gloves changed often, sleeves, goggles; wash with soap and "
        "water, never with solvent. Uncured epoxy and its hardener can make you allergic for life, "
        "and so does sanding a film that is not fully cured",
    )


@spoken_of("biocide")
def _biocide(f: Finding, w: Wording) -> Said:
    return Said(
        "never sand or scrape it dry; mask, gloves, catch it all",
        f"{f.text('product')}: never sand or scrape it dry; wet it, catch and hand in what comes "
        "off, and wear mask, gloves and overalls: antifouling is poison by design. Many places "
        "regulate which may be used and where it may be removed",
    )


@spoken_of("skin irritant")
def _skin(f: Finding, w: Wording) -> Said:
    return Said(
        "gloves and goggles", f"{f.text('product')}: gloves and goggles, it irritates skin and eyes"
    )


# ---- tins --------------------------------------------------------------------


@spoken_of("tin frozen")
def _frozen(f: Finding, w: Wording) -> Said:
    space = f.text("space")
    return Said(
        f"frost in the {space}: the tin may be spoilt",
        f"{f.text('product')}: stir it up and try it on a scrap; lumps, water on top or a film "
        f"that powders mean a new tin. Frost spoils it, and the {space}, where its tin is kept, "
        f"has been down to {w.temp(f.number('temp_c'))} in the days known",
    )


@spoken_of("tin will freeze")
def _will_freeze(f: Finding, w: Wording) -> Said:
    space = f.text("space")
    return Said(
        f"frost to come in the {space}: take the tin out",
        f"{f.text('product')}: take the tin somewhere warm. Frost spoils it, and the {space}, "
        f"where its tin is kept, goes down to {w.temp(f.number('temp_c'))} within two days",
    )


@spoken_of("tin too cold")
def _too_cold(f: Finding, w: Wording) -> Said:
    space = f.text("space")
    return Said(
        f"kept too cold in the {space}",
        f"{f.text('product')}: keep it at {w.temp(f.number('other_temp_c'))} and above; the "
        f"{space}, where its tin is, has or gets {w.temp(f.number('temp_c'))}",
    )


@spoken_of("goes on what is below")
def _below(f: Finding, w: Wording) -> str:
    return "check that it goes on what is below: its data sheet decides"
