"""What would save days, each found by planning again: cases worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from curewindow.cli.main import command
from curewindow.daysheet import helps
from curewindow.daysheet.helps import what_helps
from curewindow.daysheet.planning import Made, make_plan
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


def test_one_more_evening(make, folder: Path) -> None:
    """Six hours of work, three on Tuesday 12 and three on Saturday 16 May; with Wednesday's
    evening (18:30 to 21:30) all is done on the 13th: three days sooner."""
    make(job("shelf", FIT.format(hours="6 h")))
    few_hours(folder)
    made = planned(folder)
    assert made.plan.finish is not None
    assert made.plan.finish.day == 16
    found = what_helps(folder, made)
    assert [each.text for each in found] == ["one more evening a week (Wed) saves 3 days"]
    assert found[0].saves_days == 3
    assert found[0].finish.isoformat() == "2026-05-13T20:30:00+00:00"  # 21:30 in London


def test_what_is_there_sooner(make, folder: Path) -> None:
    """Plywood due from Wednesday 13 to Friday 15 May: what is there by 18:00, when the hours end,
    is fitted the morning after, on Saturday; sure to be there on Wednesday, on Thursday."""
    delivery = (
        '[[job.delivery]]\nwhat = "plywood"\nearliest = 2026-05-13\nlatest = 2026-05-15\n'
        + FIT.format(hours="3 h")
    )
    make(job("lining", delivery))
    found = what_helps(folder, planned(folder))
    assert [each.text for each in found] == ["plywood there by Wed 13 May saves 2 days"]


def test_what_holds_nothing_up_is_not_named(make, folder: Path) -> None:
    """Three hours, done on the first morning there is: no evening and no heater is any help."""
    make(job("shelf", FIT.format(hours="3 h")))
    few_hours(folder)
    assert what_helps(folder, planned(folder)) == []


def test_done_sooner_with_less_done_is_no_help(
    make, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the varnish on the door all would be done today, but for the door."""
    make(job("door") + "\n" + job("shelf", FIT.format(hours="1 h")))
    made = planned(folder)
    assert made.plan.finish is not None
    assert made.plan.finish.date() > NOW.date()
    refused = {("door", "waterborne-acrylic-varnish"): "not on this"}
    option = ("something else", replace(made.given, refused=refused), "door", [])
    monkeypatch.setattr(helps, "_options", lambda folder, made: iter([option]))
    assert what_helps(folder, made) == []


def test_asked_for_on_the_command_line(make, folder: Path) -> None:
    make(job("shelf", FIT.format(hours="6 h")))
    few_hours(folder)
    words = ["plan", "--boat", str(folder), "--at", "2026-05-11 08:00", "--days", "9", "--helps"]
    told = CliRunner(env={"COLUMNS": "60"}).invoke(command, words)
    assert told.exit_code == 0, told.output
    assert "WHAT WOULD HELP" in told.output
    assert "- one more evening a week (Wed) saves 3 days" in " ".join(told.output.split())
