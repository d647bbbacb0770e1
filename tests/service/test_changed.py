"""A plan that no longer holds: one notice, the same change on the day sheet, and a look back."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from curewindow_service.app import Service
from curewindow_service.channels import Message
from curewindow_service.look import look_here
from curewindow_service.night import night_apart

from curewindow.daysheet import day_sheet
from curewindow.voice import full, short
from curewindow.wording import Wording
from tests.service.conftest import HandClock
from tests.service.test_days import Collector, tick

MORNING = datetime(2026, 5, 11, 6, 0, tzinfo=UTC)  # Monday 07:00 in London

BOAT = """
name = "test boat"
[place]
latitude = 51.5
longitude = 0.0
time_zone = "Europe/London"
[weather]
feed = "file"
file = "weather.csv"
[service]
morning = 07:00:00
[[channel]]
name = "phone"
address = "http://127.0.0.1:9/"
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = 08:00:00
until = 18:00:00
"""
WORK = """
[[job]]
name = "rail"
outdoors = true
area = "1 m²"
[[job.step]]
do = "coat"
sheet = "waterborne-acrylic-varnish"
coats = 3
hands_on = "1 h"
between = "sand"
"""


def weather(folder: Path, *, cold_from: datetime | None = None) -> None:
    first = datetime(2026, 5, 9, tzinfo=UTC)
    rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    for hour in range(8 * 24):
        at = first + timedelta(hours=hour)
        temp = -3 if cold_from is not None and at >= cold_from else 15
        rows.append(f"{at:%Y-%m-%dT%H:%M}Z,{temp},{temp - 9},2,0,100,0")
    (folder / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")


def sent(got: Collector) -> list[Message]:
    return [message for _, message in got.got]


@pytest.fixture
def boat(folder: Path) -> Path:
    (folder / "boat.toml").write_text(BOAT, encoding="utf-8")
    (folder / "work.toml").write_text(WORK, encoding="utf-8")
    weather(folder)
    return folder


def test_a_notice_and_the_day_sheet_tell_the_same_change(boat: Path) -> None:
    clock, got = HandClock(MORNING), Collector()
    service = Service(boat, clock=clock, look=look_here, send=got)
    tick(service)
    assert [message.kind for message in sent(got)] == ["morning"]
    clock.on(hours=1)
    weather(boat, cold_from=MORNING - timedelta(hours=12))
    tick(service)
    (told,) = [message for message in sent(got) if message.kind == "plan changed"]
    assert told.title.startswith("rail: no window any more Mon 08:00 until ")
    (change,) = day_sheet(boat, clock()).changes
    assert (change.job, change.kind, change.told_at) == ("rail", "lost", MORNING)
    # the title is the change itself, its days by name so that it may be read tomorrow
    zone = ZoneInfo("Europe/London")
    assert told.title == f"rail: {short(change.said, Wording(zone, clock(), days='weekday'))}"
    why = full(change.why[0], Wording(zone, clock(), days="weekday"))
    assert why.casefold() in told.body.casefold()
    for _ in range(4):  # told once, though the forecast goes on moving
        clock.on(hours=1)
        weather(boat, cold_from=MORNING - timedelta(hours=12 + clock().hour))
        tick(service)
    assert [m.kind for m in sent(got)].count("plan changed") == 1


def test_once_a_night_it_looks_back(boat: Path) -> None:
    looked: list[datetime] = []
    clock = HandClock(datetime(2026, 5, 10, 23, 20, tzinfo=UTC))  # 00:20 in London

    def night(folder: Path, now: datetime) -> None:
        assert folder == boat
        looked.append(now)

    def ticked(service: Service) -> int:
        tick(service)
        time.sleep(0.05)  # it is done in a thread
        return len(looked)

    def started() -> Service:
        return Service(boat, clock=clock, look=look_here, send=Collector(), night=night)

    service = started()
    assert ticked(service) == 0, "the night is young"
    clock.on(hours=1)
    assert ticked(service) == 1
    clock.on(hours=2)
    assert ticked(service) == 1
    assert ticked(started()) == 1, "a restart is no reason"
    clock.on(hours=22)
    assert ticked(started()) == 2


def test_looking_back_in_a_process_of_its_own(boat: Path, caplog: pytest.LogCaptureFixture) -> None:
    night_apart(boat, datetime.now(UTC))
    assert caplog.messages == []
    (boat / "work.toml").write_text("[[job]]\n", encoding="utf-8")
    night_apart(boat, datetime.now(UTC))
    (said,) = caplog.messages
    assert said.startswith("looking back was not possible: ")
    assert "work.toml" in said
