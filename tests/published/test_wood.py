"""Wood moisture against the Wood Handbook's table and the theory of diffusion."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from curewindow.physics import wood

DATA = Path(__file__).parent / "data"


def table_4_2() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    with (DATA / "wood_moisture_table_4_2.csv").open(encoding="utf-8") as file:
        head, *rows = list(csv.reader(file))
    humidity = np.array([float(name.removeprefix("rh_")) for name in head[1:]])
    cells = np.array(rows, dtype=float)
    return (cells[:, 0] - 32.0) / 1.8, humidity, cells[:, 1:]


def test_every_cell_of_the_table():
    temps_c, humidity, expected = table_4_2()
    ours = wood.equilibrium_moisture(temps_c[:, None], humidity)
    assert expected.size == 342
    np.testing.assert_allclose(ours, expected, rtol=0.0, atol=0.15)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 1.0, 2.0])
def test_relaxation_is_never_ahead_of_diffusion(share):
    """Slab with both faces at equilibrium: Crank (1975), eq. 4.18.

    The mean still to go is Σ 8/((2n+1)²π²) exp(-(2n+1)² t/τ). The relaxation
    leaves out all but the slowest mode and lets it carry the whole: it lags, by
    the factor π²/8 at most once the quick modes have died.
    """
    thickness_m = 0.022
    hours = share * wood.response_time(thickness_m, 15.0)
    modes = 2.0 * np.arange(2000) + 1.0
    left = np.sum(8.0 / (modes * np.pi) ** 2 * np.exp(-(modes**2) * share))
    series = 12.0 + (20.0 - 12.0) * left
    ours = wood.moisture_over_time([0.0, hours], 12.0, 20.0, thickness_m, temp_c=15.0)[-1]
    assert ours >= series
    assert (ours - 12.0) / (series - 12.0) < np.pi**2 / 8.0 + 0.2


def test_a_plank_takes_weeks():
    """A 25 mm plank follows a new climate within weeks, not days or years, and a thin
    strip within a day or two (common practice, no source)."""
    assert 7.0 < 3.0 * wood.response_time(0.025) / 24.0 < 60.0
    assert 3.0 * wood.response_time(0.003) < 48.0
