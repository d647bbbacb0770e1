"""A coat is on and its sheet is gone: that job says so, the others go on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from curewindow.daysheet import DaySheet
from curewindow.errors import BoatError
from tests.daysheet.conftest import COAT, NOW, put_on
from tests.voiced import said

Make = Callable[..., DaySheet]


def _job(name: str, step: str, *more: str) -> str:
    return "\n".join(
        ["[[job]]", f'name = "{name}"', 'space = "cabin"', 'area = "2 m²"', *more, step, ""]
    )


VARNISH = COAT.format(sheet="waterborne-acrylic-varnish")
WORK = (
    _job("door", VARNISH)
    + _job("table", VARNISH)
    + _job("hinge", '[[job.step]]\ndo = "fit"', 'after_cured = ["frame"]')
    + _job("frame", VARNISH.replace("coats = 3", "coats = 1"))
)
COATS = [
    put_on("door", NOW - timedelta(days=2), sheet="gone"),
    put_on("frame", NOW - timedelta(days=2), sheet="gone"),
]


@pytest.mark.parametrize("broken", [False, True])
def test_only_its_own_job_suffers(make: Make, folder: Path, broken: bool) -> None:
    if broken:
        (folder / "sheets").mkdir()
        (folder / "sheets" / "gone.toml").write_text("name = ", encoding="utf-8")
    days = {day.job: day for day in make(WORK, coats=COATS).jobs}
    assert days["table"].status == "go"
    assert days["door"].status in ("wait", "blocked")
    assert not days["door"].windows_today
    assert "'gone'" in said(days["door"].verdict)
    # what is to go over it waits as well: nothing is known is never 'cured'
    assert days["hinge"].status == "wait"
    assert [wait.until for wait in days["hinge"].waits] == [None]


def test_its_clock_says_what_to_do(make: Make) -> None:
    clock = next(clock for clock in make(WORK, coats=COATS).clocks if clock.job == "door")
    assert clock.state == "unknown"
    assert any("log correct --sheet" in note for note in said(clock.notes))


def test_a_missing_sheet_of_the_work_list_is_still_an_error(make: Make) -> None:
    with pytest.raises(BoatError, match="there is no sheet 'gone'"):
        make(_job("door", COAT.format(sheet="gone")))
