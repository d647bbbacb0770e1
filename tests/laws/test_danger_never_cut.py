"""Danger is never cut, never lags, never ends before its cause does, on whatever face.

Boats with whatever heaters, sleepers and products, at whatever width: each danger the judgement
finds for a step is named on every face that tells of that step. What is dangerous is common
practice of the trade and of safety data sheets, no single source.
"""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, get_args
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from curewindow.calendar.feed import happenings
from curewindow.cli.daytext import day_lines
from curewindow.cli.main import command as cli
from curewindow.daysheet.ahead import windows_ahead
from curewindow.daysheet.assemble import assemble
from curewindow.daysheet.models import DaySheet
from curewindow.daysheet.planning import make_plan
from curewindow.findings import Finding, finding
from curewindow.judgement.models import JobDay
from curewindow.paper.week import week_of
from curewindow.record.entries import Coat, Inspection, Wiped
from curewindow.record.store import Record
from curewindow.reminders.derive import reminders_of
from curewindow.sheets.schema import Hazard
from curewindow.situation import Situation, read_situation
from curewindow.voice.cautions import DEFER, care_lines, topic
from curewindow.wording import Wording
from tests.cases import cases
from tests.page.hands import MORNING as NOW
from tests.page.hands import client_of

HAZARDS: tuple[Hazard, ...] = get_args(Hazard)
# Each hazard of a sheet brings at least this word (safety data sheets, common practice).
WORD = {
    "flammable solvent": "fire",
    "isocyanate": "isocyanate",
    "styrene": "styrene",
    "epoxy sensitiser": "epoxy",
    "peroxide": "peroxide",
    "heat in the pot": "heat in the pot",
    "self-heating rags": "rags",
    "methanol or oxime vapour": "vapour",
    "biocide": "biocide",
    "skin irritant": "skin",
    "sanding dust": "dust",
}
WORDS = Wording(ZoneInfo("Europe/Amsterdam"), NOW)
WIDTHS = (40, 60, 80, 100)
NOTE = "mind the brass screws"

BOAT = """
name = "test boat"
[place]
latitude = 52.4
longitude = 4.9
time_zone = "Europe/Amsterdam"
water_temp = "6 °C"
[weather]
feed = "file"
file = "weather.csv"
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = {opens}
until = 18:00:00
[[space]]
name = "cabin"
volume = "15 m³"
air_change = "1 /h"
slept_in = {cabin}
connected_to = ["berth"]
[[space.panel]]
name = "side"
area = "10 m²"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
{heating}
[[space]]
name = "berth"
volume = "8 m³"
slept_in = {berth}
[[space.panel]]
name = "side"
area = "6 m²"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
"""
HEATING = """
[space.heating]
kind = "{kind}"
power = "4 kW"
vented = {vented}
open_flame = {flame}
"""
SHEET = """
name = "{name}"
kind = "varnish"
chemistry = "oxidation"
basis = "made up for a test"
hazards = {hazards}
[applying]
air = {{ min = "8 °C" }}
[setting]
air = {{ min = "6 °C" }}
until = "touch dry"
[cure]
temps = ["10 °C", "20 °C"]
touch_dry = ["3 h", "2 h"]
handling = ["30 h", "24 h"]
full_cure = ["96 h", "72 h"]
[[recoat]]
from = ["6 h", "5 h"]
until = ["60 h", "50 h"]
after = "sand"
"""
JOB = """
[[job]]
name = "{name}"
{where}
area = "2 m²"
[[job.step]]
do = "coat"
sheet = "{sheet}"
coats = 2
between = "{between}"
hands_on = "1 h"
note = "{note}"
"""


@st.composite
def boats(draw: Any) -> dict[str, Any]:
    """A boat with one job in the cabin and one on deck, and what is on already."""
    some = st.lists(st.sampled_from(HAZARDS), unique=True, max_size=len(HAZARDS))
    return {
        "hazards": draw(some),
        "deck": draw(some),
        "heater": draw(
            st.sampled_from(
                [
                    None,
                    ("electric", "true", "false"),
                    ("diesel", "true", "false"),
                    ("gas", "false", "true"),
                    ("paraffin", "false", "false"),
                ]
            )
        ),
        "sleeps": draw(st.sampled_from(["", "cabin", "berth"])),
        "between": draw(st.sampled_from(["sand", "as is"])),
        "temp_c": draw(st.sampled_from([3.0, 14.0])),
        "on_for_h": draw(st.sampled_from([None, 1.0, 12.0, 23.0])),
        "width": draw(st.sampled_from(WIDTHS)),
        "opens": draw(st.sampled_from(["06:00:00", "09:00:00"])),
    }


