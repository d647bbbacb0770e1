"""The demo boat's files: copied out of the package, their dates moved to the day asked for."""

from __future__ import annotations

import re
import tomllib
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.errors import BoatError

ZONE = "Europe/Amsterdam"
MORNING = "08:30"
# The day the packaged files are written for.
_BASE = date(2026, 11, 25)
_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}")
_COPIED = ("boat.toml", "work.toml", "weather.csv")
_RECORD = ("record.db", "record.db-wal", "record.db-shm")
_MARK = "README.txt"
_MARK_TEXT = """This is the demo boat of curewindow. All of it is made up.
Change what you like: boat.toml, work.toml, and what you log.
'curewindow demo --again' drops the changes and starts afresh.
"""


def is_there(folder: Path) -> bool:
    """Is there a demo boat in the folder already?

    Raises
    ------
    BoatError
        The folder holds something else, which is left alone.
    """
    if not folder.exists():
        return False
    if not folder.is_dir() or (any(folder.iterdir()) and not _is_ours(folder)):
        raise BoatError(
            "is there and is not a demo boat; it is left alone. Name another folder: "
            "curewindow demo DIR",
            file=folder,
        )
    return _is_ours(folder)


def _is_ours(folder: Path) -> bool:
    try:
        return (folder / _MARK).read_text(encoding="utf-8") == _MARK_TEXT
    except (OSError, UnicodeDecodeError):
        return False


def write(folder: Path, morning: datetime) -> None:
    """Write the demo boat, its dates moved to the day of ``morning``.

    Raises
    ------
    BoatError
        The folder holds something that is not a demo boat, or cannot be written.
    """
    from curewindow.boat.jsonschema import write_schemas
    from curewindow.demo.winters import winters

    is_there(folder)
    packaged = Path(__file__).resolve().parent.parent / "demo_boat"
    days = morning.astimezone(ZoneInfo(ZONE)).date() - _BASE
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / _MARK).write_text(_MARK_TEXT, encoding="utf-8")
        for name in _COPIED:
            text = (packaged / name).read_text(encoding="utf-8")
            (folder / name).write_text(_moved(text, days), encoding="utf-8")
        for name, text in winters(_BASE + days, _BASE).items():
            (folder / name).write_text(text, encoding="utf-8")
        for name in _RECORD:
            (folder / name).unlink(missing_ok=True)
        write_schemas(folder)
    except OSError as bad:
        raise BoatError(f"cannot be written: {bad.strerror}", file=folder) from None
    _write_record(folder / _RECORD[0], packaged, days, morning)


def _moved(text: str, days: timedelta) -> str:
    return _DATE.sub(lambda found: (date.fromisoformat(found[0]) + days).isoformat(), text)


def _write_record(path: Path, packaged: Path, days: timedelta, morning: datetime) -> None:
    import csv

    from curewindow.boat.folder import load_work
    from curewindow.record.entries import Coat, Done, Reading
    from curewindow.record.store import Record

    zone = ZoneInfo(ZONE)
    log = tomllib.loads(_moved((packaged / "log.toml").read_text(encoding="utf-8"), days))
    table = _moved((packaged / "readings.csv").read_text(encoding="utf-8"), days)
    steps = {job.name: job.step for job in load_work(path.parent).job}
    readings = [
        Reading(
            space=row["space"],
            at=datetime.fromisoformat(row["time"]).replace(tzinfo=zone),
            air_c=float(row["air_c"]),
            rh_pct=float(row["rh_pct"]),
        )
        for row in csv.DictReader(table.splitlines())
    ]
    with Record(path, now=lambda: morning) as record:
        # what lies after a morning asked for with --at has not happened yet
        record.add_readings(
            [reading for reading in readings if reading.at <= morning], what="the demo's own log"
        )
        for coat in log["coat"]:
            record.add_coat(
                Coat(
                    job=coat["job"],
                    step=coat["step"],
                    coat=coat["coat"],
                    start=coat["start"].replace(tzinfo=zone),
                    end=coat["end"].replace(tzinfo=zone),
                    sheet=steps[coat["job"]][coat["step"] - 1].sheet or "",
                    batch=coat.get("batch", ""),
                )
            )
        for done in log["done"]:
            record.add_done(Done(done["job"], done["step"], done["at"].replace(tzinfo=zone)))
