"""What truly happens aboard: cabins, films that harden, coats that are spoilt, work done."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from tests.benchmarks.winter.boats import Boat, Job
from tests.benchmarks.winter.cabin import STEP_S, Cabins, Outside
from tests.benchmarks.winter.tins import Tin, tin
from tests.benchmarks.winter.weather import Winter

PER_H = 6
STEP_H = STEP_S / 3600.0
SLACK_K, SLACK_PCT = 1.0, 5.0
"""A coat counts as spoilt when a limit of its sheet is broken by more than this."""
# Hatches ajar for a coat with solvent, where nobody works out how much air its vapour asks for:
# common practice, no source.
AIRING_WORK_H, AIRING_DRY_H = 4.0, 1.0
SANDING_H = 1.0
"""What it takes to sand a coat whose recoat interval was missed."""


@dataclass(slots=True)
class Film:
    """A coat that was put on."""

    job: str
    space: str
    panel: str
    tin: Tin
    pace: float
    start: int
    end: int
    number: int
    next_tin: Tin | None
    true: dict[str, float] = field(default_factory=dict)
    """Share of each milestone's hours that has passed, at the tin's true pace."""
    book: dict[str, float] = field(default_factory=dict)
    """The same as the sheet prints it."""
    broken: str | None = None
    """Which limit was broken beyond the slack, first."""
    touched: str | None = None
    """Which limit was broken at all."""
    set_at: int | None = None
    area: float = 1.0
    air_m3_h: float | None = None
    """Outside air until it is touch dry, as its cautions ask; None: hatches ajar."""

    def copy(self) -> Film:
        return Film(
            self.job,
            self.space,
            self.panel,
            self.tin,
            self.pace,
            self.start,
            self.end,
            self.number,
            self.next_tin,
            dict(self.true),
            dict(self.book),
            self.broken,
            self.touched,
            self.set_at,
            self.area,
            self.air_m3_h,
        )

    def on(self, at: int, air: float, surface: float, rh: float, dew: float) -> None:
        """Ten minutes in these conditions."""
        if self.set_at is None:
            bounds = self.tin.applying if at < self.end else self.tin.setting
            if self.broken is None:
                self.broken = bounds.broken(air, surface, rh, dew, SLACK_K, SLACK_PCT)
            if self.touched is None:
                self.touched = bounds.broken(air, surface, rh, dew, 0.0, 0.0)
        if at < self.end or surface < self.tin.stops_below:
            return
        for name in self.tin.times:
            if self.book.get(name, 0.0) < 1.0 or self.true.get(name, 0.0) < 1.0:
                part = STEP_H / self.tin.hours(name, surface)
                self.book[name] = self.book.get(name, 0.0) + part
                self.true[name] = self.true.get(name, 0.0) + part / self.pace
        if self.next_tin is not None:
            low, high = self.tin.recoat_hours(self.next_tin, surface)
            for name, hours in (("recoat from", low), ("recoat until", high)):
                self.book[name] = self.book.get(name, 0.0) + STEP_H / hours
                self.true[name] = self.true.get(name, 0.0) + STEP_H / hours / self.pace
        if self.set_at is None and self.true.get(self.tin.setting_until, 0.0) >= 1.0:
            self.set_at = at + 1

    @property
    def through(self) -> bool:
        """Is there nothing left to follow?"""
        return all(
            self.is_(name, book=book)
            for name in ("closed up", "handling")
            for book in (True, False)
        )

    def is_(self, milestone: str, *, book: bool = False) -> bool:
        return (self.book if book else self.true).get(milestone, 0.0) >= 1.0


@dataclass(frozen=True, slots=True)
class Unit:
    """A coat, or a step without one."""

    job: str
    step: int
    do: str
    hands_h: float
    tin: Tin | None
    coat: int | None
    of_coats: int
    between: str

    @property
    def steps(self) -> int:
        return round(self.hands_h * PER_H + 0.49)


def units_of(job: Job) -> list[Unit]:
    """All that is to be done for a job, in order."""
    units = []
    for number, part in enumerate(job.parts, 1):
        if not part.tin:
            units.append(Unit(job.name, number, part.do, part.hands_h, None, None, 1, ""))
            continue
        for coat in range(1, part.coats + 1):
            units.append(
                Unit(
                    job.name,
                    number,
                    part.do,
                    part.hands_h,
                    tin(part.tin),
                    coat,
                    part.coats,
                    part.between,
                )
            )
    return units


@dataclass
class Count:
    """What is counted of a run."""

    coats: int = 0
    missed: int = 0
    too_soon: int = 0
    days_aboard: int = 0


class World:
    """A boat in a winter, at a moment.

    ``at`` counts steps of ten minutes from the first of the weather.
    """

    def __init__(
        self,
        boat: Boat,
        winter: Winter,
        cabins: Cabins,
        paces: dict[str, float],
        outside: list[Outside] | None = None,
        airing: float = 1.0,
        asked_air: dict[tuple[str, int], float] | None = None,
    ) -> None:
        self.boat, self.winter, self.cabins, self.paces = boat, winter, cabins, paces
        self.outside = outside if outside is not None else winter.outside()
        self.zone = ZoneInfo(winter.time_zone)
        self.at = 0
        self.airing, self.asked_air = airing, asked_air or {}
        self.films: list[Film] = []
        self.jobs = {job.name: job for job in boat.jobs}
        self.left = {job.name: units_of(job) for job in boat.jobs}
        self.heat_until: dict[str, tuple[float, int]] = {}
        self.vents_until: dict[str, tuple[float, int]] = {}
        self.count = Count()
        self.began = self.step_of(winter.begin)
        first = self.outside[0]
        for space in cabins.spaces.values():
            space.temp_c = space.joinery_c = first.temp_c
            space.vapour = first.vapour
            space.buffer_rh = 0.8
            for panel in space.panels:
                panel.temp_c = first.water_c if panel.water else first.temp_c

    def step_of(self, moment: datetime) -> int:
        return round((moment - self.winter.first).total_seconds() / STEP_S)

    def moment(self, at: int | None = None) -> datetime:
        return self.winter.first + timedelta(seconds=STEP_S * (self.at if at is None else at))

    # ---- time -----------------------------------------------------------------------------

    def run(self, until: int) -> None:
        """Go on to a step."""
        while self.at < until:
            self._step()

    def _step(self) -> None:
        airing: dict[str, float] = {}
        water: dict[str, float] = {}
        for film in self.films:
            if film.is_("touch dry") or self.at < film.start:
                continue
            if film.air_m3_h is not None or film.tin.solvent:
                if film.air_m3_h is None:
                    more = AIRING_WORK_H if self.at < film.end else AIRING_DRY_H
                else:
                    more = film.air_m3_h / self.cabins.spaces[film.space].volume_m3
                more *= self.airing
                airing[film.space] = max(airing.get(film.space, 0.0), more)
            if film.tin.water_g_m2:
                hours = film.tin.hours("touch dry", 15.0) + (film.end - film.start) * STEP_H
                given = film.tin.water_g_m2 * film.area / 1000.0 / (hours * 3600.0)
                water[film.space] = water.get(film.space, 0.0) + given
        held = {
            name: setpoint for name, (setpoint, until) in self.heat_until.items() if self.at < until
        }
        for name, (share, until) in self.vents_until.items():
            if self.at < until:
                own = self.cabins.spaces[name].air_change_h
                own *= 0.4 + 0.15 * self.outside[self.at].wind_ms
                airing[name] = airing.get(name, 0.0) + (share - 1.0) * own
        self.cabins.step(self.outside[self.at], held, airing, water)
        for film in self.films:
            if film.set_at is not None and film.through:
                continue
            space = self.cabins.spaces[film.space]
            surface = space.surface_c(film.panel)
            film.on(self.at, space.temp_c, surface, space.rh_pct, space.dew_c)
        self.at += 1

    def heat(self, space: str, setpoint_c: float, until: int, vents: float = 1.0) -> None:
        """Light the heater in a space; what it warmed before it leaves.

        ``vents``: what goes through them, against how they stand as a rule.
        """
        others = [name for name, (_, end) in self.heat_until.items() if end > self.at]
        for name in others:
            if name != space and self.cabins.heater.at_once == 1:
                del self.heat_until[name]
        self.heat_until[space] = (setpoint_c, until)
        self.vents_until[space] = (vents, until)

    def out(self, space: str) -> None:
        self.heat_until.pop(space, None)

    def heated(self) -> str | None:
        """The space that is heated now."""
        return next((name for name, (_, end) in self.heat_until.items() if end > self.at), None)

    # ---- work -----------------------------------------------------------------------------

    def next_unit(self, job: str) -> Unit | None:
        return self.left[job][0] if self.left[job] else None

    def last_film(self, job: str) -> Film | None:
        return next((film for film in reversed(self.films) if film.job == job), None)

    def waits(self, job: str, *, book: bool) -> str | None:
        """What stands before a job's next step, air and surfaces apart; None: nothing."""
        unit = self.next_unit(job)
        if unit is None:
            return "done"
        for other in self.jobs[job].after_cured:
            film = self.last_film(other)
            if self.left[other] or film is None or not film.is_("closed up", book=book):
                return f"cure of {other}"
        below = self.last_film(job)
        if below is not None:
            wanted = "recoat from" if unit.tin is not None else "handling"
            if not below.is_(wanted, book=book):
                return "coat below"
        if unit.tin is None:
            space = self.jobs[job].space
            for film in self.films:
                if film.space == space and not film.is_("tack free", book=book):
                    return f"dust on {film.job}"
        return None

    def past_interval(self, job: str, *, book: bool) -> bool:
        """Has the recoat interval of the coat below passed, and is no sanding meant anyway?"""
        unit, below = self.next_unit(job), self.last_film(job)
        if unit is None or below is None or unit.tin is None or unit.between == "sand":
            return False
        return below.is_("recoat until", book=book)

    def start(self, job: str, *, sanded: bool = False) -> Unit:
        """Do a job's next step, to its end."""
        unit = self.left[job][0]
        if sanded:
            self.run(self.at + round(SANDING_H * PER_H))
        if unit.tin is None:
            self.run(self.at + unit.steps)
            self.left[job].pop(0)
            return unit
        below = self.last_film(job)
        if below is not None:
            if not below.is_("recoat from"):
                self.count.too_soon += 1
            if unit.between != "sand" and below.is_("recoat until"):
                self.count.missed += 1
        self.films.append(self.film_of(unit))
        self.count.coats += 1
        self.left[job].pop(0)
        self.run(self.at + unit.steps)
        return unit

    def film_of(self, unit: Unit) -> Film:
        """The coat a unit would be if it were begun now."""
        job = self.jobs[unit.job]
        assert unit.tin is not None
        coming = self.left[unit.job][1:]
        following = coming[0].tin if coming else None
        return Film(
            unit.job,
            job.space,
            job.panel,
            unit.tin,
            self.paces[unit.tin.name],
            self.at,
            self.at + unit.steps,
            len(self.films),
            following,
            area=job.area,
            air_m3_h=self.asked_air.get((unit.job, unit.step)),
        )

    @property
    def work_left(self) -> bool:
        return any(self.left.values())

    def all_hard(self) -> bool:
        """Is the last coat of every job hard enough to be handled?"""
        return not self.work_left and all(
            film.is_(film.tin.milestone("handling", "light use", "full cure"))
            for film in self.films
        )

    @property
    def spoilt(self) -> list[Film]:
        return [film for film in self.films if film.broken is not None]

    def copy(self) -> World:
        """A world to look ahead in: same weather, own state."""
        made = object.__new__(World)
        made.__dict__.update(self.__dict__)
        made.cabins = self.cabins.copy()
        made.films = [film.copy() for film in self.films]
        made.left = {name: list(units) for name, units in self.left.items()}
        made.heat_until = dict(self.heat_until)
        made.count = Count()
        return made
