"""What the background service is told in boat.toml: times, quiet hours, channels, tins."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Literal

from pydantic import Field

from curewindow.handwritten import FileModel
from curewindow.quantity import Duration, Liquid

Level = Literal["low", "normal", "urgent"]
LEVELS: tuple[Level, ...] = ("low", "normal", "urgent")


class ServiceSettings(FileModel):
    """When the background service looks and when it speaks; times on the boat's own clock."""

    morning: time = Field(time(7, 30), description="the morning notice comes at this time")
    quiet_from: time = Field(time(22), description="from then on only what is urgent")
    quiet_until: time = Field(time(7), description="the same as quiet_from: never quiet")
    wake_for_urgent: bool = Field(
        True, description="may an urgent notice come in the quiet hours too?"
    )
    refresh: Duration = Field(0.5, description="how often everything is worked out anew")
    reading_every: Duration = Field(
        24.0,
        description="a space with a coat in it that has had no reading for so long asks for one",
    )
    before_window: Duration = Field(1.0, description="told so long before a window opens or closes")


class Channel(FileModel):
    """A way notices go out: exactly one of the three addresses."""

    name: str = Field(min_length=1, description="what it is called in the log and on the page")
    address: str | None = Field(
        None,
        description="one that holds no secret: 'desktop:', 'https://...', 'mailto://...'",
    )
    address_env: str | None = Field(
        None, min_length=1, description="name of the environment variable that holds the address"
    )
    address_file: str | None = Field(
        None,
        min_length=1,
        description="file that holds the address, in the boat folder, readable by you alone",
    )
    level: Level = Field("low", description="notices of this level and above go out this way")


HOME, DECK = "home", "deck"
"""Where a tin may be kept besides a space."""


class Tin(FileModel):
    """A tin: for its shelf life, for frost, and for how warm it is when it is worked with."""

    sheet: str = Field(min_length=1, description="sheet name of what is in it")
    space: str | None = Field(None, description="the space it is kept in; the same as 'kept'")
    kept: str | None = Field(
        None,
        description="where it is kept: 'home' (warm, carried aboard), 'deck' or a space; "
        "else as 'tins_kept' says",
    )
    size: Liquid | None = Field(None, gt=0, description="what it holds; else usual for the kind")
    aboard: datetime | None = Field(
        None, description="from then on it is where it is kept, at home before; by the boat's clock"
    )
    bought: date | None = Field(None, description="unopened shelf life counts from here")
    opened: date | None = Field(None, description="shelf life once opened counts from here")
    used_up: bool = False

    @property
    def place(self) -> str | None:
        """Where it is kept, however that was written."""
        return self.kept or self.space

    @property
    def aboard_in(self) -> str | None:
        """The space it is kept in; None: at home, on deck or not said."""
        return None if self.place in (HOME, DECK) else self.place
