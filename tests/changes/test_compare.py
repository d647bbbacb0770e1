"""What counts as news of a window, and how it is said."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from curewindow.changes import Change, StatedJob, StatedWindow, compare
from curewindow.findings import Finding, finding
from curewindow.wording import Wording
from tests.voiced import said

NOW = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)  # Tuesday 09:00 in Amsterdam
TOLD_AT = NOW - timedelta(hours=12)
ZONE = ZoneInfo("Europe/Amsterdam")
THURSDAY = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)  # 10:00 there
_AIR = {"limit": "air temperature", "bound": "min", "unit": "°C", "surface": "rail"}
WARM = finding("limit kept", limit_value=8.0, **_AIR)
LEFT = finding("nobody aboard", begins=datetime(2026, 11, 26, 17, 0, tzinfo=UTC))
DAMP = finding(
    "limit broken",
    limit="relative humidity",
    bound="max",
    limit_value=85.0,
    unit="%",
    surface="rail",
)
DEW = finding("dark", begins=datetime(2026, 11, 26, 12, 20, tzinfo=UTC))


HERE = Wording(ZONE, NOW)


def window(
    opens: datetime = THURSDAY, hours: float = 5.0, sure: float = 0.9, **because: Finding
) -> StatedWindow:
    return StatedWindow(
        opens=opens,
        closes=opens + timedelta(hours=hours),
        confidence=sure,
        opens_because=because.get("opens", WARM),
        closes_because=because.get("closes", LEFT),
    )


def told(*windows: StatedWindow, coat: int = 1) -> StatedJob:
    return StatedJob(job="rail", step=1, coat=coat, hands_on_h=1.0, windows=list(windows))


def news(was: StatedJob, now: StatedJob, at: datetime = NOW, why: Finding = DAMP):
    return compare(was, TOLD_AT, now, Wording(ZONE, at), lambda moment: [why])


def one(was: StatedJob, now: StatedJob, at: datetime = NOW, why: Finding = DAMP) -> Change:
    found = news(was, now, at, why)
    assert found is not None
    return found


def test_the_same_is_no_news() -> None:
    assert news(told(window()), told(window())) is None
    assert news(told(), told()) is None


def test_a_window_that_closes_earlier() -> None:
    now = window(hours=3.0, closes=DEW)
    got = one(told(window()), told(now))
    assert (got.kind, got.worse) == ("moved", True)
    assert got.closes_later_h == -2.0
    assert got.opens_later_h == 0.0
    assert got.why == [DEW]
    assert said(got.said, HERE) == ("last start Thu 13:00, 2 h earlier: it is dark after 13:20")
    assert got.told_at == TOLD_AT


def test_a_window_that_opens_later_and_closes_later() -> None:
    now = window(THURSDAY + timedelta(hours=2), 5.0)
    got = one(told(window()), told(now))
    assert got.worse  # it opens later, whatever comes at the end
    assert said(got.said, HERE) == (
        "opens Thu 12:00, 2 h later; last start 17:00, 2 h later: "
        "air is up to 8 °C; nobody aboard after 18:00"
    )
    better = one(told(now), told(window(hours=7.0)))
    assert not better.worse
    assert "2 h earlier" in said(better.said, HERE)


@pytest.mark.parametrize(
    ("away_h", "shift_min", "is_news"),
    [(6, 20, 0), (6, 30, 1), (48, 50, 0), (48, 60, 1), (96, 110, 0), (96, 120, 1)],
)
def test_minutes_are_no_news(away_h: int, shift_min: int, is_news: int) -> None:
    was = window(NOW + timedelta(hours=away_h))
    now = window(was.opens, 5.0 - shift_min / 60.0)
    assert (news(told(was), told(now)) is not None) == is_news


def test_a_window_that_is_gone_says_why_and_what_is_next() -> None:
    friday = window(THURSDAY + timedelta(days=1), sure=0.7)
    got = one(told(window()), told(friday))
    assert (got.kind, got.worse) == ("lost", True)
    assert said(got.said, HERE) == (
        "no window any more Thu 10:00 until 16:00: humidity above 85 %; "
        "next Fri 10:00 until 16:00, 7 in 10"
    )
    assert got.now == friday
    asked: list[datetime] = []

    def why_not(moment: datetime) -> list[Finding]:
        asked.append(moment)
        return [DEW]

    compare(told(window()), TOLD_AT, told(), Wording(ZONE, NOW), why_not)
    assert asked == [THURSDAY + timedelta(hours=2.5)]  # the middle of what was told


def test_a_new_window() -> None:
    got = one(told(), told(window()))
    assert (got.kind, got.worse) == ("new", False)
    assert said(got.said, HERE) == "new window Thu 10:00 until 16:00: air is up to 8 °C"
    wednesday = window(THURSDAY - timedelta(days=1))
    sooner = one(told(window()), told(wednesday, window()))
    assert sooner.kind == "new"
    assert sooner.now == wednesday


def test_hopes_far_off_come_and_go_unsaid() -> None:
    far = THURSDAY + timedelta(days=6)
    assert news(told(window(far, sure=0.6)), told()) is None
    assert news(told(), told(window(far, sure=0.6))) is None
    assert one(told(window(far, sure=0.8)), told()).kind == "lost"


def test_what_is_over_is_no_news() -> None:
    past = window(NOW - timedelta(hours=9), 5.0)
    assert news(told(past), told(window())) is None
    # Open since before now: that it opens 'now' each time is no change.
    opened = window(NOW - timedelta(hours=1), 6.0)
    later = NOW + timedelta(hours=2)
    assert news(told(opened), told(window(later, 3.0)), later) is None


def test_a_job_that_went_on_is_no_news() -> None:
    assert news(told(window()), told(window(hours=1.0), coat=2)) is None


def test_certainty_lost() -> None:
    got = one(told(window(sure=0.95)), told(window(sure=0.6)))
    assert (got.kind, got.worse) == ("doubt", True)
    assert said(got.said, HERE) == "Thu 10:00 until 16:00: 6 in 10, was over 9 in 10"
    assert news(told(window(sure=0.95)), told(window(sure=0.8))) is None


def test_clocks_that_go_back_move_no_window() -> None:
    """Night to 25 October 2026: the same moments, whatever the clock ashore shows."""
    saturday = datetime(2026, 10, 24, 6, 0, tzinfo=UTC)
    sunday = window(datetime(2026, 10, 25, 8, 0, tzinfo=UTC))
    assert news(told(sunday), told(sunday), saturday) is None
    shifted = window(sunday.opens, 4.0)
    got = one(told(sunday), told(shifted), saturday)
    assert got.closes_later_h == -1.0
    assert said(got.said, Wording(ZONE, saturday)).startswith(
        "last start tomorrow 13:00, 1 h earlier"
    )
    # An hour that the clock shows twice.
    night = window(datetime(2026, 10, 24, 23, 0, tzinfo=UTC), 3.5)
    twice = one(told(night), told(window(night.opens, 2.5)), saturday)
    assert "02:30 CET, 1 h earlier" in said(twice.said, HERE)


def test_degrees_of_the_boat() -> None:
    words = Wording(ZONE, NOW, fahrenheit=True)
    got = compare(told(), TOLD_AT, told(window()), words, lambda moment: [])
    assert got is not None
    assert said(got.why, words) == ["air is up to 46.4 °F"]
