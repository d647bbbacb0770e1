"""A reason named is the one that holds: without it the job could go on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from curewindow.daysheet import DaySheet, day_sheet, windows_ahead
from curewindow.explain.one_start import explained
from curewindow.judgement.jobday import find
from curewindow.situation import read_situation
from tests.daysheet.conftest import COAT, NOW, job, of

Make = Callable[..., DaySheet]
LONG = COAT.format(sheet="waterborne-acrylic-varnish").replace('"1 h"', '"3 h"')
EVENING = NOW + timedelta(hours=9)  # 17:00, aboard until 18:00
LATER = NOW.replace(year=2030)


def weather_between(folder: Path, air: str, begins: datetime, ends: datetime = LATER) -> None:
    """The weather file with other air from a moment to another: temperature and dew point."""
    path = folder / "weather.csv"
    head, *rows = path.read_text("utf-8").splitlines()
    first, last = f"{begins:%Y-%m-%dT%H}", f"{ends:%Y-%m-%dT%H}"
    told = [row.replace(",15,5,", f",{air},") if first <= row < last else row for row in rows]
    path.write_text("\n".join([head, *told]) + "\n", "utf-8")


def kinds(sheet: DaySheet, name: str) -> set[str]:
    return {obstacle.why.kind for obstacle in of(sheet, name).obstacles}


@pytest.mark.usefixtures("sure")
def test_too_late_today_is_no_reason_for_a_damp_tomorrow(make: Make, folder: Path) -> None:
    """Saturday evening: what blocks Sunday is the damp, not the hour left of today."""
    make(job("shelf", LONG, space=""))
    weather_between(folder, "5,5", EVENING)
    sheet = day_sheet(folder, EVENING)
    assert of(sheet, "shelf").status == "blocked"
    assert not kinds(sheet, "shelf") & {"hours too short", "nobody aboard"}
    assert kinds(sheet, "shelf")


@pytest.mark.usefixtures("sure")
def test_too_late_today_is_the_reason_where_tomorrow_is_good(make: Make, folder: Path) -> None:
    make(job("shelf", LONG, space=""))
    sheet = day_sheet(folder, EVENING)
    assert of(sheet, "shelf").next_window is not None
    assert kinds(sheet, "shelf") == {"hours too short"}


def test_a_delivery_beyond_the_forecast_is_no_want_of_hands(make: Make) -> None:
    late = '[[job.delivery]]\nwhat = "ply"\nlatest = 2026-09-30\n' + LONG
    day = of(make(job("shelf", late)), "shelf")
    assert not day.obstacles
    assert [wait.kind for wait in day.waits] == ["delivery"]
    assert day.status == "wait"


SANDING = '[[job.step]]\ndo = "sand"\nhands_on = "1 h"\n'


@pytest.mark.parametrize("step", [SANDING, LONG])
def test_hours_that_are_all_dark_are_told_as_dark(make: Make, folder: Path, step: str) -> None:
    """Half way round the world the hours aboard are all dark: nobody is missing."""
    make(job("rail", step, space=""))
    boat = folder / "boat.toml"
    there = boat.read_text("utf-8").replace("longitude = 0.0", "longitude = 179.0")
    there = there.replace("from = 08:00:00", "from = 12:00:00").replace("18:00:00", "16:00:00")
    boat.write_text(there, "utf-8")
    day = of(day_sheet(folder, NOW), "rail")
    assert day.status == "blocked"
    assert [obstacle.why.kind for obstacle in day.obstacles] == ["dark"]


@pytest.mark.slow
@pytest.mark.usefixtures("sure")
def test_a_window_over_midnight_is_not_the_next_one(make: Make, folder: Path) -> None:
    """It goes on from today; the next one is the one that opens after it."""
    make(job("shelf", LONG))
    boat = folder / "boat.toml"
    hours = boat.read_text("utf-8")
    begin, end = hours.index("[[hours]]"), hours.index("[[space]]")
    boat.write_text(hours[:begin] + hours[end:], "utf-8")  # any time counts
    weather_between(folder, "2,-8", NOW + timedelta(hours=24), NOW + timedelta(hours=36))
    sheet = day_sheet(folder, NOW)
    ahead = windows_ahead(folder, NOW).jobs[0].windows
    assert len(ahead) == 2
    assert of(sheet, "shelf").windows_today == ahead[:1]
    assert of(sheet, "shelf").next_window == ahead[1]


@pytest.mark.usefixtures("sure")
@pytest.mark.parametrize("where", ["cabin", ""])
def test_why_calls_work_without_a_product_good_in_its_windows_alone(
    make: Make, folder: Path, where: str
) -> None:
    """From each opening up to, and not at, the moment the work has to stop; words and all."""
    make(job("door", SANDING, space=where))
    facts = read_situation(folder, NOW)
    door = facts.work.job[0]
    found = find(facts, door, {})
    assert found is not None
    windows = found.judged.windows
    edges = {at for window in windows[:3] for at in (window.opens, window.closes)}
    around = {at + timedelta(minutes=off) for at in edges for off in (-10, 0, 10)}
    good = 0
    for at in sorted(each for each in around if each >= NOW):
        said = explained(facts, door, at)
        inside = [window for window in windows if window.opens <= at < window.closes]
        good += bool(inside)
        assert said.allowed == bool(inside), at
        assert (said.verdict.kind == "work then") == bool(inside)
        if inside:
            assert said.verdict.time("until") == inside[0].closes
        else:
            assert any(rule.state == "broken" for rule in said.rules), at
    assert good >= 3
