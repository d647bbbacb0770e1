"""The first boat.toml and work.toml: written once from a few answers, then the owner's."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from curewindow.errors import BoatError, QuantityError

_SIZE = re.compile(
    r"\s(\d+(?:[.,]\d+)?)\s*[x×*]\s*(\d+(?:[.,]\d+)?)\s*[x×*]\s*(\d+(?:[.,]\d+)?)\s*m?\b",
    re.IGNORECASE,
)
# Usual scantlings of small craft, to be corrected by the owner. Common practice, no source.
_HULL_LAYERS = {
    "steel": '{ material = "steel", thickness = "4 mm" }',
    "aluminium": '{ material = "aluminium", thickness = "5 mm" }',
    "grp": '{ material = "solid GRP", thickness = "8 mm" }',
    "wood": '{ material = "pine", thickness = "25 mm" }',
}
_INSULATED = (
    '{ material = "plywood", thickness = "6 mm" }, '
    '{ material = "mineral wool", thickness = "40 mm" }, '
)
# What a heater of the kind usually is; where in doubt the answer that warns more.
_HEATERS = {
    "electric": ("1.5 kW", False, False),
    "diesel": ("2 kW", True, False),
    "gas": ("2 kW", False, True),
    "paraffin": ("2 kW", False, True),
    "solid fuel": ("3 kW", True, True),
}


@dataclass(frozen=True, slots=True)
class SpaceAnswer:
    """A space as answered; sizes in m, None where only its readings will be known."""

    name: str
    length_m: float | None = None
    width_m: float | None = None
    height_m: float | None = None
    insulated: bool = False


@dataclass(frozen=True, slots=True)
class Answers:
    """What setup was told."""

    name: str
    latitude: float
    longitude: float
    zone: str
    unit: str
    hull: str
    spaces: tuple[SpaceAnswer, ...]
    heater: str | None
    unattended: str = "never"
    tins: str = "aboard"
    sleeps: tuple[str, ...] | None = None
    lights: tuple[tuple[str, str], ...] = ()
    """Kind and space of what can light vapour."""


def read_sleeps(text: str, spaces: Sequence[SpaceAnswer]) -> tuple[str, ...] | None:
    """Read where someone sleeps: 'saloon, forepeak', 'nobody'; None where nobody says.

    Raises
    ------
    QuantityError
        No space of that name.
    """
    if not text.strip():
        return None
    if text.strip().casefold() == "nobody":
        return ()
    return tuple(_named(name.strip(), spaces) for name in text.split(","))


def read_lights(text: str, spaces: Sequence[SpaceAnswer]) -> tuple[str, str]:
    """Read what can light vapour, and where: 'cooker saloon', 'bilge pump'.

    Raises
    ------
    QuantityError
        No such kind, no such space, or several spaces and none was named.
    """
    from curewindow.boat.ignition import IgnitionKind

    kinds = [kind for kind in get_args(IgnitionKind) if kind != "other"]
    typed = " ".join(text.split())
    kind = next((k for k in kinds if f"{typed} ".casefold().startswith(f"{k} ")), None)
    if kind is None:
        raise QuantityError(f"'{typed}' is none of {', '.join(kinds)}")
    where = typed[len(kind) :].strip()
    if not where and len(spaces) == 1:
        return kind, spaces[0].name
    return kind, _named(where, spaces)


def _named(name: str, spaces: Sequence[SpaceAnswer]) -> str:
    same = [each.name for each in spaces if each.name.casefold() == name.casefold()]
    if not same:
        known = ", ".join(each.name for each in spaces) or "none"
        raise QuantityError(f"'{name}' is not a space; there are: {known}")
    return same[0]


def may_be_asked_alone(heater: str) -> bool:
    """Is it a kind of heater some of which may be left alone?"""
    return heater != "none" and (heater == "electric" or _HEATERS[heater][1])


def read_space(text: str) -> SpaceAnswer:
    """Read a space as it is typed: 'saloon', 'saloon 5x3x1.9', 'saloon 5x3x1.9 insulated'.

    Raises
    ------
    QuantityError
        There is a number in it but no readable size, or no name.
    """
    insulated = bool(re.search(r"\binsulated\b", text, re.IGNORECASE))
    rest = re.sub(r"\b(?:un)?insulated\b", "", text, flags=re.IGNORECASE)
    size = _SIZE.search(rest)
    name = (rest[: size.start()] if size else rest).strip(" ,:")
    if not name or (size is None and re.search(r"\d\s*[x×*]\s*\d", rest)):
        raise QuantityError(
            f"'{text}' is not a space; write its name, or 'saloon 5x3x1.9' (length, width, "
            "height in metres)"
        )
    if size is None:
        return SpaceAnswer(name)
    length_m, width_m, height_m = (float(part.replace(",", ".")) for part in size.groups())
    return SpaceAnswer(name, length_m, width_m, height_m, insulated)


def write_folder(folder: Path, answers: Answers) -> list[tuple[Path, str]]:
    """Write the boat folder; nothing that is there is touched.

    Returns
    -------
    list of (Path, str)
        What was written and what it is for.
    """
    from curewindow.boat.checks import check_boat
    from curewindow.boat.folder import BOAT_FILE, SHEETS_FOLDER, WORK_FILE
    from curewindow.boat.jsonschema import write_schemas
    from curewindow.boat.schema import Boat
    from curewindow.files import write_new
    from curewindow.handwritten import parse_text

    text = boat_text(answers)
    # what would not be understood later is not written at all
    check_boat(parse_text(text, Boat, BoatError, None), None)
    boat, work = folder / BOAT_FILE, folder / WORK_FILE
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_new(boat, text)
        write_new(work, work_text(answers))
        (folder / SHEETS_FOLDER).mkdir(exist_ok=True)
        write_schemas(folder)
    except OSError as bad:
        why = bad.strerror or type(bad).__name__
        raise BoatError(f"cannot be written as a boat folder: {why}", file=folder) from None
    return [
        (boat, "place, spaces, heating, hours aboard: check and correct"),
        (work, "the jobs: yours to fill"),
        (folder / SHEETS_FOLDER, "your own product sheets"),
        (folder / "schema", "lets your editor complete and check the files"),
    ]


def boat_text(answers: Answers) -> str:
    """The text of the first boat.toml."""
    parts = [
        f"""#:schema schema/boat.json
