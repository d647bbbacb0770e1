"""What a coat asks of the air in its space, and whether a start still holds with it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import partial

import numpy as np

from curewindow.boat.amount import product_litres, water_g_l
from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Space
from curewindow.cautions.airflow import airflow_m3_h
from curewindow.cautions.fire import flammable
from curewindow.conditions import learned_in
from curewindow.conditions.draw import readings_of
from curewindow.conditions.learned import with_learned
from curewindow.conditions.model import describe
from curewindow.heating.coat import HeatedCoat
from curewindow.heating.readied import room_from
from curewindow.heating.room import Room
from curewindow.heating.starts import Habits, as_it_stands, courses_of, hold
from curewindow.judgement.films import burning_near
from curewindow.judgement.kept import facts_key, kept_arrays
from curewindow.judgement.progress import Progress
from curewindow.physics.balance import SpaceResult
from curewindow.rules.chance import enough, share_needed
from curewindow.rules.solvent import given_off
from curewindow.series import AirAsked, BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.situation import Situation
from curewindow.windows import Verdict
from curewindow.windows.given_off import GivenOff
from curewindow.windows.grid import IntArray, at_index, first_at_or_after, last_at_or_before

USUAL_AIRING_H = 10.0
"""Air changes an hour where the vapour's need cannot be worked out: common practice, no source."""
_COLUMNS = 900  # starts of all members run at once: more gain nothing by company


def airing_of(
    facts: Situation, job: Job, progress: Progress, sheet: Sheet, at: datetime | None = None
) -> tuple[float, bool]:
    """Outside air for the vapour of a coat and films near, m³/h, and whether it is known.

    Films near are those of now, or those of a later moment.
    """
    if not flammable(sheet):
        return 0.0, True
    space = None if job.space is None else facts.boat.find_space(job.space)
    films = burning_near(facts, space, at)
    flow = airflow_m3_h(sheet, job, progress.step, films)
    if flow is not None:
        return flow, not any(given_off(e).taken for e in [sheet, *(film.sheet for film in films)])
    volume = 0.0 if space is None else space.volume or 0.0
    return USUAL_AIRING_H * volume, False


def water_kg_h(sheet: Sheet, job: Job, progress: Progress) -> float:
    """Water a coat gives off inside until it is touch dry, kg/h; 0 where nobody can tell.

    All of it within the hands-on time and the shortest touch dry on the sheet: the damp side.
    """
    litres, content = product_litres(sheet, job), water_g_l(sheet)
    if litres is None or not content:
        return 0.0
    dry = sheet.cure.touch_dry or sheet.cure.hours(sheet.setting.until) or [1.0]
    return litres * content / 1000.0 / (hands_on_h(progress.step, job) + min(dry))


@dataclass(slots=True, eq=False)
class AirBeyond:
    """What a step's coat does to the air of its space, should it come behind the forecast.

    Attributes
    ----------
    facts : Situation
    known : datetime
        End of the forecast: films that still give off vapour then count too.
    """

    facts: Situation
    known: datetime
    # By the job itself, which is kept beside it: what-ifs have others of the same name.
    _known: dict[tuple[int, int], tuple[Job, AirAsked]] = field(default_factory=dict)

    def __call__(self, job: Job, number: int) -> AirAsked:
        """Of a step by its number; each worked out once."""
        key = (id(job), number)
        if key not in self._known:
            self._known[key] = job, _air_asked(self.facts, self.known, job, number)
        return self._known[key][1]


def _air_asked(facts: Situation, known: datetime, job: Job, number: int) -> AirAsked:
    step = job.step[number - 1]
    if job.space is None or step.sheet is None:
        return AirAsked()
    sheet = facts.sheet(step.sheet).sheet
    progress = Progress(number, step, 1, None)
    airing, _ = airing_of(facts, job, progress, sheet, known)
    return AirAsked(airing, water_kg_h(sheet, job, progress))


