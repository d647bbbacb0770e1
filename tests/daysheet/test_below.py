"""What a coat goes on, through the day sheet: refused, asked about, or done to it first.

What may go over what is in tests/rules/test_over.py; here is what comes of it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from curewindow.cli.daytext import day_lines
from curewindow.daysheet import DaySheet
from curewindow.record.entries import Done
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
    assert said(of(sheet, "door").verdict, WORDS) == "now until 18:00, last start 17:00"
    assert ("what it goes on is not said" in text(sheet, full=True)) == (not words)
