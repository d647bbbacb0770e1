"""A described space as the heat and moisture balance wants it, with every default in the open."""

from __future__ import annotations

from dataclasses import dataclass

from curewindow.boat.schema import Boat, Panel, Space
from curewindow.conditions.devices import dehumidifier_of, heater_model
from curewindow.findings import Finding, finding
from curewindow.physics.balance import (
    Dehumidifier,
    HeaterModel,
    Layer,
    PanelModel,
    SpaceModel,
)
from curewindow.physics.panel import (
    MATERIALS,
    RSI_DOWN,
    RSI_HORIZONTAL,
    RSI_UP,
    layer_of,
    surface_temp,
    thermal_transmittance,
)

# All estimates, no source: they stand in where the owner gives no figure of his
# own, and readings correct what they get wrong.
AIR_CHANGE_H = 0.5
"""Leakage of a closed-up boat, 1/h."""
MASS_J_K_M3 = 15_000.0
"""Joinery and stores by volume: some 9 kg of wood a cubic metre, J/K m³."""
MASS_COUPLING_W_K_M3 = 7.5
"""About 1.5 m² of joinery a cubic metre at 5 W/m²K."""
WOOD_HEAT_J_KGK = 1600.0
BUFFER_KG_KG = 0.03
"""Water that the outer fibres of joinery take up from dry to saturated air, kg a kg."""
SLEEPER_KG_H = 0.05
"""Breath of one sleeper, kg/h of water (about 40-50 g/h, common practice)."""
# Heat capacity of a material that only its owner knows, J/kg K.
_OWN_HEAT_J_KGK = 1400.0

# Which way the heat leaves, ISO 6946 table 1.
_RSI = {"side": RSI_HORIZONTAL, "overhead": RSI_UP, "sole": RSI_DOWN}
_FLOW = {"side": "sideways", "overhead": "up", "sole": "down"}
# An upright side sees half the sky. Of the sun it gets what a side turned away from
# it gets, as we do not know which way the boat lies: estimate, no source.
_SKY_SHARE = {"side": 0.5, "overhead": 1.0, "sole": 0.0}
_SUN_SHARE = {"side": 0.3, "overhead": 1.0, "sole": 0.0}


@dataclass(frozen=True, slots=True)
class Described:
    """A space's model, what it gives off, and the defaults that had to be used.

    Attributes
    ----------
    model : SpaceModel
        For :func:`curewindow.physics.balance.simulate`.
    moisture_kg_h : float
        Water given off inside, kg/h.
    power_w : float
        Most the heater gives, W; 0 without one.
    assumed : Finding or None
        What was assumed of the space; None where nothing was.
    heater_runs : Finding or None
        How its heater is taken to run; None without one.
    notes : tuple of Finding
        What else has to be told.
    heater : HeaterModel or None
        As described; `power_w` counts where it differs, as where readings taught it.
    dehumidifier : Dehumidifier or None
    drying : bool
        It runs as a rule.
    """

    model: SpaceModel
    moisture_kg_h: float
    power_w: float
    notes: tuple[Finding, ...] = ()
    assumed: Finding | None = None
    heater_runs: Finding | None = None
    heater: HeaterModel | None = None
    dehumidifier: Dehumidifier | None = None
    drying: bool = True

    @property
    def all_notes(self) -> tuple[Finding, ...]:
        """Everything to be told of it."""
        found = (self.assumed, self.heater_runs, *self.notes)
        return tuple(note for note in found if note is not None)


