"""No heater or dehumidifier is thought of over vapour that it lights."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from curewindow.boat.schema import Boat, Space
from curewindow.cautions import refusal_of
from curewindow.cautions.airflow import films_airflow_m3_h
from curewindow.cautions.fire import fire_cautions
from curewindow.errors import CurewindowError
from curewindow.explain.change import Intervention, with_heater
from curewindow.findings import Finding, finding
from curewindow.judgement.films import burning_near
from curewindow.situation import Situation
from curewindow.voice import full


def refuse_over_vapour(facts: Situation, space: Space, change: Intervention) -> None:
    """Refuse a change that lights a flame over a film which still gives off vapour.

    Of what sparks: where nobody can tell how much air that vapour needs.

    Raises
    ------
    CurewindowError
        It would.
    """
    if not (warms(change) or change.drier_on):
        return
    boat = with_heater(change, facts.boat, space, facts.forecast)
    refusal = refusal_of(over_vapour(facts, boat, space, change))
    if refusal is not None:
        raise CurewindowError(full(refusal, facts.words))


def over_vapour(
    facts: Situation, boat: Boat, space: Space, change: Intervention
) -> Iterator[Finding]:
    """Dangers of what would be lit over films that still give off vapour then."""
    films = burning_near(facts, space, change.start)
    place = boat.find_space(space.name)
    if not films or place is None:
        return
    known = films_airflow_m3_h(films) is not None
    sheets = [film.sheet for film in films]
    lit = place.heating if warms(change) else None
    yield from fire_cautions(sheets, place, boat, lit, airflow_known=known)
    if change.drier_on:
        yield finding("drier over vapour", refuses=None if known else True)


def warms(change: Intervention) -> bool:
    """Does it light a heater?"""
    lit = change.setpoint_c is not None and not np.isnan(change.setpoint_c)
    return lit or change.power_w is not None
