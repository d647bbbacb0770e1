"""What is told of a small boat in steady weather, by what was logged aboard."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from curewindow.daysheet.assemble import assemble
from curewindow.daysheet.planning import make_plan
from curewindow.record.entries import Coat, Heat, Reading
from curewindow.record.store import Record
from curewindow.reminders import Reminder
from curewindow.reminders.changed import plan_of
from curewindow.reminders.coats import lead_hours
from curewindow.reminders.derive import reminders_of
from curewindow.situation import read_situation

NOW = datetime(2026, 5, 11, 7, 0, tzinfo=UTC)  # Monday 08:00 in London
HOUR = timedelta(hours=1)

BOAT = """
name = "test boat"
[place]
latitude = 51.5
longitude = 0.0
time_zone = "Europe/London"
water_temp = "12 °C"
[weather]
feed = "file"
file = "weather.csv"
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = 08:00:00
until = 18:00:00
[[space]]
name = "cabin"
volume = "20 m³"
air_change = "2 /h"
[[space.panel]]
name = "side"
area = "10 m²"
layers = [{ material = "plywood", thickness = "12 mm" }]
[space.heating]
kind = "diesel"
power = "4 kW"
vented = true
open_flame = false
routine = [ROUTINE]
"""

# A made-up product: till touch dry not below 10 °C; recoated from 2 h on, by 8 h.
SHEET = """
name = "Test varnish"
kind = "varnish"
chemistry = "oxidation"
basis = "made up for a test"
[applying]
air = { min = "8 °C" }
[setting]
air = { min = "10 °C" }
until = "handling"
[cure]
temps = ["10 °C", "20 °C"]
touch_dry = ["3 h", "2 h"]
handling = ["24 h", "20 h"]
closed_up = ["48 h", "40 h"]
full_cure = ["72 h", "60 h"]
[[recoat]]
from = ["6 h", "5 h"]
until = ["24 h", "22 h"]
after = "AFTER"
[storage]
frost_spoils = true
shelf_life = "365 d"
"""

WORK = """
[[job]]
name = "table"
space = "cabin"
area = "2 m²"
[[job.step]]
do = "coat"
sheet = "test-varnish"
coats = COATS
hands_on = "1 h"
"""


@pytest.fixture
def derive(tmp_path: Path) -> Callable[..., dict[str, Reminder]]:
    """Write the boat and its record; what is told, by key."""

    def made(
        *,
        now: datetime = NOW,
        temp_c: float = 15.0,
        coats: int = 3,
        after: str = "sand",
        log: list[Coat] | None = None,
        readings: list[Reading] | None = None,
        heats: list[Heat] | None = None,
        boat: str = "",
        work: str = "",
        plan: dict[str, object] | None = None,
        routine: str = '{ from = 00:00:00, setpoint = "16 °C" }',
    ) -> dict[str, Reminder]:
        (tmp_path / "sheets").mkdir(exist_ok=True)
        (tmp_path / "sheets" / "test-varnish.toml").write_text(
            SHEET.replace("AFTER", after), encoding="utf-8"
        )
        (tmp_path / "boat.toml").write_text(
            BOAT.replace("ROUTINE", routine) + boat, encoding="utf-8"
        )
        (tmp_path / "work.toml").write_text(
            WORK.replace("COATS", str(coats)) + work, encoding="utf-8"
        )
        first = datetime(2026, 5, 9, tzinfo=UTC)
        rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
        rows += [
            f"{first + timedelta(hours=hour):%Y-%m-%dT%H:%M}Z,{temp_c},{temp_c - 10},2,0,100,0"
            for hour in range(8 * 24)
        ]
        (tmp_path / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
        (tmp_path / "record.db").unlink(missing_ok=True)
        with Record(tmp_path / "record.db", now=lambda: now) as record:
            for coat in log or []:
                record.add_coat(coat)
            for reading in readings or []:
                record.add_reading(reading)
            for heat in heats or []:
                record.add_heat(heat)
        facts = read_situation(tmp_path, now)
        sheet = assemble(facts)
        found = reminders_of(facts, sheet, plan=plan)
        assert len({reminder.key for reminder in found}) == len(found)
        for reminder in found:
            assert reminder.due.utcoffset() == timedelta(0)
            assert reminder.due < reminder.expires
            assert len(reminder.title) < 90, "one line of a phone, or two"
            # read on another day 'today' would be wrong; the morning's is read on its own
            if reminder.kind != "morning":
                assert "today" not in reminder.body
                assert "tomorrow" not in reminder.body
        made.plan = plan_of(sheet)  # type: ignore[attr-defined]
        return {reminder.key: reminder for reminder in found}

    return made


def coat_at(start: datetime, number: int = 1) -> Coat:
    return Coat("table", 1, number, start, start + HOUR, "test-varnish")


def only(found: dict[str, Reminder], kind: str) -> list[Reminder]:
    return [reminder for reminder in found.values() if reminder.kind == kind]


def test_the_morning_notice_names_what_goes(derive: Callable[..., dict[str, Reminder]]) -> None:
    (morning,) = only(derive(), "morning")
    assert morning.key == "morning|2026-05-11"
    assert morning.due == datetime(2026, 5, 11, 6, 30, tzinfo=UTC)  # 07:30 in London
    assert morning.title == "Mon 11 May 2026: table"
    assert "✓ table, coat 1 of 3: " in morning.body
    assert only(derive(now=NOW - 3 * HOUR), "morning") == []  # not in the night


def test_the_morning_notice_has_the_order_of_work(
    derive: Callable[..., dict[str, Reminder]], tmp_path: Path
) -> None:
    derive()
    make_plan(tmp_path, NOW, days=4, seconds=5.0)
    (morning,) = only(derive(), "morning")
    planned = [line for line in morning.body.splitlines() if line.startswith("Planned ")]
    assert planned
    assert "table, coat 1 of 3" in planned[0]
    (tomorrow,) = only(derive(now=NOW + timedelta(days=1)), "morning")
    assert "makes it anew" in tomorrow.body


def test_a_coat_on_makes_its_times(derive: Callable[..., dict[str, Reminder]]) -> None:
    started = NOW - 2 * HOUR
    found = derive(log=[coat_at(started)])
    (opens,) = only(found, "recoat opens")
    # the sheet's row: 5 h at 20 °C, 6 h at 10 °C, from the last stroke; on the slow side
    assert timedelta(hours=5.5) <= opens.due - (started + HOUR) <= timedelta(hours=8)
    assert opens.title == "table: time for coat 2 of 3"
    closes = only(found, "recoat closes")
    last = max(closes, key=lambda reminder: reminder.due)
    assert last.level == "urgent"
    assert last.title.startswith("Last call: table, coat 2 of 3 by ")
    # the sheet's row: 22 h at 20 °C, 24 h at 10 °C, from the first stroke; on the quick side
    assert timedelta(hours=16) <= last.expires - started <= timedelta(hours=24)
    assert last.expires - last.due >= 2 * HOUR  # time to do it
    assert only(derive(coats=1, log=[coat_at(started)]), "recoat closes") == []


def test_deadlines_are_told_earlier_the_more_is_lost(
    derive: Callable[..., dict[str, Reminder]],
) -> None:
    found = {}
    for after in ("as is", "sand", "never"):
        told = only(derive(after=after, log=[coat_at(NOW - 2 * HOUR)]), "recoat closes")
        found[after] = min((each.due for each in told), default=None)
        if after == "never":
            assert {each.level for each in told} == {"urgent"}
            assert "would have to come off" in told[0].body
    assert found["as is"] is None
    assert found["never"] is not None
    assert found["sand"] is not None
    assert found["never"] < found["sand"]


def test_cured_milestones_once_no_coat_follows(derive: Callable[..., dict[str, Reminder]]) -> None:
    found = derive(coats=1, log=[coat_at(NOW - 30 * HOUR)])
    told = {r.key.rpartition("|")[2]: r for r in only(found, "milestone")}
    assert set(told) == {"closed up", "full cure"}
    assert told["closed up"].title == "table: may be covered"
    # 40 to 48 h, and not in the night
    at = told["closed up"].due
    assert timedelta(hours=40) <= at - (NOW - 29 * HOUR) <= timedelta(hours=60)
    assert only(derive(coats=3, log=[coat_at(NOW - 30 * HOUR)]), "milestone") == []


@pytest.mark.parametrize(
    ("air", "said", "level"),
    [
        ([(3.0, 16.0), (1.5, 15.9), (0.1, 15.8)], None, None),
        ([(2.0, 14.0), (1.0, 12.0), (0.1, 10.6)], "10.6 °C and falling, limit 10 °C", "urgent"),
        ([(2.0, 12.0), (1.0, 9.5), (0.1, 8.2)], "8.2 °C and falling, limit 10 °C", "urgent"),
        ([(0.1, 8.2)], "8.2 °C, limit 10 °C", "urgent"),
    ],
)
def test_a_heater_that_is_out_while_something_is_wet(
    derive: Callable[..., dict[str, Reminder]],
    air: list[tuple[float, float]],
    said: str | None,
    level: str | None,
) -> None:
    readings = [Reading("cabin", NOW - h * HOUR, air_c=c, rh_pct=50.0) for h, c in air]
    found = only(derive(log=[coat_at(NOW - 4 * HOUR)], readings=readings), "limits")
    measured = [r for r in found if "nearing" in r.key or "left" in r.key]
    if said is None:
        assert measured == []
        return
    (told,) = measured
    assert told.title == f"cabin: is the heater out? {said}"
    assert told.level == level
    assert told.due == NOW
    assert "Not set until " in told.body
    # nothing wet, nothing told
    assert only(derive(readings=readings), "limits") == []


# Made up as the varnish is: it may stand in the cold, and what leaves it burns.
SOLVENT = 'hazards = ["flammable solvent", "isocyanate"]\n' + (
    SHEET.replace("Test varnish", "Test solvent")
    .replace("10 °C", "-5 °C", 1)
    .replace("AFTER", "sand")
)
SHELF = """
[[job]]
name = "shelf"
space = "cabin"
area = "2 m²"
step = [{ do = "coat", sheet = "test-solvent", hands_on = "1 h" }]
"""


def solvent_in(folder: Path, hours_ago: float) -> Coat:
    (folder / "sheets").mkdir()
    (folder / "sheets" / "test-solvent.toml").write_text(SOLVENT, encoding="utf-8")
    start = NOW - hours_ago * HOUR
    return Coat("shelf", 1, 1, start, start + HOUR, "test-solvent")


@pytest.mark.parametrize("listed", [True, False])
def test_who_is_told_to_heat_hears_of_vapour_of_another_job(
    derive: Callable[..., dict[str, Reminder]], tmp_path: Path, listed: bool
) -> None:
    """Also of a job that has left the work list: nobody knows where its coat is."""
    on = [coat_at(NOW - 4 * HOUR), solvent_in(tmp_path, 3.0)]
    cold = [Reading("cabin", NOW - 0.1 * HOUR, air_c=8.2, rh_pct=50.0)]
    cooker = '\n[[ignition]]\nkind = "cooker"\nspace = "cabin"\n'
    found = derive(log=on, readings=cold, boat=cooker, work=SHELF if listed else "")
    (told,) = [r for r in only(found, "limits") if "left" in r.key]
    kinds = {each.kind for each in told.told}
    assert "flame over vapour" in kinds
    assert "the cooker in the cabin" in told.body
    without = derive(log=on[:1], readings=cold, boat=cooker, work=SHELF)
    (told,) = [r for r in only(without, "limits") if "left" in r.key]
    assert "flame over vapour" not in {each.kind for each in told.told}


@pytest.mark.parametrize("listed", [True, False])
def test_nobody_sleeps_over_a_film_whose_job_has_left_the_list(
    derive: Callable[..., dict[str, Reminder]], tmp_path: Path, listed: bool
) -> None:
    found = derive(log=[solvent_in(tmp_path, 3.0)], work=SHELF if listed else "")
    (told,) = only(found, "sleep")
    assert told.level == "urgent"
    assert "Test solvent" in told.body


@pytest.mark.slow
def test_a_heater_lit_by_the_log_is_turned_down_once(
    derive: Callable[..., dict[str, Reminder]],
) -> None:
    """At its own time, under the key of the coat it was lit for; put out, no more."""
    lit = Heat("cabin", NOW - HOUR, NOW + 36 * HOUR, 18.0)  # 20:00 there: no quiet hour
    cold = {"temp_c": 2.0, "routine": "", "heats": [lit]}

    def stated_of(**given: Any) -> list[Reminder]:
        return only(derive(**{**cold, **given}), "turn down heater")

    for later in (0, 4):
        (told,) = stated_of(now=NOW + later * HOUR)
        assert (told.key, told.due) == ("turn down heater|table|1.1", lit.until)
        assert told.title == "cabin: the heater may be turned down"
    (told,) = stated_of(now=lit.until + HOUR)  # nobody has heard of it yet: late is better
    assert told.due <= lit.until + HOUR
    assert stated_of(now=lit.until + 9 * HOUR) == []
    assert stated_of(now=NOW, heats=[lit, Heat("cabin", NOW, NOW)]) == []
    # nobody has said that it was ever lit: there is nothing to turn down, planned or not
    assert stated_of(now=NOW, heats=[]) == []
    assert only(derive(log=[coat_at(NOW - HOUR)], temp_c=2.0), "turn down heater") == []
    # with a film there it is told once that has set
    wet = derive(now=NOW, log=[coat_at(NOW - HOUR)], **cold)
    (told,) = only(wet, "turn down heater")
    assert told.key == "turn down heater|table|1.1"
    assert told.due < lit.until


def test_a_night_too_cold_is_told_before_it_comes(
    derive: Callable[..., dict[str, Reminder]],
) -> None:
    """The routine lets the heater go out at 20:00: the cabin follows the 2 °C outside."""
    found = derive(
        temp_c=2.0,
        log=[coat_at(NOW - HOUR)],
        readings=[Reading("cabin", NOW - 0.2 * HOUR, air_c=16.0, rh_pct=50.0)],
        routine='{ from = 06:00:00, setpoint = "16 °C" }, { from = 20:00:00 }',
    )
    told = [r for r in only(found, "limits") if r.key.startswith("limits|cabin|air")]
    (forecast,) = told
    assert "air below 10 °C" in forecast.title
    out = datetime(2026, 5, 11, 19, 0, tzinfo=UTC)  # 20:00 in London
    assert NOW < forecast.due < out
    assert "Worked out, not measured" in forecast.body


def test_a_reading_is_asked_for_where_something_cures(
    derive: Callable[..., dict[str, Reminder]],
) -> None:
    last = NOW - 20 * HOUR
    found = derive(
        log=[coat_at(NOW - 4 * HOUR)], readings=[Reading("cabin", last, air_c=16.0, rh_pct=50.0)]
    )
    (told,) = only(found, "reading overdue")
    assert told.due == last + timedelta(hours=24)
    assert told.level == "low"
    assert only(derive(), "reading overdue") == []


def test_a_delivery_on_its_day_and_the_day_after(
    derive: Callable[..., dict[str, Reminder]],
) -> None:
    fit = '[[job]]\nname = "lining"\nspace = "cabin"\n[[job.step]]\ndo = "fit"\nhands_on = "1 h"\n'
    work = fit.replace("[[job.step]]", '[[job.delivery]]\nwhat = "ply"\non = {day}\n[[job.step]]')
    (today, over) = sorted(
        only(derive(work=work.format(day="2026-05-11")), "delivery"), key=lambda r: r.due
    )
    assert (today.title, over.title) == ("ply: due Mon", "ply: should have come Mon")
    assert over.due - today.due == timedelta(days=1)
    arrived = work.format(day="2026-05-11").replace("\non =", "\narrived = true\non =")
    assert only(derive(work=arrived), "delivery") == []


def test_tins_frost_and_shelf_life(derive: Callable[..., dict[str, Reminder]]) -> None:
    tin = '[[tin]]\nsheet = "test-varnish"\nspace = "locker"\nbought = 2025-05-20\n'
    locker = '[[space]]\nname = "locker"\nvolume = "3 m³"\nair_change = "2 /h"\n'
    locker += '[[space.panel]]\nname = "side"\narea = "4 m²"\n'
    locker += 'layers = [{ material = "plywood", thickness = "12 mm" }]\n'
    found = derive(temp_c=-4.0, boat=locker + tin)
    (frost,) = only(found, "frost")
    assert frost.about == "locker"
    assert "frost spoils test varnish" in frost.body
    (near,) = only(found, "shelf life")  # 365 days from 20 May 2025: in nine days
    assert near.title == "test varnish: shelf life ends Wed 20 May 2026"
    used = locker + tin + "used_up = true\n"
    found = derive(temp_c=-4.0, boat=used)
    assert only(found, "frost") == only(found, "shelf life") == []


@pytest.mark.slow
def test_a_plan_that_holds_no_more_is_told_once_in_the_same_words(
    derive: Callable[..., dict[str, Reminder]],
) -> None:
    derive()
    told = derive.plan  # type: ignore[attr-defined]
    assert only(derive(plan=told), "plan changed") == []
    cold = {"temp_c": -12.0, "routine": "{ from = 00:00:00 }", "now": NOW + HOUR}
    (first,) = only(derive(plan=told, **cold), "plan changed")
    (again,) = only(derive(plan=told, **(cold | {"temp_c": -13.0})), "plan changed")
    assert first.key == again.key
    assert first.title.startswith("table: ")
    assert "any more" in first.title
    assert "below" in first.body.splitlines()[0]
    # told by an older version, of which less is known: nothing, and no fault
    old = {"table": {key: told["table"][key] for key in ("next", "opens", "closes", "until")}}
    assert only(derive(plan=old, **cold), "plan changed") == []


def test_the_lead_grows_with_what_is_lost() -> None:
    """Laws of the leads: longest first, the last leaves time for the coat itself."""
    from types import SimpleNamespace

    for after in ("sand", "never"):
        before = 0.0
        for coat in range(1, 6):
            for hands_on_h in (0.5, 1.0, 2.0, 4.0):
                leads = lead_hours(
                    SimpleNamespace(recoat_after=after, coat=coat),  # type: ignore[arg-type]
                    hands_on_h,
                )
                assert leads[-1] > hands_on_h
                assert max(leads) <= 48.0
            if after == "never":
                least = lead_hours(
                    SimpleNamespace(recoat_after=after, coat=coat),  # type: ignore[arg-type]
                    0.5,
                )[0]
                assert least >= before
                before = least
