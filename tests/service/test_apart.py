"""Work in a process of its own, a real one: its answer, its refusal, its end before its time."""

from __future__ import annotations

import logging
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest
from curewindow_service import apart, look, night

from curewindow.errors import CurewindowError

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    (tmp_path / "boat.toml").write_text('name = "Slow Kettle"\nlenght = 3\n', encoding="utf-8")
    return tmp_path


def test_a_look_that_cannot_be_taken_says_why_in_one_line(broken: Path) -> None:
    with pytest.raises(CurewindowError) as refused:
        look.look_apart(broken, NOW, None)
    said = str(refused.value)
    assert "boat.toml" in said
    assert "Traceback" not in said


def test_a_look_that_hangs_is_ended(broken: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(look, "LOOK_S", 0.01)
    with pytest.raises(CurewindowError, match="longer than"):
        look.look_apart(broken, NOW, None)


def test_a_look_that_breaks_off_is_not_taken_for_an_answer(
    broken: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    asked = apart.run_apart
    monkeypatch.setattr(look, "run_apart", lambda module, _, limit_s: asked(module, {}, limit_s))
    with caplog.at_level(logging.ERROR), pytest.raises(CurewindowError, match="the log says more"):
        look.look_apart(broken, NOW, None)
    assert "KeyError" in caplog.text


def test_a_night_that_cannot_be_looked_back_on_is_in_the_log(
    broken: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        night.night_apart(broken, NOW)
    assert "looking back was not possible" in caplog.text
    assert "boat.toml" in caplog.text


def test_work_is_broken_off_when_the_service_stops(broken: Path) -> None:
    """In the middle of it and without a word: nobody asks for that look any more."""
    with ThreadPoolExecutor(1) as thread:
        looking = thread.submit(look.look_apart, broken, NOW, None)
        give_up = time.monotonic() + 20.0
        while not apart._at_work:  # its start alone takes longer than it takes to see it
            assert time.monotonic() < give_up
        apart.end_all()
        with pytest.raises(apart.BrokenOffError):
            looking.result(20.0)
    assert not apart._at_work
    assert not apart._ended
