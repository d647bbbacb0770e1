"""What a coat goes on, through the day sheet: refused, asked about, or done to it first.

What may go over what is in tests/rules/test_over.py; here is what comes of it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from curewindow.cli.daytext import day_lines
from curewindow.cli.main import command as cli
from curewindow.daysheet import DaySheet
from curewindow.daysheet.planning import make_plan
from curewindow.record.entries import Done
from curewindow.sheets.shelf import get_sheet
from curewindow.voice.cautions import topic
from tests.daysheet.conftest import NOW, SAND, WORDS, job, of, put_on
from tests.voiced import said

Make = Callable[..., DaySheet]
DAY = timedelta(days=1)


def coat(sheet: str, *, coats: int = 1, tested: bool = False) -> str:
    more = "tested = true\n" if tested else ""
    return (
        f'[[job.step]]\ndo = "coat"\nsheet = "{sheet}"\ncoats = {coats}\nhands_on = "1 h"\n{more}'
    )


def text(sheet: DaySheet, *, full: bool = False, width: int = 400) -> str:
    return "\n".join(day_lines(sheet, width=width, full=full))


def test_a_coat_that_would_lift_the_one_below_is_refused_on_the_short_sheet(make: Make) -> None:
    work = job("door", coat("alkyd-enamel") + coat("two-part-epoxy-primer-winter"))
    sheet = make(work, coats=[put_on("door", NOW - DAY, sheet="alkyd-enamel")])
    day = of(sheet, "door")
    assert day.status == "refused"
    assert day.windows_today == []
    assert day.next_window is None
    assert "never over fresh alkyd" in text(sheet)
    told = [each for each in sheet.cautions if each.danger.kind == "does not go on"]
    assert [each.grade for each in told] == ["refused"]
    assert topic(told[0].danger) == "coat below"


def test_the_same_coat_over_its_own_kind_goes_on(make: Make) -> None:
    work = job("door", coat("alkyd-enamel", coats=2))
    sheet = make(work, coats=[put_on("door", NOW - 2 * DAY, sheet="alkyd-enamel")])
    day = of(sheet, "door")
    assert day.status == "go"
    assert "test patch" not in text(sheet)
    assert "first" not in said(day.verdict, WORDS)


def test_what_stood_there_before_counts(make: Make) -> None:
    for words, status in (("old antifouling", "refused"), ("bare steel", "go")):
        work = job("side", coat("two-part-epoxy-primer-winter"), f'substrate = "{words}"')
        assert of(make(work), "side").status == status


def test_another_jobs_coat_on_the_same_panel_counts(make: Make) -> None:
    panel = 'panel = "side"'
    primer = job("prime", coat("alkyd-metal-primer"), panel)
    for after, status in (('after = ["prime"]', "refused"), ('substrate = "bare steel"', "go")):
        top = job("top", coat("two-part-epoxy-primer-winter"), panel, after)
        coats = [put_on("prime", NOW - 2 * DAY, sheet="alkyd-metal-primer")]
        assert of(make(primer + top, coats=coats), "top").status == status


def test_nobody_speaks_of_it_so_a_test_patch_stands_first(make: Make) -> None:
    work = job("door", coat("alkyd-enamel"), 'substrate = "painted, who knows with what"')
    sheet = make(work)
    day = of(sheet, "door")
    assert day.status == "go"
    assert "test patch, or ask the maker" in said(day.verdict, WORDS)
    again = make(job("door", coat("alkyd-enamel", tested=True), 'substrate = "painted"'))
    assert "test patch" not in said(of(again, "door").verdict, WORDS)


def test_what_is_done_first_is_an_act_with_its_time(make: Make) -> None:
    work = job("door", coat("alkyd-enamel"), 'substrate = "old alkyd, sound"')
    sheet = make(work)
    verdict = said(of(sheet, "door").verdict, WORDS)
    assert "first wash it down with water (27 min)" in verdict
    assert "first sand it (45 min)" in verdict
    acts = [note for note in of(sheet, "door").notes if note.kind == "first done to it"]
    assert [note.weight for note in acts] == ["act", "act"]


def test_what_the_steps_before_have_done_is_not_asked_again(make: Make) -> None:
    work = job("door", SAND + coat("alkyd-enamel"), 'substrate = "old alkyd, sound"')
    sheet = make(work, done=[Done("door", 1, NOW - timedelta(hours=20))])
    verdict = said(of(sheet, "door").verdict, WORDS)
    assert "sand it" not in verdict
    assert "wash it down" in verdict


@pytest.mark.parametrize("words", ["", 'substrate = "ash"'])
def test_where_nothing_speaks_against_it_the_verdict_is_plain(make: Make, words: str) -> None:
    sheet = make(job("door", coat("waterborne-acrylic-varnish"), words))
    # The tin warms up in the cabin till then.
    plain = "now until 18:00, last start 17:00; best start 09:30"
    assert said(of(sheet, "door").verdict, WORDS) == plain
    assert ("what it goes on is not said" in text(sheet, full=True)) == (not words)


PREPARE = '[[job.step]]\ndo = "prepare"\nhands_on = "1 h"\n'


@pytest.mark.slow
@pytest.mark.parametrize(("hours", "again"), [(3, False), (20, False), (30, True), (8 * 24, True)])
def test_bare_steel_cleaned_long_ago_is_cleaned_again(make: Make, hours: int, again: bool) -> None:
    """A blasted surface is not left unprimed beyond the working day (US Navy design guide)."""
    work = job("frame", PREPARE + coat("two-part-epoxy-primer-winter"), 'substrate = "bare steel"')
    sheet = make(work, done=[Done("frame", 1, NOW - timedelta(hours=hours))])
    verdict = said(of(sheet, "frame").verdict, WORDS)
    assert ("clean the bare steel again" in verdict) == again


FILMS = [
    ("antifouling", "antifouling: wet only"),
    ("two-part-epoxy-primer-winter", "uncured epoxy"),
    ("two-part-polyurethane-topcoat", "isocyanate that has not reacted"),
    ("wood-oil", "dust of oil heats itself"),
    ("waterborne-acrylic-varnish", ""),
]


@pytest.mark.slow
@pytest.mark.parametrize(("sheet", "words"), FILMS)
def test_sanding_knows_the_film_it_sands(make: Make, sheet: str, words: str) -> None:
    work = job("door", coat(sheet) + SAND)
    day = make(work, coats=[put_on("door", NOW - 5 * DAY, sheet=sheet)])
    told = text(day)
    for _, other in FILMS:
        if other:
            assert (other in told) == (other == words)


@pytest.mark.parametrize(
    ("substrate", "old"), [("old paint", True), ("old alkyd, sound", True), ("ash", False)]
)
def test_an_old_film_may_hold_lead(make: Make, substrate: str, old: bool) -> None:
    sheet = make(job("door", SAND, f'substrate = "{substrate}"'))
    kinds = [each.danger.kind for each in sheet.cautions]
    assert ("old paint" in kinds) == old


@pytest.mark.slow
@pytest.mark.parametrize(("ago", "status"), [(timedelta(hours=3), "wait"), (8 * DAY, "go")])
def test_nothing_is_fitted_on_another_jobs_soft_film(
    make: Make, ago: timedelta, status: str
) -> None:
    panel = 'panel = "side"'
    paint = job("paint", coat("alkyd-enamel"), panel)
    fit = job("trim", '[[job.step]]\ndo = "fit"\nhands_on = "1 h"\n', panel, 'after = ["paint"]')
    sheet = make(paint + fit, coats=[put_on("paint", NOW - ago, sheet="alkyd-enamel")])
    day = of(sheet, "trim")
    assert day.status == status
    assert ("too soft" in said(day.verdict, WORDS)) == (status == "wait")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("launch", "late"), [("2026-05-14", True), ("2026-05-20", True), ("2026-06-30", False)]
)
def test_a_coat_below_the_waterline_is_fit_for_water_by_the_launch(
    make: Make, launch: str, late: bool
) -> None:
    """Two-part epoxy primer for the winter: its sheet wants 9 d at 15 °C before immersion."""
    stem = "two-part-epoxy-primer-winter"
    work = f"launch = {launch}\n" + job("bottom", coat(stem, coats=2), "below_waterline = true")
    sheet = make(work, coats=[put_on("bottom", NOW - DAY, sheet=stem)])
    told = [each for each in sheet.cautions if each.danger.kind == "launch before immersion"]
    assert bool(told) == late
    dry = f"launch = {launch}\n" + job("cabin side", coat(stem, coats=2))
    sheet = make(dry, coats=[put_on("cabin side", NOW - DAY, sheet=stem)])
    assert all(each.danger.kind != "launch before immersion" for each in sheet.cautions)


def test_a_sheet_that_says_nothing_of_sanding_takes_a_usual_time(make: Make, folder: Path) -> None:
    """Not the whole cure: it is said to be taken, on the sheet's check and on the day sheet."""
    own = folder / "sheets" / "mine.toml"
    own.parent.mkdir()
    own.write_text(OWN, "utf-8")
    loaded = get_sheet("mine", own.parent)
    assert "cure.sandable" in {each.key for each in loaded.warnings}
    assert loaded.sheet.cure.hours("sandable") == [40.0, 24.0]
    work = job("door", coat("mine") + SAND)
    day = of(make(work, coats=[put_on("door", NOW - timedelta(hours=20), sheet="mine")]), "door")
    assert day.status in ("wait", "go")
    (wait,) = day.waits
    assert wait.until is not None
    assert wait.until < NOW + 2 * DAY
    assert "a usual time is taken" in said(wait.why, WORDS)
    after = make(work, coats=[put_on("door", NOW - 3 * DAY, sheet="mine")])
    assert of(after, "door").waits == []


