"""The boat a question is about, and the moment it is asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from curewindow.wording import Wording

if TYPE_CHECKING:
    from curewindow.boat.schema import Boat


@dataclass(frozen=True, slots=True)
class Aboard:
    """The boat folder, what boat.toml says, and now.

    Attributes
    ----------
    folder : Path
    boat : Boat
    now : datetime
        Aware.
    wording : Wording
        The boat's clock and degrees, at that moment.
    """

    folder: Path
    boat: Boat
    now: datetime
    wording: Wording

    @classmethod
    def at(cls, folder: Path, boat: Boat, now: datetime) -> Aboard:
        """The boat at a moment."""
        fahrenheit = boat.units.fahrenheit
        return cls(folder, boat, now, Wording(ZoneInfo(boat.place.time_zone), now, fahrenheit))
