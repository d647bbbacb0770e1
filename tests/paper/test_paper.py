"""The planned week on paper, and the plan as a table."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result

from curewindow.answers import AllDone
from curewindow.cli.main import command
from curewindow.findings import Finding, finding
from curewindow.order.heldwarm import heater_times
from curewindow.order.kept import KeptPlan, store
from curewindow.order.plan import LaterStep, Plan, PlannedStep, WaitsFor
from curewindow.paper import week_of
from curewindow.paper.layout import form_of, sheets_of, width_pt
from curewindow.paper.print_page import page_html
from curewindow.paper.table import plan_csv
from tests.page.browser import open_browser

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
AT = "2026-11-25 08:30"
HOUR = timedelta(hours=1)


_FORMULA = finding("awaited", state="delivery", thing="=1+1")


def _step(start_h: float, job: str = "table <oak>", **more: object) -> PlannedStep:
    start = NOW + start_h * HOUR
    given = {
        "key": f"{job}{start_h}",
        "job": job,
        "part": "1|1",
        "where": "saloon, joinery",
        "space": "saloon",
        "step": 1,
        "do": "coat",
        "product": "Oil varnish",
        "coat": 1,
        "of_coats": 2,
        "start": start,
        "end": start + HOUR,
        "hard": start + 30 * HOUR,
        "why": finding("begins when", state="choice", because=[_FORMULA]),
        "slack_h": 2.0,
    }
    return PlannedStep.model_validate({**given, **more})


def _heated(start_h: float, from_h: float, until_h: float, hold_c: float) -> PlannedStep:
    return _step(
        start_h,
        setpoint_c=hold_c,
        heat_from=NOW + from_h * HOUR,
        heat_until=NOW + until_h * HOUR,
    )


def _later(week: date, job: str, coat: int, **more: object) -> LaterStep:
    given = {
        "key": f"{job}{week}{coat}",
        "job": job,
        "part": "1|1",
        "where": "saloon, joinery",
        "space": "saloon",
        "step": 1,
        "do": "coat",
        "product": "Oil varnish",
        "coat": coat,
        "of_coats": 3,
        "week": week,
        "chance_pct": 62.0,
        "sure_week": week + timedelta(days=14),
        "within_pct": 96.0,
    }
    return LaterStep.model_validate({**given, **more})


def _all_done(**more: object) -> AllDone:
    given = {
        "middle": date(2027, 2, 8),
        "late": date(2027, 3, 1),
        "done_by": date(2027, 3, 20),
        "chance_pct": 96.0,
        "until": date(2027, 5, 24),
        "years": 20,
        "seasons": 120,
    }
    return AllDone.model_validate({**given, **more})


def _plan(
    *steps: PlannedStep, known_h: float | None = None, later: tuple[LaterStep, ...] = ()
) -> Plan:
    return Plan(
        boat="Kettle & Co",
        time_zone="Europe/Amsterdam",
        temperature_unit="°C",
        as_of=NOW,
        made_at=NOW,
        finish=None if later else NOW + 300 * HOUR,
        all_done=_all_done() if later else None,
        steps=list(steps),
        later=list(later),
        known_until=None if known_h is None else NOW + known_h * HOUR,
    )


@pytest.fixture
def boat(demo_day: Path, tmp_path: Path) -> Path:
    shutil.copytree(demo_day, folder := tmp_path / "boat")
    return folder


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(each) for each in arguments])


def test_heater_times_by_hand() -> None:
    """18° from 0 to 10 and 21° from 6 to 20: 18 up to 6, then 21; a break; 18 again."""
    steps = [_heated(1, 0, 10, 18), _heated(7, 6, 20, 21), _heated(31, 30, 40, 18)]
    held = heater_times(steps)
    hours = [((h.begins - NOW) / HOUR, (h.ends - NOW) / HOUR, h.setpoint_c) for h in held]
    assert hours == [(0, 6, 18), (6, 20, 21), (30, 40, 18)]
    assert {h.space for h in held} == {"saloon"}


def test_a_row_a_day() -> None:
    wait = WaitsFor(
        kind="cure", what=finding("awaited", state="hardens", part="coat 1"), until=NOW + 24 * HOUR
    )
    paper = week_of(
        _plan(
            _step(0.5),
            _step(26, coat=2, waits_for=[wait], must_by=NOW + 50 * HOUR),
            _heated(27, -20, 30, 18),
        ),
        NOW,
    )
    assert [day.title for day in paper.days][:2] == ["Wed 25 Nov", "Thu 26 Nov"]
    assert len(paper.days) == 7
    today, tomorrow, after = (
        [f"{line.clock} {line.text}" for line in day.lines] for day in paper.days[:3]
    )
    # Lit the day before: it says so at midnight.
    assert today[0].startswith("00:00 heater stays on, saloon: hold 18 °C until Thu")
    assert today[1] == "09:00-10:00 table <oak> (saloon): coat 1 of 2, oil varnish"
    second = next(line for line in paper.days[1].lines if "coat 2" in line.text)
    assert second.under == [
        "wait for coat 1 to harden, about Thu 26 Nov 08:30; "
        "by Fri 27 Nov 10:30, after that sand it first"
    ]
    assert not any("should be hard" in text for text in tomorrow)  # coat 2 lies on it by then
    assert any("should be hard" in text for text in after)
    assert any("last moment" in text for text in after)
    assert paper.days[6].lines == []


def test_what_the_record_has_is_not_to_be_ticked() -> None:
    paper = week_of(_plan(_step(0.5)), NOW, done={("table <oak>", 1, 1)})
    line = paper.days[0].lines[0]
    assert (line.tick, line.under) == (False, ["done already, by the record"])


def test_a_coat_is_not_to_be_tested_once_another_lies_on_it() -> None:
    """The coat below is tested before the next goes on; afterwards nobody can reach it."""
    first, second = _step(0.5), _step(20, coat=2)  # the first is hard after 30.5 h
    lines = [line for day in week_of(_plan(first, second), NOW).days for line in day.lines]
    tested = [line.text for line in lines if line.kind == "ready"]
    assert first.hard > second.start
    assert not any("coat 1" in text for text in tested)
    assert any("coat 2" in text for text in tested)
    by_record = week_of(_plan(second), NOW, done={("table <oak>", 1, 2)})
    assert any(line.kind == "ready" for day in by_record.days for line in day.lines)
    late = week_of(_plan(first), NOW, done={("table <oak>", 1, 2)})
    assert not any(line.kind == "ready" for day in late.days for line in day.lines)


def test_a_plan_that_is_past_or_doubted_says_so_first() -> None:
    doubted = _plan(_step(0.5)).model_copy(update={"faults": ["two coats at once"]})
    paper = week_of(doubted, NOW + 100 * HOUR)
    assert len(paper.warnings) == 2
    page = page_html(paper)
    assert page.index("second look") < page.index("<section>")


def _busy(days: int = 3, weeks: int = 5) -> Plan:
    """So many days with five coats each, then weeks beyond the forecast, full of dangers."""
    found = [
        finding("flammable vapour", products=("Oil varnish",)),
        finding("isocyanate", product="Hard varnish"),
        finding("epoxy sensitiser", product="Primer"),
        finding("self-heating rags", product="Oil varnish"),
        finding("airflow for vapour", product="Oil varnish", space="saloon", flow_m3_h=360.0),
        finding("skin irritant", product="Oil varnish"),
    ]
    near = [
        _step(24.0 * day + 1.5 * coat, f"job {coat}", note="by the lamp", cautions=found)
        for day in range(days)
        for coat in range(5)
    ]
    biocide = [finding("biocide", product="Copper paint")]
    later = [
        _later(
            date(2026, 12, 7) + timedelta(days=7 * week),
            f"late {coat}",
            coat + 1,
            cautions=biocide,
        )
        for week in range(weeks)
        for coat in range(3)
    ]
    return _plan(*near, known_h=24.0 * 14, later=tuple(later))


def test_beyond_the_forecast_there_are_weeks_and_no_clock() -> None:
    plan = _busy()
    for days in (7, 60):
        paper = week_of(plan, NOW, days=days)
        assert len(paper.days) == min(days, 15)  # the fifteenth begins within the forecast
        assert not any("late" in line.text for day in paper.days for line in day.lines)
        assert [week.title for week in paper.weeks[:2]] == [
            "probably the week of 7 Dec",
            "probably the week of 14 Dec",
        ]
        assert paper.weeks[0].lines[0] == (
            "late 0: coat 1 of 3, oil varnish (6 in 10 by its end, 9 in 10 by the week of 21 Dec)"
        )
        assert "all done: 5 in 10 by 8 Feb, 9 in 10 by 1 Mar" in " ".join(paper.notes)
        assert sum(week.steps for week in paper.weeks) == 15
        told = [week.title + " ".join(week.lines) for week in paper.weeks]
        assert not any(re.search(r"\d\d:\d\d", text) for text in told)
    assert [each.kind for each in paper.later_cautions] == ["biocide"]


def test_a_plan_older_than_its_forecast_says_so_and_has_no_day() -> None:
    paper = week_of(_busy(), NOW + timedelta(days=15))
    assert paper.days == []
    assert any("make a new plan" in text for text in paper.warnings)
    assert "week of 7 Dec" in page_html(paper)


@pytest.mark.parametrize(("days", "weeks"), [(1, 0), (2, 3), (2, 9)])
def test_one_page_on_which_no_danger_is_dropped(days: int, weeks: int) -> None:
    """What is folded is counted and named; the letters stay those a cold hand reads."""
    paper = week_of(_busy(days, weeks), NOW)
    form = form_of(paper)
    assert form.plain_pt >= 10.5
    assert form.small_pt >= 9.0
    assert len(sheets_of(paper)) == 1
    for text in (
        page_html(paper),
        " ".join(f"{row.day} {row.text}" for row in sheets_of(paper)[0]),
    ):
        for name in ("fire", "isocyanate", "epoxy", "rags", "vapour", "skin"):
            assert name in text.casefold()
        assert ("biocide" in text) == bool(weeks)
        assert text.count("your note: by the lamp") == 5 * days
        assert weeks == 0 or "7 Dec" in text


def test_what_fits_no_page_is_folded_nowhere() -> None:
    paper = week_of(_busy(7), NOW)
    assert len(sheets_of(paper)) > 1
    assert form_of(paper).dangers is None
    assert form_of(paper).weeks is None


def test_the_browser_prints_one_page() -> None:
    paper = week_of(_busy(2, 9), NOW)
    with open_browser() as browser:
        page = browser.new_page()
        page.set_content(page_html(paper))
        printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type /Page\b", printed)) == 1


def test_letters_are_no_wider_than_reckoned() -> None:
    """Against the font itself, as matplotlib brings it."""
    pytest.importorskip("matplotlib")
    from matplotlib.textpath import TextPath

    for bold in (False, True):
        for text in (
            "wait for 'saloon doors' coat 4 to harden, about Wed 2 Dec 09:30",
            "12:30-13:30 wheelhouse windows (wheelhouse): seal, hybrid sealant and adhesive",
            "WWWW MMMM 430 m³/h ≥ 5 °C; 8 in 10",
        ):
            weight = "bold" if bold else "normal"
            prop = {"family": "DejaVu Sans", "weight": weight}
            real = TextPath((0, 0), text, size=12, prop=prop).get_extents().width
            assert real <= width_pt(text, 12.0, bold=bold) <= 1.15 * real


def test_a_heater_is_lit_with_its_dangers() -> None:
    alone, burns = finding("heat unattended"), finding("heater burns", area_cm2=40.0)
    step = _heated(7, 6, 20, 21.0).model_copy(update={"cautions": [alone, burns]})
    lines = [line for day in week_of(_plan(step), NOW).days for line in day.lines]
    (lit,) = [line for line in lines if line.kind == "heat on"]
    assert lit.under[-1] == "take care: unattended heating, carbon monoxide"


def test_of_several_coats_the_air_of_the_thirstiest() -> None:
    def air(flow: float, space: str = "saloon") -> Finding:
        return finding("airflow for vapour", product="Varnish", space=space, flow_m3_h=flow)

    steps = [_step(1, cautions=[air(72.0), air(30.0, "forepeak")]), _step(3, cautions=[air(430.0)])]
    flows = [each.number("flow_m3_h") for each in week_of(_plan(*steps), NOW).cautions]
    assert sorted(flows) == [30.0, 430.0]


def test_the_page_stands_alone() -> None:
    page = page_html(week_of(_plan(_step(0.5)), NOW, days=1))
    assert "table &lt;oak&gt;" in page
    assert "Kettle &amp; Co" in page
    assert "@media print" in page
    assert "size: A4" in page
    assert "printed Wed 25 Nov 08:30" in page
    assert not re.search(r"https?://|<script|src=", page)


def test_the_table() -> None:
    rows = list(csv.DictReader(io.StringIO(plan_csv(_plan(_step(0.5), _heated(2, 1, 5, 18))))))
    assert rows[0]["start"] == "2026-11-25T09:00+01:00"
    assert rows[0]["hold_c"] == ""
    assert rows[1]["hold_c"] == "18"
    assert rows[0]["why"].startswith("'=1+1")  # no formula to a spreadsheet


def test_written_files(boat: Path, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    store(boat, KeptPlan(plan=_plan(*(_step(3.0 * at) for at in range(60)))))
    for form, begins in (("html", b"<!doctype"), ("pdf", b"%PDF"), ("csv", b"\xef\xbb\xbfstart")):
        out = tmp_path / f"week.{form}"
        said = run("paper", "--boat", boat, "--at", AT, "--to", out)
        assert said.exit_code == 0, said.output
        assert out.read_bytes().startswith(begins)
    pages = len(re.findall(rb"/Type /Page\b", (tmp_path / "week.pdf").read_bytes()))
    assert pages >= 2  # sixty coats fill more than one sheet
    schema = json.loads(run("schema", "--answer", "paper").stdout)
    answer = run("paper", "--boat", boat, "--at", AT, "--json")
    jsonschema.Draft202012Validator(schema).validate(json.loads(answer.stdout))
    assert "[ ] 09" in run("paper", "--boat", boat, "--at", AT).stdout.replace("08:30-", "09")


def test_one_clear_line(boat: Path, tmp_path: Path) -> None:
    for words, says in (
        ((), "there is no plan yet"),
        (("--to", tmp_path / "week.doc"), ".html, .pdf or .csv"),
        (("--to", tmp_path / "nowhere" / "week.html"), "there is no folder"),
        (("--days", "0"), "--days"),
    ):
        said = run("paper", "--boat", boat, *words)
        assert said.exit_code == 2
        assert says in said.stderr
        assert len(said.stderr.strip().splitlines()) == 1
