"""What the readings of a space have taught: fitted values in place of described ones."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from curewindow.boat.schema import Space
from curewindow.conditions.model import Described
from curewindow.findings import finding
from curewindow.physics.balance import PanelModel, SpaceModel
from curewindow.physics.panel import RSE, RSE_WATER, RSI_HORIZONTAL

STALE = timedelta(days=60)
"""Values fitted longer ago are said to be old: boats dry out and are lined (estimate)."""
# What the model is made from. The routine is not: a fit outlives a change of it.
_DESCRIBES = {"volume", "air_change", "slept_in", "interior_mass", "moisture", "panel"}
_HEATER = {"kind", "power", "vented"}


@dataclass(frozen=True, slots=True)
class Learned:
    """Values of one space, fitted to its readings.

    Attributes
    ----------
    space : str
        Its name.
    fitted_at : datetime
        Aware UTC.
    readings : int
        Number of readings they rest on.
    air_within_k, dew_within_k : float
        Root mean square error of air and dew point, on readings held out where there
        were enough of them [K].
    fingerprint : str
        Of the description they belong to; see :func:`fingerprint`.
    air_changes_h : float
        Air change, 1/h.
    heat_loss : float
        Loss through all panels, times the described one.
    mass_j_k : float
        Heat capacity of joinery and stores, J/K.
    buffer_kg : float
        Water that joinery and cushions take up from dry to saturated air, kg.
    moisture_kg_h : float
        Water given off inside, kg/h.
    heater_w : float or None
        The heater's real output, W; None without one.
    """

    space: str
    fitted_at: datetime
    readings: int
    air_within_k: float
    dew_within_k: float
    fingerprint: str
    air_changes_h: float
    heat_loss: float
    mass_j_k: float
    buffer_kg: float
    moisture_kg_h: float
    heater_w: float | None = None


def fingerprint(space: Space) -> str:
    """Twelve hex digits that change with anything the model of a space is made from."""
    space = space.model_copy(update={"slept_in": bool(space.slept_in)})  # not said: nobody does
    described = space.model_dump_json(include=_DESCRIBES)
    heater = "" if space.heating is None else space.heating.model_dump_json(include=_HEATER)
    drier = "" if space.dehumidifier is None else space.dehumidifier.model_dump_json()
    return hashlib.sha256(f"{described}{heater}{drier}".encode()).hexdigest()[:12]


def with_learned(
    space: Space, described: Described, learned: Mapping[str, Learned], now: datetime
) -> Described:
    """A described space with what its readings taught, and a note that says so.

    Parameters
    ----------
    space : Space
    described : Described
        From :func:`curewindow.conditions.model.describe`.
    learned : mapping of str to Learned
        By name of space.
    now : datetime
        Aware.

    Returns
    -------
    Described
        The described one where nothing was learned, or the description has changed since.
    """
    known = learned.get(space.name)
    if known is None:
        return described
    if known.fingerprint != fingerprint(space):
        note = finding("fit left aside", space=space.name, at=known.fitted_at)
        return replace(described, notes=(*described.notes, note))
    age = now - known.fitted_at
    note = finding(
        "space fitted",
        space=space.name,
        count=known.readings,
        at=known.fitted_at,
        difference_k=known.air_within_k,
        hours=age / timedelta(hours=1) if age > STALE else None,
    )
    return replace(
        described,
        model=tuned(
            described.model,
            air_changes_h=known.air_changes_h,
            heat_loss=known.heat_loss,
            mass_j_k=known.mass_j_k,
            buffer_kg=known.buffer_kg,
        ),
        moisture_kg_h=known.moisture_kg_h,
        power_w=described.power_w if known.heater_w is None else known.heater_w,
        assumed=None,  # no longer
        notes=(note, *described.notes),
    )


def tuned(
    model: SpaceModel,
    *,
    air_changes_h: float,
    heat_loss: float,
    mass_j_k: float,
    buffer_kg: float,
) -> SpaceModel:
    """A model with other values of what nobody can measure with a tape.

    Parameters
    ----------
    model : SpaceModel
    air_changes_h : float
        Air change, 1/h.
    heat_loss : float
        Loss through every panel, times the model's.
    mass_j_k, buffer_kg : float
        Heat and water that joinery holds, J/K and kg.

    Returns
    -------
    SpaceModel
    """
    return replace(
        model,
        panels=tuple(_losing(panel, heat_loss) for panel in model.panels),
        air_changes_h=air_changes_h,
        mass_j_k=mass_j_k,
        buffer_kg=buffer_kg,
    )


def _losing(panel: PanelModel, times: float) -> PanelModel:
    """A panel that loses so many times as much heat.

    Its layers conduct so much better, which moves the inner surface as worse insulation
    does. What that leaves missing, as in a bare skin whose loss is all in the air on
    either side, is made up by area.
    """
    layers = sum(layer.thickness_m / layer.conductivity for layer in panel.layers)
    rse = {"air": RSE, "water": RSE_WATER, "space": RSI_HORIZONTAL}[panel.outside]
    films = panel.rsi + (rse if panel.rse is None else panel.rse)
    return replace(
        panel,
        layers=tuple(
            layer._replace(conductivity=layer.conductivity * times) for layer in panel.layers
        ),
        area_m2=panel.area_m2 * times * (layers / times + films) / (layers + films),
    )
