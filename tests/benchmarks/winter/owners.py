"""Owners without curewindow: by tin and sky, by thermometer, and one who knows what comes."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field

from tests.benchmarks.winter.weather import Forecaster
from tests.benchmarks.winter.world import PER_H, Unit, World

CLOSE = 3
"""Hands are free: looked again after so many steps of ten minutes."""


@dataclass
class Owner:
    """Someone aboard: what is done next is asked whenever the hands are free.

    Attributes
    ----------
    world : World
    forecaster : Forecaster
    leave : int
        The step at which this day aboard ends.
    said : list of tuple
        Step, and a line for a diary.
    """

    world: World
    forecaster: Forecaster
    leave: int = 0
    said: list[tuple[int, str]] = field(default_factory=list)
    live: bool = False

    name = "owner"

    def morning(self) -> None:
        """On arrival."""

    def act(self) -> bool:
        """Do something; False: nothing to do for now."""
        raise NotImplementedError

    def evening(self) -> None:
        """Before leaving."""

    def figures(self) -> dict[str, float]:
        """What only this owner counts."""
        return {}

    def say(self, text: str) -> None:
        self.said.append((self.world.at, text))
        if self.live:
            print(f"  {self.world.moment():%m-%d %H:%M} {text}", file=sys.stderr, flush=True)

    def fits(self, unit: Unit, more_h: float = 0.0) -> bool:
        """Is there time for it before leaving?"""
        return self.world.at + unit.steps + round(more_h * PER_H) <= self.leave

    def put_on(self, job: str, *, book: bool) -> None:
        """The next step of a job, after sanding where the interval is known to have passed."""
        past = self.world.past_interval(job, book=book)
        if past:
            self.world.count.missed += 1  # the start below no longer finds it
        unit = self.world.next_unit(job)
        assert unit is not None
        self.say(f"{unit.do} {job} {unit.coat or ''}".strip())
        if past:
            below = self.world.last_film(job)
            assert below is not None
            below.true["recoat until"] = below.book["recoat until"] = 0.0
        self.world.start(job, sanded=past)

    def dry_work(self, *, book: bool) -> str | None:
        """A job whose next step needs no product and may be done."""
        for job, units in self.world.left.items():
            if (
                units
                and units[0].tin is None
                and self.fits(units[0])
                and self.world.waits(job, book=book) is None
            ):
                return job
        return None


class TinsAndSky(Owner):
    """Looks at today's weather and at the tin, does the first job that fits, heats while aboard.

    It counts hours by the tin's column for 20 °C, as most do, and has a thermometer on the wall.
    """

    name = "tins and sky"
    _dry = False

    def morning(self) -> None:
        ahead, columns = self.forecaster.columns(self.world.moment())
        hours = slice(ahead, ahead + 9)
        self._dry = bool((columns["rain_mm_h"][hours] < 0.2).all())

    def act(self) -> bool:
        world = self.world
        for job, units in world.left.items():
            if not units or not self.fits(units[0]):
                continue
            unit = units[0]
            if unit.tin is None:
                if self._ready(job):
                    self.put_on(job, book=True)
                    return True
                continue
            if not self._dry or not self._ready(job):
                continue
            space = world.jobs[job].space
            if world.heated() != space:
                world.heat(space, 18.0, self.leave)
                return False
            if world.cabins.spaces[space].temp_c >= unit.tin.applying.air[0]:
                self.put_on(job, book=True)
                world.heat(space, 18.0, self.leave)
                return True
        return False

    def _ready(self, job: str) -> bool:
        world = self.world
        below = world.last_film(job)
        waited = 1e9 if below is None else (world.at - below.end) / PER_H
        unit = world.left[job][0]
        if below is not None:
            wanted = (
                below.tin.recoat_hours(unit.tin, 20.0)[0]
                if unit.tin is not None
                else below.tin.hours("handling", 20.0)
            )
            if waited < wanted:
                return False
        for other in world.jobs[job].after_cured:
            film = world.last_film(other)
            if world.left[other] or film is None:
                return False
            if (world.at - film.end) / PER_H < film.tin.hours("closed up", 20.0):
                return False
        return True


class Thermometer(Owner):
    """Holds 20 °C where the work is until the film is hard; measures surface and dew point first.

    Times go by the tin and the temperatures measured at the surface. The heater stays in a space
    while something there is wet, or can go on today; then it goes to the space with most to do.
    """

    name = "thermometer"
    WARM_C = 20.0

    def act(self) -> bool:
        world = self.world
        for job in sorted(world.left, key=self._long, reverse=True):
            unit = world.next_unit(job)
            if unit is None or unit.tin is None or not self.fits(unit):
                continue
            more = 1.0 if world.past_interval(job, book=True) else 0.0
            if world.waits(job, book=True) is not None or not self.fits(unit, more):
                continue
            spot = world.jobs[job].space
            if world.heated() != spot:
                continue
            if self._measured_well(job, unit):
                self.put_on(job, book=True)
                self._hold(spot)
                return True
            if world.cabins.spaces[spot].rh_pct < unit.tin.applying.humidity[0]:
                world.heat(spot, 12.0, world.at + 72 * PER_H)  # too dry for it: turned down
        dry = self.dry_work(book=True)
        if dry is not None:
            self.put_on(dry, book=True)
            return True
        self._choose()
        return False

    def evening(self) -> None:
        self._choose()

    def _long(self, job: str) -> float:
        return len(self.world.left[job]) + (2.0 if self._waited_for(job) else 0.0)

    def _waited_for(self, job: str) -> bool:
        return any(job in other.after_cured for other in self.world.boat.jobs)

    def _measured_well(self, job: str, unit: Unit) -> bool:
        world = self.world
        at = world.jobs[job]
        space = world.cabins.spaces[at.space]
        assert unit.tin is not None
        why = unit.tin.applying.broken(
            space.temp_c, space.surface_c(at.panel), space.rh_pct, space.dew_c, 0.0, 0.0
        )
        return why is None

    def _hold(self, space: str) -> None:
        """Heat to the next day: it is looked at again then."""
        self.world.heat(space, self.WARM_C, self.world.at + 72 * PER_H)

    def _choose(self) -> None:
        """Where the heater goes: stays with a film that is not hard, else to where most is left."""
        world = self.world
        for film in reversed(world.films):
            if not film.is_(film.tin.milestone("handling", "full cure"), book=True):
                if world.heated() != film.space:
                    self._hold(film.space)
                return
        ready = [
            job
            for job, units in world.left.items()
            if units and (units[0].tin is None or world.waits(job, book=True) is None)
        ]
        if not ready:
            waiting = [f for f in world.films if not f.is_("closed up", book=True)]
            needed = {j for job in world.boat.jobs if world.left[job.name] for j in job.after_cured}
            for film in waiting:
                if film.job in needed and world.heated() != film.space:
                    self._hold(film.space)
            if not waiting:
                heated = world.heated()
                if heated is not None:
                    world.out(heated)
            return
        most = max(
            {world.jobs[job].space for job in ready},
            key=lambda space: sum(
                len(units) for job, units in world.left.items() if world.jobs[job].space == space
            ),
        )
        if world.heated() != most:
            self._hold(most)


class Foresight(Owner):
    """Knows the weather, the cabin and the tins as they are; lays the work greedily.

    It puts a coat on as soon as it truly keeps every limit of its sheet, with the least heat that
    does, the job with the most coats left first, and goes on heating until the next coat may go
    on. It is no proof of what is possible: it looks one coat ahead.
    """

    name = "foresight"
    _OPTIONS = (None, 12.0, 16.0, 20.0, 24.0)
    _WAITS = (0, 3, 6, 12, 18, 30)
    _AHEAD_H = 60

    def act(self) -> bool:
        world = self.world
        ready = [
            job
            for job in sorted(world.left, key=self._long, reverse=True)
            if (unit := world.next_unit(job)) is not None
            and unit.tin is not None
            and world.waits(job, book=False) is None
            and self.fits(unit, 1.0 if world.past_interval(job, book=False) else 0.0)
        ]
        busy = self._busy()
        for job in ready:
            space = world.jobs[job].space
            for setpoint in self._OPTIONS:
                if setpoint is not None and busy is not None and busy != space:
                    continue
                if setpoint is None and busy == space:
                    continue
                if self._holds(world, job, setpoint):
                    if setpoint is not None:
                        world.heat(space, setpoint, world.at + self._AHEAD_H * PER_H)
                    self.put_on(job, book=False)
                    return True
        dry = self.dry_work(book=False)
        if dry is not None:
            if busy is None:
                self._warm_up(ready)
            self.put_on(dry, book=False)
            return True
        if busy is None:
            self._warm_up(ready)
        return False

    def evening(self) -> None:
        """With no film that needs it, heat goes where a coat below is still to harden."""
        lit = self.world.heated()
        for film in self.world.films:
            waits = film.next_tin is not None and not film.is_("recoat from")
            if waits and self._heat(film.space, 20.0, 24 * PER_H):
                return
        if lit is not None:
            self._heat(lit, None, 0)

    def _heat(self, space: str, setpoint: float | None, steps: int) -> bool:
        """Heat so (None: not at all) where every film that is not set keeps its limits with it."""
        tried = self.world.copy()
        _order(tried, space, setpoint, steps)
        if not self._all_set(tried):
            return False
        _order(self.world, space, setpoint, steps)
        return True

    def _all_set(self, tried: World) -> bool:
        """Go on until every film has set; False where one breaks a limit, or never sets."""
        open_ = [film for film in tried.films if film.set_at is None and film.touched is None]
        for _ in range(self._AHEAD_H * PER_H):
            if any(film.touched is not None for film in open_):
                return False
            if all(film.set_at is not None for film in open_):
                return True
            tried.run(tried.at + 1)
        return False

    def _long(self, job: str) -> float:
        waited = any(job in other.after_cured for other in self.world.boat.jobs)
        return len(self.world.left[job]) + (2.0 if waited else 0.0)

    def _busy(self) -> str | None:
        """The space whose film was begun with heat and is not set."""
        lit = self.world.heated()
        for film in self.world.films:
            if film.set_at is None and film.space == lit:
                return lit
        return None

    def _holds(self, world: World, job: str, setpoint: float | None, wait: int = 0) -> bool:
        """Would the coat, begun so many steps from now, keep its limits until it has set?"""
        tried = world.copy()
        space = tried.jobs[job].space
        if setpoint is not None:
            tried.heat(space, setpoint, tried.at + self._AHEAD_H * PER_H)
        tried.run(tried.at + wait)
        if tried.past_interval(job, book=False):
            tried.run(tried.at + PER_H)
        film = tried.film_of(tried.left[job][0])
        if film.end > self.leave:
            return False
        tried.films.append(film)
        return self._all_set(tried)

    def openings(self) -> dict[str, tuple[float | None, float]]:
        """What could truly go on today: by job the least setpoint (None: as it is) and the wait, h.

        Jobs whose next coat is due by the tin's true pace; heat is lit at once.
        """
        found: dict[str, tuple[float | None, float]] = {}
        for job, units in self.world.left.items():
            if not units or units[0].tin is None or self.world.waits(job, book=False) is not None:
                continue
            tries = [(setpoint, wait) for setpoint in self._OPTIONS for wait in self._WAITS]
            for setpoint, wait in tries:
                if self._holds(self.world, job, setpoint, wait):
                    found[job] = (setpoint, wait / PER_H)
                    break
        return found

    def _warm_up(self, ready: list[str]) -> None:
        for job in ready:
            for setpoint in (16.0, 20.0, 24.0):
                for wait in (CLOSE, 2 * CLOSE, 4 * CLOSE, 6 * CLOSE, 10 * CLOSE):
                    if self._holds(self.world, job, setpoint, wait):
                        space = self.world.jobs[job].space
                        self._heat(space, setpoint, self._AHEAD_H * PER_H)
                        return
        # None within the day: the space is dried out for another.
        for job in ready:
            if self._heat(self.world.jobs[job].space, 24.0, 24 * PER_H):
                return


def _order(world: World, space: str, setpoint: float | None, steps: int) -> None:
    if setpoint is None:
        world.out(space)
    else:
        world.heat(space, setpoint, world.at + steps)
