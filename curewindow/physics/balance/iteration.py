"""One step of heat and moisture together, by fixed-point iteration.

A step is iterated: temperatures for a guess of what condenses, what
condenses for those temperatures, and so on. What a panel takes up is linear about the
last guess, so that the heat of its dew already counts in the iteration in which it falls
and they close in quickly. The last word is the heat's: both balances close exactly,
and only the surface temperature behind the last condensing is that of the iteration before.

Water at 0 °C is the zero of heat: vapour holds `VAPORISATION_J_KG` more, ice
`FUSION_J_KG` less. Water on a panel freezes and thaws at 0 °C as far as the heat for it
lasts. The heat of wood taking up vapour is left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from curewindow.physics.air import over_either, over_water
from curewindow.physics.balance.dehumidifier import Dehumidifier, capacity_kg_h
from curewindow.physics.balance.heater import Burning, HeaterModel, output_w
from curewindow.physics.balance.moisture import (
    TwoState,
    condensing,
    settling_fog,
    surface_uptake,
    two_state,
)
from curewindow.physics.balance.space import SpaceModel
from curewindow.physics.elementwise import FloatArray

# WMO-No. 8 and handbooks: at 0 °C.
VAPORISATION_J_KG: Final = 2.501e6
FUSION_J_KG: Final = 0.334e6
MOST_ITERATIONS: Final = 8
SETTLED_W: Final = 1e-3  # the iteration ends when no more than this changes
SAME_K: Final = 1e-4  # air moves with its temperature: not worked out anew below this


@dataclass(frozen=True, slots=True)
class Devices:
    """What acts in a space beside weather and gains."""

    heater: HeaterModel | None = None
    dehumidifier: Dehumidifier | None = None
    latent_heat: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class UnsettledStep:
    """One step before it is settled: nodes (M, N), panels (P, M), else (M,)."""

    base: FloatArray  # nodes at the end without heater, dew and dehumidifier
    answer: FloatArray  # (M or 1, N, 1 + P) nodes at the end for each watt
    own: FloatArray  # (P, M or 1) of them each surface's for its own
    warmed: bool  # is warmth wanted in any member?
    before: FloatArray
    setpoint: FloatArray
    least: FloatArray
    most: FloatArray
    inflow: FloatArray
    change: FloatArray
    source: FloatArray
    vapour: FloatArray
    buffer: FloatArray
    lying: FloatArray  # kg
    frost: FloatArray  # kg
    works: FloatArray  # share of the dehumidifier that works
    guess: Guess


@dataclass(frozen=True, slots=True, eq=False)
class Guess:
    """Where a step is iterated from: panels (P, M) [kg/s], the dehumidifier's heat (M,) [W]."""

    rate: FloatArray  # what the panels take up, fog that settles there included
    taken: FloatArray  # the same without fog
    freezing: FloatArray
    drying: FloatArray

    @staticmethod
    def nothing(panels: int, members: int) -> Guess:
        still = np.zeros((panels, members))
        return Guess(still, still, still, np.zeros(members))

    def onward(self, before: Guess) -> Guess:
        """What comes next if the panels change as they did since the step before."""
        return Guess(
            2.0 * self.rate - before.rate,
            2.0 * self.taken - before.taken,
            2.0 * self.freezing - before.freezing,
            self.drying,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """One step settled: all (M,) but reads (M, N), power (M, 1 + P), panels (P, M)."""

    reads: FloatArray
    power: FloatArray
    heat: FloatArray
    vapour: FloatArray
    buffer: FloatArray
    lying: FloatArray
    frost: FloatArray
    found: Guess
    removal: FloatArray
    vented: FloatArray
    capacity: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class StepSolver:
    """What holds in every step."""

    space: SpaceModel
    step_s: float
    devices: Devices
    area: FloatArray  # (P, 1)
    uptake: FloatArray  # (P, 1)
    share: FloatArray  # (P, 1) of all area

    @staticmethod
    def of(space: SpaceModel, step_s: float, devices: Devices) -> StepSolver:
        area = np.array([panel.area_m2 for panel in space.panels])[:, None]
        uptake = surface_uptake(space)[:, None]
        return StepSolver(space, step_s, devices, area, uptake, area / area.sum())

    def settled(self, unsettled: UnsettledStep, burning: Burning) -> Settled:
        """The end of a step, heat and moisture in turn, from what the last step found."""
        step, latent = self.step_s, self.devices.latent_heat
        own, drier = unsettled.own, self.devices.dehumidifier is not None
        on_panels = unsettled.lying / step
        rate = np.maximum(unsettled.guess.rate, -on_panels)
        taken, freezing, guess = (
            unsettled.guess.taken,
            unsettled.guess.freezing,
            unsettled.guess.drying,
        )
        drying = removal = np.zeros_like(guess)
        water_kg_j = self._water_kg_j
        two: TwoState | None = None
        middle_c = unsettled.before[:, :2].T
        before_guess = before_drying = guess
        for _ in range(MOST_ITERATIONS):
            reads, power, heat, freezing = self._warmed(unsettled, burning, rate, freezing, guess)
            surface = reads[:, 2:].T
            sat, slope = self._saturation(surface)
            uptake, kink = self.uptake, sat
            if latent:
                frost = unsettled.frost + freezing * step
                thawing = (frost > 0.0) & (frost < unsettled.lying + rate * step)
                warms = np.where(surface < 0.0, VAPORISATION_J_KG + FUSION_J_KG, VAPORISATION_J_KG)
                steep = np.where(thawing, 0.0, slope * own * warms)
                uptake, kink = self.uptake / (1.0 + self.uptake * steep), sat - steep * taken
            middle = (unsettled.before[:, :2] + reads[:, :2]).T / 2.0
            if two is None or water_kg_j > 0.0 or _most(middle - middle_c) > SAME_K:
                middle_c = middle
                source = unsettled.source + heat * (3600.0 * water_kg_j)
                two = two_state(
                    self.space,
                    step,
                    (middle[0], middle[1]),
                    unsettled.inflow,
                    unsettled.change,
                    source,
                )
            free = two.pp * unsettled.vapour + two.pw * unsettled.buffer + two.p0
            air_pa = over_water(reads[:, 0])
            was_rate = rate
            if drier:
                removal, drying = self._dried(
                    unsettled, reads, free, two.p_pull, kink, uptake, on_panels, air_pa
                )
                free = free - two.p_pull * removal
            taken = condensing(free, two.p_pull, kink, uptake, on_panels)
            fog = settling_fog(free, two.p_pull, kink, uptake, on_panels, taken, air_pa)
            rate = taken if fog is None else taken + fog * self.share
            moved = VAPORISATION_J_KG * _most(rate - was_rate) if latent else 0.0
            if drier:
                moved = max(moved, _most(drying - guess))
            if moved < SETTLED_W:
                break
            if drier:
                last = guess
                guess = _nearer(guess, drying, before_guess, before_drying)
                before_guess, before_drying = last, drying
        assert two is not None
        pulled = rate.sum(axis=0)
        total = pulled + removal
        mean = two.mp * unsettled.vapour + two.mw * unsettled.buffer + two.m0 - two.m_pull * total
        reads, power, heat, freezing = self._warmed(unsettled, burning, rate, freezing, drying)
        lying = np.maximum(unsettled.lying + rate * step, 0.0)
        return Settled(
            reads=reads,
            power=power,
            heat=heat,
            vapour=free - two.p_pull * pulled,
            buffer=two.wp * unsettled.vapour
            + two.ww * unsettled.buffer
            + two.w0
            - two.w_pull * total,
            lying=lying,
            frost=np.minimum(np.maximum(unsettled.frost + freezing * step, 0.0), lying),
            found=Guess(rate, taken, freezing, drying),
            removal=removal,
            vented=unsettled.change * step / 3600.0 * two.capacity * (mean - unsettled.inflow),
            capacity=two.capacity,
        )

    @property
    def _water_kg_j(self) -> float:
        """Water a flame without a flue gives off inside with its heat [kg/J]."""
        heater = self.devices.heater
        return 0.0 if heater is None else heater.water_kg_kwh / 3.6e6

    def _warmed(
        self,
        unsettled: UnsettledStep,
        burning: Burning,
        rate: FloatArray,
        freezing: FloatArray,
        drying: FloatArray,
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Nodes at the end, held powers, heater, and what freezes [kg/s], for given dew."""
        power = np.zeros((unsettled.base.shape[0], unsettled.answer.shape[2]))
        power[:, 0] = drying
        if self.devices.latent_heat:
            melt = unsettled.own * FUSION_J_KG
            warm = VAPORISATION_J_KG * rate
            power[:, 1:] = (warm + FUSION_J_KG * freezing).T
            heat, reads = self._heated(unsettled, burning, power)
            # Without its own freezing; then as much freezes or thaws as brings it to 0 °C.
            without = reads[:, 2:].T - melt * freezing
            to_zero = unsettled.frost - without * (self.step_s / melt)
            lying = np.maximum(unsettled.lying + rate * self.step_s, 0.0)
            now = (np.minimum(np.maximum(to_zero, 0.0), lying) - unsettled.frost) / self.step_s
            if np.array_equal(now, freezing):
                return reads, power, heat, freezing
            freezing = now
            power[:, 0] = drying
            power[:, 1:] = (warm + FUSION_J_KG * freezing).T
        heat, reads = self._heated(unsettled, burning, power)
        return reads, power, heat, freezing

    def _heated(
        self, unsettled: UnsettledStep, burning: Burning, power: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """The heater's power, added to the air's, and the nodes at the end with all of it."""
        reads = unsettled.base + times(unsettled.answer, power)
        if not unsettled.warmed:
            return np.zeros(len(reads)), reads
        needed = (unsettled.setpoint - reads[:, 0]) / unsettled.answer[:, 0, 0]
        if self.devices.heater is not None:
            step_h = self.step_s / 3600.0
            heat = output_w(self.devices.heater, burning, needed, step_h, unsettled.most)
        else:
            held = np.minimum(np.maximum(needed, unsettled.least), unsettled.most)
            heat = np.where(np.isnan(unsettled.setpoint), 0.0, held)
        power[:, 0] += heat
        return heat, reads + unsettled.answer[:, :, 0] * heat[:, None]

    def _saturation(self, surface_c: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Saturation pressure at surfaces and its slope [Pa/K], over ice below 0 °C."""
        if not self.devices.latent_heat:
            return over_water(surface_c), surface_c
        return over_either(surface_c)

    def _dried(
        self,
        unsettled: UnsettledStep,
        reads: FloatArray,
        free: FloatArray,
        pull: FloatArray,
        kink: FloatArray,
        uptake: FloatArray,
        on_panels: FloatArray,
        air_pa: FloatArray,
    ) -> tuple[FloatArray, FloatArray]:
        """What the dehumidifier takes out [kg/s], down to its target, and its heat [W]."""
        dehumidifier = self.devices.dehumidifier
        assert dehumidifier is not None
        target = dehumidifier.target_rh_pct / 100.0 * air_pa
        # In the air as the step begins: its own warmth must not switch it on and off.
        air = unsettled.before[:, 0]
        begin = 100.0 * unsettled.vapour / over_water(air)
        most = capacity_kg_h(dehumidifier, air, np.minimum(begin, 100.0)) / 3600.0
        most = most * unsettled.works
        resting = free - pull * condensing(free, pull, kink, uptake, on_panels).sum(axis=0)
        least = free - pull * most
        working = least - pull * condensing(least, pull, kink, uptake, on_panels).sum(axis=0)
        at_target = np.maximum(uptake * (target - kink), -on_panels).sum(axis=0)
        part = (free - target) / pull - at_target
        removal = np.where(resting <= target, 0.0, np.where(working >= target, most, part))
        removal = np.where(np.isnan(free), np.nan, np.clip(removal, 0.0, most))
        share = np.divide(removal, most, out=np.zeros_like(most), where=most > 0.0)
        return removal, VAPORISATION_J_KG * removal + share * unsettled.works * dehumidifier.power_w


def times(matrices: FloatArray, values: FloatArray) -> FloatArray:
    """Matrix (M or 1, R, N) times values (M, N), shape (M, R)."""
    if matrices.shape[0] == 1:
        return np.asarray(values @ matrices[0].T, dtype=np.float64)
    return np.asarray(np.matmul(matrices, values[:, :, None])[:, :, 0], dtype=np.float64)


def _nearer(
    guess: FloatArray, found: FloatArray, before_guess: FloatArray, before_found: FloatArray
) -> FloatArray:
    """Next guess of what should be found as guessed, by the secant through the last two."""
    run = guess - before_guess
    slope = np.divide(found - before_found, run, out=np.zeros_like(run), where=np.abs(run) > 1e-9)
    slope = np.clip(slope, -0.9, 0.5)
    return np.asarray(guess + (found - guess) / (1.0 - slope), dtype=np.float64)


def _most(values: FloatArray) -> float:
    """Greatest size, the unknown apart."""
    found = float(np.abs(values).max())
    if found == found:
        return found
    return float(np.fmax.reduce(np.abs(values), axis=None, initial=0.0))
