"""Tins that froze, mixing told in the line to go by, and a boat that has no jobs yet."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from curewindow.cli.main import command as curewindow
from curewindow.daysheet import day_sheet, windows_ahead
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from curewindow.voice import full, short
from curewindow.voice.cautions import topic
from curewindow.wording import wording_of
from tests.daysheet.conftest import COAT, NOW, job, of
from tests.voiced import said

TIN = '\n[[tin]]\nsheet = "waterborne-acrylic-varnish"\nspace = "lazarette"\n'
EPOXY = COAT.format(sheet="two-part-urethane-varnish")


def with_tin(make, folder: Path, *readings: Reading):
    make(job("table"))
    path = folder / "boat.toml"
    path.write_text(path.read_text(encoding="utf-8") + TIN, encoding="utf-8")
    with Record(folder / "record.db", now=lambda: NOW) as record:
        for reading in readings:
            record.add_reading(reading)
    return day_sheet(folder, NOW)


def test_a_tin_that_stood_in_the_frost_is_told(make, folder: Path) -> None:
    """Frost spoils waterborne products: so say their sheets."""
    cold = [
        Reading("lazarette", NOW - timedelta(hours=hours), -4.0, 80.0) for hours in (27, 26, 25)
    ]
    sheet = with_tin(make, folder, *cold)
    (caution,) = [c for c in sheet.cautions if topic(c.danger) == "tin"]
    assert "spoilt" in short(caution.danger, wording_of(sheet))
    assert caution.jobs == ["table"]
    assert "-4 °C" in full(caution.danger, wording_of(sheet)) or "−4 °C" in full(
        caution.danger, wording_of(sheet)
    )


def test_a_tin_kept_warm_is_no_matter(make, folder: Path) -> None:
    assert not [c for c in with_tin(make, folder).cautions if topic(c.danger) == "tin"]


def test_mixing_stands_in_the_line_to_go_by(make) -> None:
    """15 min at 15 °C by its sheet; eight in the morning is when someone comes aboard."""
    day = of(make(job("rail", EPOXY, space="")), "rail")
    first = (day.windows_today or [day.next_window])[0]
    assert first is not None
    assert any(note.startswith("mix, wait ") for note in said(first.notes))
    if day.status == "go":
        assert "mix, wait " in said(day.verdict)
        assert first.opens >= NOW + timedelta(minutes=10)


@pytest.mark.parametrize("command", ["today", "windows", "heat"])
def test_a_boat_without_a_work_list_gets_its_spaces_and_how_to_begin(
    make, folder: Path, command: str
) -> None:

    make(job("table"))
    (folder / "work.toml").unlink()
    sheet = day_sheet(folder, NOW)
    assert not sheet.jobs
    assert {space.where for space in sheet.spaces} == {"cabin", "fore cabin", "lazarette"}
    assert [note.kind for note in windows_ahead(folder, NOW).notes] == ["no jobs"]
    result = CliRunner().invoke(
        curewindow, [command, "--boat", str(folder), "--at", "2026-05-11 08:00"]
    )
    assert result.exit_code == 0, result.output
    assert "no jobs yet" in " ".join(result.output.lower().split())
