"""Sixty days on a fast clock: each morning's notice once, whatever the clock and the power do."""

from __future__ import annotations

import random
import time
from collections import Counter
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from curewindow_service.app import Service
from curewindow_service.channels import Destination, Message, Outcome
from curewindow_service.look import Looked, look_here
from curewindow_service.outbox import Outbox

from curewindow.errors import WeatherError
from tests.service.conftest import HandClock


class Collector:
    """A channel that keeps what it gets."""

    def __init__(self) -> None:
        self.got: list[tuple[datetime, Message]] = []

    def __call__(
        self, way: Destination, message: Message, handing_over: Callable[[], None]
    ) -> Outcome:
        handing_over()
        self.got.append((message.at.astimezone(UTC), message))
        return Outcome("sent", "kept")

    def mornings(self) -> list[str]:
        return [m.key.removeprefix("morning|") for _, m in self.got if m.kind == "morning"]


def boat_in(folder: Path, zone: str, first: date, days: int, morning: str = "07:30") -> None:
    """A boat without jobs, with weather for all of it."""
    (folder / "boat.toml").write_text(
        f"""name = "test boat"
[place]
latitude = 45.0
longitude = 0.0
time_zone = "{zone}"
[weather]
feed = "file"
file = "weather.csv"
[service]
morning = {morning}:00
refresh = "12 h"
[[channel]]
name = "m"
address = "desktop:"
""",
        encoding="utf-8",
    )
    weather_in(folder, datetime(first.year, first.month, first.day, tzinfo=UTC), days + 4)


def weather_in(folder: Path, now: datetime, days: int) -> None:
    """Steady weather from two days before."""
    start = now.replace(hour=0, minute=0) - timedelta(days=2)
    rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    rows += [
        f"{start + timedelta(hours=3 * n):%Y-%m-%dT%H:%M}Z,15,5,2,0,100,0"
        for n in range((days + 2) * 8)
    ]
    (folder / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")


def look_on_a_short_forecast(folder: Path, now: datetime, plan: Mapping[str, Any] | None) -> Looked:
    """As in life a forecast of a few days, made anew for each look; quick to work out."""
    weather_in(folder, now, 3)
    return look_here(folder, now, plan)


def tick(service: Service) -> None:
    service.tick()
    while service.senders.busy():
        time.sleep(0.0002)


@pytest.mark.parametrize(
    ("zone", "morning", "spans"),
    [
        # Morocco sets its clocks back for Ramadan and forward after it: 15 Feb and 22 Mar 2026
        # (IANA time zone database), both within sixty days on end.
        pytest.param(
            "Africa/Casablanca", "02:30", [(date(2026, 1, 26), 60)], marks=pytest.mark.slow
        ),
        # 29 Mar and 25 Oct 2026: the hour that is skipped, and the one that comes twice
        ("Europe/Amsterdam", "02:30", [(date(2026, 3, 25), 8), (date(2026, 10, 21), 8)]),
    ],
)
def test_sixty_days_with_both_clock_changes(
    folder: Path, zone: str, morning: str, spans: list[tuple[date, int]]
) -> None:
    rng = random.Random(7)
    for first, days in spans:
        (folder / "record.db").unlink(missing_ok=True)
        boat_in(folder, zone, first, days, morning)
        clock, got = HandClock(), Collector()
        clock.now = datetime(first.year, first.month, first.day, tzinfo=ZoneInfo(zone))
        clock.now = clock.now.astimezone(UTC)
        end = clock.now + timedelta(days=days)
        offsets = set()
        service = Service(folder, clock=clock, look=look_on_a_short_forecast, send=got)
        while clock.now < end:
            tick(service)
            offsets.add(clock.now.astimezone(ZoneInfo(zone)).utcoffset())
            clock.on(minutes=rng.randint(45, 170))
            if rng.random() < 0.05:  # power cut
                service = Service(folder, clock=clock, look=look_on_a_short_forecast, send=got)
            if rng.random() < 0.03:  # the clock is set back, and forward again in small steps
                clock.on(minutes=-rng.randint(1, 200))
        assert len(offsets) == 2
        expected = [str(first + timedelta(days=n)) for n in range(days)]
        assert Counter(got.mornings()) == Counter(expected)
        with Outbox(service.record, clock=clock) as outbox:
            due = {n.key: n.due for n in outbox.notices() if n.kind == "morning"}
        assert len(due) == days
        # by the clock on the wall; an hour that is skipped puts it one later
        wall = Counter(f"{at.astimezone(ZoneInfo(zone)):%H:%M}" for at in due.values())
        assert wall["02:30"] >= days - 1
        assert set(wall) <= {"02:30", "03:30"}


def test_a_suspended_laptop_tells_late_and_drops_what_is_over(folder: Path) -> None:
    boat_in(folder, "Europe/Amsterdam", date(2026, 11, 20), 10)
    clock, got = HandClock(datetime(2026, 11, 24, 20, 0, tzinfo=UTC)), Collector()
    service = Service(folder, clock=clock, look=look_here, send=got)
    tick(service)
    clock.now = datetime(2026, 11, 25, 9, 10, tzinfo=UTC)  # opened at 10:10 by the wall
    tick(service)
    assert got.mornings() == ["2026-11-25"]
    assert got.got[0][1].body.splitlines()[0] == "Late: this was due Wed 07:30."
    clock.now = datetime(2026, 11, 26, 20, 0, tzinfo=UTC)  # and then only in the evening
    tick(service)
    assert got.mornings() == ["2026-11-25"]
    with Outbox(service.record, clock=clock) as outbox:
        states = {n.key: n.state for n in outbox.notices()}
    assert states["morning|2026-11-26"] == "expired"


def test_a_morning_without_weather_is_told_all_the_same(folder: Path) -> None:
    boat_in(folder, "Europe/Amsterdam", date(2026, 11, 20), 10)
    clock, got = HandClock(datetime(2026, 11, 25, 6, 27, tzinfo=UTC)), Collector()

    def no_weather(*_: object) -> object:
        raise WeatherError("no service can be reached")

    service = Service(folder, clock=clock, look=no_weather, send=got)  # type: ignore[arg-type]
    for _ in range(30):
        tick(service)
        clock.on(minutes=5)
    assert got.mornings() == ["2026-11-25"]
    at, told = got.got[0]
    assert told.title == "25 Nov: no day sheet this morning"
    assert "no service can be reached" in told.body
    assert at - told.due < timedelta(minutes=15)
    assert not service.status().well
    # weather again: today's was told, tomorrow's comes as usual
    service._look = look_here
    for _ in range(30):
        tick(service)
        clock.on(hours=1)
    assert got.mornings() == ["2026-11-25", "2026-11-26"]
