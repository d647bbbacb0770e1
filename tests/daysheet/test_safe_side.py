"""On the safe side: records out of order, lists that changed, poison, flames and wet surfaces."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.daysheet import DaySheet
from curewindow.record.entries import Done
from curewindow.sheets.shelf import find_products_dir
from curewindow.voice.cautions import topic
from tests.daysheet.conftest import COAT, FLAME, NOW, SAND, SOLVENT, VARNISH, WORDS, job, of, put_on
from tests.voiced import said

Make = Callable[..., DaySheet]


def own_sheet(folder: Path, name: str, *changes: tuple[str, str], more: str = "") -> None:
    """A sheet of the boat's own: the waterborne varnish with some figures changed."""
    (folder / "sheets").mkdir(exist_ok=True)
    text = (find_products_dir() / "waterborne-acrylic-varnish.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (folder / "sheets" / f"{name}.toml").write_text(text + more, encoding="utf-8")


def test_the_youngest_film_binds_whatever_its_number(make: Make) -> None:
    """Coat 1 written down for an hour ago, coat 2 for two days ago: the surface is wet."""
    coats = [
        put_on("door", NOW - timedelta(days=2), coat=2),
        put_on("door", NOW - timedelta(hours=1.5), coat=1),
    ]
    sheet = make(job("door"), coats=coats)
    assert sheet.clocks[0].applied == NOW - timedelta(minutes=30)
    (wait,) = of(sheet, "door").waits
    assert wait.kind == "recoat"
    assert wait.until is not None
    assert wait.until > NOW + timedelta(hours=5)  # 6 h at 15 °C on the sheet


def test_a_step_written_down_late_binds_too(make: Make) -> None:
    one = VARNISH.replace("coats = 3", "coats = 1")
    coats = [
        put_on("door", NOW - timedelta(days=2), step=2),
        put_on("door", NOW - timedelta(hours=1.5), step=1),
    ]
    sheet = make(job("door", one + VARNISH), coats=coats)
    assert [w.kind for w in of(sheet, "door").waits] == ["recoat"]


def test_the_next_product_counts_also_within_a_step(make: Make, folder: Path) -> None:
    """Another product was put on than is planned: its table for the planned one holds."""
    table = '\n[[recoat]]\nnext = "waterborne-acrylic-varnish"\n'
    table += 'from = ["2 h", "2 h", "2 h", "2 h"]\nuntil = ["4 h", "4 h", "4 h", "4 h"]\n'
    own_sheet(folder, "other", more=table + 'after = "never"\n')
    coat = put_on("door", NOW - timedelta(hours=20), sheet="other")
    day = of(make(job("door"), coats=[coat]), "door")
    assert day.status == "refused"


def test_the_slowest_coat_under_it_is_waited_for(make: Make, folder: Path) -> None:
    """A slow coat under a quick one: the lining waits for both."""
    own_sheet(
        folder,
        "quick",
        (
            'closed_up = ["8 d", "6 d", "4 d", "3 d"]',
            'closed_up = ["50 h", "38 h", "26 h", "18 h"]',
        ),
    )
    one = VARNISH.replace("coats = 3", "coats = 1")
    work = job("side", one + one.replace("waterborne-acrylic-varnish", "quick"))
    work += job("lining", '[[job.step]]\ndo = "fit"', 'after_cured = ["side"]')
    coats = [
        put_on("side", NOW - timedelta(hours=80)),
        put_on("side", NOW - timedelta(hours=70), step=2, sheet="quick"),
    ]
    sheet = make(work, coats=coats)
    (wait,) = of(sheet, "lining").waits
    assert wait.kind == "cured"
    assert wait.until is not None
    assert wait.until > NOW + timedelta(hours=60)  # 6 d at 15 °C on the sheet, from 79 h ago
    assert not any("may close it up" in note for note in said(sheet.clocks[0].notes))


def test_paint_that_is_not_in_the_record_is_not_taken_as_cured(make: Make) -> None:
    work = job("side", VARNISH + SAND)
    work += job("lining", '[[job.step]]\ndo = "fit"', 'after_cured = ["side"]')
    sheet = make(work, done=[Done("side", 2, NOW - timedelta(hours=1))])
    assert of(sheet, "side").status == "done"
    (wait,) = of(sheet, "lining").waits
    assert (wait.kind, wait.until) == ("cured", None)
    assert "not in the record" in said(wait.why)
    assert of(sheet, "lining").status == "wait"


@pytest.mark.slow
@pytest.mark.usefixtures("sure")
def test_a_coat_that_may_be_too_old_is_sanded_first(make: Make) -> None:
    """Weather is known from midnight on: the 30 h to sanding may have passed before."""
    now = datetime(2026, 5, 7, 19, tzinfo=UTC)
    coat = put_on("door", now - timedelta(days=2, hours=12))
    sheet = make(job("door"), coats=[coat], now=now)
    assert sheet.clocks[0].state == "unknown"
    ahead = of(sheet, "door").next
    assert ahead is not None
    assert ahead.sand_first


def test_a_wet_coat_near_a_flame_is_told_with_nothing_left_to_do(make: Make) -> None:
    coat = put_on("door", NOW - timedelta(hours=2), sheet="one-part-urethane-varnish")
    one = job("door", SOLVENT.replace("coats = 3", "coats = 1"))
    fires = [
        c for c in make(one, coats=[coat], heating=FLAME).cautions if topic(c.danger) == "fire"
    ]
    assert [(c.grade, c.jobs) for c in fires] == [("refused", ["door"])]


def test_after_rain_the_line_to_go_by_says_what_wiping_opens(make: Make, folder: Path) -> None:
    path = folder / "weather.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    rain = [
        line.replace(",15,5,2,0,", ",15,5,2,0.5,") if "T04:" in line or "T05:" in line else line
        for line in lines
    ]
    path.write_text("\n".join(rain) + "\n", encoding="utf-8")
    day = of(make(job("rail", space="")), "rail")
    assert "once wiped dry and logged: today" in said(day.verdict, WORDS)


