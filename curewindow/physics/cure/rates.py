"""Hardening rate by temperature: the Arrhenius form, and a sheet's own table of times."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from curewindow.physics.elementwise import GAS_CONSTANT, ZERO_C_IN_K, FloatArray

Bools: TypeAlias = npt.NDArray[np.bool_]
Indices: TypeAlias = npt.NDArray[np.intp]

Side = Literal["slow", "typical", "quick"]
"""Which side of the uncertainty: 'slow' for 'not before', 'quick' for 'not after'."""

Basis = Literal["data sheet", "tin label", "typical of the kind"]
"""Where the times of a sheet come from."""


class ActivationEnergy(NamedTuple):
    """An apparent activation energy and where it comes from."""

    j_mol: float
    source: str


# "The rate doubles for every 10 K" is the trade's rule of thumb; between 10 and
# 20 °C it is the Arrhenius form with 47.8 kJ/mol. Where no measurement is named,
# our estimate leans on that.
ACTIVATION_ENERGIES: Final[dict[str, ActivationEnergy]] = {
    "oxidation": ActivationEnergy(
        48_000.0, "estimate: rate doubles per 10 K (common practice, no source)"
    ),
    "epoxy amine": ActivationEnergy(
        55_000.0,
        "estimate, middle of the 50-60 kJ/mol usually reported for epoxy-amine coatings (from "
        "memory; that paints do not differ from clear resins: Coatings 2023, 13(3), 592)",
    ),
    "two-part urethane": ActivationEnergy(
        45_000.0, "estimate: catalysed urethane reactions, 40-50 kJ/mol (from memory)"
    ),
    "moisture curing": ActivationEnergy(
        45_000.0, "estimate: follows the vapour in the air; used only where a table is extended"
    ),
    "waterborne": ActivationEnergy(
        44_000.0, "enthalpy of vaporisation of water near 20 °C: saturation pressure drives drying"
    ),
    "peroxide": ActivationEnergy(
        50_000.0,
        "middle of the 40-60 kJ/mol measured for cobalt-promoted ketone peroxide: "
        "J. Appl. Polym. Sci. 102 (2006) 1870-1876",
    ),
    "solvent release": ActivationEnergy(
        45_000.0, "estimate: enthalpy of vaporisation of white spirit, C9-C10 (from memory)"
    ),
}
"""Apparent activation energy by how the product hardens; a sheet's own table comes first."""

# Our estimate, no source. A data sheet's time is measured on one film thickness,
# one batch and a laboratory panel; a generic sheet stands for many products.
BANDS: Final[dict[Basis, float]] = {
    "data sheet": 0.10,
    "tin label": 0.15,
    "typical of the kind": 0.25,
}
"""Relative uncertainty of a rate by basis (estimate)."""

EXTRAPOLATED_BAND: Final = 0.25
"""Added to the band where the rate was carried outside the table (estimate)."""


def rate_factor(
    temp_c: npt.ArrayLike, reference_c: npt.ArrayLike, activation_energy: npt.ArrayLike
) -> FloatArray:
    """Rate at a temperature relative to the rate at a reference temperature.

    Parameters
    ----------
    temp_c, reference_c : array_like
        Temperatures [°C].
    activation_energy : array_like
        Apparent activation energy [J/mol].

    Returns
    -------
    ndarray
        ``exp(-Ea/R (1/T - 1/Tr))``, 1 at the reference. NaN in, NaN out.

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero or an energy is negative.

    References
    ----------
    Freiesleben Hansen and Pedersen (1977), the form of ASTM C1074.
    """
    inverse = _inverse_kelvin(temp_c) - _inverse_kelvin(reference_c)
    energy = np.asarray(activation_energy, dtype=np.float64)
    if np.any(energy < 0):
        raise ValueError(f"activation_energy must not be negative, got {energy} J/mol")
    return np.asarray(np.exp(-energy / GAS_CONSTANT * inverse), dtype=np.float64)