def write(folder: Path, boat: dict[str, Any]) -> None:
    fire = boat["heater"]
    heating = "" if fire is None else HEATING.format(kind=fire[0], vented=fire[1], flame=fire[2])
    (folder / "sheets").mkdir(exist_ok=True)
    for name, hazards in (("inside", boat["hazards"]), ("outside", boat["deck"])):
        text = SHEET.format(name=f"product {name}", hazards=str(hazards).replace("'", '"'))
        (folder / "sheets" / f"{name}.toml").write_text(text, "utf-8")
    (folder / "boat.toml").write_text(
        BOAT.format(
            heating=heating,
            opens=boat["opens"],
            cabin=str(boat["sleeps"] == "cabin").lower(),
            berth=str(boat["sleeps"] == "berth").lower(),
        ),
        "utf-8",
    )
    jobs = [
        JOB.format(name=name, where=where, sheet=sheet, between=boat["between"], note=NOTE)
        for name, where, sheet in (
            ("table", 'space = "cabin"', "inside"),
            ("rail", "outdoors = true", "outside"),
        )
    ]
    (folder / "work.toml").write_text("".join(jobs), "utf-8")
    first = datetime(2026, 11, 21, tzinfo=UTC)
    rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    temp = boat["temp_c"]
    rows += [
        f"{first + timedelta(hours=h):%Y-%m-%dT%H:%M}Z,{temp},{temp - 9},2,0,100,0"
        for h in range(11 * 24)
    ]
    (folder / "weather.csv").write_text("\n".join(rows) + "\n", "utf-8")
    with Record(folder / "record.db", now=lambda: NOW) as record:
        if boat["on_for_h"] is not None:
            end = NOW - timedelta(hours=boat["on_for_h"])
            record.add_coat(Coat("table", 1, 1, end - timedelta(hours=1), end, "inside"))


def missing(cautions: Iterable[Finding], text: str) -> list[str]:
    """Topics that a text does not name; lines of a narrow screen are joined first."""
    joined = " ".join(text.split()).casefold()
    return [topic(each) for each in cautions if topic(each).casefold() not in joined]


def stated_of(day: JobDay) -> bool:
    """Does the day sheet tell of a time to do the next step, or heat for it?"""
    heat = day.heat is not None and day.heat.status == "possible"
    return day.status in ("go", "refused") or heat or bool(day.next_window or day.if_wiped)


def command(folder: Path, *words: str, width: int = 80) -> str:
    given_ = [*words, "--boat", str(folder), "--at", "2026-11-25 08:30"]
    result = CliRunner().invoke(cli, given_, env={"COLUMNS": str(width), "LINES": "50"})
    assert result.exit_code == 0, result.output
    return result.output


def check_day_sheet(day: DaySheet) -> None:
    for width in WIDTHS:
        for full in (False, True):
            text = "\n".join(day_lines(day, width=width, full=full))
            if full and day.cautions:
                assert once(text)
            for job in day.jobs:
                if stated_of(job):
                    assert missing(job.cautions, text) == [], (width, full, job.job)
                if job.heat is not None and job.heat.status in ("possible", "refused"):
                    assert missing(job.heat.cautions, text) == []


def check_notices(facts: Situation, day: DaySheet) -> None:
    jobs = {job.job: job for job in day.jobs}
    step = ("window opens", "window closes", "recoat opens", "recoat closes", "plan changed")
    for notice in reminders_of(facts, day):
        assert DEFER not in notice.body or once(notice.body)
        if notice.kind in step:
            assert missing(jobs[notice.about].cautions, notice.body) == [], notice.kind
        if notice.kind == "light heater":
            heat = jobs[notice.about].heat
            assert heat is not None
            assert missing(heat.cautions, notice.body) == []
        if notice.kind == "morning":
            for job in day.jobs:
                if stated_of(job):
                    assert missing(job.cautions, notice.body) == []
            assert missing_day(day, notice.body) == []


