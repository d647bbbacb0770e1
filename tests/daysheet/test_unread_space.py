"""A space that goes by its readings alone, before the first and long after the last."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from curewindow.daysheet import day_sheet
from curewindow.record.entries import Reading
from curewindow.record.store import Record
from tests.daysheet.conftest import BOAT, COAT, NOW
from tests.voiced import said


@pytest.mark.parametrize("age", [None, timedelta(days=30)])
def test_it_asks_for_a_reading(folder: Path, age: timedelta | None) -> None:
    text = BOAT.format(cabin="", fore="", heating="", units="")
    text += '[[space]]\nname = "locker"\nlogged_only = true\n'
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    step = COAT.format(sheet="waterborne-acrylic-varnish")
    work = f'[[job]]\nname = "shelf"\nspace = "locker"\narea = "1 m²"\n{step}'
    (folder / "work.toml").write_text(work, encoding="utf-8")
    with Record(folder / "record.db", now=lambda: NOW) as record:
        if age is not None:
            record.add_readings([Reading("locker", NOW - age, air_c=15.0, rh_pct=50.0)])
    (job,) = day_sheet(folder, NOW).jobs
    assert job.status == "blocked"
    assert "nothing is known of the locker: log a reading" in said(job.verdict)


def test_one_reading_of_today_is_enough(folder: Path) -> None:
    test_it_asks_for_a_reading(folder, None)
    with Record(folder / "record.db", now=lambda: NOW) as record:
        record.add_readings([Reading("locker", NOW, air_c=15.0, rh_pct=50.0)])
    (job,) = day_sheet(folder, NOW).jobs
    assert job.status == "go"
