"""What a space is like at one moment, and through a run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curewindow.physics.elementwise import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class SpaceState:
    """A space at one moment, to start from.

    Parameters
    ----------
    nodes_c : ndarray, shape (M, D)
        Air, mass and panel slabs that store heat [°C].
    vapour_pa : ndarray, shape (M,)
        Vapour pressure of the air [Pa].
    buffer_rh_pct : ndarray, shape (M,)
        Humidity with which wood and cushions are in balance [%].
    condensate_kg_m2 : ndarray, shape (P, M)
        Water lying on each panel, frost included [kg/m²].
    frost_kg_m2 : ndarray, shape (P, M), or None
        How much of it is frost [kg/m²]. None: all of it on a panel below 0 °C.
    """

    nodes_c: FloatArray
    vapour_pa: FloatArray
    buffer_rh_pct: FloatArray
    condensate_kg_m2: FloatArray
    frost_kg_m2: FloatArray | None = None


@dataclass(frozen=True, slots=True, eq=False)
class SpaceResult:
    """Conditions in a space at every grid point.

    Parameters
    ----------
    air_c, mass_c, vapour_pa, rh_pct, dew_point_c, buffer_rh_pct : ndarray, shape (M, T)
    surface_c, condensate_kg_m2 : ndarray, shape (P, M, T)
        Inner surfaces [°C] and the water on them, frost included [kg/m²], panels in the
        model's order.
    frost_kg_m2, latent_w : ndarray, shape (P, M, T)
        How much of it is frost [kg/m²], and the heat condensing and freezing give to the
        panel in the step from each point [W]; 0 unless latent heat is reckoned.
    panel_names : tuple of str
    heat_w : ndarray, shape (M, T)
        Heater, held from each point to the next [W]; 0 at the last point.
    loss_w : ndarray, shape (P + 1, M, T)
        Mean heat out over the step from each point: by air change and doors first, then
        by each panel [W]; 0 at the last point.
    vented_kg : ndarray, shape (M, T)
        Water carried out by air change and doors in the step from each point [kg]; 0 at
        the last.
    dried_kg, drying_w : ndarray, shape (M, T)
        Water the dehumidifier takes out in the step from each point [kg], and the heat it
        gives off doing so, its own power included [W].
    known : ndarray of bool, shape (M, T)
        False from the first missing input on. Vapour, humidity and dew are NaN there, and
        temperatures too unless it was the vapour outside that is missing.
    nodes_c : ndarray, shape (T, M, D)
        All that stores heat, for `state_at`.
    """

    air_c: FloatArray
    mass_c: FloatArray
    vapour_pa: FloatArray
    rh_pct: FloatArray
    dew_point_c: FloatArray
    buffer_rh_pct: FloatArray
    surface_c: FloatArray
    condensate_kg_m2: FloatArray
    panel_names: tuple[str, ...]
    heat_w: FloatArray
    loss_w: FloatArray
    vented_kg: FloatArray
    known: npt.NDArray[np.bool_]
    nodes_c: FloatArray
    frost_kg_m2: FloatArray
    latent_w: FloatArray
    dried_kg: FloatArray
    drying_w: FloatArray

    def state_at(self, index: int) -> SpaceState:
        """State at a grid point, from which another run can go on."""
        return SpaceState(
            nodes_c=self.nodes_c[index],
            vapour_pa=self.vapour_pa[:, index],
            buffer_rh_pct=self.buffer_rh_pct[:, index],
            condensate_kg_m2=self.condensate_kg_m2[:, :, index],
            frost_kg_m2=self.frost_kg_m2[:, :, index],
        )
