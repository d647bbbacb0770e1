"""A run that is kept is the run that would be made, and of nothing else."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cabin import LINED, NOW, boat, heating, saloon, weather

from curewindow.conditions import boat_conditions
from curewindow.conditions import inputs as inputs_module
from curewindow.record.entries import Reading

pytestmark = pytest.mark.alone


@pytest.fixture
def runs(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Counts the runs that are made."""
    made: list[str] = []
    real = inputs_module.run_space

    def counted(described: Any, *rest: Any, **more: Any) -> Any:
        made.append(described.model.panels[0].name)
        return real(described, *rest, **more)

    monkeypatch.setattr(inputs_module, "run_space", counted)
    return made


def _conditions(described: Any, forecast: Any, readings: Any = ()) -> Any:
    return boat_conditions(described, forecast, readings, NOW)["saloon"]


def test_made_once_and_the_same(runs: list[str]) -> None:
    described, forecast = boat([saloon(heating=heating())]), weather()
    first, second = (_conditions(described, forecast) for _ in range(2))
    assert len(runs) == 1
    for name in ("air_c", "dew_point_c", "mass_c", "heat_w"):
        np.testing.assert_array_equal(getattr(first, name), getattr(second, name))
    for name, course in first.surface_c.items():
        np.testing.assert_array_equal(course, second.surface_c[name])


def test_a_reading_needs_no_new_run_but_counts(runs: list[str]) -> None:
    described, forecast = boat(), weather()
    plain = _conditions(described, forecast)
    read = _conditions(described, forecast, [Reading("saloon", NOW, air_c=15.0, rh_pct=50.0)])
    assert len(runs) == 1
    assert not np.array_equal(plain.air_c, read.air_c)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("described", "forecast"),
    [
        (boat([saloon(volume="21 m³")]), weather()),
        (boat([saloon(air_change="0.41 /h")]), weather()),
        (boat([saloon(moisture="61 g/h")]), weather()),
        (boat([saloon(heating=heating())]), weather()),
        (boat([saloon(panel=[{"name": "dry side", "area": "4 m²", "layers": LINED}])]), weather()),
        (boat(water_temp="3 °C"), weather()),
        (boat(), weather(2.1)),
        (boat(), weather(rh_pct=85.1)),
        (boat(), weather(wind_ms=4.1)),
        (boat(), weather(cloud_frac=0.5)),
        (boat(), weather(sun_w_m2=1.0)),
        (boat(), weather(members=2)),
        (boat(), weather(step_min=20)),
    ],
)
def test_anything_else_is_another_run(runs: list[str], described: Any, forecast: Any) -> None:
    _conditions(boat(), weather())
    _conditions(described, forecast)
    assert len(runs) == 2


def test_a_broken_file_is_made_anew(
    runs: list[str], own_cache: Path, caplog: pytest.LogCaptureFixture
) -> None:
    first = _conditions(boat(), weather())
    for broken in (b"", b"no array", b"\x93NUMPY\x01\x00"):
        for path in (own_cache / "runs").glob("*.npy"):
            path.write_bytes(broken)
        again = _conditions(boat(), weather())
        np.testing.assert_array_equal(first.air_c, again.air_c)
    assert len(runs) == 4
    assert "cannot be read" in caplog.text


def test_a_folder_that_cannot_be_written_costs_only_time(
    runs: list[str], own_cache: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (own_cache / "runs").write_text("a file where the folder should be", encoding="utf-8")
    with caplog.at_level(logging.WARNING):
        _conditions(boat(), weather())
        _conditions(boat(), weather())
    assert len(runs) == 2
    assert "cannot be" in caplog.text
