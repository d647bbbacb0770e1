"""Boats, work, weather, logs and minutes: the demo's, with everything disturbed.

A case is drawn from a seed and a list of disturbances, each of which can be left out: what breaks
a law is shrunk by leaving out what is not needed for it. The weather is short and has few
members, so that a day sheet costs a fraction of a second.
"""

from __future__ import annotations

import copy
import math
import random
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import tomlkit

from curewindow.boat.folder import load_work
from curewindow.demo import files as packaged
from curewindow.record.entries import Coat, Done, Heat, Reading
from curewindow.record.store import Record

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
"""The demo's own morning."""
BEFORE_D, AHEAD_D = 3, 4
MOST_JOBS = 3
Table = dict[str, Any]


@dataclass
class Case:
    """A boat on a day, before it is written down.

    Attributes
    ----------
    boat, work : dict
        As the files hold them.
    log : list
        Readings, coats, finished steps, heaters.
    weather : list of dict
        One a member: base, swing, spread, wind, rain_from, rain_h, cloud, trend.
    moments : list of datetime
        In order of time, aware UTC.
    """

    boat: Table
    work: Table
    log: list[Reading | Coat | Done | Heat]
    weather: list[Table]
    moments: list[datetime]
    told: list[str] = field(default_factory=list)

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.boat["place"]["time_zone"])

    @property
    def jobs(self) -> list[Table]:
        jobs: list[Table] = self.work["job"]
        return jobs

    @property
    def spaces(self) -> list[Table]:
        spaces: list[Table] = self.boat["space"]
        return spaces

    def copy(self) -> Case:
        return copy.deepcopy(self)


def demo(folder: Path) -> Case:
    """The demo's own boat, read back from what is copied out of the package."""
    packaged.write(folder, MORNING)
    boat = tomllib.loads((folder / "boat.toml").read_text("utf-8"))
    work = tomllib.loads((folder / "work.toml").read_text("utf-8"))
    boat["weather"] = {"feed": "file", "file": "weather.csv", "keep_forecasts": False}
    with Record(folder / "record.db", read_only=True) as record:
        log = [*record.readings(), *record.coats(), *record.done()]
    log = [replace(each, id=0) for each in log if not isinstance(each, Reading) or _late(each)]
    weather = [
        {"base": 11.0 + 0.4 * m, "swing": 2.0, "spread": 4.0, "wind": 3.0, "cloud": 60.0}
        for m in range(3)
    ]
    return Case(boat, work, log, weather, [MORNING])


def _late(reading: Reading) -> bool:
    return reading.at > MORNING - timedelta(hours=30)


