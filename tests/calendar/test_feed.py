"""The feed as other programs read it: RFC 5545, RFC 5546 and RFC 7986."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.answers import Clock
from curewindow.calendar import Alarm, Happening, Published, calendar_of, uid_of, written
from curewindow.demo import files as demofiles
from curewindow.findings import finding
from tests.cases import cases
from tests.fewer_jobs import weather_until

NOW = datetime(2026, 11, 25, 7, tzinfo=UTC)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo boat with three of its jobs; none needs a heating plan, which takes long."""
    folder = tmp_path_factory.mktemp("boats") / "demo"
    demofiles.write(folder, datetime(2026, 11, 25, 7, 30, tzinfo=UTC))
    weather_until(folder, "2026-12-04")
    work = folder / "work.toml"
    head, *jobs = work.read_text(encoding="utf-8").split("[[job]]\n")
    wanted = ("saloon doors", "chart table", "mooring bitts")
    kept = [job for job in jobs if job.startswith(tuple(f'name = "{name}"' for name in wanted))]
    assert len(kept) == len(wanted)
    work.write_text("[[job]]\n".join([head, *kept]), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def demo(folder: Path) -> tuple[bytes, Any, Any]:
    """The demo boat's calendar, with the day sheet and windows it was made from."""
    from curewindow.daysheet import day_sheet, windows_ahead

    sheet, windows = day_sheet(folder, NOW), windows_ahead(folder, NOW, days=7)
    return calendar_of(sheet, windows), sheet, windows


def test_another_program_reads_the_same(
    demo: tuple[bytes, Any, Any], read: Callable[[bytes], list[Any]]
) -> None:
    feed, sheet, windows = demo
    events = read(feed)
    by_category = {
        name: [event for event in events if event.categories == [name]]
        for name in ("Window", "Heat", "Recoat", "Milestone")
    }
    assert sum(map(len, by_category.values())) == len(events)
    assert len({event.uid for event in events}) == len(events)
    spans = {
        (window.opens, window.closes + timedelta(hours=job.next.hands_on_h))
        for job in windows.jobs
        for window in job.windows
    }
    assert {(event.dtstart, event.dtend) for event in by_category["Window"]} == spans
    plans = [job.heat for job in sheet.jobs if job.heat and job.heat.status == "possible"]
    assert {(event.dtstart, event.dtend) for event in by_category["Heat"]} == {
        (plan.light_at, plan.hold_until) for plan in plans
    }
    deadlines = {c.next_deadline for c in sheet.clocks if c.next_deadline is not None}
    assert {event.dtend for event in by_category["Recoat"] if event.priority == 1} == deadlines
    assert all(event.transparency == "TRANSPARENT" for event in events)
    assert all(event.dtend > event.dtstart for event in events)


def test_the_same_library_reads_it_without_complaint(demo: tuple[bytes, Any, Any]) -> None:
    from icalendar import Calendar

    again = Calendar.from_ical(demo[0])
    assert [event.errors for event in again.walk("VEVENT") if event.errors] == []
    assert again.to_ical() == demo[0]


def test_form(demo: tuple[bytes, Any, Any]) -> None:
    """RFC 5545, 3.1: CR LF, at most 75 octets a line; 3.6: what must stand, once."""
    lines = demo[0].split(b"\r\n")
    assert lines[-1] == b""
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    assert max(map(len, lines)) <= 75
    for line in lines:
        line.decode("utf-8")  # no letter is cut in two
    text = demo[0].decode().replace("\r\n ", "")
    assert not any(line.startswith("X-") for line in text.split("\r\n"))
    assert "METHOD" not in text  # RFC 5546 would ask for an ORGANIZER
    for block in text.split("BEGIN:VEVENT")[1:]:
        own = block.split("BEGIN:VALARM")[0]
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "SUMMARY", "STATUS"):
            assert own.count(f"\r\n{name}:") == 1
        for name in ("DTSTART", "DTEND", "DTSTAMP", "LAST-MODIFIED"):
            assert own.split(f"\r\n{name}:")[1].split("\r\n")[0].endswith("Z")


def test_nothing_in_it_says_today(demo: tuple[bytes, Any, Any]) -> None:
    """A calendar keeps its texts for days."""
    text = demo[0].decode().replace("\r\n ", "").lower()
    for word in ("today", "tomorrow", "yesterday"):
        assert word not in text


