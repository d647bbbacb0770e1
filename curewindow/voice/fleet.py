"""A boat among many, in one line."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from curewindow.answers import AllDone
from curewindow.voice.plan import done_text
from curewindow.voice.season import all_done_text
from curewindow.wording import Wording, counted

ALL_DONE = "all done, nothing left to plan"


def problem_text(name: str, problem: str) -> str:
    """'heron: boat.toml: no such key': a boat without a plan, and why."""
    return f"{name}: {problem}"


def boat_text(
    name: str,
    words: Wording,
    *,
    finish: datetime | None,
    left_out: Sequence[str],
    days_in_hand: int | None,
    all_done: AllDone | None,
    next_act: str | None,
    next_at: datetime | None,
) -> str:
    """'Heron: all done Sat 17:30, 3 days in hand, 7 in 10; next: today 08:30 hatch coat 2'."""
    if finish is None and all_done is None:
        return f"{name}: {ALL_DONE}"
    if all_done is not None:
        text = f"{name}: {all_done_text(all_done, words)}"
    else:
        assert finish is not None
        text = f"{name}: {done_text(finish, left_out, words)}"
        if days_in_hand is not None:
            spare = counted(abs(days_in_hand), "day")
            text += f", {spare} in hand" if days_in_hand >= 0 else f", {spare} too late"
    if next_act is not None and next_at is not None:
        text += f"; next: {words.when(next_at)} {next_act}"
    return text


def sum_text(boats: int, wrong: int) -> str:
    """How many boats there were, and of how many there is no plan."""
    return f"{counted(boats, 'boat')}, {counted(wrong, 'boat')} without a plan"
