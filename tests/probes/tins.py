"""Tins from the cold, from home and from the deck: no warmer than they can be, and no colder."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curewindow.record.entries import Heat
from curewindow.record.store import Record
from tests.probes.scene import NOW, Probe, heating, job, space, step

COLD = {"temp_c": 3.0, "dew_point_c": -3.0}
FIRE = heating("diesel", vented=True, flame=False, power="9 kW", more='unattended = "yes"')
WORK = job(step("coat", "waterborne-acrylic-varnish"), more='substrate = "bare wood"')


def _lit(hours: float) -> object:
    def write(record: Record) -> None:
        begun = NOW - timedelta(hours=hours)
        record.add_heat(Heat("cabin", begun, NOW + timedelta(hours=12), 21.0))

    return write


def _tin(where: str) -> str:
    kept = f'kept = "{where}"\n' if where else ""
    return f'[[tin]]\nsheet = "waterborne-acrylic-varnish"\n{kept}'


def probes() -> Iterator[Probe]:
    """A cabin lit half an hour or half a day ago, and where the tin stood meanwhile."""
    for hours, where, cold in (
        (0.5, "cabin", True),
        (0.5, "deck", True),
        (0.5, "home", False),
        (14.0, "cabin", False),
        (14.0, "deck", True),
        (14.0, "home", False),
    ):
        yield Probe(
            f"lit {hours:g} h ago, tin kept {where}",
            space("cabin", heating=FIRE, more="slept_in = false") + _tin(where),
            WORK,
            says=("tin",) if cold else (),
            silent=() if cold else ("tin (", "tin is up to"),
            log=_lit(hours),  # type: ignore[arg-type]
            **COLD,
        )