def once(text: str) -> bool:
    """Who has the last word is said, and said once."""
    return " ".join(text.split()).count(" ".join(DEFER.split())) == 1


def missing_day(day: DaySheet, text: str) -> list[str]:
    return missing((each.danger for each in day.cautions), text)


def check_calendar(folder: Path, day: DaySheet) -> None:
    jobs = {job.job: job for job in day.jobs}
    for each in happenings(day, windows_ahead(folder, NOW)):
        if each.kind in ("window", "recoat opens", "recoat closes"):
            assert missing(jobs[each.job].cautions, each.body) == [], each.kind
        if each.kind == "heat":
            heat = jobs[each.job].heat
            assert heat is not None
            assert missing(heat.cautions, each.body) == []


@cases(3)
@given(boat=boats())
def test_every_danger_of_a_step_is_named_wherever_the_step_is_told_of(boat: dict[str, Any]) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write(folder, boat)
        facts = read_situation(folder, NOW)
        day = assemble(facts)
        for job, hazards in (("table", boat["hazards"]), ("rail", boat["deck"])):
            found = next(each for each in day.jobs if each.job == job).cautions
            said = {topic(each) for each in found}
            assert {WORD[hazard] for hazard in hazards} <= said
        for told in day.jobs:
            assert not [each for each in told.notes if each.weight == "danger"]  # a face may fold
            notes = [] if told.heat is None else told.heat.notes
            assert not [each for each in notes if each.weight == "danger"]
        check_day_sheet(day)
        check_notices(facts, day)
        check_calendar(folder, day)
        width = boat["width"]
        windows = command(folder, "windows", width=width)
        if any(job.cautions for job in day.jobs):
            assert once(windows)
        for job in day.jobs:
            if job.status != "refused" and (job.windows_today or job.next_window):
                assert missing(job.cautions, windows) == []
        table = day.jobs[0]
        assert missing(table.cautions, command(folder, "why", "table", width=width)) == []
        bought = " ".join(command(folder, "buy", width=width).split())
        wanted = {WORD[each] for each in [*boat["hazards"], *boat["deck"]]}
        assert all(word in bought for word in wanted)


@cases(2)
@given(boat=boats())
def test_plan_and_paper_name_every_danger_and_note(boat: dict[str, Any]) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write(folder, boat)
        plan = make_plan(folder, NOW, days=5, seconds=1.0, keep=True).plan
        for step in plan.steps:
            assert step.note == NOTE
            hazards = boat["hazards"] if step.job == "table" else boat["deck"]
            said = {topic(each) for each in step.cautions}
            if not step.sanding_for_missed:
                assert {WORD[hazard] for hazard in hazards} <= said
            if step.setpoint_c is not None:
                assert {"unattended heating"} <= said
        paper = week_of(plan, NOW, days=6)
        for line in (line for day in paper.days for line in day.lines if line.kind == "step"):
            own = [step for step in plan.steps if step.job in line.text and step.start == line.at]
            assert own
            if line.tick:
                assert NOTE in " ".join(line.under)
                assert missing(own[0].cautions, " ".join(line.under)) == []
        facts = read_situation(folder, NOW)
        day = assemble(facts)
        shown = [] if day.plan is None else [*day.plan.today, *day.plan.coming]
        for start in shown:
            assert missing(start.cautions, " ".join(care_lines(start.cautions, WORDS))) == []
        for width in WIDTHS:
            text = "\n".join(day_lines(day, width=width))
            for start in shown:
                if start.allowed is not False:
                    assert missing(start.cautions, text) == [], (width, start.key)


def test_the_page_names_every_danger(tmp_path: Path) -> None:
    """All hazards at once, wet film below: today, job, heater and log forms."""
    boat = {
        "hazards": list(HAZARDS),
        "deck": list(HAZARDS),
        "heater": ("diesel", "true", "false"),
        "sleeps": "",
        "between": "sand",
        "temp_c": 14.0,
        "on_for_h": 12.0,
        "opens": "06:00:00",
    }
    write(tmp_path, boat)
    day = assemble(read_situation(tmp_path, NOW))
    with client_of(tmp_path) as page:
        today = page.get("/").text
        for job in day.jobs:
            if stated_of(job):
                assert missing(job.cautions, today) == []
            assert missing(job.cautions, page.get(f"/job?name={job.job}").text) == []
            assert missing(job.cautions, page.get(f"/why?job={job.job}").text) == []
            own = page.get(f"/log/work?job={job.job}").text
            assert {WORD[hazard] for hazard in HAZARDS} <= {
                word for word in WORD.values() if word in own
            }
        heater = page.get("/log/heater?space=cabin").text
        assert "carbon monoxide" in heater
        assert "EN 50291-2" in heater


