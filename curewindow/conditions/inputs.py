"""All that a run of one space depends on, on one grid: what is kept, and made coarser, by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from curewindow.conditions.kept import BalanceRun, kept_or_run, mark_of
from curewindow.conditions.model import Described
from curewindow.conditions.run import run_space
from curewindow.physics.balance import Doorway, Outside
from curewindow.series import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Inputs:
    """A space and what acts on it; arrays broadcast to (M, T).

    Attributes
    ----------
    described : Described
    outside : Outside
    step_h : float
    setpoint_c : ndarray
        NaN: heater off.
    moisture_kg_h, gains_w : ndarray
        All water given off but a flame's; heat besides the heater's.
    power_w, air_changes_h, drying : ndarray or None
        None: as described.
    """

    described: Described
    outside: Outside
    step_h: float
    setpoint_c: FloatArray
    moisture_kg_h: FloatArray
    gains_w: FloatArray
    power_w: FloatArray | None = None
    air_changes_h: FloatArray | None = None
    drying: FloatArray | None = None

    @property
    def members(self) -> int:
        """M."""
        held = (self.setpoint_c, self.moisture_kg_h, self.power_w, self.air_changes_h)
        rows = [np.atleast_2d(each) for each in (self.outside.temp_c, *held) if each is not None]
        return max(len(each) for each in rows)

    @property
    def given(self) -> tuple[FloatArray | None, ...]:
        """What is told to the name of a kept run beside space, weather and step."""
        return (
            self.setpoint_c,
            self.power_w,
            self.air_changes_h,
            self.moisture_kg_h,
            self.gains_w,
            self.drying,
        )

    def run(self, doors: Sequence[Doorway] = (), *, quickly: bool = False) -> BalanceRun:
        """Run it; `quickly` leaves out the heat of dew and frost."""
        latent = self.members == 1 and not quickly
        result = run_space(
            self.described,
            self.outside,
            self.step_h,
            self.setpoint_c,
            power_w=self.power_w,
            moisture_kg_h=self.moisture_kg_h,
            air_changes_h=self.air_changes_h,
            gains_w=self.gains_w,
            drying=self.drying,
            doors=doors,
            latent_heat=latent,
        )
        return BalanceRun.of(result, frost_told=latent)

    def kept_run(self, doors: Sequence[Doorway] = ()) -> BalanceRun:
        """The same, or what is kept of it."""
        behind = tuple(
            values for door in doors for values in (door.airflow_m3_h, door.temp_c, door.vapour_pa)
        )
        return kept_or_run(
            self.described,
            self.outside,
            self.step_h,
            (*self.given, *behind),
            lambda: self.run(doors),
        )

    def mark(self) -> str:
        """A name that is another one as soon as anything of it is."""
        return mark_of(self.described, self.outside, self.step_h, self.given)

    def coarse(self, every: int) -> Inputs:
        """The same on every so many-th point."""
        changed: dict[str, Any] = {
            each.name: _thinned(getattr(self, each.name), every)
            for each in fields(self)
            if each.name not in ("described", "outside", "step_h")
        }
        around: dict[str, Any] = {
            each.name: _thinned(getattr(self.outside, each.name), every)
            for each in fields(self.outside)
            if each.name != "neighbour_c"
        }
        around["neighbour_c"] = {
            name: _thinned(values, every) for name, values in self.outside.neighbour_c.items()
        }
        outside = replace(self.outside, **around)
        return replace(self, outside=outside, step_h=every * self.step_h, **changed)


def _thinned(values: FloatArray | None, every: int) -> FloatArray | None:
    return values if values is None or np.ndim(values) == 0 else values[..., ::every]
