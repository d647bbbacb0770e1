"""Days whose windows are alike are joined; what differs stands apart."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from curewindow.answers import After, Window
from curewindow.daysheet.windowruns import later_text, run_text, runs_of
from curewindow.findings import finding
from curewindow.wording import Wording

ZONE = ZoneInfo("Europe/Amsterdam")
NOW = datetime(2026, 3, 27, 7, 0, tzinfo=ZONE)  # Friday; clocks go forward on Sunday 29th
WORDS = Wording(ZONE, NOW)


def window(
    day: int, opens: str = "08:00", closes: str = "16:00", sure: float = 0.9, **more: object
) -> Window:
    """A window of a day of March 2026, by the boat's clock."""

    def at(clock: str) -> datetime:
        local = datetime.fromisoformat(f"2026-03-{day:02d} {clock}").replace(tzinfo=ZONE)
        return local.astimezone(UTC)

    start = at(opens)
    said = {
        "opens_because": finding("aboard", begins=start),
        "closes_because": finding("nobody aboard", begins=at("18:00")),
        "notes": [],
        "dry_h": 4.0,
        **more,
    }
    dry = start + timedelta(hours=float(str(said.pop("dry_h"))))
    return Window.model_validate(
        {
            "opens": start,
            "closes": at(closes),
            "tightest": None,
            "best_start": start,
            "confidence": sure,
            "after": After(start=start, applied=start + timedelta(hours=1), touch_dry=dry),
            **said,
        }
    )


def told(windows: list[Window]) -> list[str]:
    return [run_text(run, 1.0, WORDS, starts=True) for run in runs_of(windows, WORDS)]


def test_across_a_change_of_clocks_days_stay_alike() -> None:
    days = [window(day) for day in (28, 29, 30)]
    assert told(days) == ["tomorrow until Mon, daily 08:00 until 17:00, last start 16:00, 9 in 10"]


def test_the_narrower_times_are_told() -> None:
    days = [window(27, closes="16:20", sure=0.99), window(28, opens="08:20"), window(29)]
    assert told(days) == [
        "today until Sun, daily 08:20 until 17:00, last start 16:00, 9 in 10",
    ]


@pytest.mark.parametrize(
    "other",
    [
        window(28, opens="09:10"),
        window(28, closes="12:00"),
        window(28, closes_because=finding("forecast ends")),
        window(28, sure=0.5),
        window(28, notes=[finding("sand first")]),
        window(29),
    ],
    ids=["opens later", "closes earlier", "another reason", "less sure", "sanding", "a day off"],
)
def test_what_differs_stands_apart(other: Window) -> None:
    assert len(told([window(27), other])) == 2


def test_two_windows_a_day_are_told_one_by_one() -> None:
    days = [window(27), window(28, closes="10:00"), window(28, opens="14:00"), window(29)]
    assert len(told(days)) == 4


def test_the_same_reason_at_another_time_is_the_same() -> None:
    why = finding(
        "limit broken",
        limit="relative humidity",
        bound="max",
        limit_value=85.0,
        unit="%",
        surface="side",
        phase="setting",
        at=NOW,
    )
    days = [
        window(27, closes_because=why),
        window(28, closes_because=why.changed(at=NOW + timedelta(hours=20))),
        window(29, closes_because=why.changed(at=NOW + timedelta(hours=44))),
    ]
    assert len(told(days)) == 1


def test_the_slowest_of_the_days_is_promised() -> None:
    (run,) = runs_of([window(27, dry_h=4.0), window(28, dry_h=6.0)], WORDS)
    assert later_text(run) == "touch dry after 6 h"