def room_of(facts: Situation, space: Space, now: datetime | None = None) -> Room | None:
    """A space from now on, ready to be run; None where nobody described it."""
    if space.logged_only or not space.volume or not space.panel:
        return None
    described = with_learned(space, describe(space), learned_in(facts.folder), facts.now)
    try:
        return room_from(
            facts.boat,
            space,
            facts.forecast,
            facts.conditions,
            now or facts.now,
            described,
            facts.drying.get(space.name, ()),
        )
    except ValueError:
        return None


def last_news(facts: Situation, space: str, series: SurfaceSeries) -> datetime:
    """Grid point of what was last heard, or just before: forecast, log, readings there.

    Till then all stands. What can be begun as it is heard can be begun between two points as
    well: so it is the one before. It hangs on nothing but what came in, never on the time it is:
    what is worked out from here on is the same at every minute until there is news.
    """
    own = readings_of(facts.readings, space, facts.now)
    heard = [
        facts.forecast.made,
        *(reading.at for reading in own[-1:]),
        *(done.at for done in facts.dones),
        *(heat.at for heat in facts.heats),
        *(at for coat in facts.coats for at in (coat.start, coat.end)),
    ]
    begins = max([at_index(series, 0), *(at for at in heard if at <= facts.now)])
    return at_index(series, min(last_at_or_before(series, begins), len(series.times) - 2))


def with_given_off(
    facts: Situation,
    job: Job,
    progress: Progress,
    verdict: Verdict,
    *,
    all_windows: bool,
    through: datetime | None = None,
) -> Verdict:
    """Keep only starts that also hold with what the coat asks for and gives off.

    Parameters
    ----------
    facts : Situation
    job : Job
    progress : Progress
        Its next step.
    verdict : Verdict
        As things stand: the space shut, nothing given off.
    all_windows : bool
        Look at all days; else from today until a window of a later day has closed.
    through : datetime, optional
        Else through this day, in the place of today.

    Returns
    -------
    Verdict
        The same where the coat asks for nothing or nobody described the space.
    """
    space = None if job.space is None else facts.boat.find_space(job.space)
    if space is None or space.logged_only or not space.volume or not space.panel:
        return verdict
    airing, known = airing_of(facts, job, progress, verdict.sheet)
    water = water_kg_h(verdict.sheet, job, progress)
    if not airing and not water:
        return verdict
    task = HeatedCoat(
        job=job,
        step=progress.step,
        sheet=verdict.sheet,
        hands_on_h=verdict.hands_on_h,
        base=verdict.series,
        hours_ok=verdict.hours_ok,
        zone=facts.words.zone,
        earliest=facts.now,
        bare_wood=verdict.bare_wood,
        airing_m3_h=airing,
        airing_known=known,
        water_kg_h=water,
    )
    looking = _Looking(facts, space, task, verdict)
    return looking.looked(all_windows=all_windows, through=through or facts.now)


@dataclass(slots=True)
class _Shared:
    """A room and how it stands, made when first needed, for all jobs in a space."""

    facts: Situation
    room: Room | None = None
    stands: SpaceResult | None = None


