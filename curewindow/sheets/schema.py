"""The product sheet: what a product demands and how fast it hardens, field by field.

One TOML file a sheet. Every table follows the order in which data sheets are
printed. Cross-field sense is checked in :mod:`curewindow.sheets.checks`.
"""

from __future__ import annotations

from typing import Literal, get_args

from pydantic import Field, PrivateAttr, field_validator

from curewindow.handwritten import FileModel
from curewindow.quantity import (
    Density,
    Duration,
    Film,
    Length,
    Mass,
    Percent,
    SolventContent,
    SpreadingRate,
    TempDifference,
    Temperature,
    WindSpeed,
)
from curewindow.sheets.families import Binder, How, StandsOn

ProductKind = Literal[
    "primer",
    "paint",
    "varnish",
    "oil",
    "filler",
    "adhesive",
    "sealant",
    "resin",
    "gelcoat",
    "antifouling",
]

Chemistry = Literal[
    "oxidation",  # takes up oxygen: alkyds, oils, one-part urethane-alkyd varnish
    "epoxy amine",
    "two-part urethane",
    "moisture curing",  # takes up water vapour: one-part polyurethane, hybrid, silicone
    "waterborne",  # water leaves, particles coalesce: acrylics, PVA
    "peroxide",  # unsaturated polyester with peroxide catalyst
    "solvent release",  # dries by solvent leaving only: contact adhesive, antifouling
]

Milestone = Literal[
    "touch dry",
    "tack free",
    "sandable",
    "handling",
    "light use",
    "closed up",
    "immersion",
    "full cure",
]
# In the order in which a film can reach them. 'immersion' may come before or after
# 'closed up', so only the chains in sheets/checks are enforced.
MILESTONES: tuple[Milestone, ...] = get_args(Milestone)

Hazard = Literal[
    "flammable solvent",
    "isocyanate",
    "epoxy sensitiser",
    "styrene",
    "peroxide",
    "self-heating rags",
    "biocide",
    "sanding dust",
    "heat in the pot",
    "skin irritant",
    "methanol or oxime vapour",
]


class TempRange(FileModel):
    """Temperatures between which something is allowed."""

    min: Temperature | None = None
    max: Temperature | None = None


class PercentRange(FileModel):
    """Percentages between which something is allowed (relative humidity, wood moisture)."""

    min: Percent | None = None
    max: Percent | None = None


class Limits(FileModel):
    """Limits that hold for a while: at the air, the surface, the tin and outdoors."""

    air: TempRange = Field(TempRange(), description="air temperature")
    surface: TempRange = Field(TempRange(), description="temperature of the surface coated")
    product: TempRange = Field(TempRange(), description="temperature of the product in the tin")
    mixed: TempRange = Field(TempRange(), description="temperature of the mixed product")
    humidity: PercentRange = Field(PercentRange(), description="relative humidity of the air")
    above_dew_point: TempDifference | None = Field(
        None, description="least height of the surface temperature above the dew point"
    )
    wood_moisture: PercentRange = Field(
        PercentRange(), description="moisture content of bare wood, % of dry mass"
    )
    wind_max: WindSpeed | None = Field(None, description="highest wind outdoors")
    rain: bool = Field(False, description="may rain fall on it?")
    direct_sun: bool = Field(True, description="may direct sun fall on it?")


class SettingLimits(Limits):
    """Limits that hold from the application until a milestone is reached."""

    until: Milestone = Field("touch dry", description="the milestone until which they hold")


class Working(FileModel):
    """Times in the pot and in the hand, by temperature."""

    temps: list[Temperature] = Field(min_length=1)
    pot_life: list[Duration] | None = None
    pot_life_mass: Mass | None = Field(None, description="batch the pot life was measured with")
    open_time: list[Duration] | None = None
    induction: list[Duration] | None = Field(None, description="wait after mixing")
    clamp: list[Duration] | None = None


# Data sheets that give all three stand between 2 and 3.5, and between 5 and 7. Common practice, no
# source: the slow side of that.
SANDABLE_TACK_FREE, SANDABLE_TOUCH_DRY = 4.0, 8.0


class Cure(FileModel):
    """Milestones by temperature, as the sheet's table prints them (a column a temperature)."""

    temps: list[Temperature] = Field(min_length=1, description="the table's temperatures")
    humidity: Percent | None = Field(
        None, description="relative humidity the table was measured at"
    )
    film: Film | None = Field(None, description="wet film the table was measured at")
    touch_dry: list[Duration] | None = None
    tack_free: list[Duration] | None = None
    sandable: list[Duration] | None = None
    handling: list[Duration] | None = None
    light_use: list[Duration] | None = None
    closed_up: list[Duration] | None = Field(
        None, description="may be covered by a lining, insulation or shut in a locker"
    )
    immersion: list[Duration] | None = None
    full_cure: list[Duration] | None = None
    stops_below: Temperature | None = Field(
        None, description="curing stops below this; else the lowest limit while setting"
    )
    stops_above_humidity: Percent | None = Field(
        None, description="drying stops above this humidity"
    )

    def hours(self, milestone: Milestone) -> list[float] | None:
        """Hours to a milestone, one for each of ``temps``; None where the sheet has no row.

        Where nothing tells when a film may be sanded, see :meth:`sandable_taken`.
        """
        column = self.written(milestone)
        return self.sandable_taken() if column is None and milestone == "sandable" else column

    def written(self, milestone: Milestone) -> list[float] | None:
        """The row of a milestone as the sheet has it."""
        column: list[float] | None = getattr(self, milestone.replace(" ", "_"))
        return column

    def sandable_taken(self) -> list[float] | None:
        """When a film is taken to be hard enough to sand where its sheet does not tell.

        :data:`SANDABLE_TACK_FREE` times as long as it takes to be tack free, else
        :data:`SANDABLE_TOUCH_DRY` times as long as to be touch dry, never later than full cure.
        None where the sheet has a row for it, or for something that needs as hard a film.
        """
        if self.sandable or self.handling or self.light_use:
            return None
        first = self.tack_free or self.touch_dry
        if first is None:
            return None
        times = SANDABLE_TACK_FREE if self.tack_free else SANDABLE_TOUCH_DRY
        most = self.full_cure or [float("inf")] * len(first)
        return [min(times * hours, cap) for hours, cap in zip(first, most, strict=False)]