def test_a_chain_that_cannot_hold_is_refused_before_its_first_stroke(make: Make) -> None:
    """One bad job closes no other: the file loads, the job says which pair is wrong."""
    bad = job("side", coat("alkyd-metal-primer") + coat("two-part-polyurethane-topcoat"))
    good = job("door", coat("alkyd-enamel", coats=2))
    sheet = make(bad + good)
    assert of(sheet, "side").status == "refused"
    assert "never over fresh alkyd" in text(sheet)
    assert of(sheet, "door").status == "go"


def test_a_chain_over_another_jobs_film_to_come_is_seen_too(make: Make) -> None:
    panel = 'panel = "side"'
    below = job("prime", coat("alkyd-metal-primer"), panel)
    for after, status in (("after", "refused"), ("after_cured", "wait")):
        top = job("top", coat("two-part-epoxy-primer-winter"), panel, f'{after} = ["prime"]')
        assert of(make(below + top), "top").status == status


def test_a_pair_without_times_is_said_on_the_short_sheet(make: Make) -> None:
    work = job("door", coat("two-part-epoxy-primer-winter") + coat("epoxy-filler"))
    first = put_on("door", NOW - DAY, sheet="two-part-epoxy-primer-winter")
    sheet = make(work, coats=[first])
    assert "no times for this pair" in text(sheet) or "gives no times for" in text(sheet)
    named = job("door", coat("two-part-epoxy-primer-winter") + coat("bilge-and-locker-paint"))
    assert "no times" not in text(make(named, coats=[first]), full=True)


