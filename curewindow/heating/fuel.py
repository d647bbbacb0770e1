"""Heat into fuel and money, with every default in the open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from curewindow.boat.schema import Heating
from curewindow.heating.models import FuelUse
from curewindow.physics.combustion import FUELS, heat_kwh_per_kg, heat_kwh_per_l


@dataclass(frozen=True, slots=True)
class Kind:
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
    """

    fuel: str
    unit: Literal["L", "kg", "kWh"]
    efficiency: float
    turn_down: float


# Efficiency and turn-down: typical of the kind, no single source; heating.efficiency and
# heating.min_power of the owner's own heater win. There is no usual price: without
# heating.fuel_price no cost is told.
KINDS: Final[dict[str, Kind]] = {
    "electric": Kind("electricity", "kWh", 1.0, 0.0),
    "diesel": Kind("diesel", "L", 0.80, 0.25),
    "paraffin": Kind("paraffin", "L", 0.80, 0.30),
    "gas": Kind("LPG", "kg", 0.85, 0.30),
    "solid fuel": Kind("wood", "kg", 0.65, 0.30),
}


def kwh_per_unit(heating: Heating) -> float:
    """Heat into the cabin from a litre, kilogram or kilowatt hour [kWh]."""
    kind = KINDS[heating.kind]
    if kind.unit == "kWh":
        held = 1.0
    elif kind.unit == "L":
        held = heat_kwh_per_l(FUELS[kind.fuel])
    else:
        held = heat_kwh_per_kg(FUELS[kind.fuel])
    return held * efficiency(heating)


def efficiency(heating: Heating) -> float:
    """Share of the fuel's lower heating value that stays in the cabin."""
    if heating.efficiency is not None:
        return heating.efficiency / 100.0
    return KINDS[heating.kind].efficiency if heating.vented else 1.0


def least_power_w(heating: Heating) -> float:
    """Lowest power at which the heater burns on [W]; below it, it goes on and off."""
    if heating.min_power is not None:
        return heating.min_power
    return KINDS[heating.kind].turn_down * heating.power


def fuel_use(energy_kwh: float, heating: Heating | None) -> FuelUse:
    """What so much heat takes; a heater nobody described is taken as electric."""
    if heating is None:
        kwh = round(energy_kwh, 2)
        return FuelUse(energy_kwh=kwh, fuel="electricity", amount=kwh, unit="kWh")
    kind = KINDS[heating.kind]
    amount = energy_kwh / kwh_per_unit(heating)
    price = heating.fuel_price
    return FuelUse(
        energy_kwh=round(energy_kwh, 2),
        fuel=kind.fuel,
        amount=round(amount, 2),
        unit=kind.unit,
        cost=None if price is None else round(price * amount, 2),
    )


def fuel_notes(heating: Heating) -> list[str]:
    """The defaults that stand behind an amount of fuel."""
    kind = KINDS[heating.kind]
    notes = []
    if heating.efficiency is None and kind.unit != "kWh" and heating.vented:
        notes.append(
            f"{kind.fuel}: {100.0 * kind.efficiency:.0f} % of its heat is taken to stay aboard; "
            "give heating.efficiency to know better"
        )
    if heating.fuel_price is None:
        notes.append(f"give heating.fuel_price (for a {_unit_word(kind.unit)}) to have the cost")
    return notes


def _unit_word(unit: str) -> str:
    return {"L": "litre", "kg": "kilogram", "kWh": "kilowatt hour"}[unit]