class Recoat(FileModel):
    """When the next coat may, and must, go on."""

    next: str = Field("self", description="'self', the file name of another sheet, or a kind")
    temps: list[Temperature] | None = Field(None, description="else those of [cure]")
    from_: list[Duration] = Field(alias="from", min_length=1)
    until: list[Duration] | None = Field(None, description="leave out where there is no limit")
    after: Literal["sand", "never", "as is"] = Field(
        "sand", description="once 'until' has passed: sand first, never again, or as is"
    )
    first: list[How] = Field(
        default_factory=list, description="what is done to it first in any case: wash, sand ..."
    )
    note: str = ""


class DepthCure(FileModel):
    """Depth of cure of a moisture-curing bead: grows with the square root of time."""

    depth: Length = Field(description="depth cured in the first 'time'")
    time: Duration = Field(description="such as '24 h'")
    temp: Temperature = Field(description="at this temperature")
    humidity: Percent = Field(description="and this relative humidity")
    bead: Length = Field(description="usual depth of the bead; closed up and full cure wait for it")


_LEAST_M2_L = 0.01


class Amounts(FileModel):
    """How much of it: solids, film, spread, mix and thinning."""

    volume_solids: Percent | None = None
    wet_film: Film | None = None
    dry_film: Film | None = None
    spreading_rate: SpreadingRate | None = Field(None, description="practical, at wet_film")
    loss: Percent | None = Field(None, description="lost in brush, roller and tin")
    mix_by_volume: list[float] | None = Field(None, description="parts, such as [4, 1]")
    mix_by_mass: list[float] | None = Field(None, description="parts, such as [100, 20]")
    both_faces: bool = Field(False, description="both faces of a joint are coated")
    thinning_max: Percent | None = None
    density: Density | None = None
    solvent: SolventContent | None = Field(None, description="solvent given off")
    water: SolventContent | None = Field(None, description="water given off")
    coats: int | None = Field(None, ge=1, le=20, description="usual number of coats")

    @field_validator("spreading_rate")
    @classmethod
    def _spreads(cls, rate: float | None) -> float | None:
        if rate is not None and rate < _LEAST_M2_L:
            raise ValueError(f"must be at least {_LEAST_M2_L:g} m²/L")
        return rate


class Storage(FileModel):
    """How the tin keeps."""

    min: Temperature | None = None
    max: Temperature | None = None
    frost_spoils: bool = False
    shelf_life: Duration | None = None
    shelf_life_opened: Duration | None = None


class Solvent(FileModel):
    """The solvent that goes into the air, for the vapour check."""

    name: str
    lower_explosive_limit: Percent
    vapour_per_litre: float | None = Field(
        None, gt=0, description="m³ of vapour a litre of the liquid solvent gives"
    )
    source: str = Field(description="where these two figures come from")


class Sheet(FileModel):
    """A product sheet."""

    format: Literal[1] = 1
    name: str = Field(min_length=1, description="what it is, generic: no brand on the shelf")
    kind: ProductKind
    chemistry: Chemistry
    binder: Binder | None = Field(
        None, description="family of its film; else that which is usual of its chemistry"
    )
    basis: str = Field(
        min_length=1,
        description="'data sheet of <date>', 'tin label' or 'typical of the kind, from memory'",
    )
    note: str = ""
    sources: list[str] = Field(default_factory=list, description="where the values come from")
    applying: Limits
    setting: SettingLimits
    working: Working | None = None
    cure: Cure
    recoat: list[Recoat] = Field(default_factory=list)
    stands_on: list[StandsOn] = Field(
        default_factory=list, description="what it may go on; else the table of families"
    )
    depth_cure: DepthCure | None = None
    stays_tacky: bool = Field(
        False, description="a laminating resin: its surface stays tacky in air"
    )
    amounts: Amounts = Amounts()
    storage: Storage = Storage()
    hazards: list[Hazard] = Field(default_factory=list)
    solvent: Solvent | None = None
    # not of the file: `sheets.shelf.get_sheet` sets it
    _file_name: str = PrivateAttr("")

    def __eq__(self, other: object) -> bool:
        """The same figures; whose file they are from is no difference."""
        return isinstance(other, Sheet) and self.__dict__ == other.__dict__

    __hash__ = None  # type: ignore[assignment]

    @property
    def file_name(self) -> str:
        """The name it is asked for by; '' where it came from nowhere."""
        return self._file_name

    @property
    def typical(self) -> bool:
        """True where advice must say: check your tin."""
        return self.basis.strip().lower().startswith("typical")


__all__ = ["MILESTONES", "Chemistry", "Limits", "Milestone", "Recoat", "SettingLimits", "Sheet"]
