"""Solvent vapour: the air that keeps it far below the lower explosive limit.

A share of the explosive limit is about fire only. Vapour harms people far
below it, gathers low down (solvent vapour is heavier than air) and is never as
well mixed as a formula has it: data sheet, mask and meter come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import ArrayLike

from curewindow.physics.elementwise import FloatArray, as_floats, handed_back, within

M3_PER_L_FROM_FT3_PER_GAL = 0.028316846592 / 3.785411784
"""m³ of vapour a litre for one cubic foot a US gallon (both exact)."""


@dataclass(frozen=True, slots=True)
class SolventVapour:
    """What a litre of solvent turns into.

    Attributes
    ----------
    vapour_m3_per_l : float
        Vapour of one litre of liquid at about 21 °C, m³.
    lel_pct : float
        Lower explosive limit, % by volume in air.
    source : str
        Where the figures come from.
    """

    vapour_m3_per_l: float
    lel_pct: float
    source: str


# Figures from memory; tests/published/test_vapour.py has what they were held against.
_G11 = "US 29 CFR 1910.94, table G-11"
_LOWER = (
    "vapour: US 29 CFR 1910.94, table G-11; limit: the lower of that table "
    "and the chart in ANSI/AARST SGM-SF-2017"
)
_SHEETS = "vapour by density and molar mass; limit usual in safety data sheets"


def _from_table(ft3_per_gal: float, lel_pct: float, source: str) -> SolventVapour:
    return SolventVapour(ft3_per_gal * M3_PER_L_FROM_FT3_PER_GAL, lel_pct, source)


# Where two sources give two limits the lower one stands here: it asks for more air.
SOLVENTS: dict[str, SolventVapour] = {
    "acetone": _from_table(44.0, 2.6, _G11),
    "isoamyl acetate": _from_table(21.6, 1.0, _G11),
    "n-butyl acetate": _from_table(24.8, 1.0, _LOWER),
    "n-butanol": _from_table(35.2, 1.0, _LOWER),
    "2-butoxyethanol": _from_table(24.8, 1.1, _G11),
    "2-ethoxyethanol": _from_table(33.6, 1.8, _G11),
    "2-ethoxyethyl acetate": _from_table(23.2, 1.7, _G11),
    "cyclohexanone": _from_table(31.2, 1.0, _LOWER),
    "ethanol": _from_table(55.2, 3.0, _LOWER),
    "ethyl acetate": _from_table(32.8, 2.0, _LOWER),
    "isopropanol": _from_table(44.0, 2.0, _G11),
    "isopropyl acetate": _from_table(28.0, 1.1, _G11),
    "methanol": _from_table(80.8, 6.0, _LOWER),
    "methyl acetate": _from_table(40.0, 3.0, _LOWER),
    "methyl ethyl ketone": _from_table(36.0, 1.8, _G11),
    "n-propanol": _from_table(44.8, 2.1, _G11),
    "n-propyl acetate": _from_table(27.2, 2.0, _LOWER),
    "toluene": _from_table(30.4, 1.1, _SHEETS),
    "xylene": _from_table(26.4, 1.0, _G11),
    "turpentine": _from_table(20.8, 0.8, _G11),
    "naphtha": _from_table(22.4, 0.9, _G11),
    "white spirit": _from_table(23.2, 0.6, _SHEETS),
    "styrene": _from_table(28.1, 0.9, _SHEETS),
}
"""Common solvents by name. For checking against, not instead of, the data sheet."""


@overload
def dilution_volume(
    vapour_per_liquid: float, lel_pct: float, share_of_lel: float = ...
) -> float: ...
@overload
def dilution_volume(
    vapour_per_liquid: ArrayLike, lel_pct: ArrayLike, share_of_lel: ArrayLike = ...
) -> FloatArray: ...
def dilution_volume(
    vapour_per_liquid: ArrayLike, lel_pct: ArrayLike, share_of_lel: ArrayLike = 0.25
) -> float | FloatArray:
    """Air that dilutes the vapour of one unit of liquid solvent.

    Parameters
    ----------
    vapour_per_liquid : array_like
        Volume of vapour from one unit of liquid: m³ a litre, or ft³ a gallon.
    lel_pct : array_like
        Lower explosive limit, % by volume, above 0, below 100.
    share_of_lel : array_like
        Share of that limit not to be passed, above 0 to 1.

    Returns
    -------
    float or ndarray
        Volume of air in the same units: m³ a litre, or ft³ a gallon.

    Raises
    ------
    ValueError
        A value outside its range.

    References
    ----------
    US 29 CFR 1910.94(c)(6)(ii), for a quarter of the limit:
    4 (100 - LEL) (vapour per unit)/LEL; the 4 is 1/share.
    """
    vapour = within("vapour of the liquid", vapour_per_liquid, 0.0, np.inf, "volume a unit")
    lel = _limit(lel_pct)
    share = within("share of the explosive limit", share_of_lel, 1e-6, 1.0, "")
    return handed_back((100.0 - lel) * vapour / (lel * share))


@overload
def dilution_airflow(
    solvent_l_h: float,
    vapour_m3_per_l: float,
    lel_pct: float,
    share_of_lel: float = ...,
    mixing_factor: float = ...,
) -> float: ...
@overload
def dilution_airflow(
    solvent_l_h: ArrayLike,
    vapour_m3_per_l: ArrayLike,
    lel_pct: ArrayLike,
    share_of_lel: ArrayLike = ...,
    mixing_factor: ArrayLike = ...,
) -> FloatArray: ...
def dilution_airflow(
    solvent_l_h: ArrayLike,
    vapour_m3_per_l: ArrayLike,
    lel_pct: ArrayLike,
    share_of_lel: ArrayLike = 0.25,
    mixing_factor: ArrayLike = 1.0,
) -> float | FloatArray:
    """Airflow that holds solvent vapour at a share of the explosive limit.

    Parameters
    ----------
    solvent_l_h : array_like
        Liquid solvent that evaporates, l/h, 0 or more.
    vapour_m3_per_l : array_like
        Vapour a litre of it gives, m³/l.
    lel_pct : array_like
        Lower explosive limit, % by volume.
    share_of_lel : array_like
        Share of it not to be passed; a quarter in the US rule, a tenth where
        someone works in the space.
    mixing_factor : array_like
        1 or more: how many times the ideal flow, as air in a boat goes past
        corners and bilges. Common practice is 3 to 10, no single source.

    Returns
    -------
    float or ndarray
        Airflow, m³/h, broadcast.

    Raises
    ------
    ValueError
        A value outside its range.

    References
    ----------
    US 29 CFR 1910.94(c)(6)(ii); see `dilution_volume`.
    """
    rate = within("solvent evaporating", solvent_l_h, 0.0, np.inf, "l/h")
    mixing = within("mixing factor", mixing_factor, 1.0, np.inf, "")
    per_litre = as_floats(dilution_volume(vapour_m3_per_l, lel_pct, share_of_lel))
    return handed_back(rate * mixing * per_litre)


def vapour_concentration(
    times_h: ArrayLike,
    solvent_l_h: ArrayLike,
    vapour_m3_per_l: float,
    lel_pct: float,
    volume_m3: float,
    air_changes_h: ArrayLike,
    start_share: ArrayLike = 0.0,
) -> FloatArray:
    """Solvent vapour in a space over time, as a share of the explosive limit.

    Parameters
    ----------
    times_h : array_like, shape (T,)
        Times, h, rising.
    solvent_l_h : array_like, shape (..., T) or scalar
        Liquid evaporating from each time to the next, l/h.
    vapour_m3_per_l : float
        Vapour a litre of it gives, m³/l.
    lel_pct : float
        Lower explosive limit, % by volume.
    volume_m3 : float
        Free volume of the space, m³.
    air_changes_h : array_like, shape (..., T) or scalar
        Air changes from each time to the next, 1/h; 0 for a closed space.
    start_share : array_like, shape (...) or scalar
        Share at the first time.

    Returns
    -------
    ndarray, shape (..., T)
        Mean concentration as a share of the limit: 1 is explosive. Low down
        and over the wet coat it is higher.

    Raises
    ------
    ValueError
        Times that do not rise, or a value outside its range.

    Notes
    -----
    Well-mixed box, V dc/dt = G - n V c, solved exactly a step. Vapour that has
    condensed or filled the space past 100 % is beyond it.
    """
    times = as_floats(times_h)
    if times.ndim != 1 or times.size == 0 or not np.all(np.diff(times) > 0.0):
        raise ValueError("times_h must be one row of rising times in hours")
    rate = within("solvent evaporating", solvent_l_h, 0.0, np.inf, "l/h")
    changes = within("air change", air_changes_h, 0.0, np.inf, "1/h")
    start = within("share of the explosive limit at the start", start_share, 0.0, np.inf, "")
    within("volume of the space", volume_m3, 1e-3, np.inf, "m³")
    vapour = within("vapour of the liquid", vapour_m3_per_l, 0.0, np.inf, "m³/l")
    gain = rate * vapour / volume_m3 * 100.0 / _limit(lel_pct)  # shares an hour
    shape = np.broadcast_shapes(gain.shape, changes.shape, (*start.shape, 1), times.shape)
    gain, changes = np.broadcast_to(gain, shape), np.broadcast_to(changes, shape)
    step_h = np.diff(times)
    x = changes[..., :-1] * step_h
    kept = np.exp(-x)
    # (1 - e^-x)/x tends to 1 as the air stands still.
    gathered = step_h * np.where(x > 0.0, -np.expm1(-x) / np.where(x > 0.0, x, 1.0), 1.0)
    gathered = np.where(np.isnan(x), np.nan, gathered)
    share = np.empty(shape)
    share[..., 0] = start
    for i in range(times.size - 1):
        share[..., i + 1] = kept[..., i] * share[..., i] + gathered[..., i] * gain[..., i]
    return share


def _limit(lel_pct: ArrayLike) -> FloatArray:
    return within("lower explosive limit", lel_pct, 0.01, 99.0, "%")
