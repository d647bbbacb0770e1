"""How much colder than the air a surface lies under a night sky, against what was measured."""

from __future__ import annotations

import numpy as np

from curewindow.physics.panel import outdoor_surface_temp


def below_air(air_c, dew_c, wind_ms, cloud_frac):
    """Kelvin below the air of a painted plate (emissivity 0.9) that faces the sky at night."""
    return air_c - np.asarray(outdoor_surface_temp(air_c, dew_c, wind_ms, cloud_frac, 0.0, 0.9))


def test_painted_metal_plates_on_clear_nights() -> None:
    """Black painted aluminium plates of half a metre on insulated boxes, measured from 19:00 to
    06:00 over six months in a warm climate: on very clear nights 3 to 8 K colder than the air
    (ASME IMECE 2013, paper V06AT07A024, abstract). Its nights' damp and wind are not given:
    those of warm moist nights with little wind are taken."""
    air, below, wind = np.meshgrid([20.0, 24.0, 27.0], [2.0, 5.0, 9.0], [0.5, 1.0, 2.0])
    found = below_air(air, air - below, wind, 0.0)
    assert 2.0 < found.min() < 4.0  # within 1 K of the least measured
    assert 7.0 < found.max() < 9.0  # and of the most
    assert 3.0 < np.median(found) < 8.0


def test_metal_roofs() -> None:
    """'As much as 5 °C below that of the surrounding air' for metal roof cladding: New Zealand
    Metal Roofing Manufacturers, Metal Roof and Wall Cladding Code of Practice, night sky
    radiation. Roofs are seldom quite calm: from 1 to 3 m/s ours must come to that."""
    found = below_air(10.0, 6.0, np.array([1.0, 2.0, 3.0]), 0.0)
    assert found[0] > 5.0 > found[2]


def test_the_coldest_a_calm_clear_night_makes_it() -> None:
    """Grass minimum against the screen's: lower by as much as 10 °C on a clear calm night over
    snow (Brugge, Weather 65 (2010), letter doi 10.1002/wea.760). A plate with nothing behind it
    may lie a little lower, not much."""
    found = below_air(np.array([0.0, -5.0, -10.0]), np.array([-3.0, -8.0, -14.0]), 0.0, 0.0)
    assert np.all((found > 8.0) & (found < 13.0))


def test_a_covered_sky_takes_most_of_it_away() -> None:
    """In the same ASME paper heavily overcast nights left unpainted aluminium 1 to 4 K between
    the air in the box and outside; the surface under low cloud must lie within that."""
    found = below_air(np.array([20.0, 24.0]), np.array([16.0, 19.0]), 0.5, 1.0)
    assert np.all((found > 0.5) & (found < 4.0))
