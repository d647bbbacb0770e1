"""Coating arithmetic: film thickness, volume solids, spreading rate, litres.

A litre laid out over a square metre stands a millimetre high; what stays of a wet film
is its volume solids. So ISO 23811 and ASTM D2697 define volume solids, and so data
sheets work out a theoretical spreading rate.
"""

from __future__ import annotations

import math


def spreading_m2_l(volume_solids_pct: float, dry_film_um: float) -> float:
    """Theoretical spreading rate of a coating, m²/L.

    Ten times the volume solids in per cent by the dry film in µm.

    Parameters
    ----------
    volume_solids_pct : float
        Above 0, up to 100 %.
    dry_film_um : float
        Above 0 [µm].

    Raises
    ------
    ValueError
        Outside these.
    """
    _solids_in_range(volume_solids_pct)
    if dry_film_um <= 0.0:
        raise ValueError(f"a dry film is thicker than 0 µm, got {dry_film_um}")
    return 10.0 * volume_solids_pct / dry_film_um


def wet_film_um(dry_film_um: float, volume_solids_pct: float, thinner_pct: float = 0.0) -> float:
    """Wet film that dries to a dry film, µm.

    Parameters
    ----------
    dry_film_um : float
        [µm].
    volume_solids_pct : float
        Of the product as it is in the tin, above 0, up to 100 %.
    thinner_pct : float
        Added by volume, % of the product.

    Raises
    ------
    ValueError
        Solids or thinner out of range.
    """
    _solids_in_range(volume_solids_pct)
    if thinner_pct < 0.0:
        raise ValueError(f"thinner is added, got {thinner_pct} %")
    return dry_film_um * (100.0 + thinner_pct) / volume_solids_pct


def litres_for(area_m2: float, spreading_rate_m2_l: float, loss_pct: float = 0.0) -> float:
    """Product one coat takes, L, where a part of it is lost in brush, roller and tin.

    Parameters
    ----------
    area_m2 : float
    spreading_rate_m2_l : float
        Theoretical; above 0.
    loss_pct : float
        Of what is taken from the tin, 0 up to but not 100 %.

    Raises
    ------
    ValueError
        Spreading rate or loss out of range.
    """
    if spreading_rate_m2_l <= 0.0:
        raise ValueError(f"a spreading rate is above 0 m²/L, got {spreading_rate_m2_l}")
    if not (math.isnan(loss_pct) or 0.0 <= loss_pct < 100.0):
        raise ValueError(f"loss lies between 0 and 100 %, got {loss_pct}")
    return area_m2 / (spreading_rate_m2_l * (1.0 - loss_pct / 100.0))


def _solids_in_range(volume_solids_pct: float) -> None:
    if not (math.isnan(volume_solids_pct) or 0.0 < volume_solids_pct <= 100.0):
        raise ValueError(f"volume solids lie above 0, up to 100 %, got {volume_solids_pct}")
