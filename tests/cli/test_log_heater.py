"""`curewindow log heater`, and the way from a heating plan over the log to a window."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import Result

from curewindow.boat.folder import RECORD_FILE, load_boat
from curewindow.daysheet import day_sheet
from curewindow.daysheet.models import DaySheet
from curewindow.demo import files as demofiles
from curewindow.heating import HeatPlan
from curewindow.judgement.heat import heat_plans
from curewindow.judgement.models import JobDay
from curewindow.record import Reading, Record
from curewindow.record.entries import Heat
from curewindow.voice.cautions import topic
from curewindow.weather.choose import get_forecast
from tests.fewer_jobs import only_jobs, weather_until

Run = Callable[..., Result]
MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
PRIMER = "forepeak frames"


@pytest.fixture
def boat(demo: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "boat"
    shutil.copytree(demo, folder)
    only_jobs(folder, PRIMER)
    return folder


def _day(folder: Path, now: datetime) -> tuple[DaySheet, JobDay]:
    """With the forecast's one member, which is quicker than the sixteen it is told with."""
    sheet = day_sheet(folder, now, forecast=get_forecast(load_boat(folder), folder, now))
    return sheet, next(each for each in sheet.jobs if each.job == PRIMER)


def _light(folder: Path, plan: HeatPlan) -> datetime:
    assert plan.light_at is not None
    assert plan.hold_until is not None
    assert plan.ventilation is not None
    lit = plan.light_at
    heat = Heat("forepeak", lit, plan.hold_until, plan.setpoint_c, plan.ventilation)
    with Record(folder / RECORD_FILE, now=lambda: lit) as record:
        record.add_heat(heat)
    return lit


@pytest.mark.slow
def test_heated_as_planned_and_logged_it_may_be_put_on(boat: Path) -> None:
    """Before it is logged nothing opens, the heater is taken to be off; nor once it is out."""
    _, day = _day(boat, MORNING)
    plan = day.heat
    assert plan is not None
    assert plan.status == "possible"
    assert plan.start is not None
    assert plan.light_at is not None
    soon = timedelta(minutes=10)
    assert _day(boat, plan.light_at + soon)[1].status == "blocked"

    lit = _light(boat, plan)
    sheet, day = _day(boat, lit + soon)
    windows = [*day.windows_today, *filter(None, [day.next_window, day.if_wiped])]
    assert any(each.opens <= plan.start + soon <= each.closes + 2 * soon for each in windows)
    here = next(space for space in sheet.spaces if space.where == "forepeak")
    assert (here.heater_c, here.heater_until) == (plan.setpoint_c, plan.hold_until)
    assert any(note.kind == "heater by the log" for note in day.notes)
    # it is heated through a night: that is never told without its caution
    assert any(topic(each.danger) == "unattended heating" for each in sheet.cautions)


@pytest.mark.slow
def test_a_heater_that_is_out_opens_nothing(boat: Path) -> None:
    """By a reading that is as cold as without it, or by the log."""
    _, day = _day(boat, MORNING)
    assert day.heat is not None
    soon = timedelta(minutes=10)
    lit = _light(boat, day.heat)
    cold = lit + timedelta(hours=4)
    with Record(boat / RECORD_FILE, now=lambda: cold) as record:
        record.add_reading(Reading("forepeak", cold, air_c=5.0, rh_pct=90.0))
    sheet, day = _day(boat, cold + soon)
    assert day.status == "blocked"
    here = next(space for space in sheet.spaces if space.where == "forepeak")
    assert (here.heater_out_c, here.heater_until) == (5.0, None)
    with Record(boat / RECORD_FILE, now=lambda: cold) as record:
        record.undo_last()

    out = lit + timedelta(hours=1)
    with Record(boat / RECORD_FILE, now=lambda: out) as record:
        record.add_heat(Heat("forepeak", out, out))
    sheet, day = _day(boat, out + soon)
    assert day.status == "blocked"
    here = next(space for space in sheet.spaces if space.where == "forepeak")
    assert here.heater_until is None


@pytest.mark.slow
def test_heat_denies_nothing_the_day_sheet_tells_of(tmp_path: Path) -> None:
    """A mild damp day: the cheapest way holds in too few members, a warmer one in all."""
    morning = datetime(2026, 11, 15, 7, 30, tzinfo=UTC)
    folder = tmp_path / "boat"
    demofiles.write(folder, morning)
    weather_until(folder, "2026-11-24")
    only_jobs(folder, PRIMER)
    day = next(each for each in day_sheet(folder, morning).jobs if each.job == PRIMER)
    assert day.heat is not None
    assert day.heat.status == "possible"
    (plan,) = heat_plans(folder, morning, job=PRIMER).plans
    assert plan.status == "possible"
    assert plan.confidence is not None
    assert plan.confidence >= 0.5


def test_what_the_command_takes_and_tells(run: Run, boat: Path) -> None:
    done = run(
        "log",
        "heater",
        "forepeak",
        "21C",
        "--until",
        "tomorrow 12:00",
        "--vent",
        "ajar",
        "--boat",
        boat,
    )
    assert done.exit_code == 0, done.stderr
    assert re.search(
        r"forepeak heater, today .*: held at 21 °C until tomorrow 12:00, vents ajar", done.stdout
    )
    shown = json.loads(run("log", "show", "--json", "--boat", boat).stdout)
    assert [row["setpoint_c"] for row in shown["heater"]] == [21.0]
    assert "h1 " in run("log", "show", "--boat", boat).stdout
    off = run("log", "heater", "forepeak", "off", "--boat", boat)
    assert "off; its routine again" in off.stdout
    assert run("log", "correct", "h2", "--note", "by mistake", "--boat", boat).exit_code == 0
    assert "taken back" in run("log", "undo", "--boat", boat).stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("wheelhouse", "20C", "--until", "tomorrow 12:00"), "no heater in 'wheelhouse'"),
        (("forpeak", "20C", "--until", "tomorrow 12:00"), "did you mean 'forepeak'"),
        (("forepeak", "20C"), "until when is it to be held"),
        (("forepeak", "20C", "--until", "yesterday 8:00"), "not after"),
        (("forepeak", "warm", "--until", "tomorrow 12:00"), "'warm'"),
        (("forepeak", "70C", "--until", "tomorrow 12:00"), "3 to 40 °C"),
    ],
)
def test_slips(run: Run, boat: Path, words: tuple[str, ...], said: str) -> None:
    done = run("log", "heater", *words, "--boat", boat)
    assert done.exit_code == 2
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert "heater" not in run("log", "show", "--boat", boat).stdout
