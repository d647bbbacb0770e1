"""Figures nobody's boat has, each refused in one line; and odd ones that are true."""

from __future__ import annotations

from collections.abc import Iterator

from tests.probes.scene import Probe, heating, job, space, step

WORK = job(step("coat", "waterborne-acrylic-varnish"), more='substrate = "bare wood"')
PLAIN = space("cabin")


def _cabin(old: str, new: str) -> str:
    assert old in PLAIN
    return PLAIN.replace(old, new)


NONSENSE = (
    ("a layer of 18 m", _cabin('thickness = "12 mm"', 'thickness = "18 m"'), "thickness"),
    ("a cabin of 1e308 m³", _cabin('volume = "20 m³"', 'volume = "1e308 m³"'), "volume"),
    ("a panel of 1e308 m²", _cabin('area = "12 m²"', 'area = "1e308 m²"'), "area"),
    ("a volume of nan", _cabin('volume = "20 m³"', 'volume = "nan m³"'), "volume"),
    ("an endless air change", _cabin('"1 /h"', '"1e9 /h"'), "air_change"),
    ("a negative area", _cabin('area = "12 m²"', 'area = "-12 m²"'), "area"),
    ("no volume", _cabin('volume = "20 m³"', 'volume = "0 m³"'), "volume"),
    (
        "a heater of 3 GW",
        space("cabin", heating=heating("diesel", vented=True, flame=False, power="3e9 W")),
        "power",
    ),
    (
        "a setpoint in °F",
        space(
            "cabin",
            heating=heating(
                "diesel",
                vented=True,
                flame=False,
                more='routine = [{ from = 08:00:00, setpoint = "68 °C" }]',
            ),
        ),
        "setpoint",
    ),
    ("a door to nowhere", PLAIN + '[[door]]\nbetween = ["cabin", "hold"]\nopen = true\n', "hold"),
    ("sealed from itself", PLAIN + '[[sealed]]\nbetween = ["cabin", "cabin"]\n', "sealed"),
    ("a key misspelt", _cabin("air_change", "air_chnage"), "air_change"),
)
WATER = (("45 °C", True), ("60 °F", False), ("-0.5 °C", False), ("300 K", True), ("14 °C", False))
SHEET = """
name = "test enamel"
kind = "paint"
chemistry = "oxidation"
basis = "made up for a test"
hazards = ["flammable solvent"]
[applying]
air = {{ min = "5 °C" }}
[setting]
until = "touch dry"
[cure]
temps = ["10 °C", "20 °C"]
touch_dry = ["8 h", "4 h"]
full_cure = ["14 d", "7 d"]
[amounts]
spreading_rate = "{rate}"
solvent = "{solvent}"
[solvent]
name = "white spirit"
lower_explosive_limit = "{lel}"
source = "made up"
"""
USUAL = {"rate": "10 m²/L", "solvent": "400 g/L", "lel": "0.6 %"}
SHEETS = (
    ("an LEL of 60 %", {"lel": "60 %"}, "lower_explosive_limit"),
    ("an LEL of 0 %", {"lel": "0 %"}, "lower_explosive_limit"),
    ("an LEL of 100 %", {"lel": "100 %"}, "lower_explosive_limit"),
    ("5 kg/L of solvent", {"solvent": "5000 g/L"}, "solvent"),
    ("1e308 m²/L", {"rate": "1e308 m²/L"}, "spreading_rate"),
    ("an LEL of 0.6 %", {}, ""),
    ("an LEL of 1.4 %", {"lel": "1.4 %"}, ""),
)


def probes() -> Iterator[Probe]:
    """Files that are not accepted, and near ones that are."""
    for name, boat, key in NONSENSE:
        yield Probe(name, boat, WORK, misread=key)
    for water, wrong in WATER:
        yield Probe(
            f"water of {water}",
            PLAIN,
            WORK,
            head={"water": water},
            misread="water_temp" if wrong else "",
            refused=None if wrong else False,
        )
    enamel = job(step("coat", "test-enamel"), more='substrate = "old alkyd, sound"')
    for name, changed, key in SHEETS:
        yield Probe(
            name,
            PLAIN,
            enamel,
            sheets={"test-enamel": SHEET.format(**USUAL | changed)},
            misread=key,
            told=() if key else ("fire", "vapour"),
        )
