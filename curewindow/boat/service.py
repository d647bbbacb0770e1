"""What the background service is told in boat.toml: times, quiet hours, channels, tins."""

from __future__ import annotations

from datetime import date, time
from typing import Literal

from pydantic import Field

from curewindow.handwritten import FileModel
from curewindow.quantity import Duration

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


class Tin(FileModel):
    """A tin that is kept aboard: for its shelf life and for frost."""

    sheet: str = Field(min_length=1, description="sheet name of what is in it")
    space: str | None = Field(None, description="where it is kept; leave out for: not aboard")
    bought: date | None = Field(None, description="unopened shelf life counts from here")
    opened: date | None = Field(None, description="shelf life once opened counts from here")
    used_up: bool = False
