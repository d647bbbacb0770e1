"""Latent heat, frost, dehumidifiers, openings and fuel against what is published."""

import numpy as np
import pytest

from curewindow.physics.air import dew_point, saturation_pressure
from curewindow.physics.balance import (
    Dehumidifier,
    HeaterModel,
    Layer,
    Outside,
    PanelModel,
    SpaceModel,
    capacity_kg_h,
    charge_w,
    doorway_airflow,
    simulate,
    space_network,
    start_from_reading,
    start_in_balance,
)
from curewindow.physics.balance.iteration import FUSION_J_KG, VAPORISATION_J_KG

GAS_OF_VAPOUR = 8.314462618 / 0.018015268  # J/kg K: CODATA 2018, IAPWS R6-95

GRP = Layer(0.010, 0.30, 1900.0, 1200.0)
FOAM = Layer(0.030, 0.035, 35.0, 1400.0)
PLY = Layer(0.012, 0.13, 500.0, 1600.0)
STEEL = Layer(0.005, 50.0, 7800.0, 450.0)


def test_latent_heats_are_those_of_the_steam_tables() -> None:
    # IAPWS steam tables at 0 °C: vaporisation 2500.9 kJ/kg; fusion 333.4 kJ/kg (handbooks).
    assert pytest.approx(2500.9e3, rel=1e-3) == VAPORISATION_J_KG
    assert pytest.approx(333.4e3, rel=3e-3) == FUSION_J_KG


@pytest.mark.parametrize(
    ("air_c", "outside_c", "surface_c", "icy"),
    [
        # A tight space of 12 m² of bare GRP in which 0.05 kg/h are given off: at rest all of
        # it lands on the panel and brings its heat, 2.501e6 * 0.05 / 3600 / 12 = 2.895 W/m².
        # ISO 6946, R = 0.13 inside, 0.0333 + 0.04 outside:
        # Ts = (Ti / 0.13 + Te / 0.07333 + 2.895) / (1 / 0.13 + 1 / 0.07333)
        # 18 in, 2 out: (138.462 + 27.273 + 2.895) / 21.329 = 7.906; 7.77 without.
        (18.0, 2.0, 7.906, False),
        # 6 in, -5 out: frost, 2.835e6 J/kg, 3.281 W/m²: (46.154 - 68.182 + 3.281) / 21.329.
        (6.0, -5.0, -0.879, True),
    ],
)
def test_dew_and_frost_warm_the_panel_at_rest(air_c, outside_c, surface_c, icy) -> None:
    points = 24 * 40
    outside = Outside(np.full((1, points), outside_c), np.full((1, points), 300.0))
    panel = PanelModel("side", 12.0, (GRP,), rse=0.04)
    space = SpaceModel(15.0, (panel,), air_changes_h=0.0)
    start = start_from_reading(space, outside, air_c, 60.0)
    result = simulate(
        space,
        1.0,
        outside,
        start,
        setpoint_c=air_c,
        power_limit_w=5000.0,
        moisture_kg_h=0.05,
        latent_heat=True,
    )
    assert result.surface_c[0, 0, -1] == pytest.approx(surface_c, abs=2e-3)
    gathered = result.condensate_kg_m2[0, 0, -1] - result.condensate_kg_m2[0, 0, -25]
    assert gathered * 12.0 == pytest.approx(0.05 * 24.0, rel=1e-6)
    frost = result.frost_kg_m2[0, 0, -1]
    assert frost == pytest.approx(result.condensate_kg_m2[0, 0, -1] if icy else 0.0)


