"""Heating plans and runs of starts kept on disk: a day sheet asked for again works out no more.

A plan is used again only where every file, entry and value it was made from is the same, and
the moment it is made as of.
A kept file that cannot be read is a warning in the log and a new search.
"""

from __future__ import annotations

import hashlib
import io
import logging
import zipfile
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from curewindow import __version__
from curewindow.answers import Answer
from curewindow.boat.folder import BOAT_FILE, SHEETS_FOLDER, WORK_FILE
from curewindow.conditions.learned_file import LEARNED_FILE
from curewindow.files import write_whole
from curewindow.heating import HeatPlan, Planned
from curewindow.heating.choice import Choice
from curewindow.readback import of_form
from curewindow.situation import Situation
from curewindow.weather.cache import cache_folder, read_json, write_json

log = logging.getLogger(__name__)

KEPT = 120
"""Plans kept; the oldest go first."""
KEPT_ARRAYS = 200
"""Runs of starts kept: a day and a job each."""
_TIDIED_EVERY = 20
_written: Counter[Path] = Counter()
LATEST = 2000
"""Readings that go into the name with all they say."""


class PlannedKept(Answer):
    """A plan with the way it was chosen, as kept on disk."""

    plan: HeatPlan
    choice: dict[str, Any] | None
    member: int

    @classmethod
    def of(cls, planned: Planned) -> PlannedKept:
        """Of what was planned."""
        choice = None if planned.choice is None else asdict(planned.choice)
        return cls(plan=planned.plan, choice=choice, member=planned.member)

    def planned(self) -> Planned:
        """As it was planned."""
        choice = None if self.choice is None else Choice(**self.choice)
        return Planned(self.plan, choice, self.member)


Kept = TypeVar("Kept", bound=Answer)


def kept_or_made(name: str, form: type[Kept], make: Callable[[], Kept]) -> Kept:
    """The kept answer of that name, or a new one that is then kept.

    Parameters
    ----------
    name : str
        Another one as soon as anything it depends on is.
    form : type
        Its model.
    make : callable
        Makes it.
    """
    folder = cache_folder() / "heat"
    path = folder / f"{name}.json"
    data = read_json(path)
    if data is not None:
        try:
            return of_form(data, form)
        except ValueError as bad:
            log.warning("the kept plan %s is of another form (%s)", path, bad)
    made = make()
    write_json(path, made.model_dump(mode="json"))
    _tidy(folder, "*.json", KEPT)
    return made


def kept_arrays(
    name: str, make: Callable[[], dict[str, NDArray[np.float64]]]
) -> dict[str, NDArray[np.float64]]:
    """Kept arrays of that name, or new ones that are then kept.

    Parameters
    ----------
    name : str
        Another one as soon as anything they depend on is.
    make : callable
        Makes them.
    """
    path = cache_folder() / "aired" / f"{name}.npz"
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as kept:
            return {key: np.asarray(kept[key], dtype=np.float64) for key in kept.files}
    except FileNotFoundError:
        pass
    except (OSError, ValueError, EOFError, zipfile.BadZipFile) as bad:
        log.warning("the kept run %s cannot be read (%s); working it out anew", path, bad)
    made = make()
    written = io.BytesIO()
    np.savez(written, **made)  # type: ignore[arg-type]
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, written.getvalue(), lasting=False)
    except OSError as bad:
        log.warning("the run cannot be kept in %s: %s", path.parent, bad.strerror)
    _tidy(path.parent, "*.npz", KEPT_ARRAYS)
    return made


def name_of(what: str, *parts: object) -> str:
    """What an answer is kept under: another one as soon as anything it depends on is."""
    return hashlib.sha256("\n".join([what, *map(repr, parts)]).encode()).hexdigest()[:32]


def facts_key(facts: Situation, job: str) -> str:
    """A name that is another one as soon as anything a plan depends on is."""
    told = hashlib.sha256(f"{__version__}\n{job}".encode())
    own = facts.folder / SHEETS_FOLDER
    files = [facts.folder / name for name in (BOAT_FILE, WORK_FILE, LEARNED_FILE)]
    for file in [*files, *sorted(own.glob("*.toml"))]:
        told.update(file.name.encode())
        if file.exists():
            told.update(file.read_bytes())
    told.update(repr((facts.coats, facts.dones, facts.heats, facts.readings[-LATEST:])).encode())
    # Rows of the record never change: of the older readings the numbers say enough.
    told.update(repr([reading.id for reading in facts.readings[:-LATEST]]).encode())
    weather = facts.forecast
    told.update(repr((weather.source, weather.notes, str(weather.times[0]))).encode())
    for values in (
        weather.temp_c,
        weather.vapour_pa,
        weather.wind_ms,
        weather.cloud_frac,
        weather.sun_w_m2,
        weather.gap_h,
    ):
        told.update(values.tobytes())
    return told.hexdigest()[:32]


def _tidy(folder: Path, pattern: str, most: int) -> None:
    """Let the oldest go: with the first of a program's own, then after every so many."""
    _written[folder] += 1
    if _written[folder] % _TIDIED_EVERY != 1:
        return
    aged: list[tuple[float, Path]] = []
    try:
        for file in folder.glob(pattern):
            # another program may be tidying up as well
            with suppress(FileNotFoundError):
                aged.append((file.stat().st_mtime, file))
        for _, file in sorted(aged)[:-most]:
            file.unlink(missing_ok=True)
    except OSError as bad:
        log.warning("old plans in %s cannot be removed: %s", folder, bad.strerror)
