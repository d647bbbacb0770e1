"""A dehumidifier as people say it: '1', '2', '10 L/d', 'desiccant 8 L/d', 'off'."""

from __future__ import annotations

import re
from typing import Final, Literal

from curewindow.boat.schema import Space
from curewindow.conditions.devices import dehumidifier_of, usual_power_w
from curewindow.errors import QuantityError
from curewindow.physics.balance import Dehumidifier
from curewindow.quantity import MOISTURE_FLOW, parse

Kind = Literal["condensing", "desiccant"]
# Usual sizes aboard: makers' ratings of small ones, from memory.
_USUAL_L_DAY: Final[dict[Kind, float]] = {"condensing": 12.0, "desiccant": 7.0}
_SET_TO_PCT: Final = 55.0
_MOST: Final = 9


def drier_from(text: str, space: Space) -> tuple[Dehumidifier | None, bool]:
    """The dehumidifier that is meant, None where it is the one described; and whether it runs.

    Parameters
    ----------
    text : str
        'off' or 'on'; how many, of the one in boat.toml or else of a usual condensing
        one, which takes out little in the cold; a rating; 'condensing' or 'desiccant',
        alone or with a rating.
    space : Space

    Raises
    ------
    QuantityError
        It says none of this.
    """
    said = " ".join(text.split())
    own = space.dehumidifier
    if said.casefold() == "off":
        return None, False
    if said.casefold() == "on" or said == "1":
        if own is not None:
            return None, True
        return _of("condensing", _USUAL_L_DAY["condensing"]), True
    if re.fullmatch(r"\d+", said):
        count = int(said)
        if not 1 <= count <= _MOST:
            raise QuantityError(f"'{text}' dehumidifiers: 1 to {_MOST}, or 'off'")
        one = dehumidifier_of(own) if own is not None else None
        if one is None:
            return _of("condensing", count * _USUAL_L_DAY["condensing"]), True
        return (
            Dehumidifier(
                one.kind,
                count * one.rated_kg_day,
                count * one.power_w,
                one.target_rh_pct,
                one.rated_c,
                one.rated_rh_pct,
            ),
            True,
        )
    kind: Kind = "condensing"
    for each in _USUAL_L_DAY:
        if re.search(rf"\b{each}\b", said, re.IGNORECASE):
            kind = each
            said = re.sub(rf"\b{each}\b", "", said, flags=re.IGNORECASE).strip()
            if not said:
                return _of(kind, _USUAL_L_DAY[kind]), True
            break
    try:
        rated = 24.0 * parse(said, MOISTURE_FLOW)
    except QuantityError:
        raise QuantityError(
            f"'{text}' says no dehumidifier: '1', '10 L/d', 'desiccant 8 L/d' or 'off'"
        ) from None
    if not 0.0 < rated <= 200.0:
        raise QuantityError(f"'{text}': a dehumidifier takes out more than 0, up to 200 L a day")
    return _of(kind, rated), True


def _of(kind: Kind, rated_kg_day: float) -> Dehumidifier:
    return Dehumidifier(kind, rated_kg_day, usual_power_w(kind, rated_kg_day), _SET_TO_PCT)