def write(case: Case, folder: Path) -> Path:
    """Write a case down as a boat folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "boat.toml").write_text(tomlkit.dumps(case.boat), "utf-8")
    (folder / "work.toml").write_text(tomlkit.dumps(case.work), "utf-8")
    (folder / "weather.csv").write_text(_weather(case), "utf-8")
    for name in ("record.db", "record.db-wal", "record.db-shm", "plan.json", "told.json"):
        (folder / name).unlink(missing_ok=True)
    with Record(folder / "record.db", now=lambda: case.moments[-1] + timedelta(days=9)) as record:
        record.add_readings([e for e in case.log if isinstance(e, Reading)], what="drawn")
        for entry in case.log:
            if isinstance(entry, Coat):
                record.add_coat(entry)
            elif isinstance(entry, Done):
                record.add_done(entry)
            elif isinstance(entry, Heat):
                record.add_heat(entry)
    load_work(folder)
    return folder


def _weather(case: Case) -> str:
    """Hourly rows, one a member: a daily course, a slow trend, a shower."""
    lines = ["time,member,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    first = MORNING.replace(hour=0, minute=0) - timedelta(days=BEFORE_D)
    for hour in range(24 * (BEFORE_D + AHEAD_D) + 1):
        at = first + timedelta(hours=hour)
        past = at <= case.moments[0]
        for number, one in enumerate(case.weather):
            it = case.weather[0] if past else one  # what has been is the same in all
            day = math.sin((at.hour - 9) / 24.0 * 2.0 * math.pi)
            temp = it["base"] + it["swing"] * day + it.get("trend", 0.0) * hour / 24.0
            spread = max(it["spread"] * (1.0 + 0.5 * day), 0.0)
            begins = it.get("rain_from", 9999)
            rain = 0.8 if begins <= hour < begins + it.get("rain_h", 0) else 0.0
            sun = max(0.0, 150.0 * math.sin((at.hour - 8) / 8.0 * math.pi)) * (
                1.0 - it["cloud"] / 120.0
            )
            lines.append(
                f"{at:%Y-%m-%dT%H:%M}Z,{number},{temp:.1f},{temp - spread:.1f},"
                f"{it['wind']:.1f},{rain},{it['cloud']:.0f},{sun if 8 < at.hour < 16 else 0.0:.0f}"
            )
    return "\n".join(lines) + "\n"


# ---- disturbances: each takes a case and changes it in place ------------------------------

Disturbance = Callable[[random.Random, Case], None]
DISTURBANCES: dict[str, Disturbance] = {}


def _disturbs(made: Disturbance) -> Disturbance:
    DISTURBANCES[made.__name__] = made
    return made


def keep_jobs(case: Case, names: set[str]) -> None:
    """Only these jobs, in the list and in the log; nothing waits for one that is gone."""
    case.work["job"] = [job for job in case.jobs if job["name"] in names]
    for job in case.jobs:
        for key in ("after", "after_touch_dry", "after_cured"):
            if key in job:
                job[key] = [name for name in job[key] if name in names]
    case.log = [e for e in case.log if not isinstance(e, Coat | Done) or e.job in names]


def _job(rng: random.Random, case: Case) -> Table:
    return rng.choice(case.jobs)


def _product_steps(case: Case) -> list[tuple[Table, int, Table]]:
    return [
        (job, number, step)
        for job in case.jobs
        for number, step in enumerate(job["step"], 1)
        if "sheet" in step
    ]


def rename(case: Case, names: dict[str, str]) -> None:
    """Jobs under other names, wherever they stand."""
    for job in case.jobs:
        job["name"] = names.get(job["name"], job["name"])
        for key in ("after", "after_touch_dry", "after_cured"):
            if key in job:
                job[key] = [names.get(name, name) for name in job[key]]
    case.log = [
        replace(e, job=names.get(e.job, e.job)) if isinstance(e, Coat | Done) else e
        for e in case.log
    ]


def rename_spaces(case: Case, names: dict[str, str]) -> None:
    """Spaces under other names, wherever they stand."""
    for space in case.spaces:
        space["name"] = names.get(space["name"], space["name"])
        if "connected_to" in space:
            space["connected_to"] = [names.get(n, n) for n in space["connected_to"]]
        if "outlet_of" in space.get("heating", {}):
            of = space["heating"]["outlet_of"]
            space["heating"]["outlet_of"] = names.get(of, of)
        for panel in space.get("panel", []):
            panel["outside"] = names.get(panel.get("outside", "air"), panel.get("outside", "air"))
    for door in case.boat.get("door", []):
        door["between"] = [names.get(n, n) for n in door["between"]]
    for job in case.jobs:
        if "space" in job:
            job["space"] = names.get(job["space"], job["space"])
    case.log = [
        replace(e, space=names.get(e.space, e.space)) if isinstance(e, Reading | Heat) else e
        for e in case.log
    ]


_ODD = (
    "now and then",
    "coat 3 of 5",
    "locker, port",
    "today's hatch",
    "24 °C shelf",
    "wiped dry",
    "Ø ring: frame",
    "(inner) door",
)


@_disturbs
def odd_names(rng: random.Random, case: Case) -> None:
    names = [job["name"] for job in case.jobs]
    rename(case, dict(zip(names, rng.sample(_ODD, len(names)), strict=True)))


@_disturbs
def odd_spaces(rng: random.Random, case: Case) -> None:
    names = [space["name"] for space in case.spaces]
    new = rng.sample(("cabin, aft", "Fri", "sole: low", "dry store", "the 'den'"), len(names))
    rename_spaces(case, dict(zip(names, new, strict=True)))


@_disturbs
def other_order(rng: random.Random, case: Case) -> None:
    rng.shuffle(case.work["job"])


@_disturbs
def other_sheet(rng: random.Random, case: Case) -> None:
    sheets = {
        "coat": (
            "alkyd-enamel",
            "oil-varnish",
            "one-part-urethane-varnish",
            "two-part-epoxy-primer",
            "two-part-epoxy-primer-winter",
            "waterborne-acrylic-paint",
            "waterborne-acrylic-varnish",
            "wood-oil",
            "bilge-and-locker-paint",
            "two-part-urethane-varnish",
        ),
        "bond": ("epoxy-adhesive", "polyurethane-wood-glue", "pva-wood-glue"),
        "seal": ("hybrid-sealant", "polyurethane-sealant", "silicone-sealant"),
    }
    if steps := _product_steps(case):
        job, number, step = rng.choice(steps)
        step["sheet"] = rng.choice(sheets[step["do"]])
        case.log = [
            replace(e, sheet=step["sheet"])
            if isinstance(e, Coat) and (e.job, e.step) == (job["name"], number)
            else e
            for e in case.log
        ]


@_disturbs
def other_hands(rng: random.Random, case: Case) -> None:
    step = rng.choice(_job(rng, case)["step"])
    step["hands_on"] = f"{rng.choice((5, 25, 37, 60, 95, 150, 240, 480))} min"


@_disturbs
def other_coats(rng: random.Random, case: Case) -> None:
    if steps := [each for each in _product_steps(case) if each[2]["do"] == "coat"]:
        step = rng.choice(steps)[2]
        step["coats"] = rng.randint(1, 4)
        step["between"] = rng.choice(("sand", "as is", "hot coat"))


@_disturbs
def other_hours(rng: random.Random, case: Case) -> None:
    days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    some = sorted(rng.sample(days, rng.randint(1, 6)), key=days.index)
    first, last = rng.choice(((8, 0), (7, 45), (9, 33), (13, 5))), rng.choice(((16, 20), (18, 0)))
    case.boat["hours"] = [{"days": some, "from": time(*first), "until": time(*last)}]
    if rng.random() < 0.4:
        case.boat["hours"].append({"days": days, "from": time(19), "until": time(21, 15)})


@_disturbs
def no_hours(rng: random.Random, case: Case) -> None:
    case.boat.pop("hours", None)


@_disturbs
def other_zone(rng: random.Random, case: Case) -> None:
    case.boat["place"]["time_zone"] = rng.choice(
        ("Europe/Lisbon", "Asia/Kolkata", "America/St_Johns", "Pacific/Auckland", "UTC")
    )


@_disturbs
def other_units(rng: random.Random, case: Case) -> None:
    case.boat["units"] = {"temperature": "°F"}


@_disturbs
def sleepers(rng: random.Random, case: Case) -> None:
    rng.choice(case.spaces)["slept_in"] = True


@_disturbs
def other_heater(rng: random.Random, case: Case) -> None:
    heated = [space for space in case.spaces if "heating" in space]
    if not heated:
        return
    heating = rng.choice(heated)["heating"]
    choice = rng.randrange(4)
    if rng.random() < 0.4:
        heating["unattended"] = rng.choice(("never", "asleep aboard"))
    if choice == 0:
        heating["routine"] = []
    elif choice == 1:
        heating |= {"vented": False, "open_flame": True, "kind": "paraffin"}
        heating.pop("unattended", None)
    elif choice == 2:
        day = datetime.combine(date(2026, 11, rng.choice((25, 26))), time())
        first = day + timedelta(hours=rng.randint(0, 20))
        until = first + timedelta(days=2)
        heating["out_of_order"] = [{"from": first, "until": until}]
    else:
        heating["power"] = rng.choice(("600 W", "1.5 kW", "9 kW"))


@_disturbs
def no_heater(rng: random.Random, case: Case) -> None:
    for space in case.spaces:
        space.pop("heating", None)


@_disturbs
def warm(rng: random.Random, case: Case) -> None:
    up = rng.uniform(6.0, 14.0)
    for one in case.weather:
        one["base"] += up
        one["spread"] += rng.uniform(2.0, 6.0)


@_disturbs
def cold(rng: random.Random, case: Case) -> None:
    down = rng.uniform(3.0, 12.0)
    for one in case.weather:
        one["base"] -= down


@_disturbs
def damp(rng: random.Random, case: Case) -> None:
    for one in case.weather:
        one["spread"] = rng.uniform(0.1, 1.2)


@_disturbs
def dry_air(rng: random.Random, case: Case) -> None:
    for one in case.weather:
        one["spread"] = rng.uniform(5.0, 9.0)


@_disturbs
def one_forecast(rng: random.Random, case: Case) -> None:
    """A file with one forecast, as most are: it is told with others as good."""
    del case.weather[1:]


@_disturbs
def showers(rng: random.Random, case: Case) -> None:
    begins = rng.randrange(24, 24 * 6)
    for one in case.weather:
        one |= {"rain_from": begins + rng.randint(-5, 5), "rain_h": rng.randint(1, 20)}


@_disturbs
def swings(rng: random.Random, case: Case) -> None:
    swing, trend = rng.uniform(3.0, 8.0), rng.uniform(-3.0, 3.0)
    for one in case.weather:
        one |= {"swing": swing, "trend": trend, "cloud": rng.choice((5.0, 100.0))}


@_disturbs
def fresh_reading(rng: random.Random, case: Case) -> None:
    space = rng.choice(case.spaces)["name"]
    at = case.moments[0] - timedelta(seconds=rng.randint(20, 900))
    air, rh = rng.uniform(4.0, 24.0), rng.uniform(40.0, 95.0)
    case.log.append(Reading(space, at, air_c=round(air, 1), rh_pct=round(rh)))


@_disturbs
def late_coat(rng: random.Random, case: Case) -> None:
    """A coat of a job's next step went on some hours ago."""
    steps = _product_steps(case)
    if not steps:
        return
    job, number, step = rng.choice(steps)
    own = [e for e in case.log if isinstance(e, Coat) and e.job == job["name"] and e.step == number]
    coat = max((e.coat for e in own), default=0) + 1
    if coat > step.get("coats", 1):
        return
    before = [e.end for e in case.log if isinstance(e, Coat) and e.job == job["name"]]
    end = case.moments[0] - timedelta(minutes=rng.randint(5, 3000))
    begin = end - timedelta(minutes=rng.randint(5, 90))
    if all(each < begin for each in before):
        case.log.append(Coat(job["name"], number, coat, begin, end, step["sheet"]))


