"""What is recorded: readings, work, heaters, what was seen, and the log entries they came in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from curewindow.boat.schema import Ventilation


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading in a space (or outdoors), aware UTC.

    ``panel`` names the surface that ``surface_c`` was taken on. ``id`` is 0 before
    it is in the record.
    """

    space: str
    at: datetime
    air_c: float | None = None
    rh_pct: float | None = None
    surface_c: float | None = None
    panel: str | None = None
    wood_moisture_pct: float | None = None
    source: str = "by hand"
    note: str = ""
    id: int = 0


@dataclass(frozen=True, slots=True)
class Coat:
    """One coat (or bond, or bead) that was put on; ``step`` counts the job's steps from 1.

    ``spoilt`` is when it was found so, by an inspection; it no longer counts, but lies there
    until it is taken off. Told by the record as it is read, never written with the coat.
    """

    job: str
    step: int
    coat: int
    start: datetime
    end: datetime
    sheet: str
    batch: str = ""
    area_m2: float | None = None
    note: str = ""
    id: int = 0
    spoilt: datetime | None = None

    @property
    def layer(self) -> tuple[datetime, int, int, int]:
        """Where it lies among the coats of its job: the greatest lies on top."""
        return self.end, self.step, self.coat, self.id


@dataclass(frozen=True, slots=True)
class Done:
    """A step without a product (prepare, sand, fit) that was finished."""

    job: str
    step: int
    at: datetime
    note: str = ""
    id: int = 0


@dataclass(frozen=True, slots=True)
class Heat:
    """A heater that was lit, or put out, outside its routine; to be so until ``until``.

    ``setpoint_c`` is what the thermostat is set to; None: off. A later one of the same space
    ends it. ``until`` may lie ahead: it is what whoever lit it means to do. ``ventilation`` is
    how the vents stand meanwhile.
    """

    space: str
    at: datetime
    until: datetime
    setpoint_c: float | None = None
    ventilation: Ventilation = "normal"
    note: str = ""
    id: int = 0


Found = Literal["sound", "dull", "sanded", "cleared", "spoilt"]
"""What somebody who looked at a coat found, or did to it: 'dull' is bloom, or lost gloss.

'spoilt': the coat, and what lies on it, comes off and is put on again.
'cleared': its rags are burnt, soaked or off the boat, and so is its dust.
"""


@dataclass(frozen=True, slots=True)
class Wiped:
    """A surface that was wiped dry: a job's own, a panel's, or every one of a space.

    Either ``job`` is named or ``space``; without ``panel`` a space is meant with all it has.
    """

    at: datetime
    job: str | None = None
    space: str | None = None
    panel: str | None = None
    note: str = ""
    id: int = 0


@dataclass(frozen=True, slots=True)
class Inspection:
    """A coat that somebody looked at, or sanded before the next one."""

    job: str
    step: int
    coat: int
    at: datetime
    found: Found
    note: str = ""
    id: int = 0


NOT_KEPT = ("id", "spoilt")
"""Fields of a row that are told as it is read and stand in no column of their own."""

Item = Reading | Coat | Done | Heat | Wiped | Inspection
"""A row of the record."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log: what one command, one import or one sensor's report wrote.

    Attributes
    ----------
    id : int
        Counts up in the order of writing.
    written : datetime
        When it was written, aware UTC (the time it is about is in ``item``).
    kind : str
        What its rows are; ``'undo'`` has none and takes back the entry ``withdraws``.
    size : int
        Number of rows.
    what : str
        Where the rows came from, such as the name of an imported file.
    by_person : bool
        False for a sensor's report, which undo passes over.
    item : Item or None
        The row, where there is just one.
    supersedes : int or None
        The row that ``item`` corrects.
    withdraws : int or None
        The entry that an undo takes back.
    withdrawn_by : int or None
        The undo that took this one back.
    """

    id: int
    written: datetime
    kind: Literal["readings", "coat", "done", "heat", "dry", "inspection", "undo"]
    size: int
    what: str = ""
    by_person: bool = True
    item: Item | None = None
    supersedes: int | None = None
    withdraws: int | None = None
    withdrawn_by: int | None = None


@dataclass(frozen=True, slots=True)
class Added:
    """What became of many readings: how many were written, how many were known already."""

    added: int
    duplicates: int = 0
