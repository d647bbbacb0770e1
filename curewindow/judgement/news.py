"""When a question for heat is asked: at the last news, and anew once its answer is too late."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TypeVar

from curewindow.heating import HeatPlan
from curewindow.judgement.airing import last_news
from curewindow.series import SurfaceSeries
from curewindow.situation import Situation
from curewindow.windows.grid import at_index, first_at_or_after

_A_SECOND = timedelta(seconds=1)
Asked = TypeVar("Asked")


def as_of_news(
    facts: Situation,
    space: str,
    series: SurfaceSeries,
    asked: Callable[[datetime], tuple[Asked, HeatPlan | None]],
) -> Asked:
    """The question whose answer is told now.

    It is asked as things stood at the last news, and that answer holds until it is too late to
    light for it; then it is asked as of that moment, and so on. So what is told hangs on the news
    and on what has passed, never on the minute: a run once told stays told while it can be lit.
    Where heat opens nothing it is asked again from the next day on, when one more is in reach.

    Parameters
    ----------
    facts : Situation
    space : str
        To be heated.
    series : SurfaceSeries
        For its grid.
    asked : callable
        Asks as of a moment: the question, and the heater run that answers it, if any.
    """
    since = last_news(facts, space, series)
    while True:
        question, plan = asked(since)
        latest = None if plan is None else plan.latest_light_at or plan.light_at
        again = facts.words.midnight_after(since) if latest is None else latest + _A_SECOND
        if again > facts.now:
            return question
        point = first_at_or_after(series, again)
        if point > len(series.times) - 2:
            return question
        since = at_index(series, point)
