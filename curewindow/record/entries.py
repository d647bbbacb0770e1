"""What is recorded: readings and coats."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


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
    """One coat (or bond, or bead) that was put on; ``step`` counts the job's steps from 1."""

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


@dataclass(frozen=True, slots=True)
class Done:
    """A step without a product (prepare, sand, fit) that was finished."""

    job: str
    step: int
    at: datetime
    note: str = ""
    id: int = 0