# {answers.name}: written by 'curewindow setup'. Yours from here on: correct every
# figure you know better. Each number stands with its unit in quotes.
format = 1
name = {json.dumps(answers.name, ensure_ascii=False)}
{_tins_text(answers.tins)}

[place]
latitude = {answers.latitude}
longitude = {answers.longitude}
time_zone = {json.dumps(answers.zone)}
# water_temp = "7 °C"         # measured at the hull; else it is estimated

[units]
temperature = "°{answers.unit}"

[weather]
feed = "auto"                 # or "open-meteo", "met-norway", "file"

# When someone is aboard and can work.
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = 08:00:00
until = 18:00:00
"""
    ]
    parts += [
        _space_text(space, answers, answers.heater if number == 0 else None)
        for number, space in enumerate(answers.spaces)
    ]
    parts.append(_lights_text(answers))
    return "\n".join(parts)


def _lights_text(answers: Answers) -> str:
    lines = [
        "# Vapour gets from each space to all others, but through a bulkhead that is sealed:",
        "# [[sealed]]",
        '# between = ["engine room", "saloon"]',
        "",
        "# What else has a flame, or sparks: cooker, gas fridge, charger, bilge pump ...",
    ]
    if not answers.lights:
        lines += ["# [[ignition]]", '# kind = "cooker"', '# space = "saloon"']
        lines.append("# off = true                  # out and cold, gas shut at the bottle")
    for kind, space in answers.lights:
        lines += ["[[ignition]]", f'kind = "{kind}"']
        lines += [f"space = {json.dumps(space, ensure_ascii=False)}"]
        lines += ["# off = true                  # out and cold, or off at the main", ""]
    return "\n".join(lines).rstrip() + "\n"


def _tins_text(kept: str) -> str:
    if kept == "aboard":
        return '# tins_kept = "home"          # and carried aboard warm; else where the work is'
    return f'tins_kept = "{kept}"'.ljust(30) + "# a tin kept elsewhere: [[tin]], with kept = ..."


def _space_text(space: SpaceAnswer, answers: Answers, heater: str | None) -> str:
    lines = ["[[space]]", f"name = {json.dumps(space.name, ensure_ascii=False)}"]
    sized = space.length_m is not None and space.width_m is not None and space.height_m is not None
    if sized:
        volume = (space.length_m or 0) * (space.width_m or 0) * (space.height_m or 0)
        lines.append(f'volume = "{volume:.3g} m³"')
        lines.append('air_change = "0.5 /h"         # closed up; draughty: 1, tight: 0.2')
    else:
        lines.append("logged_only = true            # goes by your readings; give it a volume and")
        lines.append("                              # panels to have its conditions foreseen")
    if answers.sleeps is None:
        lines.append("# slept_in = false            # say it of each: else they may sleep anywhere")
    else:
        sleeps = str(space.name in answers.sleeps).lower()
        lines.append(f"slept_in = {sleeps}".ljust(30) + "# does someone sleep here?")
    others = [other.name for other in answers.spaces if other.name != space.name]
    if others:
        lines.append("# dust gets there; take out what is behind a tight bulkhead, see [[sealed]]:")
        lines.append(f"connected_to = {json.dumps(others, ensure_ascii=False)}")
    if sized:
        lines += _panel_lines(space, answers.hull)
    if heater is not None:
        power, vented, flame = _HEATERS[heater]
        lines += [
            "",
            "[space.heating]",
            f'kind = "{heater}"',
            f'power = "{power}"',
            f"vented = {str(vented).lower()}".ljust(30) + "# does the exhaust go out by a flue?",
            f"open_flame = {str(flame).lower()}".ljust(30) + "# flame, pilot, glowing wire inside?",
            f'unattended = "{answers.unattended}"'.ljust(30)
            + "# alone: 'never', 'asleep aboard' or 'yes'",
            'routine = [{ from = 08:00:00, setpoint = "16 °C" }, { from = 18:00:00 }]',
        ]
    return "\n".join(lines) + "\n"


def _panel_lines(space: SpaceAnswer, hull: str) -> list[str]:
    """Sides, overhead and bottom of a box of the size given."""
    length_m, width_m, height_m = space.length_m or 0, space.width_m or 0, space.height_m or 0
    skin = _HULL_LAYERS[hull]
    dry = (_INSULATED if space.insulated else "") + skin
    floor_m2 = length_m * width_m
    panels = (
        ("hull sides", 2.0 * length_m * height_m, "air", "side", dry),
        ("overhead", floor_m2, "air", "overhead", dry),
        ("bottom", floor_m2, "water", "sole", skin),
    )
    lines: list[str] = []
    for name, area, outside, facing, layers in panels:
        lines += [
            "",
            "[[space.panel]]",
            f'name = "{name}"',
            f'area = "{area:.3g} m²"',
            f'outside = "{outside}"',
            f'facing = "{facing}"',
            f"layers = [{layers}]  # from the inside out",
        ]
    return lines


def work_text(answers: Answers) -> str:
    """The text of the first work.toml: an example, commented out."""
    space = answers.spaces[0].name if answers.spaces else None
    where = (
        f"# space = {json.dumps(space, ensure_ascii=False)}\n" if space else "# outdoors = true\n"
    )
    return f"""#:schema schema/work.json
# The jobs. 'curewindow sheets list' shows the product sheets there are.
format = 1
# done_by = 2027-04-01

# Take the '# ' away to use this example:
# [[job]]
# name = "locker fronts"
{where}# area = "2 m²"
# substrate = "old varnish"
#
# [[job.step]]
# do = "sand"
# hands_on = "2 h"
#
# [[job.step]]
# do = "coat"
# sheet = "oil-varnish"
# coats = 4
# hands_on = "45 min"
# between = "sand"            # or "hot coat", "as is"
"""
