"""The plan that is kept in the boat folder, with what the owner fixed in it."""

from __future__ import annotations

import hashlib
import json
import logging
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel, Field

from curewindow.boat.folder import BOAT_FILE, SHEETS_FOLDER, WORK_FILE
from curewindow.errors import BoatError
from curewindow.files import write_whole
from curewindow.order.plan import Plan, PlannedStep
from curewindow.readback import OtherFormError, loaded, of_form

log = logging.getLogger(__name__)

PLAN_FILE = "plan.json"
_FORMAT = 3
"""1 had exact times for steps beyond the forecast: such a plan is made anew."""


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """What is kept.

    Attributes
    ----------
    plan : Plan or None
        The last one made.
    key : str
        Of what it was made from (:func:`key_of`).
    fixed : dict of str to datetime
        Starts the owner holds, by the key of a step.
    before : tuple of dict
        What was fixed before each change, the latest last: for undoing.
    placed : dict of str to datetime
        Where the search had steps beyond the forecast, by their keys: it keeps the next plan
        calm, and is shown to nobody.
    searched : str
        Of all its search went by, the day and the weather too; '' where that was broken off.
    warmed : dict of str to tuple
        What the search held for each step [°C], from and until when; None: nothing.
    """

    plan: Plan | None = None
    key: str = ""
    fixed: dict[str, datetime] = field(default_factory=dict)
    before: tuple[dict[str, datetime], ...] = ()
    placed: dict[str, datetime] = field(default_factory=dict)
    searched: str = ""
    warmed: dict[str, tuple[float | None, datetime, datetime]] = field(default_factory=dict)


class _PlanFile(BaseModel):
    """The file; what was fixed is read though the plan is an older version's."""

    format: int
    key: str
    fixed: dict[str, datetime]
    before: list[dict[str, datetime]]
    placed: dict[str, datetime] = Field(default_factory=dict)
    searched: str = ""
    warmed: dict[str, tuple[float | None, datetime, datetime]] = Field(default_factory=dict)
    plan: Any


def load(folder: Path) -> KeptPlan:
    """Read what is kept; nothing where there is no file or it cannot be read.

    Raises
    ------
    BoatError
        The file was written by a newer version.
    """
    path = folder / PLAN_FILE
    try:
        data = of_form(loaded(path.read_bytes()), _PlanFile)
        if data.format > _FORMAT:
            raise BoatError("was written by a newer curewindow; update this one", file=path)
        return KeptPlan(
            _plan(data, path),
            data.key,
            _times(data.fixed),
            tuple(_times(each) for each in data.before),
            _times(data.placed),
            data.searched,
            data.warmed,
        )
    except FileNotFoundError:
        return KeptPlan()
    except (OSError, ValueError) as bad:
        log.warning("the kept plan %s cannot be used (%s): it is made anew", path, bad)
        return KeptPlan()


def _plan(data: _PlanFile, path: Path) -> Plan | None:
    """The plan; None where there is none, or an older version's that says too little."""
    if data.plan is None:
        return None
    try:
        if data.format < _FORMAT:
            raise OtherFormError(f"format {data.format}")
        return of_form(data.plan, Plan)
    except OtherFormError:
        log.warning("the kept plan %s is an older version's: it is made anew", path)
    except ValueError as bad:
        log.warning("the kept plan %s cannot be used (%s): it is made anew", path, bad)
    return None


def _times(data: dict[str, datetime]) -> dict[str, datetime]:
    return {key: when.astimezone(UTC) for key, when in data.items()}


def store(folder: Path, kept: KeptPlan) -> None:
    """Write what is kept, whole or not at all.

    Raises
    ------
    BoatError
        The folder cannot be written to.
    """
    path = folder / PLAN_FILE
    data = {
        "format": _FORMAT,
        "note": "made by 'curewindow plan'; change it with that, not by hand",
        "key": kept.key,
        "fixed": {key: when.isoformat() for key, when in sorted(kept.fixed.items())},
        "before": [
            {key: when.isoformat() for key, when in sorted(each.items())}
            for each in kept.before[-20:]
        ],
        "placed": {key: when.isoformat() for key, when in sorted(kept.placed.items())},
        "searched": kept.searched,
        "warmed": {
            key: (level_c, since.isoformat(), until.isoformat())
            for key, (level_c, since, until) in sorted(kept.warmed.items())
        },
        "plan": None if kept.plan is None else kept.plan.model_dump(mode="json"),
    }
    try:
        write_whole(path, json.dumps(data, indent=1, ensure_ascii=False) + "\n")
    except OSError as bad:
        raise BoatError(f"cannot be written: {bad.strerror}", file=path) from None


def key_of(folder: Path, rows: object) -> str:
    """A name that is another one as soon as work, boat, sheets or the record are.

    Parameters
    ----------
    folder : Path
        The boat folder.
    rows : object
        What stands for the record, such as the numbers of its rows.
    """
    told = hashlib.sha256(repr(rows).encode())
    own = folder / SHEETS_FOLDER
    for file in [folder / BOAT_FILE, folder / WORK_FILE, *sorted(own.glob("*.toml"))]:
        told.update(file.name.encode())
        if file.exists():
            told.update(file.read_bytes())
    return told.hexdigest()[:32]


def steps_today(plan: Plan, now: datetime) -> list[PlannedStep]:
    """The steps a plan has on the local day of a moment, in their order."""
    zone = ZoneInfo(plan.time_zone)
    today = now.astimezone(zone).date()
    return [step for step in plan.steps if step.start.astimezone(zone).date() == today]
