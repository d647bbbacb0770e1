"""Doors, dehumidifiers and heaters in boat.toml: what is read, what is said of what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from curewindow.boat.folder import load_boat
from curewindow.conditions.devices import dehumidifier_of, heater_model
from curewindow.conditions.model import describe
from curewindow.errors import BoatError

BOAT = """
name = "Test"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "UTC"

[[space]]
name = "saloon"
volume = "20 m³"
connected_to = ["forepeak"]
panel = [{ name = "side", area = "9 m²", layers = [{ material = "steel", thickness = "4 mm" }] }]
[space.heating]
kind = "solid fuel"
power = "4 kW"
vented = true
open_flame = true
min_power = "1 kW"
routine = [{ from = 07:00:00, charge = "3 kg" }, { from = 18:00:00, setpoint = "16 °C" }]
[space.dehumidifier]
kind = "desiccant"
rated = "8 L/d"

[[space]]
name = "forepeak"
logged_only = true

[[door]]
between = ["saloon", "forepeak"]
open = true
"""


def loaded(folder: Path, text: str) -> object:
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    return load_boat(folder)


def test_read(tmp_path: Path) -> None:
    """8 L a day are 8 kg a day; 0.6 m by 1.7 m is the usual door."""
    boat = load_boat(tmp_path) if loaded(tmp_path, BOAT) else None
    assert boat is not None
    (door,) = boat.door
    assert (door.width, door.height, door.open) == (0.6, 1.7, True)
    saloon = boat.space[0]
    assert saloon.dehumidifier is not None
    assert saloon.heating is not None
    assert dehumidifier_of(saloon.dehumidifier).rated_kg_day == pytest.approx(8.0)
    heater = heater_model(saloon.heating)
    assert (heater.least_w, heater.most_w, heater.swing_k) == (1000.0, 4000.0, 1.5)
    assert describe(saloon).drying
    # without the new keys a heater goes down to nothing, as it always did
    plain = BOAT.replace('min_power = "1 kW"\n', "")
    assert heater_model(loaded(tmp_path, plain).space[0].heating).least_w == 0.0  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ("forepeak\"]\nopen", "forpeak\"]\nopen", "door[1].between[2]", "did you mean 'forepeak'"),
        ('["saloon", "forepeak"]', '["saloon", "saloon"]', "door[1].between", "two different"),
        ("open = true\n", 'open = true\nwidht = "1 m"\n', "door[1].widht", "width"),
        ("open = true\n", 'open = true\nwidth = "60 m"\n', "door[1].width", "at most 5 m"),
        ("[[door]]", '[[door]]\nbetween = ["forepeak", "saloon"]\nopen = false\n[[door]]',
         "door[2].between", "have a door already"),
        ("open = true\n", "", "door[1].open", "missing"),
        ('"8 L/d"', '"0 L/d"', "space[1].dehumidifier.rated", "more than 0"),
        ('"8 L/d"', "8", "space[1].dehumidifier.rated", "unit"),
        ('kind = "desiccant"', 'kind = "desicant"', "space[1].dehumidifier.kind", "desiccant"),
        ("[space.dehumidifier]", "[space.dehumidifer]", "space[1].dehumidifer", "dehumidifier"),
        ('rated = "8 L/d"', 'rated = "8 L/d"\nrated_temp = "68 °C"',
         "space[1].dehumidifier.rated_temp", "°F"),
        ('"1 kW"', '"5 kW"', "space[1].heating.min_power", "4000 W"),
        (
            'min_power = "1 kW"',
            "out_of_order = [{ from = 2026-11-27T08:00:00, until = 2026-11-27T08:00:00 }]",
            "space[1].heating.out_of_order[1].until",
            "2026-11-27T08:00:00",
        ),
        ('"solid fuel"', '"diesel"', "space[1].heating.routine[1].charge", "solid fuel"),
        ('charge = "3 kg"', 'charge = "3 kg", setpoint = "15 °C"',
         "space[1].heating.routine[1].charge", "not both"),
    ],
)  # fmt: skip
def test_one_clear_line(tmp_path: Path, old: str, new: str, key: str, says: str) -> None:
    assert old in BOAT
    with pytest.raises(BoatError) as caught:
        loaded(tmp_path, BOAT.replace(old, new, 1))
    assert caught.value.key == key
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
