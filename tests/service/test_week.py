"""A played week tells what would have come, each line with its time."""

from __future__ import annotations

import re

import pytest
from curewindow_service import week


@pytest.mark.slow
def test_a_day_of_the_demo_boat(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(week, "_JOBS", ("saloon doors",))  # quick
    first, *lines = week.play(days=1, seconds=0.0, alone=True)
    assert first.startswith("a day of the demo boat")
    told = [line for line in lines if re.match(r"\w{3} \d+ \w{3} +\d\d:\d\d  [·→!] ", line)]
    mornings = [line for line in told if " 07:30  → " in line]
    assert len(mornings) == 1
    # the recoat interval of the demo's varnish ends that afternoon, and nobody coats
    assert any("! Last call: saloon doors, coat 4 of 5 by" in line for line in told)
    # no line is wider than a terminal
    assert max(map(len, lines)) < 120
