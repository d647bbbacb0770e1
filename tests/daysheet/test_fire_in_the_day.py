"""What lights vapour, on the day sheet: a flame is a no with a way out, a spark a warning.

Common practice of the trade and of safety data sheets, no single source.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from curewindow.daysheet import DaySheet
from tests.daysheet.conftest import SOLVENT, job, of

ELECTRIC = """
[space.heating]
kind = "electric"
power = "1 kW"
vented = false
open_flame = false
unattended = "yes"
routine = [{{ from = 07:00:00, setpoint = "15 °C" }}, {{ from = 19:00:00 }}]
""".replace("{{", "{").replace("}}", "}")
DRIER = 'dehumidifier = { kind = "desiccant", rated = "8 L/d" }'


def ignition(kind: str, space: str, *more: str) -> str:
    return "\n".join(["", "[[ignition]]", f'kind = "{kind}"', f'space = "{space}"', *more, ""])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("told", "work", "status", "kind"),
    [
        ({}, SOLVENT, "go", "flammable vapour"),
        ({"heating": ELECTRIC}, SOLVENT, "go", "spark over vapour"),
        ({"cabin": DRIER}, SOLVENT, "go", "spark over vapour"),
        ({"fore": ignition("fridge", "fore cabin")}, SOLVENT, "go", "spark over vapour"),
        ({"fore": ignition("cooker", "fore cabin")}, SOLVENT, "refused", "flame over vapour"),
        ({"fore": ignition("cooker", "cabin", "off = true")}, SOLVENT, "go", "flammable vapour"),
        ({"fore": ignition("cooker", "lazarette")}, SOLVENT, "go", "flammable vapour"),  # sealed
    ],
)
def test_a_flame_refuses_and_a_spark_warns(
    make: Callable[..., DaySheet], told: dict[str, str], work: str, status: str, kind: str
) -> None:
    day = of(make(job("door", work), **told), "door")
    assert day.status == status
    assert kind in {each.kind for each in day.cautions}
    assert bool(day.windows_today) is (status == "go")


@pytest.mark.slow
@pytest.mark.parametrize("heating", [ELECTRIC, ""])
def test_a_spark_asks_for_the_area_where_the_air_is_not_known(
    make: Callable[..., DaySheet], heating: str
) -> None:
    """Without an area nobody can say how much air the vapour needs: no spark then."""
    work = job("door", SOLVENT).replace('area = "2 m²"', "")
    day = of(make(work, heating=heating), "door")
    assert day.status == ("refused" if heating else "go")
