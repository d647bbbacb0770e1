"""Three invented boats with six indoor jobs each: as the planner reads them, and as they are.

The description goes into boat.toml and work.toml. The true boat is drawn around it: what a
panel lets through, how much air leaks, what the heater gives, how fast a tin hardens.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.winter.cabin import Cabins, Heater, Panel, Space
from tests.benchmarks.winter.weather import Winter

# Conductivity W/mK, heat capacity J/m³K. Handbook values, rounded, from memory.
_MATERIALS = {
    "steel": (50.0, 3.8e6),
    "plywood": (0.13, 0.9e6),
    "mineral wool": (0.038, 0.05e6),
    "glass": (1.0, 1.9e6),
    "mahogany": (0.15, 0.9e6),
    "larch": (0.14, 0.9e6),
    "laminate": (0.25, 1.8e6),
}
_IN_TOML = {"laminate": "solid GRP", "larch": "pine"}


@dataclass(frozen=True)
class Side:
    """A panel as described: layers from inside to outside, (material, mm)."""

    name: str
    area: float
    layers: tuple[tuple[str, float], ...]
    facing: str = "side"
    water: bool = False


@dataclass(frozen=True)
class Room:
    """A space as described."""

    name: str
    volume: float
    air_change: float
    sides: tuple[Side, ...]
    power_kw: float
    moisture_g_h: float = 0.0


@dataclass(frozen=True)
class Part:
    """A step of a job: coats of a tin, or work without one."""

    do: str
    hands_h: float
    tin: str = ""
    coats: int = 1
    between: str = ""


@dataclass(frozen=True)
class Job:
    """A job indoors."""

    name: str
    space: str
    panel: str
    area: float
    substrate: str
    parts: tuple[Part, ...]
    after_cured: tuple[str, ...] = ()


@dataclass(frozen=True)
class Boat:
    """A boat and its work. The first room has the heater, the others an outlet of it."""

    name: str
    rooms: tuple[Room, ...]
    jobs: tuple[Job, ...]
    doors: tuple[tuple[str, str], ...] = field(default=())


_VARNISH, _ACRYLIC = "one-part-urethane-varnish", "waterborne-acrylic-varnish"
_WINTER, _LOCKER = "two-part-epoxy-primer-winter", "bilge-and-locker-paint"
_ENAMEL, _WOOD_PRIMER = "alkyd-enamel", "alkyd-wood-primer"
_GLUE = "low-temperature-panel-adhesive"

_STEEL = Boat(
    "steel cruiser",
    (
        Room(
            "saloon",
            26.0,
            0.8,
            (
                Side(
                    "panelled side",
                    11.0,
                    (("plywood", 9), ("mineral wool", 50), ("steel", 4)),
                ),
                Side("locker side", 4.0, (("steel", 4),)),
                Side(
                    "overhead",
                    13.0,
                    (("plywood", 9), ("mineral wool", 40), ("steel", 4)),
                    "overhead",
                ),
                Side("bilge", 12.0, (("steel", 6),), "sole", True),
            ),
            5.0,
            20.0,
        ),
        Room(
            "forepeak",
            7.0,
            0.8,
            (
                Side("hull sides", 9.0, (("steel", 5),)),
                Side("deck", 5.0, (("steel", 4),), "overhead"),
            ),
            2.0,
        ),
        Room(
            "wheelhouse",
            9.0,
            0.8,
            (
                Side("sides", 7.0, (("mahogany", 18),)),
                Side("windows", 4.0, (("glass", 6),)),
                Side("roof", 4.5, (("plywood", 24),), "overhead"),
            ),
            2.0,
        ),
    ),
    (
        Job(
            "saloon doors",
            "saloon",
            "",
            5.0,
            "old urethane-alkyd, sound",
            (Part("sand", 3.0), Part("coat", 1.25, _VARNISH, 3, "as is")),
        ),
        Job(
            "locker primer",
            "saloon",
            "locker side",
            4.0,
            "bare steel",
            (Part("prepare", 2.0), Part("coat", 0.75, _WINTER, 2, "as is")),
        ),
        Job(
            "locker cork",
            "saloon",
            "locker side",
            4.0,
            "old epoxy, sound",
            (Part("bond", 2.0, _GLUE),),
            ("locker primer",),
        ),
        Job(
            "forepeak frames",
            "forepeak",
            "hull sides",
            9.0,
            "bare steel",
            (
                Part("prepare", 4.0),
                Part("coat", 1.7, _WINTER, 2, "as is"),
                Part("coat", 1.5, _LOCKER, 1, "as is"),
            ),
        ),
        Job(
            "wheelhouse trim",
            "wheelhouse",
            "",
            2.0,
            "old urethane-alkyd, sound",
            (Part("sand", 1.5), Part("coat", 0.75, _VARNISH, 2, "sand")),
        ),
        Job(
            "chart table",
            "saloon",
            "",
            1.4,
            "ash",
            (Part("sand", 1.0), Part("coat", 0.5, _ACRYLIC, 3, "sand")),
        ),
    ),
    (("saloon", "forepeak"), ("saloon", "wheelhouse")),
)

_SLOOP = Boat(
    "glassfibre sloop",
    (
        Room(
            "saloon",
            15.0,
            0.7,
            (
                Side("hull", 12.0, (("plywood", 6), ("mineral wool", 20), ("laminate", 9))),
                Side("coachroof", 8.0, (("plywood", 12), ("laminate", 6)), "overhead"),
                Side("sole", 7.0, (("laminate", 14),), "sole", True),
            ),
            3.5,
            15.0,
        ),
        Room(
            "forecabin",
            6.5,
            0.7,
            (
                Side("hull", 9.0, (("laminate", 9),)),
                Side("deck", 4.0, (("laminate", 12),), "overhead"),
            ),
            1.8,
        ),
        Room(
            "aft cabin",
            6.0,
            0.7,
            (
                Side("hull", 7.0, (("laminate", 9),)),
                Side("deck", 4.5, (("laminate", 12),), "overhead"),
            ),
            1.8,
        ),
    ),
    (
        Job(
            "bulkheads",
            "saloon",
            "",
            6.0,
            "old urethane-alkyd, sound",
            (Part("sand", 3.0), Part("coat", 1.25, _VARNISH, 3, "as is")),
        ),
        Job(
            "galley front",
            "saloon",
            "",
            2.0,
            "beech",
            (
                Part("sand", 1.0),
                Part("coat", 0.75, _WOOD_PRIMER, 1),
                Part("coat", 0.75, _ENAMEL, 2, "sand"),
            ),
        ),
        Job(
            "chain locker",
            "forecabin",
            "hull",
            4.0,
            "laminate",
            (Part("prepare", 3.0), Part("coat", 1.0, _WINTER, 2, "as is")),
        ),
        Job(
            "forecabin lining",
            "forecabin",
            "hull",
            4.0,
            "old epoxy, sound",
            (Part("bond", 2.0, _GLUE),),
            ("chain locker",),
        ),
        Job(
            "aft cabin lockers",
            "aft cabin",
            "hull",
            5.0,
            "old alkyd, sound",
            (Part("sand", 2.0), Part("coat", 1.25, _LOCKER, 2, "sand")),
        ),
        Job(
            "aft cabin shelf",
            "aft cabin",
            "",
            1.0,
            "ash",
            (Part("sand", 1.0), Part("coat", 0.5, _ACRYLIC, 3, "sand")),
        ),
    ),
    (("saloon", "forecabin"), ("saloon", "aft cabin")),
)

_CUTTER = Boat(
    "wooden cutter",
    (
        Room(
            "saloon",
            19.0,
            1.0,
            (
                Side("hull", 16.0, (("larch", 36),)),
                Side("coachroof", 10.0, (("larch", 24),), "overhead"),
                Side("sole", 8.0, (("larch", 40),), "sole", True),
            ),
            4.0,
            20.0,
        ),
        Room(
            "forecabin",
            8.0,
            1.0,
            (
                Side("hull", 10.0, (("larch", 36),)),
                Side("deck", 5.0, (("larch", 28),), "overhead"),
            ),
            2.0,
        ),
    ),
    (
        Job(
            "saloon panelling",
            "saloon",
            "",
            8.0,
            "old urethane-alkyd, sound",
            (Part("sand", 4.0), Part("coat", 1.75, _VARNISH, 3, "as is")),
        ),
        Job(
            "saloon table",
            "saloon",
            "",
            1.6,
            "ash",
            (Part("sand", 1.5), Part("coat", 0.5, _ACRYLIC, 4, "sand")),
        ),
        Job(
            "companionway",
            "saloon",
            "",
            2.0,
            "old urethane-alkyd, sound",
            (Part("sand", 1.5), Part("coat", 0.75, _VARNISH, 2, "sand")),
        ),
        Job(
            "deckhead",
            "saloon",
            "coachroof",
            9.0,
            "old alkyd, sound",
            (Part("sand", 3.0), Part("coat", 2.0, _ENAMEL, 2, "sand")),
        ),
        Job(
            "forecabin hull",
            "forecabin",
            "hull",
            8.0,
            "old alkyd, sound",
            (Part("sand", 3.0), Part("coat", 1.75, _LOCKER, 2, "as is")),
        ),
        Job(
            "forecabin bunk",
            "forecabin",
            "",
            2.0,
            "larch",
            (
                Part("sand", 1.0),
                Part("coat", 0.75, _WOOD_PRIMER, 1),
                Part("coat", 0.75, _ENAMEL, 1),
            ),
        ),
    ),
    (("saloon", "forecabin"),),
)

BOATS = (_STEEL, _SLOOP, _CUTTER)


def write(boat: Boat, winter: Winter, folder: Path, hours: str, years: dict[str, str]) -> None:
    """Write boat.toml, work.toml and the past winters of a boat."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = [
        "format = 1",
        f'name = "{boat.name}"',
        'tins_kept = "home"',
        "[place]",
        'name = "the basin"',
        f"latitude = {winter.latitude}",
        f"longitude = {winter.longitude}",
        f'time_zone = "{winter.time_zone}"',
        "[weather]",
        'feed = "file"',
        'file = "weather.csv"',
        "keep_forecasts = false",
        f"past = {list(years)!r}",
        "[[hours]]",
        "days = "
        + ('["Sat", "Sun"]' if hours == "weekend" else str(list(_WEEK)).replace("'", '"')),
        "from = 09:00:00",
        "until = 18:00:00",
    ]
    for number, room in enumerate(boat.rooms):
        near = [b if a == room.name else a for a, b in boat.doors if room.name in (a, b)]
        lines += [
            "[[space]]",
            f'name = "{room.name}"',
            f'volume = "{room.volume:g} m³"',
            f'air_change = "{room.air_change:g} /h"',
            "slept_in = false",
            f"connected_to = {near!r}".replace("'", '"'),
        ]
        if room.moisture_g_h:
            lines.append(f'moisture = "{room.moisture_g_h:g} g/h"')
        for side in room.sides:
            layers = ", ".join(
                f'{{ material = "{_IN_TOML.get(m, m)}", thickness = "{mm:g} mm" }}'
                for m, mm in side.layers
            )
            lines += ["[[space.panel]]", f'name = "{side.name}"', f'area = "{side.area:g} m²"']
            if side.facing != "side":
                lines.append(f'facing = "{side.facing}"')
            if side.water:
                lines.append('outside = "water"')
            lines.append(f"layers = [{layers}]")
        lines += [
            "[space.heating]",
            'kind = "diesel"',
            f'power = "{room.power_kw:g} kW"',
            "vented = true",
            "open_flame = false",
        ]
        if number == 0:
            lines += ['unattended = "yes"', "at_once = 1"]
        else:
            lines += [f'outlet_of = "{boat.rooms[0].name}"']
    (folder / "boat.toml").write_text("\n".join(lines) + "\n", "utf-8")
    work = ["format = 1"]
    for job in boat.jobs:
        work += [
            "[[job]]",
            f'name = "{job.name}"',
            f'space = "{job.space}"',
            f'area = "{job.area:g} m²"',
            f'substrate = "{job.substrate}"',
        ]
        if job.panel:
            work.append(f'panel = "{job.panel}"')
        if job.after_cured:
            work.append(f"after_cured = {list(job.after_cured)!r}".replace("'", '"'))
        for part in job.parts:
            work += ["[[job.step]]", f'do = "{part.do}"', f'hands_on = "{part.hands_h:g} h"']
            if part.tin:
                work.append(f'sheet = "{part.tin}"')
            if part.do == "coat":
                work.append(f"coats = {part.coats}")
            if part.between:
                work.append(f'between = "{part.between}"')
    (folder / "work.toml").write_text("\n".join(work) + "\n", "utf-8")
    for name, text in years.items():
        (folder / name).write_text(text, "utf-8")


