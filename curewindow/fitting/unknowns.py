"""What nobody can measure with a tape, and how well it is guessed before any reading.

Each unknown is fitted as the logarithm of its value, counted in spreads from its
median: 0 is what boat.toml says or the tool assumes, and one to either side is as
far off as such a guess often is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from curewindow.boat.schema import Space
from curewindow.conditions.learned import tuned
from curewindow.conditions.model import Described
from curewindow.series import FloatArray

# How far off guesses are, as a factor either way (one standard deviation of the
# logarithm). All estimates, no source, and on the wide side: a guess trusted too much pulls
# the fit towards it and makes it look surer than it is, one trusted too little only
# asks for more readings.
ASSUMED_AIR_CHANGE = 2.6
GIVEN_AIR_CHANGE = 1.9  # an owner's own figure is a guess too: few measure it
HEAT_LOSS = 1.5  # frames and stringers bridge the insulation, damp settles in it
ASSUMED_MASS = 2.3
GIVEN_MASS = 1.75
HELD_WATER = 2.3
ASSUMED_MOISTURE = 3.6
GIVEN_MOISTURE = 1.9
HEATER_OUTPUT = 1.35  # ducts, fuel, altitude and a tired mat against the rating plate
# Least medians, where the description says none at all.
LEAST_AIR_CHANGE_H = 0.05
LEAST_MASS_J_K_M3 = 1000.0
LEAST_MOISTURE_KG_H = 0.005  # bilge water and damp gear, with nobody aboard
LEAST_BUFFER_KG_M3 = 0.02


@dataclass(frozen=True, slots=True)
class Unknown:
    """One value to be found.

    Attributes
    ----------
    key : str
        'air_change', 'heat_loss', 'interior_mass', 'held_water', 'moisture' or 'heater'.
    median : float
        Best guess before any reading, in the unit used inside (SI, 1/h, kg/h).
    spread : float
        Factor either way within which two guesses of three lie.
    """

    key: str
    median: float
    spread: float

    @property
    def log_spread(self) -> float:
        """Standard deviation of the logarithm."""
        return float(np.log(self.spread))


NETWORK_KEYS: Final = ("heat_loss", "interior_mass", "held_water")
"""Those that make another network of heat and damp; the others are inputs to it."""
KEYS: Final = ("air_change", "heat_loss", "interior_mass", "held_water", "moisture", "heater")


def unknowns_of(space: Space, described: Described) -> tuple[Unknown, ...]:
    """The unknowns of a space, with their guesses.

    Parameters
    ----------
    space : Space
        As boat.toml has it: an owner's own figure is trusted more than an assumed one.
    described : Described
        Its model; the medians are taken from it.

    Returns
    -------
    tuple of Unknown
        In the order of :data:`KEYS`; without the heater where there is none, or it is
        never lit by its routine.
    """
    model, volume = described.model, described.model.volume_m3
    air = GIVEN_AIR_CHANGE if space.air_change is not None else ASSUMED_AIR_CHANGE
    mass = GIVEN_MASS if space.interior_mass is not None else ASSUMED_MASS
    wet = GIVEN_MOISTURE if space.moisture is not None else ASSUMED_MOISTURE
    found = [
        Unknown("air_change", max(model.air_changes_h, LEAST_AIR_CHANGE_H), air),
        Unknown("heat_loss", 1.0, HEAT_LOSS),
        Unknown("interior_mass", max(model.mass_j_k, LEAST_MASS_J_K_M3 * volume), mass),
        Unknown("held_water", max(model.buffer_kg, LEAST_BUFFER_KG_M3 * volume), HELD_WATER),
        Unknown("moisture", max(described.moisture_kg_h, LEAST_MOISTURE_KG_H), wet),
    ]
    lit = space.heating is not None and any(e.setpoint is not None for e in space.heating.routine)
    if lit and described.power_w > 0.0:
        found.append(Unknown("heater", described.power_w, HEATER_OUTPUT))
    return tuple(found)


def values_at(unknowns: tuple[Unknown, ...], place: FloatArray) -> dict[str, float]:
    """Values by key, at a place counted in spreads from the medians, shape (P,)."""
    return {
        unknown.key: float(unknown.median * np.exp(unknown.log_spread * away))
        for unknown, away in zip(unknowns, place, strict=True)
    }


def described_with(described: Described, values: dict[str, float]) -> Described:
    """A described space with these values."""
    return replace(
        described,
        model=tuned(
            described.model,
            air_changes_h=values["air_change"],
            heat_loss=values["heat_loss"],
            mass_j_k=values["interior_mass"],
            buffer_kg=values["held_water"],
        ),
        moisture_kg_h=values["moisture"],
        power_w=values.get("heater", described.power_w),
    )