@pytest.mark.parametrize("rh_pct", [45.0, 60.0, 75.0])
def test_a_panel_gets_wet_below_the_temperature_factor_of_iso_13788(rh_pct: float) -> None:
    # ISO 13788: no surface condensation if f_Rsi = (θsi - θe) / (θi - θe) = 1 - U Rsi is at
    # least f_min, the same with the dew point for θsi. 20 °C inside, 0 °C outside.
    least = float(dew_point(20.0, rh_pct)) / 20.0
    points = 24 * 20
    # Dry air outside and just the moisture that holds the humidity: p = p_e + G R T / (n V).
    outside = Outside(np.full((1, points), 0.0), np.full((1, points), 200.0))
    inside_pa = rh_pct / 100.0 * float(saturation_pressure(20.0))
    moisture = (inside_pa - 200.0) * 0.5 * 20.0 / (GAS_OF_VAPOUR * 293.15)
    for factor, wet in ((least + 0.03, False), (least - 0.03, True)):
        resistance = 0.13 / (1.0 - factor) - 0.13 - 0.04
        layer = Layer(0.04, 0.04 / resistance, 0.0, 0.0)
        panel = PanelModel("side", 2.0, (layer,), rse=0.04)
        space = SpaceModel(20.0, (panel,), air_changes_h=0.5)
        start = start_from_reading(space, outside, 20.0, rh_pct - 2.0)
        result = simulate(
            space,
            1.0,
            outside,
            start,
            setpoint_c=20.0,
            power_limit_w=9000.0,
            moisture_kg_h=moisture,
        )
        assert result.surface_c[0, 0, -1] == pytest.approx(20.0 * factor, abs=0.02)
        assert (result.condensate_kg_m2[0, 0, -1] > 0) == wet


def test_balances_close_over_a_year_of_a_cold_harbour() -> None:
    """Hourly weather of Sand Point, Alaska: TMY3 (NREL/TP-581-43156), as shipped with pvlib.

    -11 to 19 °C, mean humidity 73 %, mean wind 5 m/s.
    """
    iotools = pytest.importorskip("pvlib.iotools")
    from pathlib import Path

    import pvlib

    file = Path(pvlib.__file__).parent / "data" / "703165TY.csv"
    data, _ = iotools.read_tmy3(file, coerce_year=2001, map_variables=True)
    temp = data["temp_air"].to_numpy()[None, :]
    dew = np.minimum(data["temp_dew"].to_numpy()[None, :], temp)
    outside = Outside(
        temp,
        np.asarray(saturation_pressure(dew)),
        data["wind_speed"].to_numpy()[None, :],
        data["ghi"].to_numpy()[None, :],
        np.array(40.0),
        water_c=np.array(5.0),
    )
    space = SpaceModel(
        15.0,
        (
            PanelModel("deck", 9.0, (PLY, FOAM, STEEL), sun_share=1.0, sky_share=1.0, rsi=0.10),
            PanelModel("side", 12.0, (STEEL,), sun_share=0.3, sky_share=0.5),
            PanelModel("bottom", 8.0, (STEEL,), outside="water"),
        ),
        mass_j_k=5e5,
        buffer_kg=3.0,
    )
    hour = np.arange(temp.shape[1])
    at_work = (hour % 24 >= 8) & (hour % 24 < 20) & (hour % 168 < 48)
    stove = HeaterModel(2000.0, 700.0, 2.0, 0.3, 0.9, "paraffin", flued=False)
    result = simulate(
        space,
        1.0,
        outside,
        start_in_balance(space, outside),
        setpoint_c=np.where(at_work, 16.0, np.nan),
        heater=stove,
        moisture_kg_h=0.05,
        latent_heat=True,
    )
    network = space_network(space, 1.0, 0.04).network
    capacity = network.capacity_j_k[network.capacity_j_k > 0]
    stored = float(np.diff((result.nodes_c @ capacity)[[0, -1], 0])[0]) / 3600.0
    fluxes = sum(
        panel.area_m2
        * (
            panel.absorptance * panel.sun_share * outside.sun_w_m2
            - panel.sky_share * outside.sky_loss_w_m2
        )
        for panel in space.panels
    )
    gained = (
        result.heat_w.sum() + result.latent_w.sum() + (fluxes[0, :-1] + fluxes[0, 1:]).sum() / 2
    )
    lost = result.loss_w.sum()
    assert gained - lost == pytest.approx(stored, abs=1e-9 * np.abs(result.loss_w).sum())

    area = np.array([panel.area_m2 for panel in space.panels])[:, None]
    kelvin = (result.air_c[:, :-1] + result.air_c[:, 1:]) / 2 + 273.15
    air = (space.volume_m3 / (GAS_OF_VAPOUR * kelvin) * np.diff(result.vapour_pa, axis=1)).sum()
    buffer = space.buffer_kg * np.diff(result.buffer_rh_pct[0, [0, -1]])[0] / 100
    lying = (np.diff(result.condensate_kg_m2[:, 0][:, [0, -1]], axis=1) * area).sum()
    burnt = result.heat_w.sum() / 1000 * stove.water_kg_kwh
    given_off = 0.05 * (hour.size - 1) + burnt
    assert air + buffer + lying + result.vented_kg.sum() == pytest.approx(given_off, rel=1e-6)
    # It freezes on the side from November to April, never in July.
    frosty = result.frost_kg_m2[1, 0] > 1e-3
    assert frosty[:2160].mean() > 0.2
    assert not frosty[4344:5088].any()


