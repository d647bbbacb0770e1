"""What would save days, each found by planning again: cases worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from curewindow.cli import plan as cliplan
from curewindow.cli.main import command
from curewindow.daysheet import helps
from curewindow.daysheet.helps import what_helps
from curewindow.daysheet.planning import Made, make_plan
from curewindow.daysheet.variations import Variation
from curewindow.findings import finding
from tests.daysheet.conftest import BOAT, NOW, job

FIT = '[[job.step]]\ndo = "fit"\nhands_on = "{hours}"\n'
DAILY = """days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = 08:00:00
until = 18:00:00
"""
TWO_MORNINGS = """days = ["Tue", "Sat"]
from = 10:00:00
until = 13:00:00
"""


def few_hours(folder: Path) -> None:
    path = folder / "boat.toml"
    text = path.read_text(encoding="utf-8")
    assert DAILY in BOAT
    path.write_text(text.replace(DAILY, TWO_MORNINGS), encoding="utf-8")


def planned(folder: Path) -> Made:
    return make_plan(folder, NOW, days=9, seconds=20)


def test_one_more_day_or_evening(make, folder: Path) -> None:
    """Six hours of work, three on Tuesday 12 and three on Saturday 16 May; with Thursday morning
    (the weekday furthest from both) all is done on the 14th, two days sooner; with Wednesday's
    evening (18:30 to 21:30) on the 13th. The evening takes less of the week, and comes first."""
    make(job("shelf", FIT.format(hours="6 h")))
    few_hours(folder)
    made = planned(folder)
    assert made.plan.finish is not None
    assert made.plan.finish.day == 16
    found = what_helps(folder, made)
    assert [each.text for each in found.best] == [
        "one more evening a week (Wed) saves 3 days",
        "one more day aboard a week (Thu) saves 2 days",
    ]
    evening, day = found.best
    assert (evening.saves_days, day.saves_days) == (3, 2)
    assert evening.finish.isoformat() == "2026-05-13T20:30:00+00:00"  # 21:30 in London
    assert (found.more, found.stopped) == (0, False)


def test_what_is_there_sooner(make, folder: Path) -> None:
    """Plywood due from Wednesday 13 to Friday 15 May: what is there by 18:00, when the hours end,
    is fitted the morning after, on Saturday; sure to be there on Wednesday, on Thursday."""
    delivery = (
        '[[job.delivery]]\nwhat = "plywood"\nearliest = 2026-05-13\nlatest = 2026-05-15\n'
        + FIT.format(hours="3 h")
    )
    make(job("lining", delivery))
    made = planned(folder)
    found = what_helps(folder, made)
    assert [each.text for each in found.best] == ["plywood there by Wed 13 May saves 2 days"]
    # and as the date hangs on it, it is to be decided now
    assert made.plan.decide_now == [
        finding("order now", thing="plywood", job="lining", state="late")
    ]


def test_what_is_overdue_is_asked_after(make, folder: Path) -> None:
    delivery = '[[job.delivery]]\nwhat = "plywood"\non = 2026-05-08\n' + FIT.format(hours="3 h")
    make(job("lining", delivery))
    assert planned(folder).plan.decide_now == [
        finding("order now", thing="plywood", job="lining", state="overdue")
    ]
    words = ["plan", "--boat", str(folder), "--at", "2026-05-11 08:00", "--days", "9"]
    told = CliRunner(env={"COLUMNS": "200"}).invoke(command, words)
    assert "DECIDE NOW\n- ask after the plywood, overdue" in told.output


def test_what_holds_nothing_up_is_not_named(make, folder: Path) -> None:
    """Three hours, done on the first morning there is: no evening and no heater is any help."""
    make(job("shelf", FIT.format(hours="3 h")))
    few_hours(folder)
    made = planned(folder)
    assert what_helps(folder, made).best == []
    assert made.plan.decide_now == []


def test_done_sooner_with_less_done_is_no_help(
    make, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the varnish on the door all would be done today, but for the door."""
    make(job("door") + "\n" + job("shelf", FIT.format(hours="1 h")))
    made = planned(folder)
    assert made.plan.finish is not None
    assert made.plan.finish.date() > NOW.date()
    refused = {("door", "waterborne-acrylic-varnish"): "not on this"}
    without = replace(made.given, refused=refused)
    way = Variation(finding("variation", kind_of="home", job="door"), job="door")
    monkeypatch.setattr(helps, "variations", lambda folder, given, urgent: iter([way]))
    monkeypatch.setattr(helps, "_near_given", lambda folder, given, way, forecast: without)
    assert what_helps(folder, made).best == []


def test_asked_for_on_the_command_line(make, folder: Path) -> None:
    make(job("shelf", FIT.format(hours="6 h")))
    few_hours(folder)
    words = ["plan", "--boat", str(folder), "--at", "2026-05-11 08:00", "--days", "9", "--helps"]
    told = CliRunner(env={"COLUMNS": "60"}).invoke(command, words)
    assert told.exit_code == 0, told.output
    assert "WHAT WOULD HELP" in told.output
    assert "- one more evening a week (Wed) saves 3 days" in " ".join(told.output.split())
    assert "trying" not in told.output + told.stderr  # how far it is, is told on a terminal only


@pytest.mark.parametrize("after", [0, 1])
def test_enough_tells_what_was_found_so_far(make, folder: Path, after: int) -> None:
    make(job("shelf", FIT.format(hours="6 h")))
    few_hours(folder)
    tried: list[tuple[str, int]] = []

    def on_variation(way, left: int) -> None:
        if len(tried) == after:
            raise KeyboardInterrupt
        tried.append((way.text("kind_of"), left))

    found = what_helps(folder, planned(folder), on_variation=on_variation)
    assert found.stopped
    assert tried == [("day", 1)][:after]
    assert [each.saves_days for each in found.best] == [2][:after]


def test_a_terminal_is_told_which_is_tried(
    make, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which, and how many are left, so that they stay on a narrow screen; broken off, that too."""
    make(job("shelf", FIT.format(hours="6 h")))
    few_hours(folder)
    words = ["plan", "--boat", str(folder), "--at", "2026-05-11 08:00", "--days", "9", "--helps"]
    monkeypatch.setattr(cliplan, "_progress", lambda aboard: lambda *given: None)

    def only_one(folder, made, *, on_variation):
        on_variation(finding("variation", kind_of="day", names=("Thu",)), 4)
        return helps.Helping([], 0, stopped=True)

    monkeypatch.setattr(helps, "what_helps", only_one)
    told = CliRunner(env={"COLUMNS": "60"}).invoke(command, words)
    assert told.exit_code == 0, told.output
    assert "trying (4 left, Ctrl-C: enough): one more day aboard" in told.stderr
    assert told.stderr.endswith("stopped: this is what was found so far\n")
    assert "nothing that was tried" not in told.stdout
