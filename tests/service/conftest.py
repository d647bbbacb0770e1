"""A boat with nothing on it, a clock that is set by hand, a mail server, an HTTP endpoint."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from curewindow_service.channels import Message

from curewindow.findings.kinds.notices import NoticeKind
from curewindow.reminders import Level, Reminder
from tests.service.sink import Endpoint, Sink

START = datetime(2026, 11, 25, 6, 30, tzinfo=UTC)

BOAT = """
name = "test boat"
[place]
latitude = 52.0
longitude = 5.0
time_zone = "Europe/Amsterdam"
[weather]
feed = "file"
file = "weather.csv"
"""


@dataclass(slots=True)
class HandClock:
    """A clock that shows what it was set to."""

    now: datetime = START

    def __call__(self) -> datetime:
        return self.now

    def on(self, **span: float) -> None:
        self.now += timedelta(**span)


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A boat folder without jobs, spaces or channels."""
    made = tmp_path / "boat"
    made.mkdir()
    (made / "boat.toml").write_text(BOAT, encoding="utf-8")
    (made / "work.toml").write_text("", encoding="utf-8")
    return made


@pytest.fixture
def sink() -> Iterator[Sink]:
    server = Sink()
    yield server
    server.close()


@pytest.fixture
def endpoint() -> Iterator[Endpoint]:
    server = Endpoint()
    yield server
    server.close()


def reminder(
    key: str = "morning|2026-11-25",
    *,
    kind: NoticeKind = "morning",
    level: Level = "normal",
    due: datetime = START,
    lasts: timedelta = timedelta(hours=6),
    title: str = "",
    body: str = "one line",
    only_after: str | None = None,
) -> Reminder:
    return Reminder(
        key=key,
        kind=kind,
        about="a job",
        level=level,
        due=due,
        expires=due + lasts,
        title=title or f"title of {key}",
        body=body,
        only_after=only_after,
    )


def message(
    title: str = "Light the heater Wed 05:40: saloon", body: str = "Hold 16 °C."
) -> Message:
    return Message(
        boat="test boat",
        key="light heater|a job|1.1|2026-11-25",
        kind="light heater",
        level="urgent",
        title=title,
        body=body,
        due=START,
        at=START,
        message_id="0123456789abcdef0123456789abcdef",
    )
