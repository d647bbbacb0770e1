"""What the owner describes: boat.toml (place, spaces, heating, hours) and work.toml (the jobs)."""

from __future__ import annotations

from datetime import date, time
from typing import Literal

from pydantic import Field

from curewindow.handwritten import FileModel
from curewindow.quantity import (
    AirChange,
    Area,
    Conductivity,
    Density,
    Duration,
    HeatCapacity,
    Length,
    Liquid,
    MoistureFlow,
    Percent,
    Power,
    SpaceVolume,
    Temperature,
    WorkingRate,
)

Weekday = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]


class Place(FileModel):
    """Where the boat lies."""

    name: str = ""
    latitude: float = Field(ge=-90, le=90)
    longitude: float = Field(ge=-180, le=180)
    elevation_m: float | None = None
    time_zone: str = Field(description="IANA name, such as 'Europe/Amsterdam'")
    water_temp: Temperature | None = Field(None, description="water at the hull, measured by hand")


class Hours(FileModel):
    """Hours in which someone is aboard and can work."""

    days: list[Weekday] = Field(min_length=1)
    from_: time = Field(alias="from")
    until: time


class Layer(FileModel):
    """One layer of a panel, from the inside to the outside."""

    material: str = Field(description="name from the material table, or any with its own figures")
    thickness: Length
    conductivity: Conductivity | None = None
    density: Density | None = None


class Panel(FileModel):
    """A part of a space's skin."""

    name: str = Field(min_length=1)
    area: Area
    outside: str = Field("air", description="'air', 'water' or the name of another space")
    facing: Literal["side", "overhead", "sole"] = "side"
    sky: bool = Field(True, description="does it see the sky (with 'air' outside)?")
    layers: list[Layer] = Field(min_length=1)


class Setpoint(FileModel):
    """Heating from a time of day on."""

    from_: time = Field(alias="from")
    setpoint: Temperature | None = Field(None, description="leave out for: heater off")


class Heating(FileModel):
    """A space's heater and its usual routine."""

    kind: Literal["electric", "diesel", "gas", "paraffin", "solid fuel"]
    power: Power
    vented: bool = Field(description="does the exhaust go outside by a flue?")
    open_flame: bool = Field(
        description="flame, pilot light or glowing element in the cabin's air?"
    )
    routine: list[Setpoint] = Field(default_factory=list)
    days: list[Weekday] | None = Field(None, description="days it runs; else the days aboard")
    min_power: Power | None = Field(
        None, description="lowest power it burns at; else usual for the kind (heating/fuel.py)"
    )
    efficiency: Percent | None = Field(
        None,
        gt=0,
        le=100,
        description="share of the fuel's heat that stays aboard; else usual for the kind",
    )
    fuel_price: float | None = Field(
        None,
        ge=0,
        description="money for a litre (diesel, paraffin), kilogram (gas, solid fuel) or kWh",
    )


class Space(FileModel):
    """A cabin, locker or other closed space."""

    name: str = Field(min_length=1)
    volume: SpaceVolume | None = None
    air_change: AirChange | None = None
    slept_in: bool = False
    connected_to: list[str] = Field(default_factory=list)
    logged_only: bool = Field(False, description="no description: conditions from readings alone")
    interior_mass: HeatCapacity | None = Field(None, description="joinery and stores")
    moisture: MoistureFlow | None = Field(None, description="people, cooking, bilge")
    heating: Heating | None = None
    panel: list[Panel] = Field(default_factory=list)


class WeatherChoice(FileModel):
    """Where the forecast comes from."""

    feed: Literal[
        "auto",
        "open-meteo",
        "open-meteo-ensemble",
        "met-norway",
        "met-norway-spread",
        "nws",
        "file",
        "by-hand",
    ] = "auto"
    file: str | None = Field(
        None,
        description="EPW or CSV in the boat folder; by hand a TOML or CSV, else weather.toml",
    )
    ensemble_model: str | None = Field(
        None,
        pattern="^[a-z0-9_]+$",
        description="for open-meteo-ensemble: ecmwf_ifs025, icon_seamless, gfs_seamless ...",
    )
    base_address: str | None = Field(None, description="a self-hosted or replayed service")
    timeout: Duration = Field(10.0 / 3600.0, description="for each call")


class Units(FileModel):
    """How the answers are written."""

    temperature: Literal["°C", "°F", "C", "F"] = "°C"


class Boat(FileModel):
    """boat.toml."""

    format: Literal[1] = 1
    name: str = Field(min_length=1)
    place: Place
    units: Units = Units()
    hours: list[Hours] = Field(default_factory=list)
    weather: WeatherChoice = WeatherChoice()
    space: list[Space] = Field(default_factory=list)

    def find_space(self, name: str) -> Space | None:
        """The space of that name, or None."""
        return next((space for space in self.space if space.name == name), None)


class Delivery(FileModel):
    """Something that has to arrive first."""

    what: str
    on: date | None = None
    earliest: date | None = None
    latest: date | None = None
    arrived: bool = False


class Step(FileModel):
    """One step of a job."""

    do: Literal["prepare", "coat", "sand", "bond", "seal", "fit"]
    sheet: str | None = Field(None, description="sheet name, for coat, bond and seal")
    coats: int = Field(1, ge=1, le=20)
    hands_on: Duration | None = Field(None, description="for one coat, or the whole step")
    rate: WorkingRate | None = Field(None, description="instead of hands_on: time a square metre")
    between: Literal["sand", "hot coat", "as is"] = Field(
        "as is", description="between coats of this step"
    )
    note: str = ""


class Job(FileModel):
    """A job: what, where, how much, in which steps."""

    name: str = Field(min_length=1)
    space: str | None = Field(None, description="name of a space; leave out for work outdoors")
    panel: str | None = Field(None, description="panel it is on; else free-standing joinery")
    outdoors: bool = False
    area: Area | None = None
    substrate: str = ""
    bare_wood: bool = Field(False, description="bare wood: the sheet's wood moisture applies")
    wood_thickness: Length | None = None
    amount: Liquid | None = None
    after: list[str] = Field(default_factory=list, description="jobs that must be done first")
    after_cured: list[str] = Field(
        default_factory=list, description="jobs whose coats must be cured for closing up first"
    )
    delivery: list[Delivery] = Field(default_factory=list)
    step: list[Step] = Field(min_length=1)


class Work(FileModel):
    """work.toml."""

    format: Literal[1] = 1
    done_by: date | None = None
    job: list[Job] = Field(default_factory=list)
