"""Heaters and dehumidifiers of boat.toml as the balance wants them, every default in the open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from curewindow.boat.schema import Drier, Heating
from curewindow.physics.balance import Dehumidifier, HeaterModel
from curewindow.physics.balance.heater import ELECTRIC
from curewindow.physics.combustion import FUELS, heat_kwh_per_kg


@dataclass(frozen=True, slots=True)
class HeaterKind:
    """What a kind of heater burns, and how well.

    Attributes
    ----------
    fuel : str
        Name in `physics.combustion.FUELS`; 'electricity' where nothing burns.
    unit : {'L', 'kg', 'kWh'}
        In which it is bought.
    efficiency : float
        Share of the lower heating value that stays aboard where a flue carries the
        rest away; without a flue all of it stays.
    turn_down : float
        Lowest power it burns at, as a share of its full power.
    warm_up_h : float
        From lighting to full heat, h.
    """

    fuel: str
    unit: Literal["L", "kg", "kWh"]
    efficiency: float
    turn_down: float
    warm_up_h: float


# Efficiency, turn-down and warm-up: typical of the kind, no single source; the owner's
# own efficiency, min_power and warm_up win. There is no usual price: without fuel_price
# no cost is told.
KINDS: Final[dict[str, HeaterKind]] = {
    "electric": HeaterKind("electricity", "kWh", 1.0, 0.0, 0.0),
    "diesel": HeaterKind("diesel", "L", 0.80, 0.25, 0.15),
    "paraffin": HeaterKind("paraffin", "L", 0.80, 0.30, 0.15),
    "gas": HeaterKind("LPG", "kg", 0.85, 0.30, 0.05),
    "solid fuel": HeaterKind("wood", "kg", 0.65, 0.30, 0.7),
}

SWING_K: Final = 1.5
"""Between lighting and going out, of a heater that cannot go low (estimate)."""
# Power drawn for each litre a day of the rating: makers' figures, rounded, from memory.
_W_PER_L_DAY: Final = {"condensing": 22.0, "desiccant": 45.0}
_KG_DAY: Final = 24.0  # of kg/h


def efficiency(heating: Heating) -> float:
    """Share of the fuel's lower heating value that stays in the cabin."""
    if heating.efficiency is not None:
        return heating.efficiency / 100.0
    return KINDS[heating.kind].efficiency if heating.vented else 1.0


def heater_model(heating: Heating) -> HeaterModel:
    """A heater as described.

    Without `min_power` it goes down to nothing: the mean of what cycles shorter than a
    step of the grid give.
    """
    kind = KINDS[heating.kind]
    least = 0.0 if heating.min_power is None else min(heating.min_power, heating.power)
    swing = SWING_K if heating.swing is None else heating.swing
    return HeaterModel(
        most_w=heating.power,
        least_w=least,
        swing_k=swing if least else 0.0,
        warm_up_h=kind.warm_up_h if heating.warm_up is None else heating.warm_up,
        efficiency=efficiency(heating),
        fuel=ELECTRIC if kind.fuel == "electricity" else kind.fuel,
        flued=heating.vented,
    )


def charge_kwh(heating: Heating, charge_kg: float) -> float:
    """Heat into the cabin from a charge of fuel, kWh."""
    return charge_kg * heat_kwh_per_kg(FUELS[KINDS[heating.kind].fuel]) * efficiency(heating)


def dehumidifier_of(drier: Drier) -> Dehumidifier:
    """A dehumidifier as described."""
    power = drier.power
    if power is None:
        power = usual_power_w(drier.kind, _KG_DAY * drier.rated)
    return Dehumidifier(
        kind=drier.kind,
        rated_kg_day=_KG_DAY * drier.rated,
        power_w=power,
        target_rh_pct=drier.humidity,
        rated_c=drier.rated_temp,
        rated_rh_pct=drier.rated_humidity,
    )


def usual_power_w(kind: Literal["condensing", "desiccant"], rated_kg_day: float) -> float:
    """Power that a dehumidifier of this size draws, W."""
    return _W_PER_L_DAY[kind] * rated_kg_day