class _Looking:
    """One job's starts looked at day by day."""

    def __init__(self, facts: Situation, space: Space, task: HeatedCoat, verdict: Verdict) -> None:
        self.facts, self.space, self.task, self.verdict = facts, space, task, verdict
        self._key = ""
        self.from_at = last_news(facts, space.name, verdict.series)
        rooms = facts._rooms
        shared = rooms.get((space.name, self.from_at))
        # Situation made from others hold their rooms too: of another boat, weather or course.
        if shared is None or shared.facts is not facts:
            shared = rooms[space.name, self.from_at] = _Shared(facts)
        self._shared: _Shared = shared

    def looked(self, *, all_windows: bool, through: datetime) -> Verdict:
        verdict = self.verdict
        good = np.flatnonzero(verdict.good())
        first = first_at_or_after(verdict.series, self.from_at)
        good = good[good >= first].astype(np.int64)
        parts: list[dict[str, FloatArray]] = []
        starts: list[IntArray] = []
        last = date.max if all_windows else self.facts.words.local(through).date()
        held: set[int] = set()
        opened = False  # a window behind the last day; one that goes on from it is none
        for day, some in self._together(good, last):
            parts.append(self._held(some))
            starts.append(some)
            needed = share_needed(verdict.series.lead_h[some])
            holds = enough(parts[-1]["ok"].mean(axis=0), needed)
            goes_on = bool(holds.size and holds[-1]) and some[-1] + 1 in good
            held.update(some[holds].tolist())
            new = [index for index in some[holds].tolist() if index - 1 not in held]
            opened = opened or (day > last and bool(new))
            if opened and not goes_on:
                break
        ok = np.zeros_like(verdict.ok)
        joined = _joined(parts, verdict.members)
        at = np.concatenate(starts) if starts else np.zeros(0, np.int64)
        ok[:, at] = verdict.ok[:, at] & (joined["ok"] != 0.0)
        given = GivenOff(
            starts=at,
            ok=ok[:, at],
            dry=joined["dry"].astype(np.int64),
            end=joined["end"].astype(np.int64),
            sure=joined["sure"],
            track=joined["track"].astype(np.int64),
            at=joined["at"].astype(np.int64),
            value=joined["value"],
            aired=self.task.airing_m3_h > 0.0,
            courses=self._courses,
        )
        return replace(verdict, ok=ok, given_off=given)

    def _together(self, good: IntArray, last: date) -> Iterator[tuple[date, IntArray]]:
        """Starts by the day; of those wanted in any case several days at once, if they are few."""
        waiting: list[IntArray] = []
        until = last
        for day, some in self._days(good):
            if waiting and (
                day > last or sum(map(len, waiting), len(some)) * self.verdict.members > _COLUMNS
            ):
                yield until, np.concatenate(waiting)
                waiting = []
            until = day
            waiting.append(some)
            if day > last:
                yield day, some
                waiting = []
        if waiting:
            yield until, np.concatenate(waiting)

    def _days(self, good: IntArray) -> Iterator[tuple[date, IntArray]]:
        """Starts by the boat's day, in order."""
        words, series = self.facts.words, self.verdict.series
        while good.size:
            at = at_index(series, int(good[0]))
            cut = int(np.searchsorted(good, first_at_or_after(series, words.midnight_after(at))))
            yield words.local(at).date(), good[:cut]
            good = good[cut:]

    def _held(self, starts: IntArray) -> dict[str, FloatArray]:
        """What became of starts, (M, K) each; kept on disk."""
        allowed = self.verdict.ok[:, starts]

        def make() -> dict[str, FloatArray]:
            room = self.room()
            rows, columns = np.nonzero(allowed)
            begin = starts[columns] - room.first
            held = hold(
                self.task,
                room,
                self._habits(room),
                self._stands(),
                begin,
                rows.astype(np.int64),
            )
            points = self.verdict.points
            found = {}
            for name, blank in (
                ("ok", 0.0),
                ("dry", points),
                ("end", points),
                ("sure", -9.0),
                ("track", -1.0),
                ("at", 0.0),
                ("value", np.nan),
            ):
                values = np.asarray(getattr(held, name), dtype=np.float64)
                if name in ("dry", "end", "at"):
                    values = values + room.first
                table = np.full(allowed.shape, float(blank))
                table[rows, columns] = values
                found[name] = table
            return found

        return self._kept("held", make, starts, allowed)

    def _courses(self, starts: IntArray) -> list[SurfaceSeries]:
        """Conditions for each start: as things stand before it and long after it."""
        made: dict[int, dict[str, FloatArray]] = {}

        def make(number: int) -> dict[str, FloatArray]:
            """That of one start, and of those to come in the same run if it is not made yet."""
            if number not in made:
                room = self.room()
                some = starts[number : number + max(1, _COLUMNS // room.members)]
                courses = courses_of(
                    self.task, room, self._habits(room), self._stands(), some - room.first
                )
                for place, course in enumerate(courses, number):
                    made[place] = dict(zip(("air", "rh", "dew", "surface"), course, strict=True))
            return made[number]

        nothing = np.zeros(0, np.bool_)
        return [
            self._laid(
                int(start), self._kept("followed", partial(make, n), starts[n : n + 1], nothing)
            )
            for n, start in enumerate(starts)
        ]

    def _laid(self, start: int, found: dict[str, FloatArray]) -> SurfaceSeries:
        base = self.verdict.series
        stop = min(start + found["air"].shape[1], self.verdict.points)

        def laid(under: FloatArray, over: FloatArray) -> FloatArray:
            values = under.copy()
            part = over[:, : stop - start]
            values[:, start:stop] = np.where(np.isnan(part), under[:, start:stop], part)
            return values

        return replace(
            base,
            air_c=laid(base.air_c, found["air"]),
            rh_pct=laid(base.rh_pct, found["rh"]),
            dew_point_c=laid(base.dew_point_c, found["dew"]),
            surface_c=laid(base.surface_c, found["surface"]),
        )

    def _habits(self, room: Room) -> Habits:
        changed = self.facts.changed.get(self.space.name)
        setpoint, power = np.asarray(room.routine_c), None
        own = room.own_air_h
        air: FloatArray | float = room.model.air_changes_h if own is None else own[0]
        if changed is not None:
            if changed.setpoint_c is not None:
                setpoint = np.atleast_2d(changed.setpoint_c)[:, room.first :]
            if changed.power_w is not None:
                given = np.atleast_2d(changed.power_w)[:, room.first :]
                power = np.where(np.isnan(given), room.power_w, given)
            if changed.air_changes_h is not None:
                given = np.atleast_2d(changed.air_changes_h)[:, room.first :]
                air = np.where(np.isnan(given), air, given)
        return Habits(np.atleast_2d(setpoint), air, power)

    def _stands(self) -> SpaceResult:
        """The room as things stand, run once for all that is looked at in it."""
        if self._shared.stands is None:
            room = self.room()
            self._shared.stands = as_it_stands(room, self._habits(room))
        return self._shared.stands

    def room(self) -> Room:
        """The space from the last news on."""
        if self._shared.room is None:
            found = room_of(self.facts, self.space, self.from_at)
            assert found is not None  # described, and the weather reaches so far
            self._shared.room = found
        return self._shared.room

    def _kept(
        self,
        what: str,
        make: Callable[[], dict[str, FloatArray]],
        starts: IntArray,
        allowed: BoolArray,
    ) -> dict[str, FloatArray]:
        if not self._key:
            self._key = self._run_key()
        told = hashlib.sha256(f"{self._key}\n{what}".encode())
        told.update(starts.tobytes())
        told.update(allowed.tobytes())
        return kept_arrays(told.hexdigest()[:32], make)

    def _run_key(self) -> str:
        """A name that is another one as soon as anything the runs depend on is."""
        facts, task = self.facts, self.task
        told = hashlib.sha256(facts_key(facts, task.job.name).encode())
        told.update(repr((facts.boat, self.from_at, task.airing_m3_h, task.water_kg_h)).encode())
        told.update(repr((task.sheet, task.hands_on_h, task.bare_wood)).encode())
        # What-ifs change the space's course, and with it its neighbours'.
        for conditions in facts.conditions.values():
            told.update(conditions.air_c.tobytes())
            told.update(conditions.dew_point_c.tobytes())
        changed = facts.changed.get(self.space.name)
        if changed is not None:
            told.update(changed.mark().encode())
        return told.hexdigest()


def _joined(parts: list[dict[str, FloatArray]], members: int) -> dict[str, FloatArray]:
    names = ("ok", "dry", "end", "sure", "track", "at", "value")
    if not parts:
        return {name: np.zeros((members, 0)) for name in names}
    return {name: np.concatenate([part[name] for part in parts], axis=1) for name in names}
