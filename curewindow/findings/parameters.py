"""What a finding may be about: one vocabulary of parameters for all kinds.

A parameter has one meaning and one unit wherever it stands, so a program that reads
findings needs this list and no prose.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

Value = bool | float | int | datetime | str | tuple[str, ...]
Sort = Literal["text", "number", "time", "flag", "texts"]


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter: what sort of value, and what it says."""

    sort: Sort
    meaning: str


PARAMETERS: Final[dict[str, Parameter]] = {
    # whom and what it is about
    "job": Parameter("text", "a job, by its name in work.toml"),
    "other_job": Parameter("text", "another job, by its name in work.toml"),
    "do": Parameter("text", "what the step does: prepare, coat, sand, bond, seal, fit"),
    "coat": Parameter("number", "number of a coat, from 1"),
    "of_coats": Parameter("number", "how many coats the step has"),
    "part": Parameter("text", "a coat or a sitting of a job, as people call it"),
    "other_part": Parameter("text", "another such part"),
    "space": Parameter("text", "a space, by its name in boat.toml"),
    "other_space": Parameter("text", "another space, by its name in boat.toml"),
    "spaces": Parameter("texts", "spaces, by their names in boat.toml"),
    "surface": Parameter("text", "a part of a space: a panel, or 'joinery'"),
    "sheet": Parameter("text", "file name of a product sheet"),
    "product": Parameter("text", "what a sheet calls its product"),
    "thing": Parameter("text", "something named by the owner, such as what is delivered"),
    "names": Parameter("texts", "several such names"),
    "service": Parameter("text", "a weather service, or a file that stands for one"),
    "products": Parameter("texts", "what sheets call their products"),
    "note": Parameter("text", "words of owner, sheet or service, never read for a decision"),
    "heater": Parameter("text", "kind of heater"),
    "film": Parameter("text", "family of a film below, or what lies bare: 'alkyd', 'bare steel'"),
    "cure": Parameter("text", "of a film: 'fresh' where it has not cured fully"),
    "do_first": Parameter(
        "text",
        "what is done to what is below: scrape, wash, degrease, sand, prime, tie coat, "
        "clean again, take off",
    ),
    # limits
    "limit": Parameter("text", "which limit, by its name in the registry"),
    "phase": Parameter("text", "applying or setting"),
    "bound": Parameter("text", "min or max"),
    "value": Parameter("number", "what is compared, in 'unit'"),
    "limit_value": Parameter("number", "the bound it is held against, in 'unit'"),
    "by": Parameter("number", "margin, in 'unit'; negative: broken"),
    "unit": Parameter("text", "unit of value, limit_value and by: '°C', 'K', '%', 'm/s' ..."),
    "milestone": Parameter("text", "a milestone of the cure, such as 'touch dry'"),
    # times, aware UTC
    "at": Parameter("time", "when it happens or is so"),
    "begins": Parameter("time", "from when on"),
    "until": Parameter("time", "until when"),
    "otherwise": Parameter("time", "when it would be so without what is told"),
    "last_start": Parameter("time", "the last start that still keeps every limit"),
    "light_at": Parameter("time", "when a heater is lit"),
    "light_by": Parameter("time", "when it has to be lit at the latest"),
    # amounts
    "hours": Parameter("number", "a span of time [h]"),
    "days": Parameter("number", "how many days"),
    "year": Parameter("text", "a calendar year, or what its weather is called"),
    "read_h": Parameter("number", "hours covered by readings [h]"),
    "model_h": Parameter("number", "hours worked out by the model [h]"),
    "unknown_h": Parameter("number", "hours nothing is known of [h]"),
    "chance": Parameter("number", "0 to 1"),
    "other_chance": Parameter("number", "another chance it is compared with, 0 to 1"),
    "other_hours": Parameter("number", "another span of time [h]"),
    "temp_c": Parameter("number", "a temperature [°C]"),
    "other_temp_c": Parameter("number", "another temperature it is compared with [°C]"),
    "rh_pct": Parameter("number", "relative humidity [%]"),
    "difference_k": Parameter("number", "a difference of temperatures [K]"),
    "uncertainty_k": Parameter("number", "give or take so much [K]"),
    "flow_m3_h": Parameter("number", "airflow [m³/h]"),
    "air_changes_h": Parameter("number", "air changes an hour"),
    "power_w": Parameter("number", "power [W]"),
    "energy_kwh": Parameter("number", "energy [kWh]"),
    "litres": Parameter("number", "volume [L]"),
    "volume_m3": Parameter("number", "volume of a space [m³]"),
    "other_power_w": Parameter("number", "another power it is compared with [W]"),
    "u_value": Parameter("number", "thermal transmittance [W/m²K]"),
    "share": Parameter("number", "a part of the whole, 0 to 1"),
    "fuel": Parameter("text", "what a heater takes: 'diesel', 'LPG', 'electricity' ..."),
    "fuel_amount": Parameter("number", "how much of it, in 'fuel_unit'"),
    "fuel_unit": Parameter("text", "L, kg or kWh"),
    "thickness_mm": Parameter("number", "thickness [mm]"),
    "width_m": Parameter("number", "width [m]"),
    "height_m": Parameter("number", "height [m]"),
    "area_cm2": Parameter("number", "free area of openings [cm²]"),
    "area_m2": Parameter("number", "area [m²]"),
    "heat_kj_k": Parameter("number", "heat held for each degree [kJ/K]"),
    "moisture_g_h": Parameter("number", "water given off [g/h]"),
    "solids_pct": Parameter("number", "part of a product that stays, by volume [%]"),
    "wind_ms": Parameter("number", "wind [m/s]"),
    "count": Parameter("number", "how many"),
    "cost": Parameter("number", "in the currency of the owner's prices"),
    # how
    "refuses": Parameter("flag", "no start it belongs to may be called go while it stands"),
    "against": Parameter("texts", "what speaks against it, of a closed list the kind names"),
    "frost": Parameter("flag", "frost rather than dew"),
    "outdoors": Parameter("flag", "in the open"),
    "works": Parameter("flag", "it opens a start"),
    "aired": Parameter("flag", "outside air is let in for the vapour"),
    "known": Parameter("flag", "worked out from figures given; else a usual figure"),
    "sand_first": Parameter("flag", "the coat below has to be sanded first"),
    "after": Parameter("text", "what comes of it: sand, never, as is"),
    "vents": Parameter("text", "how the vents stand: shut, normal, ajar, open"),
    "state": Parameter("text", "how it stands, of a closed list the kind names"),
    "kind_of": Parameter("text", "a sub-kind, of a closed list the kind names"),
}
"""Every parameter there is."""

PYTHON: Final[dict[Sort, type | tuple[type, ...]]] = {
    "text": str,
    "number": (int, float),
    "time": datetime,
    "flag": bool,
    "texts": tuple,
}