AWKWARD = 'back\\slash; semi, comma: "quoted" é 漢 😀\nsecond line'


def test_escaping_goes_both_ways(read: Callable[[bytes], list[Any]]) -> None:
    happening = Happening(
        kind="plan",
        job="table",
        step=1,
        begins=NOW,
        ends=NOW + timedelta(hours=1),
        title=AWKWARD.replace("\n", " "),
        body=AWKWARD * 5,
        where=AWKWARD.replace("\n", " "),
        busy=True,
        alarms=[Alarm(minutes=15, says=AWKWARD.replace("\n", " "))],
    )
    (event,) = read(written("Tin; Heron, ü", [Published("u", 3, NOW, None, happening)]))
    assert event.summary == happening.title
    assert event.description == happening.body
    assert event.location == happening.where
    assert event.sequence == 3
    assert event.transparency == "OPAQUE"
    assert event.categories == ["Work"]


_TEXT = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=120
).map(str.strip)


@cases(60)
@given(title=_TEXT.filter(bool), body=_TEXT, minutes=st.integers(0, 100_000))
def test_any_text_survives(
    title: str, body: str, minutes: int, read: Callable[[bytes], list[Any]]
) -> None:
    begins = NOW + timedelta(minutes=minutes)
    happening = Happening(
        kind="plan", job="j", step=1, begins=begins, ends=begins, title=title, body=body
    )
    (event,) = read(written("b", [Published("u", 0, NOW, None, happening)]))
    assert (event.summary, event.description or "") == (title, body)
    assert event.dtstart == begins


# Clock changes in the Netherlands: EU Directive 2000/84/EC, last Sundays of March and October,
# 01:00 UTC; so 02:00 to 03:00 is skipped, or shown twice.
@pytest.mark.parametrize(
    ("opens", "closes", "local", "says"),
    [
        ("2027-03-28T00:30Z", "2027-03-28T01:30Z", ("01:30+0100", "04:30+0200"), "28 Mar 03:30"),
        ("2026-10-25T00:30Z", "2026-10-25T01:30Z", ("02:30+0200", "03:30+0100"), "02:30 CET"),
    ],
)
def test_across_both_clock_changes(
    opens: str,
    closes: str,
    local: tuple[str, str],
    says: str,
    sheet_at: Callable[..., Any],
    ahead: Callable[..., Any],
    window: Callable[..., Any],
    read: Callable[[bytes], list[Any]],
) -> None:
    """An hour of hands-on time after the last start: the end is one hour on, by any clock."""
    first, last = datetime.fromisoformat(opens), datetime.fromisoformat(closes)
    now = first - timedelta(days=1)
    (event,) = read(calendar_of(sheet_at(now), ahead(now, [window(first, last)])))
    zone = ZoneInfo("Europe/Amsterdam")
    shown = (event.dtstart.astimezone(zone), event.dtend.astimezone(zone))
    assert tuple(f"{each:%H:%M%z}" for each in shown) == local
    assert event.dtend - event.dtstart == timedelta(hours=2)
    assert f"Last start Sun {says}" in event.description.replace("25 Oct ", "")


def test_alarms(sheet_at: Callable[..., Any], read: Callable[[bytes], list[Any]]) -> None:
    """A deadline: twelve and two hours before it, counted from the event's end."""
    deadline = NOW + timedelta(days=2)
    clock = Clock(
        job="chart table",
        step=2,
        coat=2,
        of_coats=3,
        sheet="oil-varnish",
        applied=NOW - timedelta(days=1),
        state="recoat open",
        touch_dry=None,
        recoat_from=NOW + timedelta(hours=3),
        recoat_until=deadline,
        recoat_after="sand",
        closed_up=None,
        full_cure=None,
        next_deadline=deadline,
        deadline_for="last moment for the next coat without sanding",
        measured_share=1.0,
        basis=finding("hours unknown", hours=2.0),
        extrapolated=False,
    )
    feed = calendar_of(sheet_at(NOW, clocks=[clock]))
    opens, closes = read(feed)
    assert (opens.dtstart, closes.dtend) == (NOW + timedelta(hours=3), deadline)
    assert closes.summary == "Recoat by 08:00, after that sand it first: chart table, coat 2 of 3"
    assert [alarm.trigger for alarm in closes.alarm] == [timedelta(hours=-12), timedelta(hours=-2)]
    assert feed.count(b"TRIGGER;RELATED=END:-PT12H") == 1
    assert all(alarm.action == "DISPLAY" and alarm.description for alarm in closes.alarm)


