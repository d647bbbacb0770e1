"""The demo boat's facts, and scenes made by hand."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from curewindow.charts.scene import Scene
from curewindow.situation import Situation, read_situation
from curewindow.wording import Wording

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


@pytest.fixture(scope="session")
def demo_facts(demo_day: Path) -> Situation:
    return read_situation(demo_day, MORNING)


@pytest.fixture
def scene() -> Callable[..., Scene]:
    """A scene of an hour's step with level curves; give what differs."""

    def made(
        hours: int = 48,
        *,
        left: datetime = datetime(2026, 11, 25, 0, 0, tzinfo=UTC),
        zone: str = "Europe/London",
        fahrenheit: bool = False,
        **different: Any,
    ) -> Scene:
        times = np.datetime64(left.replace(tzinfo=None), "s") + np.arange(
            hours + 1
        ) * np.timedelta64(3600, "s")
        level = np.ones(times.size)
        no = np.zeros(times.size, np.bool_)
        fields: dict[str, Any] = {
            "boat": "test boat",
            "title": "a job",
            "where": "cabin, side",
            "job": "a job",
            "surface": "side",
            "coldest": (),
            "times": times,
            "air_c": 12.0 * level,
            "surface_c": 8.0 * level,
            "dew_point_c": 4.0 * level,
            "rh_pct": 58.0 * level,
            "heat_w": None,
            "aboard": no,
            "night": no,
            "dew": no,
            "frost": no,
            "lying": (),
            "measured": no,
            "limits": (),
            "windows": (),
            "words": Wording(ZoneInfo(zone), left + timedelta(hours=6), fahrenheit),
            "until_known": left + timedelta(hours=hours),
            "attribution": "",
        }
        return Scene(**{**fields, **different})

    return made
