"""What the owner describes: boat.toml (place, spaces, heating, hours) and work.toml (the jobs)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Literal, Self

from pydantic import Field

from curewindow.boat.ignition import Ignition
from curewindow.boat.sensors import Broker, Sensor, SignalKServer
from curewindow.boat.service import Channel, ServiceSettings, Tin
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
    Mass,
    MoistureFlow,
    Percent,
    Power,
    SpaceVolume,
    TempDifference,
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


class PanelLayer(FileModel):
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
    layers: list[PanelLayer] = Field(min_length=1)


class Setpoint(FileModel):
    """Heating from a time of day on."""

    from_: time = Field(alias="from")
    setpoint: Temperature | None = Field(None, description="leave out for: heater off")
    charge: Mass | None = Field(
        None, description="of a solid fuel stove: fuel put on then, which burns down on its own"
    )


class OutOfOrder(FileModel):
    """A time in which a heater cannot be used."""

    from_: datetime = Field(alias="from", description="by the boat's clock")
    until: datetime = Field(description="by the boat's clock")


_OUT_TOLD_FOR = timedelta(hours=24)

Ventilation = Literal["closed", "normal", "open"]
"""State of a space's vents: shut and taped, as they are, hatches ajar."""
VENTS_WORD: dict[Ventilation, str] = {"closed": "shut", "normal": "normal", "open": "ajar"}
"""How the vents stand, in the one word for it."""
Unattended = Literal["never", "asleep aboard", "yes"]
"""May a heater be alight with nobody awake by it: never, while its tender sleeps aboard, yes."""
VENTS_BY_WORD: dict[str, Ventilation] = {word: state for state, word in VENTS_WORD.items()}


@dataclass(frozen=True, slots=True)
class HeaterOverride:
    """A stretch of time a heater is not left to its routine, by the log; aware UTC.

    Attributes
    ----------
    begin, end : datetime
    setpoint_c : float or None
        At least so warm, or warmer where the routine is; None: off.
    ventilation : str
    over : bool
        It is behind us.
    read_c : float or None
        What was read at ``end``, far too cold for a heater that is lit: taken as out since.
    """

    begin: datetime
    end: datetime
    setpoint_c: float | None
    ventilation: Ventilation = "normal"
    over: bool = False
    read_c: float | None = None


class Heating(FileModel):
    """A space's heater and its usual routine."""

    # not of boat.toml: `curewindow.record.heat.with_heat` sets it
    _held: tuple[HeaterOverride, ...] = ()

    kind: Literal["electric", "diesel", "gas", "paraffin", "solid fuel"]
    power: Power
    vented: bool = Field(description="does the exhaust go outside by a flue?")
    open_flame: bool = Field(
        description="flame, pilot light or glowing element in the cabin's air?"
    )
    unattended: Unattended | None = Field(
        None,
        description="may it run with nobody awake beside it, by its maker, harbour and insurer? "
        "'never', 'asleep aboard' or 'yes'; not said counts as 'never'",
    )
    air_from: Literal["cabin", "outside"] | None = Field(
        None, description="where it draws the air it burns; not said counts as the cabin"
    )
    routine: list[Setpoint] = Field(default_factory=list)
    days: list[Weekday] | None = Field(None, description="days it runs; else the days aboard")
    min_power: Power | None = Field(
        None,
        description="lowest power it burns at: below it, it goes on and off about the setpoint; "
        "else it is taken to even that out",
    )
    swing: TempDifference | None = Field(
        None,
        ge=0,
        description="with min_power: between lighting and going out again, else 1.5 K",
    )
    warm_up: Duration | None = Field(
        None, description="from lighting to full heat; else usual for the kind"
    )
    efficiency: Percent | None = Field(
        None,
        gt=0,
        le=100,
        description="share of the fuel's heat that stays aboard; else usual for the kind",
    )
    out_of_order: list[OutOfOrder] = Field(
        default_factory=list,
        description="when it cannot be used: broken, or away for repair; its outlets with it",
    )
    outlet_of: str | None = Field(
        None, description="space whose heater this outlet belongs to; its power is the outlet's"
    )
    at_once: int | None = Field(
        None, ge=1, description="spaces it can warm at a time; else all it has outlets in"
    )
    fuel_price: float | None = Field(
        None,
        ge=0,
        description="money for a litre (diesel, paraffin), kilogram (gas, solid fuel) or kWh",
    )

    @property
    def held(self) -> tuple[HeaterOverride, ...]:
        """When it is not left to its routine, by the log; none overlaps another."""
        return self._held

    def held_at(self, now: datetime) -> HeaterOverride | None:
        """What is to be told of it at a moment, by the log; None: it goes by its routine.

        The stretch it is in, or one it was read to be out in within a day. Of what is known
        at ``now`` that is the last one or none.
        """
        last = self._held[-1] if self._held else None
        if last is None or (last.read_c is not None and now - last.end >= _OUT_TOLD_FOR):
            return None
        return last if last.read_c is not None or last.begin <= now < last.end else None

    def with_held(self, held: tuple[HeaterOverride, ...]) -> Self:
        """The same heater, not left to its routine in these stretches."""
        other = self.model_copy()
        other._held = held
        return other


class Drier(FileModel):
    """A dehumidifier."""

    kind: Literal["condensing", "desiccant"] = Field(
        description="condensing: takes out little in the cold; desiccant: as much in the cold"
    )
    rated: MoistureFlow = Field(description="what it takes out in the air it is rated in: '10 L/d'")
    power: Power | None = Field(None, description="while it works; else usual for the kind")
    humidity: Percent = Field(55.0, gt=0, le=100, description="humidity it is set to")
    rated_temp: Temperature | None = Field(
        None, description="air it is rated in; else 30 °C (condensing), 20 °C (desiccant)"
    )
    rated_humidity: Percent | None = Field(
        None, gt=0, le=100, description="else 80 % (condensing), 60 % (desiccant)"
    )
    running: bool = Field(True, description="does it run as a rule?")


