"""What a plan is made from: the work, where each job stands, and conditions to come."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, Protocol
from zoneinfo import ZoneInfo

from curewindow.boat.schema import Boat, Job, Space, Ventilation, Work
from curewindow.cautions.airflow import WetFilm
from curewindow.findings import Finding
from curewindow.series import AirAsked, BoolArray, FloatArray, IntArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.wording import Wording


class WhenAsked(Mapping[tuple[str, float], SurfaceSeries]):
    """Conditions by job and setpoint, each worked out when it is first asked for, and kept.

    Parameters
    ----------
    makers : mapping of (str, float) to callable
    """

    def __init__(self, makers: Mapping[tuple[str, float], Callable[[], SurfaceSeries]]) -> None:
        self._makers = makers
        self._made: dict[tuple[str, float], SurfaceSeries] = {}

    def __getitem__(self, key: tuple[str, float]) -> SurfaceSeries:
        if key not in self._made:
            self._made[key] = self._makers[key]()
        return self._made[key]

    def __iter__(self) -> Iterator[tuple[str, float]]:
        return iter(self._makers)

    def __len__(self) -> int:
        return len(self._makers)


@dataclass(frozen=True, slots=True)
class CoatOn:
    """What is known of a job's youngest coat that is on already; None: later than known.

    Attributes
    ----------
    touch_dry, dust_dry, sandable, hard, covered : datetime or None
        When it comes to each, on the slow side.
    opens : datetime or None
        From when the next coat may go on.
    closes : datetime or None
        Until when; None: no end.
    missed : {'sand', 'never', 'as is'}
        What a missed end costs.
    allowed : bool
        False where nothing may go on it any more, or it cannot be told when.
    why_not : str
    spoilt : bool
        It was found spoilt and comes off, sanded back, before the next coat.
    """

    touch_dry: datetime | None = None
    dust_dry: datetime | None = None
    sandable: datetime | None = None
    hard: datetime | None = None
    covered: datetime | None = None
    opens: datetime | None = None
    closes: datetime | None = None
    missed: Literal["sand", "never", "as is"] = "as is"
    allowed: bool = True
    why_not: str = ""
    spoilt: bool = False


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a job stands.

    Attributes
    ----------
    step : int or None
        Number of the next step; None: done.
    coat : int or None
        The coat that is next, for steps with a product.
    on : CoatOn or None
        Its youngest coat.
    """

    step: int | None
    coat: int | None = None
    on: CoatOn | None = None


@dataclass(frozen=True, slots=True, eq=False)
class HeatedStarts:
    """Starts that heat opens, each with a run of its own, shapes (K,); points of the plan's grid.

    Attributes
    ----------
    setpoint_c : ndarray
    light, start, end : ndarray of int
        Lit, first stroke, and the milestone at which the heat may go off.
    dry : ndarray of int
        Aired until then; -1: it is not.
    energy_kwh : ndarray
        Beyond what the routine gives anyway.
    vents : tuple of str
        How they stand.
    series : SurfaceSeries
        Each run a member, (K, T): heat held on; NaN before it and behind what was run.
    held_on : bool
        The heater may be left on until the film is hard.
    """

    setpoint_c: FloatArray
    light: IntArray
    start: IntArray
    end: IntArray
    dry: IntArray
    energy_kwh: FloatArray
    vents: tuple[Ventilation, ...]
    series: SurfaceSeries
    held_on: bool = True


class JudgedStarts(Protocol):
    """Starts of coats as far as the forecast carries, as the judgement allows them."""

    def as_is(self, job: Job, number: int, bare_wood: bool) -> BoolArray:
        """Grid points at which a step's coat may begin as things are, (T,).

        True behind the forecast.
        """
        ...

    def heated(self, job: Job, number: int, bare_wood: bool) -> HeatedStarts | None:
        """Starts that heat opens; None: none."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Given:
    """Everything an order of work is made from.

    Attributes
    ----------
    boat : Boat
    work : Work
    now, until : datetime
        Aware; what is planned lies between.
    known_until : datetime
        End of the forecast; later the weather is typical of the season.
    sheet : callable
        The sheet of a name.
    series : dict of str to SurfaceSeries
        By job, on one grid up to ``until``: conditions as they are.
    warmed : dict of (str, float) to SurfaceSeries
        By job and setpoint: its space lit anew every seventh day, (evening runs x members, T);
        the first rows on day 0, 7 ..., the next on day 1, 8 ... (:mod:`.heaterruns`).
    steady : dict of (str, float) to SurfaceSeries
        The same, kept warm for weeks, (long runs x members, T); for a season (members, T),
        from now on, and each made when asked for.
    extra_w : dict of (str, float) to ndarray, shape (T,)
        By space and setpoint: heat beyond the routine's while it is held; none for a season.
    hours_ok, daylight_ok : ndarray of bool, shape (T,)
    stands : dict of str to Stand
        By job.
    refused : dict of (str, str) to str
        By job and sheet: why it may not be put on there as things are.
    by_bedtime : frozenset of (str, str)
        Jobs and sheets whose film has to have set before someone sleeps near it.
    first : dict of (str, int) to tuple of Finding
        By job and step: what is done to what is below before its first coat.
    lead_h : float
        A heater has to have run so long before a start at the least.
    notes : tuple of str
    wet : dict of str to ndarray of bool, shape (T,)
        By job: dew or rain lies on its surface, which is to be wiped dry first.
    wet_near : callable
        Films of the record that still give off vapour in a space at a moment, or near it.
    air_asked : callable
        What a step's coat does to the air of its space behind the forecast.
    near : JudgedStarts or None
        Starts as far as the forecast carries; None: as tables have them, as of past years.
    """

    boat: Boat
    work: Work
    now: datetime
    until: datetime
    known_until: datetime
    sheet: Callable[[str], Sheet]
    series: dict[str, SurfaceSeries]
    warmed: Mapping[tuple[str, float], SurfaceSeries]
    steady: Mapping[tuple[str, float], SurfaceSeries]
    extra_w: dict[tuple[str, float], FloatArray]
    hours_ok: BoolArray
    daylight_ok: BoolArray
    stands: dict[str, Stand]
    refused: dict[tuple[str, str], str] = field(default_factory=dict)
    by_bedtime: frozenset[tuple[str, str]] = frozenset()
    first: dict[tuple[str, int], tuple[Finding, ...]] = field(default_factory=dict)
    lead_h: float = 12.0
    notes: tuple[str, ...] = ()
    wet: dict[str, BoolArray] = field(default_factory=dict)
    wet_near: Callable[[Space | None, datetime], Sequence[WetFilm]] = lambda _space, _at: ()
    near: JudgedStarts | None = None
    air_asked: Callable[[Job, int], AirAsked] = lambda _job, _number: AirAsked()

    @property
    def words(self) -> Wording:
        """The boat's own words, at the moment planned for."""
        zone = ZoneInfo(self.boat.place.time_zone)
        return Wording(zone, self.now, self.boat.units.fahrenheit)