def equivalent_age(
    temps_c: npt.ArrayLike,
    step_h: npt.ArrayLike,
    reference_c: float,
    activation_energy: float,
) -> float | FloatArray:
    """Age at a reference temperature that is worth the same as a temperature history.

    Parameters
    ----------
    temps_c : array_like, shape (..., n)
        Mean temperature of each interval [°C].
    step_h : array_like, scalar or shape (n,)
        Length of each interval [h].
    reference_c : float
        Reference temperature [°C].
    activation_energy : float
        Apparent activation energy [J/mol].

    Returns
    -------
    float or ndarray, shape (...)
        Equivalent age [h]. A NaN temperature makes the whole age NaN.

    Raises
    ------
    ValueError
        If an interval is negative, or see `rate_factor`.

    References
    ----------
    ASTM C1074, equivalent age: ``te = sum exp(-Q (1/Ta - 1/Ts)) dt`` with Q = Ea/R.
    """
    step = np.asarray(step_h, dtype=np.float64)
    if np.any(step < 0):
        raise ValueError(f"step_h must not be negative, got {step}")
    factor = np.atleast_1d(rate_factor(temps_c, reference_c, activation_energy))
    age = np.sum(factor * step, axis=-1)
    return float(age) if age.ndim == 0 else np.asarray(age, dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class RateTable:
    """Times to one milestone by temperature, and what holds outside the table.

    Parameters
    ----------
    temps_c : ndarray, shape (n,)
        Temperatures of the rows, increasing [°C].
    hours : ndarray, shape (n,)
        Time to the milestone at constant temperature [h]; never longer when warmer.
    activation_energy_j_mol : float
        Used below the first and above the last row only [J/mol].
    stop_below_c : float
        The clock stops below this temperature [°C]; ``-inf`` if it never does.

    Raises
    ------
    ValueError
        If a row is missing, not finite, out of order or slower when warmer.
    """

    temps_c: FloatArray
    hours: FloatArray
    activation_energy_j_mol: float
    stop_below_c: float

    def __post_init__(self) -> None:
        temps = np.array(self.temps_c, dtype=np.float64, ndmin=1)
        hours = np.array(self.hours, dtype=np.float64, ndmin=1)
        if temps.ndim != 1 or temps.shape != hours.shape or temps.size == 0:
            raise ValueError("a rate table needs as many times as temperatures, one at least")
        if not (np.all(np.isfinite(temps)) and np.all(np.isfinite(hours)) and np.all(hours > 0)):
            raise ValueError("every row needs a finite temperature and a finite time above 0 h")
        if np.any(np.diff(temps) <= 0):
            raise ValueError(f"temperatures must increase from row to row, got {temps.tolist()} °C")
        if np.any(np.diff(hours) > 0):
            raise ValueError(f"a warmer row must not take longer, got {hours.tolist()} h")
        _inverse_kelvin(temps)
        if not (np.isfinite(self.activation_energy_j_mol) and self.activation_energy_j_mol > 0):
            raise ValueError(
                f"activation energy must be above 0 J/mol, got {self.activation_energy_j_mol}"
            )
        if np.isnan(self.stop_below_c):
            raise ValueError("stop_below_c must be a number (or -inf), got NaN")
        temps.setflags(write=False)
        hours.setflags(write=False)
        object.__setattr__(self, "temps_c", temps)
        object.__setattr__(self, "hours", hours)


@dataclass(frozen=True, slots=True, eq=False)
class AmongRows:
    """Where temperatures lie among a table's rows: the same for each of its milestones.

    Attributes
    ----------
    temp_c : ndarray
        The temperatures [°C].
    temps_c : ndarray, shape (n,)
        The rows' [°C].
    place : ndarray of int
        How many rows are at or below each.
    drop : ndarray
        1/T of the row at or below (else of the first) less its own [1/K].
    """

    temp_c: FloatArray
    temps_c: FloatArray
    place: Indices
    drop: FloatArray

    @staticmethod
    def of(temp_c: npt.ArrayLike, temps_c: FloatArray) -> AmongRows:
        """Look up temperatures, NaN allowed, among the rows of a table."""
        temp = np.asarray(temp_c, dtype=np.float64)
        place = np.asarray(np.searchsorted(temps_c, temp, side="right"))
        # Measured from the row at or below, so that a row gives exactly its own time.
        drop = _inverse_kelvin(temps_c)[_row_below(temps_c)].take(place) - _inverse_kelvin(temp)
        return AmongRows(temp, temps_c, place, drop)


def _row_below(temps_c: FloatArray) -> Indices:
    """Row that counts below the first row, from the first on, from the second on ..."""
    return np.maximum(np.arange(temps_c.size + 1) - 1, 0)


def table_hours(temp_c: npt.ArrayLike, temps_c: npt.ArrayLike, hours: npt.ArrayLike) -> FloatArray:
    """Hours read off a row of a sheet's table, between its columns and no further.

    Parameters
    ----------
    temp_c : array_like
        Temperature [°C].
    temps_c, hours : array_like, shape (n,)
        The columns' temperatures, increasing [°C], and their hours, above 0.

    Returns
    -------
    ndarray
        As :func:`table_rate` between the columns; outside them the nearest one holds. NaN
        where the temperature is NaN.
    """
    temps = np.asarray(temps_c, dtype=np.float64)
    within = np.clip(np.asarray(temp_c, dtype=np.float64), temps[0], temps[-1])
    lie = AmongRows.of(within, temps)
    return 1.0 / _between(lie, np.asarray(hours, dtype=np.float64), 0.0, 0.0)


def table_rate(
    temp_c: npt.ArrayLike, table: RateTable, side: Side = "typical"
) -> tuple[FloatArray, Bools]:
    """Progress per hour towards a milestone, from a table of times.

    Parameters
    ----------
    temp_c : array_like
        Film temperature [°C].
    table : RateTable
        Times by temperature.
    side : {'slow', 'typical', 'quick'}
        Above the last row 'slow' holds the last row's rate (never quicker than the
        sheet vouches for); 'typical' and 'quick' go on with the activation energy.

    Returns
    -------
    rate_per_h : ndarray
        1/time [1/h]: at a row exactly ``1/hours``; between rows ln(time) is linear in
        1/T; 0 below `stop_below_c`; NaN where the temperature is NaN.
    extrapolated : ndarray of bool
        True outside the rows, also where the clock stands still. False at NaN.

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero.

    Notes
    -----
    ln t linear in 1/T is the Arrhenius form with an activation energy of its own for
    every pair of rows. Below the first row the time grows from that row on with
    the table's `activation_energy_j_mol`.
    """
    temp = np.asarray(temp_c, dtype=np.float64)
    rate = rate_among(AmongRows.of(temp, table.temps_c), table, side)
    extrapolated = (temp < table.temps_c[0]) | (temp > table.temps_c[-1])
    return np.asarray(rate, dtype=np.float64), np.asarray(extrapolated, dtype=np.bool_)


def rate_among(lie: AmongRows, table: RateTable, side: Side = "typical") -> FloatArray:
    """The rate of :func:`table_rate` where it is known how temperatures lie among its rows."""
    outer = table.activation_energy_j_mol / GAS_CONSTANT
    rate = _between(lie, table.hours, outer, 0.0 if side == "slow" else outer)
    return np.where(lie.temp_c < table.stop_below_c, 0.0, rate)


def _between(lie: AmongRows, hours: FloatArray, below: float, above: float) -> FloatArray:
    """1/hours with ln(hours) linear in 1/T, its slope given outside the columns [K]."""
    row_inverse = _inverse_kelvin(lie.temps_c)
    # slopes[i + 1] holds from row i to row i + 1; the ends are the outside.
    slopes = np.concatenate([[below], np.diff(np.log(hours)) / np.diff(row_inverse), [above]])
    found: FloatArray = np.exp(slopes.take(lie.place) * lie.drop)
    return found / hours[_row_below(lie.temps_c)].take(lie.place)


def banded_rate(
    rate_per_h: npt.ArrayLike, extrapolated: npt.ArrayLike, basis: Basis, side: Side
) -> FloatArray:
    """Rate moved to one side of its uncertainty.

    Parameters
    ----------
    rate_per_h : array_like
        Rate [1/h].
    extrapolated : array_like of bool
        Where the rate was carried outside its table.
    basis : {'data sheet', 'tin label', 'typical of the kind'}
        Where the times come from; gives the band (`BANDS`, `EXTRAPOLATED_BAND`: estimates).
    side : {'slow', 'typical', 'quick'}
        'slow' divides by (1 + band), 'quick' multiplies, 'typical' leaves alone.

    Returns
    -------
    ndarray
        Rate [1/h].
    """
    rate = np.asarray(rate_per_h, dtype=np.float64)
    if side == "typical":
        return rate
    outside = np.asarray(extrapolated, dtype=np.bool_)
    widened = 1.0 + BANDS[basis] + np.where(outside, EXTRAPOLATED_BAND, 0.0)
    return np.asarray(rate / widened if side == "slow" else rate * widened, dtype=np.float64)


def _inverse_kelvin(temp_c: npt.ArrayLike) -> FloatArray:
    kelvin = np.asarray(temp_c, dtype=np.float64) + ZERO_C_IN_K
    if np.any(kelvin <= 0):
        raise ValueError(f"temperature must be above {-ZERO_C_IN_K} °C")
    return np.asarray(1.0 / kelvin, dtype=np.float64)
