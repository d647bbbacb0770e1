"""How the sensors stand: for the page, the health address and the reminders."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer

LinkKind = Literal["mqtt", "signal k"]


class LinkStatus(Answer):
    """A broker or a server that is listened to."""

    kind: LinkKind
    address: str = Field(description="host and port; never a login")
    connected: bool
    since: datetime | None = Field(description="of this state; None: not tried yet")
    said: str = Field("", description="why it is not connected, in one line")


class SensorStatus(Answer):
    """One sensor of boat.toml."""

    name: str
    space: str
    link: LinkKind
    source: str = Field("", description="its topic or its path, as in boat.toml")
    heard_from: list[str] = Field(
        default_factory=list, description="the Signal K sources its values come from"
    )
    passed_over: list[str] = Field(
        default_factory=list, description="others that send the same values and are not used"
    )
    last_message: datetime | None = None
    message_age_s: float | None = None
    last_reading: datetime | None = Field(None, description="the last one kept in the record")
    air_c: float | None = Field(None, description="as last sent, believed or not")
    rh_pct: float | None = None
    surface_c: float | None = None
    messages: int = Field(0, description="since the start, like the counts below")
    readings: int = Field(0, description="kept in the record")
    set_aside: int = Field(0, description="kept apart, because not believed")
    refused: int = Field(0, description="messages that could not be used")
    refused_because: str = Field("", description="the last one, in one line")
    doubt: str = Field("", description="why it is not believed now: sun, drift ...; else empty")
    online: bool | None = Field(None, description="what its availability topic says")
    overdue: bool = Field(False, description="silent for longer than twice its 'every' and an hour")


class SensorsStatus(Answer):
    """All sensors, and what they are heard through."""

    as_of: datetime
    links: list[LinkStatus]
    sensors: list[SensorStatus]
    trouble: str = Field("", description="what keeps readings from being written, in one line")
    unsaved: int = Field(0, description="readings that wait for the record")

    @property
    def word(self) -> str:
        """All of it in a word: 'ok', 'not connected', 'not written' or 'silent'."""
        if self.trouble:
            return "not written"
        if not all(link.connected for link in self.links):
            return "not connected"
        return "silent" if any(sensor.overdue for sensor in self.sensors) else "ok"


__all__ = ["LinkKind", "LinkStatus", "SensorStatus", "SensorsStatus"]
