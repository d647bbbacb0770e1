"""Heat into fuel and money, with every default in the open."""

from __future__ import annotations

from curewindow.boat.schema import Heating
from curewindow.conditions.devices import KINDS, efficiency
from curewindow.findings import Finding, finding
from curewindow.heating.models import FuelUse
from curewindow.physics.combustion import FUELS, heat_kwh_per_kg, heat_kwh_per_l


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


def fuel_notes(heating: Heating) -> list[Finding]:
    """The defaults that stand behind an amount of fuel."""
    kind = KINDS[heating.kind]
    notes = []
    if heating.efficiency is None and kind.unit != "kWh" and heating.vented:
        notes.append(finding("efficiency assumed", fuel=kind.fuel, share=kind.efficiency))
    if heating.fuel_price is None:
        notes.append(finding("no fuel price", fuel_unit=kind.unit))
    return notes