@_disturbs
def nothing_logged(rng: random.Random, case: Case) -> None:
    case.log = [e for e in case.log if isinstance(e, Reading)]


@_disturbs
def no_readings(rng: random.Random, case: Case) -> None:
    case.log = [e for e in case.log if not isinstance(e, Reading)]


@_disturbs
def heater_lit(rng: random.Random, case: Case) -> None:
    heated = [space["name"] for space in case.spaces if "heating" in space]
    if heated:
        at = case.moments[0] - timedelta(minutes=rng.randint(3, 600))
        until = at + timedelta(hours=rng.randint(2, 40))
        setpoint = rng.choice((None, 12.0, 20.0, 24.0))
        case.log.append(Heat(rng.choice(heated), at, until, setpoint))


@_disturbs
def delivery(rng: random.Random, case: Case) -> None:
    days = rng.choice((-1, 0, 1, 2, 9, 30))
    latest = date(2026, 11, 25) + timedelta(days=days)
    _job(rng, case)["delivery"] = [{"what": "a long-awaited box", "latest": latest}]


@_disturbs
def outdoors(rng: random.Random, case: Case) -> None:
    job = _job(rng, case)
    for key in ("space", "panel"):
        job.pop(key, None)
    job["outdoors"] = True


@_disturbs
def other_panel(rng: random.Random, case: Case) -> None:
    inside = [job for job in case.jobs if "space" in job]
    if inside:
        job = rng.choice(inside)
        space = rng.choice(case.spaces)
        job["space"] = space["name"]
        job["panel"] = rng.choice(space["panel"])["name"]


