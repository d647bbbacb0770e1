"""What a link hands on: one message of one sensor, before anybody has judged it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol

from curewindow_service.sensors.payload import Payload
from curewindow_service.sensors.status import LinkKind


@dataclass(frozen=True, slots=True)
class Heard:
    """A message.

    Attributes
    ----------
    sensor : str
        Name in boat.toml.
    said : Payload or str
        What it says, or why it cannot be used.
    stored : bool
        The broker or server had kept it: it may be of any age.
    online : bool or None
        What is said of the sensor itself; then ``said`` is empty.
    source : str
        Who told the server, where several may; '' where nobody says.
    """

    sensor: str
    said: Payload | str
    stored: bool = False
    online: bool | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class LinkNews:
    """A link came up or went down."""

    kind: LinkKind
    address: str
    connected: bool
    said: str = ""


Deliver = Callable[[Heard | LinkNews], None]
Value = Literal["air", "humidity", "surface"]


@dataclass(frozen=True, slots=True)
class Expected:
    """What ought to be read somewhere at a moment; None where nobody knows.

    Attributes
    ----------
    temp_c : float or None
        Of the air, or of the panel asked about.
    rh_pct : float or None
    sun_w_m2 : float or None
        The most there was in the hour before.
    """

    temp_c: float | None = None
    rh_pct: float | None = None
    sun_w_m2: float | None = None


# (space, panel or None, moment) -> what ought to be read there
Around = Callable[[str, str | None, datetime], Expected]


class Link(Protocol):
    """What a broker or a server is listened to through."""

    kind: LinkKind
    address: str

    def start(self) -> None:
        """Begin to connect; returns at once."""

    def stop(self) -> None:
        """End it."""
