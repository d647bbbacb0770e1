"""One space aboard, its panels and what lies outside them, as a network of heat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal, NamedTuple

import numpy as np

from curewindow.physics.balance.network import Network
from curewindow.physics.elementwise import FloatArray
from curewindow.physics.panel import RSE_WATER, RSI_HORIZONTAL

AIR_J_M3K: Final = 1200.0  # heat capacity of air by volume, ISO 13789
RADIATIVE_IN_W_M2K: Final = 5.1  # ISO 6946 annex, black body at 10 °C
AIR_NODE: Final = 0
MASS_NODE: Final = 1


class Layer(NamedTuple):
    """One layer of a panel; a density of 0 makes it a pure resistance."""

    thickness_m: float
    conductivity: float  # W/(m K)
    density: float  # kg/m³
    heat_capacity: float  # J/(kg K)


@dataclass(frozen=True, slots=True)
class PanelModel:
    """A part of the boundary of a space: hull side, deck, bulkhead, window.

    Parameters
    ----------
    name : str
    area_m2 : float
    layers : tuple of Layer
        From inside to outside.
    outside : {'air', 'water', 'space'}
        What lies behind it.
    neighbour : str
        The space behind it, a key of `Outside.neighbour_c`, if `outside` is 'space'.
    rsi : float
        Inner surface resistance, convection and radiation to the space [m² K/W]: ISO
        6946 has 0.13 (wall), 0.10 (ceiling), 0.17 (floor); 0.25 behind lockers and lining (ISO
        13788).
    rse : float or None
        Outer surface resistance [m² K/W]. None: by the wind for air
        (`outdoors.external_resistance`), 0.13 for a space, `panel.RSE_WATER` for water.
    sun_share, sky_share : float
        Share of the sun, and of the loss to the sky, on a level surface that this
        panel gets: 1 for an open deck, about half for an upright side, 0 under a cover.
    absorptance : float
        Share of the sun it takes up: about 0.3 white, 0.9 dark (common practice, no source).

    Raises
    ------
    ValueError
        If a value is out of its range.
    """

    name: str
    area_m2: float
    layers: tuple[Layer, ...]
    outside: Literal["air", "water", "space"] = "air"
    neighbour: str = ""
    rsi: float = RSI_HORIZONTAL
    rse: float | None = None
    sun_share: float = 0.0
    sky_share: float = 0.0
    absorptance: float = 0.6

    def __post_init__(self) -> None:
        if not self.area_m2 > 0:
            raise ValueError(f"panel {self.name}: area must be above 0 m², got {self.area_m2}")
        if not self.rsi > 0 or not (self.rse is None or self.rse > 0):
            raise ValueError(f"panel {self.name}: surface resistances must be above 0 m² K/W")
        for layer in self.layers:
            if not (layer[0] > 0 and layer[1] > 0 and layer[2] >= 0 and layer[3] >= 0):
                raise ValueError(f"panel {self.name}: a layer has an impossible value: {layer}")
        for share in (self.sun_share, self.sky_share, self.absorptance):
            if not 0 <= share <= 1:
                raise ValueError(f"panel {self.name}: shares run from 0 to 1, got {share}")
        if (self.outside == "space") != bool(self.neighbour):
            raise ValueError(f"panel {self.name}: name the neighbour if, and only if, one is there")
        if self.outside != "air" and (self.sun_share or self.sky_share):
            raise ValueError(f"panel {self.name}: only a panel to the air sees sun and sky")

    @property
    def convection_w_m2k(self) -> float:
        """Convective part of the inner surface coefficient [W/(m² K)].

        What `rsi` leaves beside radiation, and at least 0.7 (ISO 6946 annex, downwards).
        """
        return max(1.0 / self.rsi - RADIATIVE_IN_W_M2K, 0.7)


@dataclass(frozen=True, slots=True)
class SpaceModel:
    """One space: its air, the mass inside it, and its panels.

    Parameters
    ----------
    volume_m3 : float
        Air [m³].
    panels : tuple of PanelModel
        One at least, names unique.
    air_changes_h : float
        Air change as it leaks with everything shut [1/h].
    mass_j_k : float
        Heat capacity of joinery and gear inside [J/K].
    mass_coupling_w_k : float
        Conductance between that mass and the air [W/K].
    buffer_kg : float
        Water that wood, cushions and paper would take up from 0 to 100 % humidity [kg].
    buffer_hours : float
        Time constant with which they follow the air [h].

    Raises
    ------
    ValueError
        If a value is out of its range.
    """

    volume_m3: float
    panels: tuple[PanelModel, ...]
    air_changes_h: float = 0.5
    mass_j_k: float = 0.0
    mass_coupling_w_k: float = 100.0
    buffer_kg: float = 0.0
    buffer_hours: float = 12.0

    def __post_init__(self) -> None:
        for name in ("volume_m3", "mass_coupling_w_k", "buffer_hours"):
            if not getattr(self, name) > 0:
                raise ValueError(f"{name} must be above 0, got {getattr(self, name)}")
        for name in ("air_changes_h", "mass_j_k", "buffer_kg"):
            if not getattr(self, name) >= 0:
                raise ValueError(f"{name} must not be negative, got {getattr(self, name)}")
        names = [panel.name for panel in self.panels]
        if not names or len(set(names)) != len(names):
            raise ValueError(f"a space needs panels with names of their own, got {names}")


@dataclass(frozen=True, slots=True, eq=False)
class Outside:
    """What lies around a space; every array broadcasts to (M, T).

    Parameters
    ----------
    temp_c, vapour_pa : ndarray
        Air temperature [°C] and vapour pressure [Pa].
    wind_ms : ndarray
        Wind at the boat [m/s].
    sun_w_m2 : ndarray
        Sun on a level surface [W/m²].
    sky_loss_w_m2 : ndarray
        Net loss of a level surface at air temperature to the sky, emissivity included
        [W/m²]: about 90 under a clear sky, near 0 when overcast.
    water_c : ndarray or None
        Temperature of the water around the hull [°C].
    neighbour_c : mapping of str to ndarray
        Air temperature of other spaces [°C].
    """

    temp_c: FloatArray
    vapour_pa: FloatArray
    wind_ms: FloatArray = field(default_factory=lambda: np.array(4.0))
    sun_w_m2: FloatArray = field(default_factory=lambda: np.array(0.0))
    sky_loss_w_m2: FloatArray = field(default_factory=lambda: np.array(0.0))
    water_c: FloatArray | None = None
    neighbour_c: Mapping[str, FloatArray] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class Doorway:
    """Air exchanged with another space through a door or hatch; arrays broadcast to (M, T).

    Parameters
    ----------
    airflow_m3_h : ndarray
        Air that comes in, and as much that goes out, from each point to the next [m³/h].
    temp_c, vapour_pa : ndarray
        Air in the other space [°C], [Pa].
    """

    airflow_m3_h: FloatArray
    temp_c: FloatArray
    vapour_pa: FloatArray


@dataclass(frozen=True, slots=True)
class SpaceNodes:
    """Where things are in the network of a space."""

    network: Network
    inner: tuple[int, ...]  # node of each panel's inner surface
    outer: tuple[int, ...]  # node of each panel's outer surface


def space_network(
    space: SpaceModel,
    air_changes_h: float,
    air_rse: float,
    doors_m3_h: tuple[float, ...] = (),
    *,
    heated_surfaces: bool = False,
) -> SpaceNodes:
    """Network of a space at one air change and one wind.

    Parameters
    ----------
    space : SpaceModel
    air_changes_h : float
        Air change with the outside [1/h].
    air_rse : float
        Outer surface resistance of panels to the air without an `rse` of their own [m² K/W].
    doors_m3_h : tuple of float
        Air exchanged through each door [m³/h].
    heated_surfaces : bool
        Whether each inner surface can be given a power of its own, as by dew.

    Returns
    -------
    SpaceNodes
        Nodes: air, mass, then each panel from its inner surface through its slabs to
        its outer surface. Temperatures outside: ventilation, then one for each panel
        and each door. Ramped powers: net gain of each panel's outer surface [W/m²].
        Held powers: the air, then each inner surface if heated. At rest it gives
        exactly the transmittance of ISO 6946.
    """
    count = len(space.panels)
    capacity = [space.volume_m3 * AIR_J_M3K, space.mass_j_k]
    links: list[tuple[int, int, float]] = [(AIR_NODE, MASS_NODE, space.mass_coupling_w_k)]
    inner: list[int] = []
    outer: list[int] = []
    for panel in space.panels:
        inner.append(len(capacity))
        capacity.append(0.0)
        links.append((AIR_NODE, inner[-1], panel.area_m2 / panel.rsi))
        behind = 0.0  # resistance since the last node, m² K/W
        for resistance, heat in _slabs(panel.layers):
            behind += resistance / 2.0
            capacity.append(heat * panel.area_m2)
            links.append((len(capacity) - 2, len(capacity) - 1, panel.area_m2 / behind))
            behind = resistance / 2.0
        if panel.layers:
            capacity.append(0.0)
            links.append((len(capacity) - 2, len(capacity) - 1, panel.area_m2 / behind))
        outer.append(len(capacity) - 1)

    size = len(capacity)
    link = np.zeros((size, size))
    for one, other, conductance in links:
        link[one, other] = link[other, one] = conductance
    boundary = np.zeros((size, 1 + count + len(doors_m3_h)))
    boundary[AIR_NODE, 1 + count :] = np.array(doors_m3_h) * AIR_J_M3K / 3600.0
    boundary[AIR_NODE, 0] = air_changes_h * space.volume_m3 * AIR_J_M3K / 3600.0
    ramped = np.zeros((size, count))
    for index, panel in enumerate(space.panels):
        boundary[outer[index], 1 + index] = panel.area_m2 / _rse(panel, air_rse)
        ramped[outer[index], index] = panel.area_m2
    held = np.zeros((size, 1 + count if heated_surfaces else 1))
    held[AIR_NODE, 0] = 1.0
    if heated_surfaces:
        held[inner, range(1, 1 + count)] = 1.0
    network = Network(np.array(capacity), link, boundary, ramped, held)
    return SpaceNodes(network, tuple(inner), tuple(outer))


def _rse(panel: PanelModel, air_rse: float) -> float:
    if panel.rse is not None:
        return panel.rse
    if panel.outside == "water":
        return RSE_WATER
    return air_rse if panel.outside == "air" else RSI_HORIZONTAL


def _slabs(layers: tuple[Layer, ...]) -> list[tuple[float, float]]:
    """Resistance [m² K/W] and heat capacity [J/(m² K)] of slabs no thicker than twice the
    depth half an hour's change reaches, three at most a layer."""
    slabs = []
    for layer in layers:
        heat = layer.thickness_m * layer.density * layer.heat_capacity
        resistance = layer.thickness_m / layer.conductivity
        reach = 1800.0 / (heat * resistance) if heat else np.inf  # (depth / thickness)²
        parts = int(np.clip(np.ceil(0.5 / np.sqrt(reach)), 1, 3))
        slabs += [(resistance / parts, heat / parts)] * parts
    return slabs
