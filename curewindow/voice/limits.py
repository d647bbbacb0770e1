"""Limits in words: :mod:`curewindow.rules.limits` holds the words, this fills in the figures."""

from __future__ import annotations

from typing import Final

from curewindow.findings import Finding
from curewindow.rules.limits import BY_NAME, LimitWords
from curewindow.wording import Wording

_FIGURED: Final = ("°C", "K", "%", "m/s")
"""Units of values that say more than that the limit is broken."""


def broken_text(f: Finding, w: Wording, *, brief: bool = False) -> str:
    """'air below 8 °C', 'dew on the hull side'."""
    value = f.maybe("value")
    kind = BY_NAME[f.text("limit")]
    # below the dew point it is wet, however high the sheet wants the surface above it
    wet = kind.at_zero is not None and value is not None and value < 0.0
    said = kind.at_zero if wet and kind.at_zero is not None else kind.said(f.number("limit_value"))
    template = said.below if f.text("bound") == "min" else said.above
    return _filled(template, said, f, w, brief=brief)


def kept_text(f: Finding, w: Wording) -> str:
    """'air is up to 8 °C', 'the rain has stopped'."""
    said = BY_NAME[f.text("limit")].said(f.number("limit_value"))
    return _filled(said.up if f.text("bound") == "min" else said.down, said, f, w)


def value_text(f: Finding, w: Wording) -> str:
    """'3.8 °C': what the limit is held against; '' where it is no figure that says more."""
    value, kind = f.maybe("value"), BY_NAME[f.text("limit")]
    if value is None or not kind.figures or kind.unit not in _FIGURED:
        return ""
    if kind.at_zero is not None and (value < 0.0 or f.number("limit_value") == 0.0):
        return ""  # wet is wet
    return w.amount(value, kind.unit)


def margin_text(f: Finding, w: Wording) -> str:
    """'at least 8 °C, 4.2 °C too low', 'no rain': what is asked for, and how far off it is."""
    kind, bound = BY_NAME[f.text("limit")], f.number("limit_value")
    said, by = kind.said(bound), f.number("by")
    if said.broken and by < 0.0:
        return _filled(said.broken, said, f, w)
    if said.kept and by >= 0.0:
        return _filled(said.kept, said, f, w)
    low = f.text("bound") == "min"
    off = w.limit(abs(by), "K" if kind.unit == "°C" else kind.unit)
    asked = f"{'at least' if low else 'at most'} {w.limit(bound, kind.unit)}"
    return f"{asked}, {off} {'to spare' if by >= 0.0 else 'too low' if low else 'too high'}"


def subject_of(limit: str) -> str:
    """What a limit compares, within a sentence: 'wood moisture'."""
    return BY_NAME[limit].name


def _filled(template: str, said: LimitWords, f: Finding, w: Wording, *, brief: bool = False) -> str:
    surface = f.text("surface")
    subject = said.drawn if brief and said.drawn else said.subject
    by = f.maybe("by")
    return template.format(
        subject=subject.format(surface=surface),
        surface=surface,
        limit=w.limit(f.number("limit_value"), f.text("unit")),
        by=""
        if by is None
        else w.limit(abs(by), "K" if f.text("unit") == "°C" else f.text("unit")),
        water="dew or frost" if f.flag("frost") else "dew",
    )