def test_dehumidifiers_lose_what_makers_say_they_lose() -> None:
    # Makers' ratings (common practice, no single source): about half the 30 °C, 80 % rating
    # at 27 °C, 60 %; 20 °C, 70 % about a third of 35 °C, 100 %; little at 10 °C.
    one = Dehumidifier("condensing", 10.0, 250.0)
    assert 24.0 * capacity_kg_h(one, 30.0, 80.0) == pytest.approx(10.0)
    assert 24.0 * capacity_kg_h(one, 27.0, 60.0) == pytest.approx(5.6, abs=0.6)
    assert 24.0 * capacity_kg_h(one, 15.0, 80.0) == pytest.approx(3.7, abs=1.0)
    assert 24.0 * capacity_kg_h(one, 10.0, 80.0) < 2.0
    wet = Dehumidifier("condensing", 60.0, 900.0, rated_c=35.0, rated_rh_pct=100.0)
    assert 24.0 * capacity_kg_h(wet, 20.0, 70.0) == pytest.approx(20.0, abs=4.5)


def test_a_dehumidifier_gives_back_its_power_and_the_vapours_heat() -> None:
    # 0.2 kg/h condensed: 2.5 MJ/kg / 3600 * 0.2 = 139 W, beside the 350 W it draws.
    points = 24 * 10
    outside = Outside(np.full((1, points), 5.0), np.full((1, points), 800.0))
    panel = PanelModel("side", 12.0, (PLY, FOAM, GRP))
    space = SpaceModel(15.0, (panel,), air_changes_h=0.0)
    start = start_from_reading(space, outside, 15.0, 80.0)
    dried = simulate(
        space,
        1.0,
        outside,
        start,
        moisture_kg_h=0.25,
        dehumidifier=Dehumidifier("desiccant", 4.8, 350.0, 30.0, rated_rh_pct=40.0),
    )
    assert dried.dried_kg[0, -2] == pytest.approx(0.2, rel=1e-6)
    assert dried.drying_w[0, -2] == pytest.approx(489.0, abs=0.5)


def test_a_doorway_by_brown_and_solvason() -> None:
    # By hand from (C/3) W sqrt(g H³ dT/T): 0.6 m by 1.8 m, 20 and 10 °C, T = 288.15 K:
    # 0.2 * 0.6 * sqrt(9.80665 * 5.832 * 10 / 288.15) = 0.16906 m³/s = 608.6 m³/h.
    assert doorway_airflow(0.6, 1.8, 20.0, 10.0) == pytest.approx(608.6, abs=0.2)
    assert doorway_airflow(0.6, 1.8, 12.0, 12.0) == 0.0


@pytest.mark.parametrize("kwh", [0.0, 0.3, 6.0])
def test_a_charge_gives_what_is_in_it_however_little(kwh: float) -> None:
    assert charge_w(kwh, 2.25, 48 * 6, 1 / 6).sum() / 6 == pytest.approx(1000.0 * kwh, rel=1e-4)


def test_a_charge_of_wood_gives_what_is_in_it() -> None:
    heat = charge_w(6.0, 2.25, 24 * 6, 1 / 6)
    assert heat.sum() / 6 == pytest.approx(6000.0, rel=1e-4)
    assert np.all(heat[:13] == 0)
    # Height and time of the peak, by hand: t = ln(1.5 / 0.3) * 1.5 * 0.3 / 1.2 = 0.604 h,
    # P = 6000 * (exp(-t / 1.5) - exp(-t / 0.3)) / 1.2 = 2674 W; a mean over ten minutes of it.
    assert heat.max() == pytest.approx(2674.0, rel=0.01)
    assert np.argmax(heat) / 6 - 2.25 == pytest.approx(0.6, abs=0.17)
    with pytest.raises(ValueError, match="rise_h"):
        charge_w(6.0, 0.0, 10, 1.0, rise_h=2.0)
