"""What more outside air does to a space, laid on its course without it, against whole runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from curewindow.physics.air import saturation_pressure, vapour_pressure
from curewindow.physics.balance import (
    Layer,
    Outside,
    PanelModel,
    ShutCourse,
    SpaceModel,
    SpaceResult,
    aired_course,
    simulate,
    start_in_balance,
)
from curewindow.series import FloatArray

STEP_H, DAYS = 0.5, 12
BEGINS = range(3 * 48 + 16, (DAYS - 1) * 48, 11)
"""Grid points from which on the space is aired, each in a run of its own."""
FOLLOWED = 12
"""Points each is followed: six hours, in which most films are touch dry."""

_STEEL = Layer(0.005, 50.0, 7850.0, 470.0)
_LINED = (Layer(0.009, 0.13, 560.0, 1600.0), Layer(0.05, 0.038, 30.0, 1030.0), _STEEL)
SKINS = {"steel": (_STEEL,), "lined": _LINED, "larch": (Layer(0.036, 0.14, 550.0, 1600.0),)}


@dataclass(frozen=True)
class Cabin:
    """A space, its weather and how it is heated."""

    space: SpaceModel
    outside: Outside
    setpoint_c: FloatArray
    power_w: float
    shut: SpaceResult

    def course(self) -> ShutCourse:
        shut, power = self.shut, np.array([[self.power_w]])
        return ShutCourse(
            air_c=shut.air_c,
            mass_c=shut.mass_c,
            vapour_pa=shut.vapour_pa,
            surface_c=tuple(shut.surface_c),
            wet=tuple(shut.condensate_kg_m2 > 0.0),
            heat_w=shut.heat_w,
            power_w=power,
            setpoint_c=self.setpoint_c[None],
            outside_c=self.outside.temp_c,
            outside_pa=self.outside.vapour_pa,
            wind_ms=self.outside.wind_ms,
            air_changes_h=np.array([[self.space.air_changes_h]]),
        )

    def aired(self, panel: int | None, flow_m3_h: float, water: float = 0.0) -> list[FloatArray]:
        air, vapour, rh, surface = aired_course(
            self.space, panel, STEP_H, self.course(), flow_m3_h, water
        )
        return [air, vapour, rh, surface]

    def run_from(self, begin: int, flow_m3_h: float, water: float = 0.0) -> SpaceResult:
        cut = slice(begin, begin + FOLLOWED + 1)
        outside = Outside(
            temp_c=self.outside.temp_c[:, cut],
            vapour_pa=self.outside.vapour_pa[:, cut],
            wind_ms=self.outside.wind_ms[:, cut],
            water_c=self.outside.water_c,
        )
        change = self.space.air_changes_h + flow_m3_h / self.space.volume_m3
        return simulate(
            self.space,
            STEP_H,
            outside,
            self.shut.state_at(begin),
            setpoint_c=self.setpoint_c[cut],
            power_limit_w=self.power_w,
            air_changes_h=change,
            moisture_kg_h=0.02 + water,
        )


def cabin(skin: str, setpoint: str, power_w: float) -> Cabin:
    panels = (
        PanelModel("side", 12.0, SKINS[skin], sky_share=0.0),
        PanelModel("deck", 8.0, SKINS[skin], rsi=0.10),
        PanelModel("bottom", 8.0, (_STEEL,), outside="water", rsi=0.17),
    )
    space = SpaceModel(18.0, panels, 0.8, 18.0 * 15e3, 18.0 * 7.5, 5.0, 12.0)
    hour = np.arange(DAYS * 48 + 1) * STEP_H
    rng = np.random.default_rng(len(skin))
    slow = np.convolve(rng.normal(0.0, 1.0, hour.size + 95), np.ones(96) / 6.0, "valid")
    temp = 4.0 + slow + 2.5 * np.sin(2.0 * np.pi * (hour - 9.0) / 24.0)
    rh = np.clip(85.0 - 12.0 * np.sin(2.0 * np.pi * (hour - 9.0) / 24.0), 40.0, 98.0)
    outside = Outside(
        temp_c=temp[None],
        vapour_pa=vapour_pressure(temp, rh)[None],
        wind_ms=(4.0 + 1.5 * np.sin(hour / 7.0))[None],
        water_c=np.array(6.0),
    )
    day = (hour % 24.0 >= 7.0) & (hour % 24.0 < 21.5)
    setpoints = {
        "none": np.full(hour.size, np.nan),
        "held": np.full(hour.size, 18.0),
        "by day": np.where(day, 18.0, np.nan),
    }
    start = start_in_balance(space, outside, hours=24.0, step_h=STEP_H, moisture_kg_h=0.02)
    shut = simulate(
        space,
        STEP_H,
        outside,
        start,
        setpoint_c=setpoints[setpoint],
        power_limit_w=power_w,
        moisture_kg_h=0.02,
    )
    return Cabin(space, outside, setpoints[setpoint], power_w, shut)


CABINS = [(skin, how, 5000.0) for skin in SKINS for how in ("none", "held", "by day")]
CABINS += [(skin, "held", 2000.0) for skin in SKINS]


@pytest.mark.parametrize(("skin", "setpoint", "power_w"), CABINS)
@pytest.mark.parametrize("flow_m3_h", [60.0, 250.0])
def test_near_to_whole_runs(skin: str, setpoint: str, power_w: float, flow_m3_h: float) -> None:
    """Over six hours from each beginning on: close, and colder and damper rather than not."""
    made = cabin(skin, setpoint, power_w)
    runs = {begin: made.run_from(begin, flow_m3_h) for begin in BEGINS}
    for panel in (None, 0, 2):
        air, _, rh, surface = made.aired(panel, flow_m3_h)
        off_air, off_rh, off_surface = [], [], []
        for begin, run in runs.items():
            true = np.minimum(run.air_c, run.mass_c) if panel is None else run.surface_c[panel]
            at = slice(begin + 1, begin + FOLLOWED + 1)
            off_air.append(air[0, at] - run.air_c[0, 1:])
            off_rh.append(rh[0, at] - run.rh_pct[0, 1:])
            off_surface.append(surface[0, at] - true[0, 1:])
        for off in (off_air, off_surface):
            assert np.sqrt(np.mean(np.square(off))) < 0.5
            assert -0.3 < np.mean(off) < 0.05
        # What dew there is dries up in a whole run: damper it is by that, never drier by much.
        assert np.sqrt(np.mean(np.square(off_rh))) < 6.5
        assert -0.5 < np.mean(off_rh) < 5.5


@pytest.mark.parametrize("skin", SKINS)
def test_water_given_off_dampens_as_in_whole_runs(skin: str) -> None:
    made = cabin(skin, "held", 5000.0)
    _, _, rh, _ = made.aired(0, 0.0, 0.1)
    off = []
    for begin in BEGINS:
        run = made.run_from(begin, 0.0, 0.1)
        off.append(rh[0, begin + 2 : begin + 7] - run.rh_pct[0, 2:7])
    assert np.sqrt(np.mean(np.square(off))) < 5.0
    assert np.mean(off) > -1.0


@pytest.mark.parametrize("skin", SKINS)
def test_nothing_asked_changes_nothing(skin: str) -> None:
    made = cabin(skin, "by day", 3000.0)
    for panel in (None, 1):
        air, vapour, _, surface = made.aired(panel, 0.0)
        shut = made.shut
        true = np.minimum(shut.air_c, shut.mass_c) if panel is None else shut.surface_c[panel]
        np.testing.assert_allclose(air, shut.air_c)
        np.testing.assert_allclose(vapour, shut.vapour_pa, rtol=1e-9)
        np.testing.assert_allclose(surface, true)


@pytest.mark.parametrize("skin", SKINS)
def test_very_much_air_is_outside_air(skin: str) -> None:
    made = cabin(skin, "none", 0.0)
    air, vapour, _, _ = made.aired(None, 1e5)
    assert np.abs(air - made.outside.temp_c)[:, 48:].max() < 1.0
    most = saturation_pressure(air)
    expected = np.minimum(made.outside.vapour_pa, most)
    assert np.abs(vapour / expected - 1.0)[:, 48:].max() < 0.02


def test_a_strong_heater_holds_its_setpoint_and_a_weak_one_does_not() -> None:
    strong, weak = cabin("lined", "held", 20000.0), cabin("lined", "held", 2000.0)
    np.testing.assert_allclose(strong.aired(0, 250.0)[0][:, 96:], 18.0, atol=1e-6)
    np.testing.assert_allclose(
        strong.aired(0, 250.0)[3][:, 96:], strong.shut.surface_c[0][:, 96:], atol=0.2
    )
    lack = weak.shut.air_c[:, 96:] - weak.aired(0, 250.0)[0][:, 96:]
    assert lack.min() > -1e-6
    assert np.mean(lack > 1.0) > 0.1
