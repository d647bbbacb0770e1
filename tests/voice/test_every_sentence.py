"""Every kind of finding has its words, and they read well in every face."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path
from types import ModuleType
from zoneinfo import ZoneInfo

import pytest

from curewindow.findings import KINDS, WEIGHTS, Finding
from curewindow.findings.parameters import PARAMETERS
from curewindow.findings.sample import NOW, samples
from curewindow.voice import TEMPLATES, act, full, said, short
from curewindow.wording import Wording
from tests.voice import around

ZONE = ZoneInfo("Europe/Amsterdam")
WORDS = Wording(ZONE, NOW)
IN_F = Wording(ZONE, NOW, fahrenheit=True)
BOOK = Path(__file__).with_name("sentences.txt")
LONGEST_SHORT = 130
"""Three lines of a phone: nothing short is longer."""

every_kind = pytest.mark.parametrize("kind", sorted(KINDS))


def test_the_two_lists_are_one() -> None:
    said(samples("dark")[0], WORDS)
    assert set(TEMPLATES) == set(KINDS)


@every_kind
def test_a_kind_is_well_described(kind: str) -> None:
    known = KINDS[kind]
    assert known.weight in WEIGHTS
    assert known.meaning
    assert set(known.needs + known.may) <= set(PARAMETERS)
    assert not set(known.needs) & set(known.may)


@every_kind
def test_its_words_are_whole(kind: str) -> None:
    for found in samples(kind):
        for words in (WORDS, IN_F):
            for text in (short(found, words), full(found, words), act(found, words)):
                assert text
                assert text == text.strip()
                assert not text.endswith((".", ";", ":", ","))
                assert not re.search(r"None|[{}]|  |%s|nan", text), text
                # figures for hands: no decimal that says nothing
                assert not re.search(r"\d\.0\b(?!\d)", text), text
                assert not re.search(r"% sure|\bNO\b", text), text
            if words.fahrenheit:
                assert "°C" not in full(found, words)
        assert len(short(found, WORDS)) <= LONGEST_SHORT, short(found, WORDS)


@every_kind
@pytest.mark.parametrize("width", [40, 60, 100])
def test_it_fits_every_width(kind: str, width: int) -> None:
    for found in samples(kind):
        for line in textwrap.wrap(full(found, WORDS), width, break_long_words=False):
            assert len(line) <= width


@every_kind
def test_it_comes_back_whole_from_json(kind: str) -> None:
    for found in samples(kind):
        again = Finding.model_validate_json(found.model_dump_json())
        assert again == found
        assert full(again, WORDS) == full(found, WORDS)


@every_kind
def test_what_is_read_another_day_says_no_today(kind: str) -> None:
    dated = Wording(ZONE, NOW, days="weekday")
    kept = Wording(ZONE, NOW, days="date")
    for found in samples(kind):
        for words in (dated, kept):
            assert not re.search(r"\b(today|tomorrow|yesterday)\b", full(found, words))


def book() -> str:
    """All sentences, for a person's eye."""
    lines = [
        "All that the voice can say, made-up figures; 'python -m tests.voice' writes it anew.",
        "",
    ]
    for kind in sorted(KINDS):
        lines.append(f"{kind} ({KINDS[kind].weight}): {KINDS[kind].meaning}")
        texts: dict[str, None] = {}
        for found in samples(kind):
            forms = said(found, WORDS)
            texts.update(dict.fromkeys(form for form in forms if form))
        lines += [f"    {text}" for text in texts]
    return "\n".join([*lines, *around.page()]) + "\n"


@pytest.mark.parametrize("module", around.MODULES, ids=lambda module: module.__name__)
def test_what_stands_around_is_whole(module: ModuleType) -> None:
    """Calendar, paper and the commands' own lines, read as the findings are."""
    kept = module in around.KEPT
    for name, function in around.functions(module):
        lines = around.said_by(module, function)
        assert lines, name
        for text in [*lines, *around.texts(module)]:
            assert text == text.strip()
            assert not re.search(r"None|[{}]|  |%s|nan|datetime|kind=", text), text
            assert not re.search(r"% sure|\bNO\b|\d in 100\b", text), text
            assert not (kept and re.search(r"\b(today|tomorrow|yesterday)\b", text)), text
            for width in (40, 60, 100):
                wrapped = textwrap.wrap(text, width, break_long_words=False)
                assert all(len(line) <= width for line in wrapped)


def test_the_page_of_all_sentences_is_up_to_date() -> None:
    assert BOOK.read_text(encoding="utf-8") == book(), "run 'python -m tests.voice' and read it"
