"""Law 7: reordering jobs, renaming what is named, other zones and degrees change no verdict."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from tests.laws.judgement.boats import Case, rename, rename_spaces, write
from tests.laws.judgement.faces import Faces

# The same offset all through the days of the cases.
_TWIN = {
    "Europe/Amsterdam": "Africa/Lagos",
    "Europe/Lisbon": "UTC",
    "UTC": "Europe/Lisbon",
    "Asia/Kolkata": "Asia/Colombo",
    "America/St_Johns": "Etc/GMT+3",
    "Pacific/Auckland": "Etc/GMT-13",
}
_HALF = {"America/St_Johns"}  # no whole hours: no twin among the plain offsets


def _reordered(case: Case) -> dict[str, str]:
    case.work["job"].reverse()
    case.boat["space"].reverse()
    return {}


def _renamed(case: Case) -> dict[str, str]:
    # names that sort the other way round
    names = [job["name"] for job in case.jobs]
    new = {name: f"{chr(122 - k)} job {k}" for k, name in enumerate(sorted(names))}
    rename(case, new)
    return new


def _spaces(case: Case) -> dict[str, str]:
    names = sorted(space["name"] for space in case.spaces)
    rename_spaces(case, {name: f"{chr(122 - k)} den" for k, name in enumerate(names)})
    return {}


def _units(case: Case) -> dict[str, str]:
    other = "°F" if case.boat["units"]["temperature"] == "°C" else "°C"
    case.boat["units"] = {"temperature": other}
    return {}


def _zone(case: Case) -> dict[str, str]:
    place = case.boat["place"]
    if place["time_zone"] not in _HALF:
        place["time_zone"] = _TWIN[place["time_zone"]]
    return {}


CHANGES: dict[str, Callable[[Case], dict[str, str]]] = {
    "reordered": _reordered,
    "renamed": _renamed,
    "other spaces": _spaces,
    "other degrees": _units,
    "other zone": _zone,
}


def broken(faces: Faces, folder: Path, change: str) -> Iterator[str]:
    """Ask a changed twin at the same moment."""
    told = _told(faces, {})
    case = faces.case.copy()
    names = CHANGES[change](case)
    twin = Faces(case, write(case, folder), faces.now)
    tells = _told(twin, {new: old for old, new in names.items()})
    for job, was in told.items():
        for name, value in was.items():
            if tells[job][name] != value:
                yield f"{change}: {job}: {name} {value} has become {tells[job][name]}"


def _told(faces: Faces, names: dict[str, str]) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for day in faces.sheet.jobs:
        clock = faces.clocks.get(day.job)
        heat = day.heat
        found[names.get(day.job, day.job)] = {
            "status": day.status,
            "windows": [(_at(w.opens), _at(w.closes)) for w in faces.windows(day.job)],
            "chances": [round(w.confidence, 6) for w in faces.windows(day.job)],
            "clock": clock and (clock.state, clock.recoat_from, clock.next_deadline),
            "heat": heat and (heat.status, heat.light_at, heat.start, heat.setpoint_c),
            "cautions": sorted({c.danger.kind for c in faces.sheet.cautions if day.job in c.jobs}),
        }
    return found


def _at(moment: datetime) -> str:
    return f"{moment:%d %H:%M:%S}"
