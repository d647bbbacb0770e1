"""Text to float and back, losing nothing."""

from __future__ import annotations

import math
import re

from curewindow.errors import QuantityError
from curewindow.nearest import did_you_mean
from curewindow.quantity.kinds import QuantityKind, fold

_NUMBER = re.compile(r"^\s*([+\-−–]?\s*(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")
# '1,000 h' is a thousand to one reader and one to another: refused, never guessed.
_TWO_READINGS = re.compile(r"^[+\-−–]?\s*[1-9]\d{0,2},\d{3}$")


def _a(name: str) -> str:
    return f"an {name}" if name[:1] in "aeiou" else f"a {name}"


def parse(value: object, kind: QuantityKind) -> float:
    """Read a written quantity into the float used inside.

    Parameters
    ----------
    value : object
        Text such as ``'10 °C'``; anything else is refused with the way to write it.
    kind : QuantityKind
        What it must be.

    Returns
    -------
    float
        In ``kind.unit``.

    Raises
    ------
    QuantityError
        No unit, a unit of another kind, or a value that cannot be.
    """
    if isinstance(value, bool) or not isinstance(value, str):
        if isinstance(value, int | float) and not isinstance(value, bool):
            shown = f"{value:g}"
            raise QuantityError(
                f"{shown} has no unit; write {_a(kind.name)} as '{shown} {kind.unit}' with its unit"
            )
        raise QuantityError(f"{value!r} is not a {kind.name}; write it like '{kind.example}'")
    match = _NUMBER.match(value)
    if match is None:
        raise QuantityError(f"'{value}' is not a {kind.name}; write it like '{kind.example}'")
    number_text, unit_text = match.groups()
    if _TWO_READINGS.match(number_text):
        plain, point = number_text.replace(",", ""), number_text.replace(",", ".")
        raise QuantityError(
            f"'{value}' can be read two ways; write '{plain} {unit_text}' or '{point} {unit_text}'"
        )
    number = float(
        re.sub(r"\s", "", number_text).replace("−", "-").replace("–", "-").replace(",", ".")
    )
    if not unit_text:
        raise QuantityError(
            f"'{value}' has no unit; write {_a(kind.name)} as '{number_text} {kind.unit}'"
        )
    unit = fold(unit_text)
    if unit not in kind.units:
        meant = did_you_mean(unit, kind.units)
        hint = f" ({meant})" if meant else ""
        raise QuantityError(
            f"'{unit_text}' is not a unit of {kind.name}{hint}; write it like '{kind.example}'"
        )
    factor, offset = kind.units[unit]
    inside = (number + offset) * factor
    if not math.isfinite(inside):
        raise QuantityError(f"'{value}' is too large for {_a(kind.name)}")
    if kind.minimum is not None and inside < kind.minimum:
        raise QuantityError(
            f"'{value}' is below what {_a(kind.name)} can be ({kind.minimum:g} {kind.unit})"
        )
    if kind.maximum is not None and inside > kind.maximum:
        raise QuantityError(
            f"'{value}' is more than any {kind.name} of a boat ({kind.maximum:g} {kind.unit})"
        )
    return inside


def write(value: float, kind: QuantityKind) -> str:
    """Write a float as text that :func:`parse` reads back to the same float.

    Parameters
    ----------
    value : float
        In ``kind.unit``.
    kind : QuantityKind
        Its kind.

    Returns
    -------
    str
        Such as ``'10 °C'``.
    """
    text = repr(float(value))
    return f"{text.removesuffix('.0')} {kind.unit}"
