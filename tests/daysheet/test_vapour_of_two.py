"""Vapour of two jobs adds up: where nobody can air for both, the second waits for the first."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from curewindow.daysheet import DaySheet
from tests.daysheet.conftest import NOW, SOLVENT, job, of, put_on


@pytest.mark.parametrize(("area", "waits"), [("1 m²", False), ("40 m²", True)])
def test_a_coat_waits_for_the_vapour_of_one_that_nobody_can_air_away_as_well(
    make: Callable[..., DaySheet], area: str, waits: bool
) -> None:
    """40 m² of varnish: 4 L with 2.5 L of solvent leave within hours, 1437 m³ of air for each.

    The door's 2 m² by itself are aired by any fan.
    """
    sole = job("sole", SOLVENT, space="fore cabin").replace("2 m²", area)
    coat = put_on("sole", NOW - timedelta(minutes=70), sheet="one-part-urethane-varnish")
    day = of(make(job("door", SOLVENT) + sole, coats=[coat]), "door")
    found = [wait for wait in day.waits if wait.why.kind == "vapour of another coat"]
    assert bool(found) is waits
    assert day.status != "refused"
    if waits:
        assert found[0].about == "sole"
        assert found[0].until is not None
        assert found[0].until > NOW
