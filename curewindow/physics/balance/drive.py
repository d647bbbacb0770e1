"""What weather and air change do to the network of a space: its inputs and its regimes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from curewindow.physics.balance.march import Indices
from curewindow.physics.balance.space import (
    Doorway,
    Outside,
    SpaceModel,
    SpaceNodes,
    space_network,
)
from curewindow.physics.elementwise import FloatArray
from curewindow.physics.outdoors import external_resistance

# Wind counts in classes a fifth apart in the outer resistance, so it is within 10 %.
_WIND_RATIO = 1.2
# Up to this many air changes are taken as they are, more in classes a tenth apart
# (for the heat only; moisture uses each value itself).
_EXACT_AIR_CHANGES = 8
_AIR_RATIO = 1.1
_LEAST_AIR = 0.02  # 1/h: less is next to nothing and counts as none


def grid_shape(outside: Outside, others: list[FloatArray], members: int) -> tuple[int, int]:
    """(M, T) to which the weather and other inputs broadcast, for a known or least M.

    Raises
    ------
    ValueError
        If they do not, or bring other members than `members` (1 allows any).
    """
    arrays = [
        outside.temp_c,
        outside.vapour_pa,
        outside.wind_ms,
        outside.sun_w_m2,
        outside.sky_loss_w_m2,
        *([] if outside.water_c is None else [outside.water_c]),
        *outside.neighbour_c.values(),
        *others,
    ]
    shapes = [np.shape(values) for values in arrays]
    try:
        shape = np.broadcast_shapes((members, 1), *shapes)
    except ValueError:
        raise ValueError(
            f"inputs do not broadcast to ({members} members, points): {sorted(set(shapes))}"
        ) from None
    if len(shape) != 2:
        raise ValueError(f"inputs must have the shape (members, points), got {shape}")
    return shape


def panel_inputs(
    space: SpaceModel,
    outside: Outside,
    members: int,
    points: int,
    doors: Sequence[Doorway] = (),
) -> FloatArray:
    """Temperatures outside, then net gain of each outer surface, shape (1 + 2 P, M, T).

    With E doors the air behind them comes between the two: (1 + 2 P + E, M, T).

    `members` may be 1 where the weather is the same for all.
    """
    count = len(space.panels)
    first_gain = 1 + count + len(doors)
    inputs = np.zeros((first_gain + count, members, points))
    inputs[0] = outside.temp_c
    for index, panel in enumerate(space.panels):
        if panel.outside == "water":
            if outside.water_c is None:
                raise ValueError(f"panel {panel.name} lies in water: give outside.water_c")
            inputs[1 + index] = outside.water_c
        elif panel.outside == "space":
            if panel.neighbour not in outside.neighbour_c:
                raise ValueError(
                    f"panel {panel.name}: outside.neighbour_c has no {panel.neighbour!r}, "
                    f"only {sorted(outside.neighbour_c)}"
                )
            inputs[1 + index] = outside.neighbour_c[panel.neighbour]
        else:
            inputs[1 + index] = outside.temp_c
            sun = panel.absorptance * panel.sun_share
            if sun:
                inputs[first_gain + index] += sun * np.asarray(outside.sun_w_m2)
            if panel.sky_share:
                sky = np.asarray(outside.sky_loss_w_m2)
                inputs[first_gain + index] -= panel.sky_share * sky
    for number, door in enumerate(doors):
        inputs[1 + count + number] = door.temp_c
    return inputs


def regimes_of(
    space: SpaceModel,
    wind_ms: FloatArray,
    change: FloatArray,
    doors_m3_h: Sequence[FloatArray] = (),
    *,
    heated_surfaces: bool = False,
) -> tuple[Indices, list[SpaceNodes]]:
    """Regime of each step, (M or 1, T - 1), and the network of each regime.

    NaN falls in any: it stays NaN.
    """
    still = external_resistance(0.0)
    if any(panel.outside == "air" and panel.rse is None for panel in space.panels):
        ratio = still / external_resistance(np.nan_to_num(wind_ms, nan=0.0))
        wind_class = np.rint(np.log(ratio) / np.log(_WIND_RATIO))
    else:
        wind_class = np.zeros_like(wind_ms)
    flows = [_classes(change), *(_classes(flow / space.volume_m3) for flow in doors_m3_h)]
    code = wind_class.astype(np.intp)
    for values, place in flows:
        code = code * values.size + place
    if np.all(code == code[:1]):
        code = code[:1]
    codes, regime = np.unique(code, return_inverse=True)
    models = []
    for each in codes.tolist():
        at = []
        for values, _ in reversed(flows):
            each, number = divmod(each, values.size)
            at.append(float(values[number]))
        changes = at[::-1]
        models.append(
            space_network(
                space,
                changes[0],
                still / _WIND_RATIO**each,
                tuple(value * space.volume_m3 for value in changes[1:]),
                heated_surfaces=heated_surfaces,
            )
        )
    return regime.reshape(code.shape).astype(np.intp), models


def _classes(change: FloatArray) -> tuple[FloatArray, Indices]:
    """Values an air change takes [1/h], few enough, and which of them holds where."""
    levels = np.nan_to_num(change, nan=0.0)
    values, place = np.unique(levels, return_inverse=True)
    if values.size > _EXACT_AIR_CHANGES:
        rank = np.rint(np.log(np.maximum(levels, _LEAST_AIR) / _LEAST_AIR) / np.log(_AIR_RATIO))
        levels = np.where(levels < _LEAST_AIR, 0.0, _LEAST_AIR * _AIR_RATIO**rank)
        values, place = np.unique(levels, return_inverse=True)
    return values, place.reshape(levels.shape).astype(np.intp)