def test_before_the_weather_begins_nothing_is_known_of_now(make: Make, folder: Path) -> None:
    """The file begins on 7 May: what it says of then is not how things stand on the 5th."""
    from curewindow.boat.folder import load_boat
    from curewindow.daysheet import day_sheet
    from curewindow.weather.files import read_weather_file

    make(job("door"))
    now = datetime(2026, 5, 5, 12, tzinfo=UTC)
    weather = read_weather_file(folder / "weather.csv", NOW, place=load_boat(folder).place)
    sheet = day_sheet(folder, now, forecast=weather)
    assert [space.air_c for space in sheet.spaces] == [None, None, None]
    assert sheet.outdoors is not None
    assert (sheet.outdoors.air_c, sheet.outdoors.wind_ms) == (None, None)
    assert of(sheet, "door").windows_today == []


def test_steps_that_are_no_longer_in_the_list_finish_nothing(make: Make) -> None:
    """The record speaks of a third step, the list has one left: it is not done by that."""
    coat = put_on("door", NOW - timedelta(days=2), step=3)
    day = of(make(job("door"), coats=[coat]), "door")
    assert day.status != "done"
    assert day.next is not None
    assert day.next.coat == 1
    assert any("step 3" in note for note in said(day.notes))


def test_a_step_that_is_another_now_is_said(make: Make) -> None:
    one = VARNISH.replace("coats = 3", "coats = 1")
    coat = put_on("door", NOW - timedelta(days=2), sheet="oil-varnish")
    day = of(make(job("door", one + SAND), coats=[coat]), "door")
    assert any("oil-varnish" in note for note in said(day.notes))


def test_windows_of_a_shut_space_say_so_where_vapour_wants_it_open(make: Make) -> None:
    assert any("shut" in note for note in said(of(make(job("door", SOLVENT)), "door").notes))
    assert not any("shut:" in note for note in said(of(make(job("door")), "door").notes))


def test_no_two_part_urethane_where_someone_sleeps(make: Make, folder: Path) -> None:
    """Tack free by bedtime is not hard: no window, and no heating plan either."""
    from curewindow.daysheet import day_sheet

    paint = COAT.format(sheet="two-part-polyurethane-topcoat")
    slept = make(job("door", paint), fore="slept_in = true")
    day = of(slept, "door")
    assert day.status == "refused"
    assert "isocyanate" in said(day.verdict, WORDS)
    assert "fore cabin" in said(day.verdict, WORDS)
    assert day_sheet(folder, NOW).jobs[0].heat is None
    assert of(make(job("door", paint)), "door").status == "go"
    ashore = make(job("door", paint, space="lazarette"), fore="slept_in = true")
    assert of(ashore, "door").status == "go"


def test_no_heating_plan_for_two_part_urethane_where_someone_sleeps(
    make: Make, folder: Path
) -> None:
    from curewindow.judgement.heat import heat_plans

    paint = COAT.format(sheet="two-part-polyurethane-topcoat")
    make(job("door", paint), fore="slept_in = true")
    (plan,) = heat_plans(folder, NOW, job="door").plans
    assert plan.status == "refused"