def describe(space: Space) -> Described:
    """Turn a space of boat.toml into a model.

    Parameters
    ----------
    space : Space
        With volume and panels (checked when boat.toml is read).

    Returns
    -------
    Described

    Raises
    ------
    ValueError
        A space without volume or panels.
    """
    if not space.volume or not space.panel:
        raise ValueError(f"space {space.name} has no volume or no panels to work with")
    air_change, mass, moisture = space.air_change, space.interior_mass, space.moisture
    if air_change is None:
        air_change = AIR_CHANGE_H
    if mass is None:
        mass = MASS_J_K_M3 * space.volume
    if moisture is None:
        moisture = SLEEPER_KG_H if space.slept_in else 0.0
    assumed = finding(
        "space assumed",
        space=space.name,
        air_changes_h=air_change if space.air_change is None else None,
        heat_kj_k=mass / 1000.0 if space.interior_mass is None else None,
        moisture_g_h=moisture * 1000.0 if space.moisture is None else None,
    )
    anything = None in (space.air_change, space.interior_mass, space.moisture)
    model = SpaceModel(
        volume_m3=space.volume,
        panels=tuple(panel_model(panel) for panel in space.panel),
        air_changes_h=air_change,
        mass_j_k=mass,
        mass_coupling_w_k=MASS_COUPLING_W_K_M3 * space.volume,
        buffer_kg=BUFFER_KG_KG * mass / WOOD_HEAT_J_KGK,
    )
    heating, drier = space.heating, space.dehumidifier
    notes: list[Finding] = []
    heater_runs = None
    if heating is not None:
        heater_runs = finding(
            "heater assumed",
            space=space.name,
            state="routine" if heating.routine else "off",
            known=bool(heating.held) or None,
        )
    if drier is not None:
        held = drier.humidity if drier.running else None
        notes.append(finding("dehumidifier assumed", space=space.name, rh_pct=held))
    return Described(
        model=model,
        moisture_kg_h=moisture,
        power_w=0.0 if heating is None else heating.power,
        notes=tuple(notes),
        assumed=assumed if anything else None,
        heater_runs=heater_runs,
        heater=None if heating is None else heater_model(heating),
        dehumidifier=None if drier is None else dehumidifier_of(drier),
        drying=drier is not None and drier.running,
    )


def panel_model(panel: Panel) -> PanelModel:
    """Turn a panel of boat.toml into the balance's own."""
    to_air = panel.outside == "air"
    to_space = panel.outside not in ("air", "water")
    seen = 1.0 if to_air and panel.sky else 0.0
    return PanelModel(
        name=panel.name,
        area_m2=panel.area,
        layers=tuple(
            Layer(thickness, conductivity, density, heat)
            for thickness, conductivity, density, heat in _layers(panel)
        ),
        outside="space" if to_space else "air" if to_air else "water",
        neighbour=panel.outside if to_space else "",
        rsi=_RSI[panel.facing],
        sun_share=seen * _SUN_SHARE[panel.facing],
        sky_share=seen * _SKY_SHARE[panel.facing],
    )


def _layers(panel: Panel) -> list[tuple[float, float, float, float]]:
    """(thickness m, conductivity W/mK, density kg/m³, heat capacity J/kgK), inside to outside."""
    found = []
    for layer in panel.layers:
        known = MATERIALS.get(layer.material)
        conductivity = layer.conductivity
        if conductivity is None:
            flow = _FLOW[panel.facing]
            conductivity = layer_of(layer.material, layer.thickness, flow)[1]  # type: ignore[arg-type]
        # Hand-written densities are in kg/L.
        density = known.density_kg_m3 if known else 0.0
        if layer.density is not None:
            density = 1000.0 * layer.density
        heat = known.heat_capacity_j_kgk if known else _OWN_HEAT_J_KGK
        found.append((layer.thickness, conductivity, density, heat))
    return found


def follow_share(panel: Panel) -> float:
    """Share of a lasting change of the air that the panel's inner surface goes along with.

    The temperature factor f_Rsi of ISO 13788: 1 for perfect insulation, about a third
    for a bare metal skin.
    """
    layers = [(thickness, conductivity) for thickness, conductivity, _, _ in _layers(panel)]
    rsi = _RSI[panel.facing]
    return float(surface_temp(1.0, 0.0, thermal_transmittance(layers, rsi=rsi), rsi))


def neighbours(boat: Boat, space: Space) -> list[Space]:
    """Spaces that lie behind a panel of this one."""
    names = {panel.outside for panel in space.panel} - {"air", "water"}
    return [other for other in boat.space if other.name in names]