_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def true_cabins(boat: Boat, rng: random.Random) -> Cabins:
    """The boat as it is: drawn around what is described."""

    def near(sigma: float) -> float:
        return rng.lognormvariate(0.0, sigma)

    leaky, lets_through, outlets = near(0.3), near(0.12), near(0.0)
    spaces = {}
    for room in boat.rooms:
        panels = []
        for side in room.sides:
            resistance = sum(mm / 1000.0 / _MATERIALS[m][0] for m, mm in side.layers)
            inner = side.layers[0]
            deep = min(inner[1] / 1000.0, 0.02)
            panels.append(
                Panel(
                    side.name,
                    side.area,
                    (resistance + 1e-4) / (lets_through * near(0.08))
                    + (0.02 if side.water else 0.0),
                    deep * _MATERIALS[inner[0]][1] * near(0.15),
                    side.water,
                    0.3 if side.facing == "overhead" else 0.0 if side.water else 0.15,
                )
            )
        joinery = 4.0 * room.volume ** (2.0 / 3.0)
        spaces[room.name] = Space(
            room.name,
            room.volume,
            room.air_change * leaky * near(0.15),
            joinery * near(0.2),
            0.012 * 0.9e6 * near(0.2),
            joinery * 0.6 * near(0.3),
            room.moisture_g_h / 3.6e6 * near(0.3),
            panels,
        )
    doors = [(one, other, 0.02 * near(0.4)) for one, other in boat.doors]
    weak = rng.uniform(0.85, 1.05)
    heater = Heater(
        {room.name: 1000.0 * room.power_kw * weak * outlets for room in boat.rooms},
        1,
        {room.name: rng.gauss(0.0, 0.6) for room in boat.rooms},
    )
    return Cabins(spaces, doors, heater)


def true_paces(boat: Boat, rng: random.Random) -> dict[str, float]:
    """How long each tin truly takes, as a multiple of what is printed."""
    tins = sorted({part.tin for job in boat.jobs for part in job.parts if part.tin})
    return {name: rng.uniform(0.8, 1.25) for name in tins}
