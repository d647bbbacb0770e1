"""What acts on a space, and its conditions as they would be with more outside air."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from curewindow.conditions.inputs import Inputs
from curewindow.physics.air import (
    dew_point_from_pressure,
    saturation_pressure,
)
from curewindow.physics.balance import ShutCourse, SpaceModel, aired_course
from curewindow.series import AirAsked, BoolArray, FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class ActingOn:
    """What acts on a space along the forecast's grid; arrays broadcast to (M, T).

    Attributes
    ----------
    model : SpaceModel
    step_h : float
    outside_c, outside_pa, wind_ms : ndarray
        Outside air [°C], its vapour [Pa], wind [m/s].
    setpoint_c, power_w, air_changes_h : ndarray
        NaN as a setpoint: heater off.
    flame_kg_kwh : float
        Water of a flame that stays inside.
    """

    model: SpaceModel
    step_h: float
    outside_c: FloatArray
    outside_pa: FloatArray
    wind_ms: FloatArray
    setpoint_c: FloatArray
    power_w: FloatArray
    air_changes_h: FloatArray
    flame_kg_kwh: float

    @classmethod
    def of(cls, inputs: Inputs, run_up: int) -> ActingOn:
        """What a run was made with, less its run-up."""
        described, outside = inputs.described, inputs.outside
        own: tuple[FloatArray | float | None, ...] = (inputs.power_w, inputs.air_changes_h)
        power, air = (
            given if each is None else each
            for each, given in zip(
                own, (described.power_w, described.model.air_changes_h), strict=True
            )
        )

        def ahead(values: FloatArray | float) -> FloatArray:
            array = np.atleast_2d(np.asarray(values, dtype=np.float64))
            return array[:, run_up:] if array.shape[1] > 1 else array

        return cls(
            model=described.model,
            step_h=inputs.step_h,
            outside_c=ahead(outside.temp_c),
            outside_pa=ahead(outside.vapour_pa),
            wind_ms=ahead(outside.wind_ms),
            setpoint_c=ahead(inputs.setpoint_c),
            power_w=ahead(power),
            air_changes_h=ahead(air),
            flame_kg_kwh=0.0 if described.heater is None else described.heater.water_kg_kwh,
        )

    def of_rows(self, rows: slice) -> ActingOn:
        """The same for some of the members."""
        return replace(self, **_rows_of(self, rows))


@dataclass(frozen=True, slots=True, eq=False)
class SpaceAired:
    """A space as it is, at one of its surfaces, and as it would be with more air.

    Attributes
    ----------
    acting : ActingOn
    panel : str or None
        None: joinery.
    air_c, mass_c, dew_point_c, heat_w : ndarray, shape (M, T)
        As it is.
    surface_c, lying_kg_m2 : mapping of str to ndarray, shape (M, T)
        Inner surface of each panel, and the water on it where it was worked out.
    """

    acting: ActingOn
    panel: str | None
    air_c: FloatArray
    mass_c: FloatArray
    dew_point_c: FloatArray
    heat_w: FloatArray
    surface_c: Mapping[str, FloatArray]
    lying_kg_m2: Mapping[str, FloatArray]

    def aired(self, asked: AirAsked) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Air, humidity, dew point and surface with what a coat does to the air."""
        acting, model = self.acting, self.acting.model
        panel = None
        if self.panel is not None:
            panel = [each.name for each in model.panels].index(self.panel)
        shut = ShutCourse(
            air_c=self.air_c,
            mass_c=self.mass_c,
            vapour_pa=np.asarray(saturation_pressure(self.dew_point_c), dtype=np.float64),
            surface_c=tuple(self.surface_c[each.name] for each in model.panels),
            wet=self._wet(),
            heat_w=self.heat_w,
            power_w=acting.power_w,
            setpoint_c=acting.setpoint_c,
            outside_c=acting.outside_c,
            outside_pa=acting.outside_pa,
            wind_ms=acting.wind_ms,
            air_changes_h=acting.air_changes_h,
        )
        air, vapour, rh, surface = aired_course(
            model,
            panel,
            acting.step_h,
            shut,
            asked.airing_m3_h,
            asked.water_kg_h,
            acting.flame_kg_kwh,
        )
        return air, rh, np.asarray(dew_point_from_pressure(vapour), dtype=np.float64), surface

    def of_rows(self, rows: slice) -> SpaceAired:
        """The same in some of the members."""
        return replace(self, acting=self.acting.of_rows(rows), **_rows_of(self, rows))

    def _wet(self) -> tuple[BoolArray, ...]:
        """Where water lies on each panel; where nobody worked it out, where dew falls."""
        return tuple(
            self.lying_kg_m2[name] > 0.0
            if name in self.lying_kg_m2
            else self.surface_c[name] <= self.dew_point_c
            for name in (each.name for each in self.acting.model.panels)
        )


def _rows_of(of: Any, rows: slice) -> dict[str, Any]:
    """Some rows of each array that has more than one."""
    picked: dict[str, Any] = {}
    for each in fields(of):
        value = getattr(of, each.name)
        if isinstance(value, np.ndarray) and len(value) > 1:
            picked[each.name] = value[rows]
        elif isinstance(value, Mapping):
            picked[each.name] = {name: part[rows] for name, part in value.items()}
    return picked