class Door(FileModel):
    """A door between two spaces, as it stands as a rule; without one they are shut off."""

    between: list[str] = Field(min_length=2, max_length=2, description="the two spaces")
    width: Length = Field(0.6, description="of the opening")
    height: Length = Field(1.7, description="of the opening")
    open: bool = Field(description="does it stand open as a rule?")


class Sealed(FileModel):
    """Two spaces that no air gets between, as by a steel bulkhead with gaskets."""

    between: list[str] = Field(min_length=2, max_length=2, description="the two spaces")


class Space(FileModel):
    """A cabin, locker or other closed space."""

    name: str = Field(min_length=1)
    volume: SpaceVolume | None = None
    air_change: AirChange | None = None
    slept_in: bool | None = Field(
        None, description="does someone sleep here? said of no space: they may anywhere"
    )
    connected_to: list[str] = Field(default_factory=list)
    logged_only: bool = Field(False, description="no description: conditions from readings alone")
    interior_mass: HeatCapacity | None = Field(None, description="joinery and stores")
    moisture: MoistureFlow | None = Field(None, description="people, cooking, bilge")
    heating: Heating | None = None
    dehumidifier: Drier | None = None
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
    past: list[str] = Field(
        default_factory=list,
        description="past years for the season: EPW or CSV files, or 'open-meteo' (its archive)",
    )
    ensemble_model: str | None = Field(
        None,
        pattern="^[a-z0-9_]+$",
        description="for open-meteo-ensemble: ecmwf_ifs025, icon_seamless, gfs_seamless ...",
    )
    base_address: str | None = Field(None, description="a self-hosted or replayed service")
    timeout: Duration = Field(10.0 / 3600.0, description="for each call")
    keep_forecasts: bool = Field(
        True, description="keep each forecast and each window told, to hold them against what came"
    )
    local_correction: bool = Field(
        True, description="correct the forecast by what your readings outdoors showed of the place"
    )


class Units(FileModel):
    """How the answers are written."""

    temperature: Literal["°C", "°F", "C", "F"] = "°C"

    @property
    def fahrenheit(self) -> bool:
        """Are temperatures shown in °F?"""
        return self.temperature in ("°F", "F")


class Boat(FileModel):
    """boat.toml."""

    format: Literal[1] = 1
    name: str = Field(min_length=1)
    place: Place
    units: Units = Units()
    hours: list[Hours] = Field(default_factory=list)
    weather: WeatherChoice = WeatherChoice()
    space: list[Space] = Field(default_factory=list)
    door: list[Door] = Field(default_factory=list)
    sealed: list[Sealed] = Field(
        default_factory=list,
        description="spaces sealed from each other; all others count as joined for vapour",
    )
    ignition: list[Ignition] = Field(
        default_factory=list, description="what can light vapour, apart from heaters and driers"
    )
    service: ServiceSettings = ServiceSettings()
    channel: list[Channel] = Field(default_factory=list)
    tin: list[Tin] = Field(default_factory=list)
    tins_kept: str | None = Field(
        None,
        description="where tins are kept of which [[tin]] says nothing: 'home', 'deck' or a "
        "space; leave out for unknown: they count as standing where the work is",
    )
    mqtt: Broker = Broker()
    signal_k: SignalKServer = SignalKServer()
    sensor: list[Sensor] = Field(default_factory=list)

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
    by: Literal["cartridge", "brush", "roller", "pad", "spray"] | None = Field(
        None, description="what it is put on with; else a sealant by cartridge, all else by brush"
    )
    air_fed: bool = Field(
        False,
        description="sprayed with air-fed breathing apparatus, by someone trained in its use",
    )
    tools: list[str] = Field(
        default_factory=list, description="held until it has set, such as 'long clamps'"
    )
    tested: bool = Field(
        False, description="a test patch of it held on what is below, or its maker says it does"
    )
    note: str = ""


class Job(FileModel):
    """A job: what, where, how much, in which steps."""

    name: str = Field(min_length=1)
    space: str | None = Field(None, description="name of a space; leave out for work outdoors")
    panel: str | None = Field(None, description="panel it is on; else free-standing joinery")
    outdoors: bool = False
    area: Area | None = None
    substrate: str = Field(
        "", description="what it goes on: 'bare steel', 'ash', 'old alkyd, sound' ..."
    )
    below_waterline: bool = Field(False, description="its coats are under water after launch")
    bare_wood: bool = Field(False, description="bare wood: the sheet's wood moisture applies")
    wood_thickness: Length | None = None
    amount: Liquid | None = None
    after: list[str] = Field(default_factory=list, description="jobs that must be done first")
    after_touch_dry: list[str] = Field(
        default_factory=list, description="jobs whose last coat must be touch dry first"
    )
    after_cured: list[str] = Field(
        default_factory=list, description="jobs whose coats must be cured for closing up first"
    )
    delivery: list[Delivery] = Field(default_factory=list)
    step: list[Step] = Field(min_length=1)


class Tool(FileModel):
    """A tool of which there is more than one."""

    name: str = Field(min_length=1, description="as steps name it in 'tools'")
    count: int = Field(ge=1, le=100)


class Work(FileModel):
    """work.toml."""

    format: Literal[1] = 1
    done_by: date | None = None
    launch: date | None = Field(
        None, description="when the boat goes into the water: coats below the waterline by then"
    )
    tool: list[Tool] = Field(default_factory=list, description="else there is one of each")
    job: list[Job] = Field(default_factory=list)
