"""A run of a heater without a flue, judged to its very last minute."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from curewindow.boat.schema import Boat
from curewindow.rules.unflued import Unflued, against

ALONE = Unflued("gas", "cabin", ())
EVENING = datetime(2026, 1, 14, 20, 0, tzinfo=UTC)  # a Wednesday


def boat(until: str | None = None) -> Boat:
    hours = [] if until is None else [{"days": ["Wed"], "from": "08:00:00", "until": until}]
    return Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": "UTC"},
            "hours": hours,
        }
    )


@pytest.mark.parametrize(
    ("minutes", "found"), [(0, []), (60, []), (120, []), (121, ["night"]), (240, ["night"])]
)
def test_the_last_minute_counts_as_the_others(minutes: int, found: list[str]) -> None:
    """Bedtime is 22:00, two hours on: common practice, no source."""
    end = EVENING + timedelta(minutes=minutes)
    assert against(boat(), ALONE, EVENING, end, "open") == found


@pytest.mark.parametrize(("minutes", "found"), [(60, []), (61, ["nobody aboard"])])
def test_whoever_lights_it_stays_until_it_is_out(minutes: int, found: list[str]) -> None:
    end = EVENING + timedelta(minutes=minutes)
    assert against(boat("21:00:00"), ALONE, EVENING, end, "open") == found


def test_all_that_speaks_against_it_is_told_gravest_first() -> None:
    end = EVENING + timedelta(hours=4)
    near = Unflued("gas", "cabin", ("berth",))
    assert against(boat("21:00:00"), near, EVENING, end, "closed") == [
        "sleepers",
        "vents",
        "night",
        "nobody aboard",
    ]
