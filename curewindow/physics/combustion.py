"""What burning a fuel gives off: heat, water and carbon dioxide.

Water and carbon dioxide follow from the hydrogen and carbon in the fuel, burnt
completely. All heat is on the lower heating value: the water leaves as vapour, as it
does from a flame without a flue, and its own heat comes back only where it condenses.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

# IUPAC, Standard Atomic Weights 2021 (abridged), g/mol.
CARBON_G_MOL: Final = 12.011
HYDROGEN_G_MOL: Final = 1.008
OXYGEN_G_MOL: Final = 15.999
_WATER_PER_HYDROGEN: Final = 1.0 + OXYGEN_G_MOL / (2.0 * HYDROGEN_G_MOL)
_CO2_PER_CARBON: Final = 1.0 + 2.0 * OXYGEN_G_MOL / CARBON_G_MOL
MJ_PER_KWH: Final = 3.6
# Heat to boil off the fuel's own water, 25 °C, MJ/kg (EN ISO 18125).
_BOIL_OFF_MJ_KG: Final = 2.443


@dataclass(frozen=True, slots=True)
class Fuel:
    """A fuel as it is burnt.

    Parameters
    ----------
    carbon, hydrogen : float
        Share of the mass, 0 to 1.
    water : float
        Share of the mass that is water already: the dampness of wood.
    heating_value_mj_kg : float
        Lower heating value [MJ/kg].
    density_kg_l : float or None
        Of the liquid at 15 °C [kg/L]; None for what is not sold by volume.
    source : str
        Where heating value and density come from.

    Raises
    ------
    ValueError
        A share outside 0..1, shares above 1 together, or no heat.
    """

    carbon: float
    hydrogen: float
    heating_value_mj_kg: float
    density_kg_l: float | None
    source: str
    water: float = 0.0

    def __post_init__(self) -> None:
        shares = (self.carbon, self.hydrogen, self.water)
        if not all(0.0 <= share <= 1.0 for share in shares) or not sum(shares) <= 1.0 + 1e-9:
            raise ValueError(f"shares of carbon, hydrogen and water must fit in 0 to 1: {shares}")
        if not self.heating_value_mj_kg > 0.0:
            raise ValueError(
                f"heating value is {self.heating_value_mj_kg} MJ/kg; it must be above 0"
            )
        if self.density_kg_l is not None and not self.density_kg_l > 0.0:
            raise ValueError(f"density is {self.density_kg_l} kg/L; it must be above 0")


def hydrocarbon(
    carbon: int, hydrogen: int, heating_value_mj_kg: float, density_kg_l: float, source: str
) -> Fuel:
    """Fuel of one molecule, C_carbon H_hydrogen."""
    mass = carbon * CARBON_G_MOL + hydrogen * HYDROGEN_G_MOL
    return Fuel(
        carbon * CARBON_G_MOL / mass,
        hydrogen * HYDROGEN_G_MOL / mass,
        heating_value_mj_kg,
        density_kg_l,
        source,
    )


def mixed(first: Fuel, second: Fuel, share: float, source: str) -> Fuel:
    """Two liquid fuels mixed: `share` of the mass is the first, 0 to 1.

    Raises
    ------
    ValueError
        A share outside 0..1, or a fuel without a density.
    """
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"share is {share}; it must lie in 0 to 1")
    if first.density_kg_l is None or second.density_kg_l is None:
        raise ValueError("only liquids with a density are mixed")
    rest = 1.0 - share
    return Fuel(
        share * first.carbon + rest * second.carbon,
        share * first.hydrogen + rest * second.hydrogen,
        share * first.heating_value_mj_kg + rest * second.heating_value_mj_kg,
        1.0 / (share / first.density_kg_l + rest / second.density_kg_l),
        source,
        share * first.water + rest * second.water,
    )


def damp(dry: Fuel, water: float) -> Fuel:
    """A dry solid fuel with water in it, `water` being its share of the whole mass.

    Lower heating value as received by EN ISO 18125: q (1 - w) - 2.443 w MJ/kg.
    """
    if not 0.0 <= water < 1.0:
        raise ValueError(f"share of water is {water}; it must lie in 0 to below 1")
    rest = 1.0 - water
    return Fuel(
        rest * dry.carbon,
        rest * dry.hydrogen,
        rest * dry.heating_value_mj_kg - water * _BOIL_OFF_MJ_KG,
        None,
        f"{dry.source}; with {water:.0%} water",
        water,
    )


# Heats of combustion of the pure gases: ISO 6976:2016, table 3, 25 °C (from memory):
# gross 2219.17 and 2877.40 kJ/mol, less 44.016 kJ for each mole of water.
_PROPANE = hydrocarbon(3, 8, 46.33, 0.508, "ISO 6976; density EN 589 / handbooks, 15 °C")
_BUTANE = hydrocarbon(4, 10, 45.72, 0.585, "ISO 6976; density EN 589 / handbooks, 15 °C")
# Share of carbon and hydrogen of stem wood, and its heating value: ISO 17225-1,
# annex B, typical values for broad-leaf and coniferous wood (from memory).
_DRY_WOOD = Fuel(0.50, 0.062, 18.9, None, "ISO 17225-1, annex B, stem wood (from memory)")

FUELS: Final[dict[str, Fuel]] = {
    "propane": _PROPANE,
    "butane": _BUTANE,
    # What is in the bottle differs by country and season: half and half by mass.
    "LPG": mixed(_PROPANE, _BUTANE, 0.5, "half propane, half butane by mass; ISO 6976"),
    # As dodecane; paraffin of the trade has a little less hydrogen and 43 to 43.9 MJ/kg.
    "paraffin": hydrocarbon(
        12, 26, 43.8, 0.80, "UK Government GHG Conversion Factors 2023, burning oil, net"
    ),
    "diesel": Fuel(
        0.865, 0.135, 43.0, 0.835, "UK Government GHG Conversion Factors 2023, mineral diesel, net"
    ),
    # Air-dry: 20 % of the whole mass is water.
    "wood": damp(_DRY_WOOD, 0.20),
}
"""Fuels by name."""


def fuel_named(name: str) -> Fuel:
    """A fuel of `FUELS`.

    Raises
    ------
    ValueError
        An unknown name; the message lists the known ones.
    """
    if name not in FUELS:
        raise ValueError(f"{name!r} is no known fuel; known: {', '.join(FUELS)}")
    return FUELS[name]


def water_kg_per_kg(fuel: Fuel) -> float:
    """Water given off for each kg burnt: from its hydrogen, and what was in it [kg/kg]."""
    return fuel.hydrogen * _WATER_PER_HYDROGEN + fuel.water


def co2_kg_per_kg(fuel: Fuel) -> float:
    """Carbon dioxide given off for each kg burnt [kg/kg]."""
    return fuel.carbon * _CO2_PER_CARBON


def heat_kwh_per_kg(fuel: Fuel) -> float:
    """Heat of each kg, lower heating value [kWh/kg]."""
    return fuel.heating_value_mj_kg / MJ_PER_KWH


def heat_kwh_per_l(fuel: Fuel) -> float:
    """Heat of each litre of liquid [kWh/L].

    Raises
    ------
    ValueError
        A fuel that is not sold by volume.
    """
    if fuel.density_kg_l is None:
        raise ValueError("this fuel has no density: reckon it by the kg")
    return heat_kwh_per_kg(fuel) * fuel.density_kg_l


def water_kg_per_kwh(fuel: str, efficiency: float = 1.0) -> float:
    """Water given off for the useful heat [kg/kWh].

    Parameters
    ----------
    fuel : str
        A name in `FUELS`.
    efficiency : float
        Share of the lower heating value that becomes useful heat; 1 for a flame without
        a flue, whose heat all stays inside.

    Raises
    ------
    ValueError
        An unknown fuel or an efficiency outside 0..1.
    """
    return _per_kwh(water_kg_per_kg(fuel_named(fuel)), fuel, efficiency)


def co2_kg_per_kwh(fuel: str, efficiency: float = 1.0) -> float:
    """Carbon dioxide given off for the useful heat [kg/kWh]; as `water_kg_per_kwh`."""
    return _per_kwh(co2_kg_per_kg(fuel_named(fuel)), fuel, efficiency)


def _per_kwh(per_kg: float, fuel: str, efficiency: float) -> float:
    if not 0.0 < efficiency <= 1.0:
        raise ValueError(f"efficiency is {efficiency}; it must lie above 0 and up to 1")
    return per_kg / (heat_kwh_per_kg(fuel_named(fuel)) * efficiency)


_PER_KW_UNFLUED_MM2: Final = 2200.0
_PER_KW_FLUED_MM2: Final = 440.0
_PER_KW_STOVE_MM2: Final = 550.0
_PER_PERSON_MM2: Final = 650.0


def fixed_openings_mm2(
    unflued_kw: float, flued_kw: float, stove_kw: float, people: int = 1
) -> float:
    """Free area of the openings that fires which draw their air from the cabin ask for, mm².

    Parameters
    ----------
    unflued_kw : float
        Input of all that burns without a flue, cookers too, kW.
    flued_kw : float
        Input of what burns with a flue but takes its air from the cabin, kW.
    stove_kw : float
        Output of solid fuel stoves with a flue, kW.
    people : int
        Who breathes there.

    Notes
    -----
    PD 5482-3:2005 (LPG installations in boats) for all but stoves, BS 8511:2010 annex A for
    these. Half of it high, half low, and such as nobody can shut without tools.
    """
    return (
        _PER_KW_UNFLUED_MM2 * unflued_kw
        + _PER_KW_FLUED_MM2 * flued_kw
        + _PER_KW_STOVE_MM2 * stove_kw
        + _PER_PERSON_MM2 * people
    )