@pytest.mark.parametrize("most", [None, 0, 1, 3])
def test_what_is_folded_is_counted_and_named(most: int | None) -> None:
    draw = random.Random(most or 0)
    kinds = draw.sample(sorted(set(HAZARDS) - {"flammable solvent", "sanding dust"}), 8)
    found = [finding(kind, product="Some product") for kind in kinds]
    lines = care_lines(found, WORDS, most)
    assert missing(found, "\n".join(lines)) == []
    if most is not None:
        assert len(lines) == most + 1
        assert f"{len(kinds) - most} more" in lines[-1]


BOTH: tuple[Hazard, ...] = ("flammable solvent", "self-heating rags")


@pytest.mark.parametrize(
    ("on_for_h", "goes_on", "over"),
    [
        (1.0, {"fire", "vapour", "sleeping", "rags"}, set()),
        # touch dry, and yet a tenth of its solvent is still to come: gone in 2.9 times as long
        (6.0, {"fire", "vapour", "sleeping", "rags"}, set()),
        (12.0, {"sleeping", "rags"}, {"fire"}),  # hard after 30 h
        (23.9, {"sleeping", "rags"}, {"fire"}),
        (60.0, {"rags"}, {"fire", "sleeping"}),  # nobody has cleared them away
        (72.1, set(), {"fire", "rags", "sleeping"}),
    ],
)
def test_no_danger_of_a_coat_that_is_on_ends_before_its_cause(
    tmp_path: Path, on_for_h: float, goes_on: set[str], over: set[str]
) -> None:
    """The next step is another product's, so nothing but the film and its rags brings these.

    Sheet: touch dry 3 h and handling 30 h at 10 °C, 2 h and 24 h at 20 °C; the cabin lies between.
    """
    boat = {
        "hazards": list(BOTH),
        "deck": [],
        "heater": None,
        "sleeps": "cabin",
        "between": "as is",
        "temp_c": 14.0,
        "on_for_h": on_for_h,
        "opens": "06:00:00",
    }
    write(tmp_path, boat)
    work = (tmp_path / "work.toml").read_text("utf-8").replace("coats = 2", "coats = 1")
    (tmp_path / "work.toml").write_text(work, "utf-8")
    day = assemble(read_situation(tmp_path, NOW))
    (table,) = (job for job in day.jobs if job.job == "table")
    assert table.next is None
    found = {topic(each.danger) for each in day.cautions if "table" in each.jobs}
    assert goes_on <= found
    assert not over & found
    for width in WIDTHS:
        text = "\n".join(day_lines(day, width=width))
        assert missing_day(day, text) == []


def _film_on(tmp_path: Path, on_for_h: float, sleeps: str | None) -> tuple[Situation, DaySheet]:
    """A boat whose only coat of the table went on so long ago; the job is done with it."""
    boat = {
        "hazards": list(BOTH),
        "deck": [],
        "heater": None,
        "sleeps": sleeps or "",
        "between": "as is",
        "temp_c": 14.0,
        "on_for_h": on_for_h,
        "opens": "06:00:00",
    }
    write(tmp_path, boat)
    work = (tmp_path / "work.toml").read_text("utf-8").replace("coats = 2", "coats = 1")
    (tmp_path / "work.toml").write_text(work, "utf-8")
    if sleeps is None:
        text = (tmp_path / "boat.toml").read_text("utf-8").replace("slept_in = false\n", "")
        (tmp_path / "boat.toml").write_text(text, "utf-8")
    facts = read_situation(tmp_path, NOW)
    return facts, assemble(facts)


TONIGHT = "nobody sleeps here tonight"


