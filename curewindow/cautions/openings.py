"""The openings to the outside that what burns in a space and those joined to it asks for."""

from __future__ import annotations

from collections.abc import Iterable

from curewindow.boat.schema import Heating
from curewindow.conditions.devices import efficiency
from curewindow.physics.combustion import fixed_openings_mm2
from curewindow.rules.unflued import burns

_MM2_PER_CM2 = 100.0


def openings_cm2(heaters: Iterable[Heating]) -> float | None:
    """Free area for all of them, cm² to the next ten; None where none draws air from the cabin.

    Parameters
    ----------
    heaters : iterable of Heating
        An outlet of another one burns nothing itself.
    """
    unflued = flued = stove = 0.0
    drawing = False
    for heating in heaters:
        if not burns(heating) or heating.outlet_of is not None:
            continue
        if heating.air_from == "outside" and heating.vented:
            continue
        drawing = True
        output_kw = heating.power / 1000.0
        if not heating.vented:
            unflued += output_kw  # all of its heat stays inside: put in is what comes out
        elif heating.kind == "solid fuel":
            stove += output_kw
        else:
            flued += output_kw / max(efficiency(heating), 0.1)
    if not drawing:
        return None
    area = fixed_openings_mm2(unflued, flued, stove) / _MM2_PER_CM2
    return -(-area // 10.0) * 10.0