@_disturbs
def sand_next(rng: random.Random, case: Case) -> None:
    job = _job(rng, case)
    job["step"].append({"do": "sand", "hands_on": "50 min"})


@_disturbs
def in_turn(rng: random.Random, case: Case) -> None:
    if len(case.jobs) > 1:
        first, then = case.jobs[0], case.jobs[-1]
        key = rng.choice(("after", "after_touch_dry", "after_cured"))
        then[key] = [*then.get(key, []), first["name"]]
        for mine in first.keys() & {"after", "after_touch_dry", "after_cured"}:
            first[mine] = [name for name in first[mine] if name != then["name"]]


@_disturbs
def open_door(rng: random.Random, case: Case) -> None:
    names = [space["name"] for space in case.spaces]
    if len(names) > 1:
        case.boat["door"] = [{"between": rng.sample(names, 2), "open": True}]


# ---- drawing a case ----------------------------------------------------------------------


def drawn(
    seed: int, base: Case, *, moments: int = 20, without: frozenset[str] = frozenset()
) -> Case:
    """The case of a seed; ``without`` these disturbances, all else alike."""
    case = base.copy()
    rng = random.Random(seed)
    begins = MORNING.replace(hour=0, minute=0) + timedelta(seconds=rng.randrange(86400))
    some = rng.sample([job["name"] for job in case.jobs], rng.randint(1, MOST_JOBS))
    chosen = rng.sample(sorted(DISTURBANCES), rng.randint(2, 9))
    moved = begins - MORNING
    case.log = [_moved(e, moved) for e in case.log]
    case.moments = sorted({begins, *_moments(rng, begins, moments)})
    keep_jobs(case, set(some))
    used = {job["space"] for job in case.jobs if "space" in job}
    keep_spaces(case, used)
    if rng.random() < 0.8 and not {"other_heater", "heater_lit"} & set(chosen):
        # heat is what takes longest to look for
        no_heater(rng, case)
    for number, name in enumerate(chosen):
        if name not in without:
            DISTURBANCES[name](random.Random(seed * 1009 + number), case)
            case.told.append(name)
    return case


