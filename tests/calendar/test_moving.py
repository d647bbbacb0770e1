"""Events that move instead of doubling: UID stays, SEQUENCE rises, what is gone is called off."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.calendar import Happening, Published, known_aboard, publish
from curewindow.calendar.memory import brought_up_to_date, shown
from tests.cases import cases

NOW = datetime(2026, 11, 25, 7, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


class Boat:
    """A boat whose calendar is published again and again."""

    def __init__(self, folder: Path, sheet_at: Any, ahead: Any, window: Any, read: Any):
        self.folder = folder
        self._sheet_at, self._ahead, self._window, self._read = sheet_at, ahead, window, read

    def feed(
        self, now: datetime, *spans: tuple[datetime, datetime], coat: int = 2, chance: float = 0.9
    ) -> bytes:
        windows = [self._window(*span, chance) for span in spans]
        return publish(self.folder, self._sheet_at(now), self._ahead(now, windows, coat=coat))

    def events(self, *args: Any, **more: Any) -> list[Any]:
        return sorted(self._read(self.feed(*args, **more)), key=lambda each: each.dtstart)


@pytest.fixture
def boat(
    tmp_path: Path,
    sheet_at: Callable[..., Any],
    ahead: Callable[..., Any],
    window: Callable[..., Any],
    read: Callable[..., Any],
) -> Boat:
    return Boat(tmp_path, sheet_at, ahead, window, read)


def test_a_moved_window_keeps_its_uid_and_raises_its_sequence(boat: Boat) -> None:
    opens = NOW + DAY
    (first,) = boat.events(NOW, (opens, opens + 3 * HOUR))
    later = opens + 5 * HOUR  # RFC 5546, 2.1.4: DTSTART changed, so SEQUENCE is incremented
    (moved,) = boat.events(NOW + HOUR, (later, later + 3 * HOUR))
    assert (first.sequence, moved.sequence) == (0, 1)
    assert moved.uid == first.uid
    assert moved.dtstart == later
    assert (moved.dtstamp, moved.last_modified) == (NOW + HOUR, NOW + HOUR)


def test_nothing_changed_nothing_written(boat: Boat) -> None:
    span = (NOW + DAY, NOW + DAY + 3 * HOUR)
    feed = boat.feed(NOW, span)
    assert boat.feed(NOW + HOUR, span) == feed


def test_what_the_text_says_is_no_move(boat: Boat) -> None:
    span = (NOW + DAY, NOW + DAY + 3 * HOUR)
    (first,) = boat.events(NOW, span, chance=0.95)
    (other,) = boat.events(NOW + HOUR, span, chance=0.9)
    assert other.description != first.description
    assert (other.sequence, other.last_modified) == (0, NOW + HOUR)
    (unsure,) = boat.events(NOW + 2 * HOUR, span, chance=0.6)
    assert (unsure.sequence, unsure.status) == (1, "TENTATIVE")
    assert "6 in 10" in unsure.summary


def test_days_go_by_and_each_window_stays_itself(boat: Boat) -> None:
    def span(day: int) -> tuple[datetime, datetime]:
        opens = NOW + day * DAY + HOUR
        return opens, opens + 6 * HOUR

    first = boat.events(NOW, span(0), span(1), span(2))
    second = boat.events(NOW + DAY, span(1), span(2), span(3))
    # yesterday's stays as it was, the others are the same, one is new
    assert [each.uid for each in second[:3]] == [each.uid for each in first]
    assert len(second) == 4
    assert [each.sequence for each in second] == [0, 0, 0, 0]
    assert all(each.status == "CONFIRMED" for each in second)


def test_one_that_is_open_began_when_it_began(boat: Boat) -> None:
    opens = NOW + HOUR
    (first,) = boat.events(NOW, (opens, opens + 6 * HOUR))
    at = opens + 2 * HOUR
    (now_open,) = boat.events(at, (at, opens + 6 * HOUR))
    assert (now_open.dtstart, now_open.sequence) == (first.dtstart, 0)


def test_called_off_and_back(boat: Boat) -> None:
    span = (NOW + 3 * DAY, NOW + 3 * DAY + 3 * HOUR)
    (first,) = boat.events(NOW, span)
    (gone,) = boat.events(NOW + HOUR)
    assert (gone.uid, gone.status, gone.sequence) == (first.uid, "CANCELLED", 1)
    assert not gone.alarm
    (still,) = boat.events(NOW + 2 * HOUR)
    assert still.sequence == 1
    (back,) = boat.events(NOW + 3 * HOUR, span)
    assert (back.uid, back.status, back.sequence) == (first.uid, "CONFIRMED", 2)
    boat.events(NOW + 4 * HOUR)
    assert boat.events(NOW + 20 * DAY) == []  # nobody needs to be told any more


def test_the_next_coat_is_another_event(boat: Boat) -> None:
    span = (NOW + DAY, NOW + DAY + 3 * HOUR)
    (coat_2,) = boat.events(NOW, span, coat=2)
    both = boat.events(NOW + HOUR, (NOW + 2 * DAY, NOW + 2 * DAY + HOUR), coat=3)
    assert [each.status for each in both] == ["CANCELLED", "CONFIRMED"]
    assert both[0].uid == coat_2.uid != both[1].uid


def test_a_uid_is_never_given_twice(boat: Boat) -> None:
    """A calendar that was away for a year must not take a new event for an old one."""
    (first,) = boat.events(NOW, (NOW + HOUR, NOW + 2 * HOUR))
    year = NOW + 365 * DAY
    (new,) = boat.events(year, (year + HOUR, year + 2 * HOUR))
    assert new.uid != first.uid


def test_what_was_given_outlives_the_program(boat: Boat) -> None:
    span = (NOW + DAY, NOW + DAY + 3 * HOUR)
    (first,) = boat.events(NOW, span)
    (known,) = known_aboard(boat.folder)
    assert (known.uid, known.sequence, known.modified) == (first.uid, 0, NOW)
    assert known.happening.begins == span[0]


_SPANS = st.lists(st.tuples(st.integers(0, 200), st.integers(1, 12)), max_size=5).map(
    lambda pairs: [(6 * start, length) for start, length in pairs]
)


@cases(60)
@given(st.lists(st.tuples(st.integers(0, 30), _SPANS), min_size=1, max_size=6))
def test_whatever_comes_no_event_doubles(rounds: list[tuple[int, list[tuple[int, int]]]]) -> None:
    """Live events to come are exactly those worked out; no SEQUENCE ever falls."""
    known: list[Published] = []
    now = NOW
    for later, spans in rounds:
        now += later * HOUR
        found = [
            Happening(
                kind="window",
                job="table",
                step=1,
                coat=1,
                begins=(begins := now + start * HOUR),
                ends=begins + length * HOUR,
                title="coat 1",
            )
            for start, length in dict(spans).items()
        ]
        after = brought_up_to_date("b", found, known, now)
        assert len({each.uid for each in after}) == len(after)
        live = [e for e in after if e.cancelled_at is None and e.happening.ends > now]
        assert sorted(e.happening.ends for e in live) == sorted(h.ends for h in found)
        before = {each.uid: each for each in known}
        for each in after:
            if each.uid in before:
                assert each.sequence >= before[each.uid].sequence
                if each.happening.begins != before[each.uid].happening.begins:
                    assert each.sequence > before[each.uid].sequence
        assert brought_up_to_date("b", found, after, now) == after
        assert {each.uid for each in shown(after, now)} >= {each.uid for each in live}
        known = after
