"""A boat among many, in one line."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from curewindow.voice.plan import done_text
from curewindow.wording import MONTHS, Wording, counted

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
    done_by: date | None,
    days_in_hand: int | None,
    chance_pct: float | None,
    next_act: str | None,
    next_at: datetime | None,
) -> str:
    """'Heron: all done Sat 17:30, 3 days in hand, 7 in 10; next: today 08:30 hatch coat 2'."""
    if finish is None:
        return f"{name}: {ALL_DONE}"
    text = f"{name}: {done_text(finish, left_out, words)}"
    if days_in_hand is not None:
        spare = counted(abs(days_in_hand), "day")
        text += f", {spare} in hand" if days_in_hand >= 0 else f", {spare} too late"
    if chance_pct is not None and done_by is not None:
        by = f"{done_by.day} {MONTHS[done_by.month - 1]}"
        text += f", {words.chance(chance_pct / 100.0)} by {by}"
    if next_act is not None and next_at is not None:
        text += f"; next: {words.when(next_at)} {next_act}"
    return text


def sum_text(boats: int, wrong: int) -> str:
    """How many boats there were, and of how many there is no plan."""
    return f"{counted(boats, 'boat')}, {counted(wrong, 'boat')} without a plan"