def test_heater_times(sheet_at: Callable[..., Any], read: Callable[[bytes], list[Any]]) -> None:
    """Lit when the event begins, turned down when it ends, with a signal at both."""
    plan = {
        "job": "forepeak frames",
        "where": "forepeak, hull sides",
        "space": "forepeak",
        "status": "possible",
        "verdict": finding(
            "heater run",
            space="forepeak",
            light_at=NOW + timedelta(hours=3),
            light_by=NOW + timedelta(hours=3),
            temp_c=21.0,
            begins=NOW + timedelta(hours=4),
            until=NOW + timedelta(hours=14),
            vents="normal",
            fuel="diesel",
            fuel_amount=2.46,
            fuel_unit="L",
            cost=4.55,
        ),
        "setpoint_c": 21.0,
        "light_at": NOW + timedelta(hours=3),
        "start": NOW + timedelta(hours=4),
        "hold_until": NOW + timedelta(hours=14),
        "milestone": "tack free",
        "use": {"energy_kwh": 19.6, "fuel": "diesel", "amount": 2.46, "unit": "L", "cost": 4.55},
        "confidence": 0.83,
    }
    step = {"step": 2, "of_steps": 3, "do": "coat", "coat": 1, "of_coats": 2, "hands_on_h": 1.5}
    job = {
        "job": "forepeak frames",
        "where": "forepeak, hull sides",
        "space": "forepeak",
        "status": "blocked",
        "verdict": finding("done"),
        "next": step,
        "heat": plan,
    }
    (event,) = read(calendar_of(sheet_at(NOW, jobs=[job])))
    assert (event.dtstart, event.dtend) == (plan["light_at"], plan["hold_until"])
    assert event.summary == "Heat to 21 °C: forepeak frames"
    assert "Light the heater by " in event.description
    assert ": 2.5 L of diesel (cost 4.55)." in event.description
    assert [alarm.trigger for alarm in event.alarm] == [timedelta(0), timedelta(0)]
    hopeless = job | {"heat": plan | {"status": "cannot"}}
    assert read(calendar_of(sheet_at(NOW, jobs=[hopeless]))) == []


def test_a_plan_from_elsewhere_gets_in(
    sheet_at: Callable[..., Any], read: Callable[[bytes], list[Any]]
) -> None:
    step = Happening(
        kind="plan",
        job="chart table",
        step=1,
        begins=NOW + timedelta(hours=1),
        ends=NOW + timedelta(hours=3),
        title="sand the table",
        busy=True,
    )
    (event,) = read(calendar_of(sheet_at(NOW), more=[step]))
    assert event.uid == uid_of("Tin Heron", step)
    assert event.transparency == "OPAQUE"


def test_the_command(
    folder: Path,
    demo: Any,
    tmp_path: Path,
    read: Callable[[bytes], list[Any]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from click.testing import CliRunner

    import curewindow.daysheet
    from curewindow.cli.main import command

    monkeypatch.setattr(curewindow.daysheet, "day_sheet", lambda *args: demo[1])
    monkeypatch.setattr(curewindow.daysheet, "windows_ahead", lambda *args, **days: demo[2])
    before = (folder / "record.db").read_bytes()
    asked = ["calendar", "--boat", str(folder), "--at", "2026-11-25 08:00"]
    printed = CliRunner().invoke(command, asked)
    assert printed.exit_code == 0
    assert (folder / "record.db").read_bytes() == before  # only asked what it would be
    out = tmp_path / "boat.ics"
    done = CliRunner().invoke(command, [*asked, "--out", str(out)])
    assert done.exit_code == 0
    events = read(out.read_bytes())
    assert done.stdout == f"{len(events)} events written to {out}\n"
    assert out.read_bytes() == printed.stdout_bytes
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".part"] == []
    lost = CliRunner().invoke(command, [*asked, "--out", str(tmp_path / "no" / "boat.ics")])
    assert lost.exit_code == 2
    assert "there is no folder" in lost.stderr
