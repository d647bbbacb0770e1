"""One look: weather, conditions, day sheet, reminders. In a process of its own.

The libraries it needs take far more memory than the service itself, and a heating plan may
keep a core busy for seconds: a process that ends gives both back.
"""

from __future__ import annotations

import logging
import subprocess
import sys
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError

from curewindow.answers import Answer
from curewindow.errors import CurewindowError
from curewindow.reminders import Reminder, SettingBounds
from curewindow_service.apart import REFUSED, answer_apart, run_apart

log = logging.getLogger(__name__)

LOOK_S = 600.0
"""A look that takes longer hangs [s]."""


class Looked(Answer):
    """What a look found."""

    as_of: datetime
    boat: str
    time_zone: str
    reminders: list[Reminder]
    plan: dict[str, Any] = Field(description="the plan as it stands, to tell changes by")
    weather: str
    weather_age_h: float
    expected: dict[str, Any] | None = Field(
        None, description="what sensors ought to read, where there are any"
    )
    wet: list[SettingBounds] = Field(
        default_factory=list, description="what sensors' readings are held against until then"
    )


Look = Callable[[Path, datetime, Mapping[str, Any] | None], Looked]


def look_here(folder: Path, now: datetime, plan: Mapping[str, Any] | None) -> Looked:
    """Look, in this process.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    plan : mapping or None
        The plan as it was last told.

    Raises
    ------
    CurewindowError
        A hand-written file, the weather or the record cannot be used.
    """
    from curewindow.calibration.stated import keep_stated
    from curewindow.daysheet.assemble import assemble
    from curewindow.reminders.changed import keep_stated_plan, plan_of
    from curewindow.reminders.derive import reminders_of
    from curewindow.situation import read_situation

    if plan is not None:
        keep_stated_plan(folder, plan)
    facts = read_situation(folder, now)
    expected = None
    wet: list[SettingBounds] = []
    if facts.boat.sensor:
        from curewindow_service.sensors.expected import expected_of

        expected = expected_of(facts).model_dump(mode="json")
    sheet = assemble(facts)
    keep_stated(folder, facts.boat, sheet)
    if facts.boat.sensor:
        from curewindow.reminders.bounds import setting_bounds

        wet = setting_bounds(facts, sheet)
    return Looked(
        as_of=now,
        boat=sheet.boat,
        time_zone=sheet.time_zone,
        reminders=reminders_of(facts, sheet, plan=plan),
        plan=plan_of(sheet),
        weather=sheet.provenance.weather,
        weather_age_h=sheet.provenance.weather_age_h,
        expected=expected,
        wet=wet,
    )


def look_apart(folder: Path, now: datetime, plan: Mapping[str, Any] | None) -> Looked:
    """Look, in a process of its own; see :func:`look_here`."""
    asked = {"folder": str(folder), "now": now.isoformat(), "plan": plan}
    try:
        done = run_apart("look", asked, LOOK_S)
    except subprocess.TimeoutExpired:
        raise CurewindowError(f"working out the day took longer than {LOOK_S:.0f} s") from None
    except OSError as bad:
        raise CurewindowError(f"no process to work out the day in: {bad.strerror}") from None
    for line in done.stderr.splitlines():
        log.log(
            logging.ERROR if done.returncode not in (0, REFUSED) else logging.WARNING, "%s", line
        )
    if done.returncode == REFUSED:
        raise CurewindowError(done.stdout.strip())
    try:
        return Looked.model_validate_json(done.stdout)
    except ValidationError:
        ended = f"ended with {done.returncode}"
        raise CurewindowError(f"working out the day {ended}; the log says more") from None


def _answer(asked: dict[str, Any]) -> str:
    now = datetime.fromisoformat(asked["now"])
    return look_here(Path(asked["folder"]), now, asked["plan"]).model_dump_json()


if __name__ == "__main__":
    sys.exit(answer_apart(_answer, niceness=5))