@pytest.mark.parametrize(
    ("on_for_h", "sleeps", "told", "where"),
    [
        (12.0, "cabin", True, "cabin"),  # hard 24 h to 30 h after, and bedtime is 14 h away
        (12.0, "berth", True, "berth"),  # its air gets there
        (12.0, None, True, None),  # nobody says where someone sleeps
        (12.0, "", False, None),  # nobody sleeps aboard
        (40.0, "cabin", False, None),  # hard long since
    ],
)
def test_the_evening_says_where_nobody_sleeps(
    tmp_path: Path, on_for_h: float, sleeps: str | None, told: bool, where: str | None
) -> None:
    """On the day sheet, at any width, and as a notice before bedtime, of a job that is done."""
    facts, day = _film_on(tmp_path, on_for_h, sleeps)
    (table,) = (job for job in day.jobs if job.job == "table")
    assert table.next is None
    found = [each.danger for each in day.cautions if each.danger.kind == TONIGHT]
    assert bool(found) is told
    notices = [each for each in reminders_of(facts, day) if each.kind == "sleep"]
    assert bool(notices) is told
    if not told:
        return
    assert found[0].text("space") == (where or "")
    assert found[0].weight == "danger"
    assert "nobody sleeps" in notices[0].title.casefold()
    assert NOW.replace(hour=12) < notices[0].due <= NOW.replace(hour=21)
    for width in WIDTHS:
        assert "tonight" in " ".join(day_lines(day, width=width))


def test_where_nobody_says_who_sleeps_it_is_asked_in_one_line(tmp_path: Path) -> None:
    """No refusal: the coat goes on, and nobody sleeps aboard until it is hard."""
    _, day = _film_on(tmp_path, 1.0, None)
    found = [each for each in day.cautions if each.danger.kind == "sleepers not known"]
    assert len(found) == 1
    assert found[0].grade == "reminder"
    assert not [each for each in day.cautions if each.danger.flag("refuses")]


def test_rags_that_are_logged_as_cleared_are_told_of_no_more(tmp_path: Path) -> None:
    _film_on(tmp_path, 1.0, "")
    for found, told in (("sound", True), ("cleared", False)):
        with Record(tmp_path / "record.db", now=lambda: NOW) as record:
            record.add(Inspection("table", 1, 1, NOW - timedelta(minutes=30), found))
        day = assemble(read_situation(tmp_path, NOW))
        assert ("rags" in {topic(each.danger) for each in day.cautions}) is told
    clock = next(each for each in day.clocks if each.job == "table")
    assert clock.found == "sound"


def test_dust_of_a_logged_sanding_is_told_until_it_is_off(tmp_path: Path) -> None:
    """Wiped, cleared or coated over by the log; where nobody says so for three days."""
    _film_on(tmp_path, 60.0, "")
    at = NOW - timedelta(hours=1)

    def dust(now: datetime) -> bool:
        day = assemble(read_situation(tmp_path, now))
        return any(e.danger.kind == "sanding dust" and "table" in e.jobs for e in day.cautions)

    assert not dust(NOW)
    with Record(tmp_path / "record.db", now=lambda: NOW) as record:
        record.add(Inspection("table", 1, 1, at, "sanded"))
    assert dust(NOW)
    assert dust(at + timedelta(hours=71))
    assert not dust(at + timedelta(hours=73))
    off = NOW - timedelta(minutes=10)
    for entry in (
        Wiped(off, job="table"),
        Inspection("table", 1, 1, off, "cleared"),
        Coat("table", 1, 2, off, NOW, "inside"),
    ):
        with Record(tmp_path / "record.db", now=lambda: NOW) as record:
            record.add(entry)
        assert not dust(NOW)
        with Record(tmp_path / "record.db", now=lambda: NOW) as record:
            record.undo_last()
        assert dust(NOW)


@pytest.mark.parametrize(("on_for_h", "told"), [(1.0, True), (12.0, False)])
def test_a_job_that_leaves_the_work_list_takes_its_vapour_with_it_no_sooner(
    tmp_path: Path, on_for_h: float, told: bool
) -> None:
    """Touch dry in 3 h at the slowest, and 2.9 times as long until its vapour is gone."""
    _film_on(tmp_path, on_for_h, "")
    work = (tmp_path / "work.toml").read_text("utf-8")
    (tmp_path / "work.toml").write_text(work[work.rindex("[[job]]") :], "utf-8")
    day = assemble(read_situation(tmp_path, NOW))
    assert [job.job for job in day.jobs] == ["rail"]
    kinds = {each.danger.kind for each in day.cautions}
    assert ("flammable vapour" in kinds) is told
    assert TONIGHT in kinds  # hard 30 h after at the latest