@pytest.mark.parametrize(("opened", "old"), [("2025-03-01", True), ("2026-04-01", False)])
def test_a_tin_past_its_life_is_said_on_the_short_sheet(make: Make, opened: str, old: bool) -> None:
    """Alkyd enamel keeps a year once opened, by its sheet."""
    tin = f'[[tin]]\nsheet = "alkyd-enamel"\nopened = {opened}\n'
    sheet = make(job("door", coat("alkyd-enamel")), cabin="", units=f"{UNITS}\n{tin}")
    assert ("the tin was good until" in text(sheet)) == old


UNITS = ""
OWN = """
name = "My varnish"
kind = "varnish"
chemistry = "oxidation"
basis = "tin label"
hazards = []
[applying]
air = { min = "5 °C" }
[setting]
air = { min = "5 °C" }
[cure]
temps = ["10 °C", "20 °C"]
touch_dry = ["5 h", "3 h"]
tack_free = ["10 h", "6 h"]
full_cure = ["21 d", "14 d"]
"""


@pytest.mark.slow
def test_the_plan_says_what_is_done_first(make: Make, folder: Path) -> None:
    work = job("door", coat("alkyd-enamel"), 'substrate = "old alkyd, sound"')
    work += job("hatch", coat("waterborne-acrylic-varnish"), 'substrate = "ash"')
    make(work)
    plan = make_plan(folder, NOW, days=4, seconds=2.0, keep=False).plan
    first = {step.job: [each.kind for each in step.first] for step in plan.steps}
    assert first == {"door": ["first done to it", "first done to it"], "hatch": []}


@pytest.mark.slow
def test_a_chain_that_cannot_hold_is_in_no_plan(make: Make, folder: Path) -> None:
    make(job("side", coat("alkyd-metal-primer") + coat("two-part-polyurethane-topcoat")))
    plan = make_plan(folder, NOW, days=4, seconds=2.0, keep=False).plan
    assert plan.steps == []
    assert "never over fresh alkyd" in plan.left_out["side"]


@pytest.mark.slow
@pytest.mark.parametrize("command", [["today"], ["windows"], ["why", "door"], ["heat", "door"]])
def test_every_face_says_that_it_never_goes_on(
    make: Make, folder: Path, command: list[str]
) -> None:
    work = job("door", coat("alkyd-enamel") + coat("two-part-epoxy-primer-winter"))
    make(work, coats=[put_on("door", NOW - DAY, sheet="alkyd-enamel")])
    out = CliRunner().invoke(
        cli, [*command, "--at", "2026-05-11 08:00", "--boat", str(folder)], catch_exceptions=False
    )
    said_in_one = " ".join(out.output.split())
    assert "fresh alkyd" in said_in_one, out.output
    assert "lifts" in said_in_one