def keep_spaces(case: Case, used: set[str]) -> None:
    """The spaces with work in them, and those whose heater theirs hang on; one at least."""
    wanted = set(used) or {case.spaces[-1]["name"]}
    wanted |= {
        space["heating"]["outlet_of"]
        for space in case.spaces
        if space["name"] in wanted and "outlet_of" in space.get("heating", {})
    }
    case.boat["space"] = [space for space in case.spaces if space["name"] in wanted]
    for space in case.spaces:
        if "connected_to" in space:
            space["connected_to"] = [n for n in space["connected_to"] if n in wanted]
    case.log = [
        e
        for e in case.log
        if not isinstance(e, Reading | Heat) or e.space in wanted or e.space == "outdoors"
    ]


def _moved(entry: Any, by: timedelta) -> Any:
    if isinstance(entry, Coat):
        return replace(entry, start=entry.start + by, end=entry.end + by)
    return replace(entry, at=entry.at + by)


def _moments(rng: random.Random, begins: datetime, count: int) -> Iterator[datetime]:
    """Any second, and often one shortly before or after another."""
    while count > 0:
        at = begins + timedelta(seconds=rng.randrange(60 * 3600))
        for step in (0, rng.choice((1, 59, 60, 61, 600))):
            yield at + timedelta(seconds=step)
            count -= 1
