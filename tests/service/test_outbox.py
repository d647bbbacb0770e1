"""The outbox: what is told once, what again, what no more."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from curewindow_service.outbox import Outbox
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from curewindow.errors import NotFoundError, RecordError
from tests.cases import cases
from tests.service.conftest import START, HandClock, reminder

ALL = [("mail", "low"), ("phone", "urgent")]
HOUR = timedelta(hours=1)


@pytest.fixture
def outbox(tmp_path: Path, clock: HandClock) -> Iterator[Outbox]:
    with Outbox(tmp_path / "record.db", clock=clock) as opened:
        yield opened


def keys(outbox: Outbox) -> list[tuple[str, str]]:
    return [(notice.key, sending.channel) for notice, sending in outbox.to_send()]


def send_all(outbox: Outbox) -> list[str]:
    sent = []
    for notice, sending in outbox.to_send():
        assert outbox.begin(sending.id)
        outbox.hand_over(sending.id)
        outbox.sent(sending.id, "250 ok")
        sent.append(notice.key)
    return sent


def test_a_notice_is_given_out_when_it_is_due_and_once(outbox: Outbox, clock: HandClock) -> None:
    wanted = [reminder(due=START + HOUR)]
    outbox.sync(wanted)
    assert outbox.give_out(ALL) == []
    clock.on(hours=1)
    assert [notice.key for notice in outbox.give_out(ALL)] == ["morning|2026-11-25"]
    assert send_all(outbox) == ["morning|2026-11-25"]
    for _ in range(3):
        clock.on(hours=1)
        outbox.sync(wanted)
        assert outbox.give_out(ALL) == []
        assert outbox.to_send() == []


def test_levels_choose_the_channels(outbox: Outbox) -> None:
    outbox.sync([reminder("a", level="low"), reminder("b", level="urgent")])
    outbox.give_out(ALL)
    # the urgent one first
    assert keys(outbox) == [("b", "mail"), ("b", "phone"), ("a", "mail")]


def test_a_waiting_notice_follows_what_is_worked_out(outbox: Outbox, clock: HandClock) -> None:
    outbox.sync([reminder("a", due=START + HOUR), reminder("b", due=START + HOUR)])
    outbox.sync([reminder("a", due=START + 2 * HOUR, title="later than thought")])
    clock.on(hours=1)
    assert outbox.give_out(ALL) == []
    by_key = {notice.key: notice for notice in outbox.notices()}
    assert by_key["b"].state == "withdrawn"
    clock.on(hours=1)
    assert [notice.title for notice in outbox.give_out(ALL)] == ["later than thought"]


def test_what_is_too_late_is_dropped_and_recorded(outbox: Outbox, clock: HandClock) -> None:
    outbox.sync([reminder("a", due=START + HOUR, lasts=HOUR)])
    clock.on(hours=3)
    assert outbox.give_out(ALL) == []
    assert [notice.state for notice in outbox.notices()] == ["expired"]
    # never worked out in its time: recorded all the same
    outbox.sync([reminder("b", due=START, lasts=HOUR)])
    assert {notice.key: notice.state for notice in outbox.notices()}["b"] == "expired"


def test_a_clock_that_ran_ahead_loses_nothing(outbox: Outbox, clock: HandClock) -> None:
    wanted = [reminder("a", due=START + HOUR)]
    outbox.sync(wanted)
    clock.on(days=900)  # a board whose clock was wrong for a while
    outbox.give_out(ALL)
    clock.now = START + HOUR
    outbox.sync(wanted)
    assert [notice.key for notice in outbox.give_out(ALL)] == ["a"]


def test_a_clock_set_back_does_not_strand_a_retry(outbox: Outbox, clock: HandClock) -> None:
    outbox.sync([reminder("a", lasts=timedelta(days=400))])
    outbox.give_out(ALL)
    clock.on(days=300)
    ((_, sending),) = outbox.to_send()
    outbox.begin(sending.id)
    outbox.later(sending.id, "451 later", timedelta(minutes=5))
    clock.now = START
    assert keys(outbox) == [("a", "mail")]


def test_the_same_words_are_no_news_within_a_day(outbox: Outbox, clock: HandClock) -> None:
    said = {"title": "saloon: a reading is due", "body": "The last one is of Tue 17:40."}
    outbox.sync([reminder("a", **said)])
    outbox.give_out(ALL)
    clock.on(hours=2)
    outbox.sync([reminder("b", due=clock.now, **said)])
    assert outbox.give_out(ALL) == []
    assert {n.key: n.state for n in outbox.notices()} == {"a": "told", "b": "known already"}
    clock.on(hours=22)
    outbox.sync([reminder("c", due=clock.now, **said)])
    assert [notice.key for notice in outbox.give_out(ALL)] == ["c"]


def test_a_last_call_held_up_until_it_is_no_longer_so(outbox: Outbox, clock: HandClock) -> None:
    call = reminder("call", kind="recoat closes")
    cured = reminder("cured", kind="milestone")
    outbox.sync([call, cured])
    outbox.give_out(ALL)
    for _, sending in outbox.to_send():  # the mail server is down
        outbox.begin(sending.id)
        outbox.later(sending.id, "no answer in time", timedelta(minutes=1))
    clock.on(hours=1)
    outbox.sync([])  # the coat is on
    assert send_all(outbox) == ["cured"]
    assert outbox.notices()[0].sendings[0].result == "no longer so before it went out"


def test_only_after_another_and_kept_once_it_was_told(outbox: Outbox, clock: HandClock) -> None:
    down = reminder("down", due=START + 5 * HOUR, only_after="light|job|")
    never = reminder("never", due=START + 5 * HOUR, only_after="light|other job|")
    outbox.sync([reminder("light|job|25", due=START), down, never])
    outbox.give_out(ALL)
    # once it burns the plan is gone from the day sheet
    clock.on(hours=1)
    outbox.sync([])
    clock.on(hours=4)
    assert [notice.key for notice in outbox.give_out(ALL)] == ["down"]
    assert {n.key: n.state for n in outbox.notices()}["never"] == "withdrawn"


def test_acknowledged_goes_out_no_more(outbox: Outbox) -> None:
    outbox.sync([reminder("a"), reminder("b", due=START + HOUR)])
    outbox.give_out(ALL)
    first, second = outbox.notices()
    outbox.acknowledge(first.id)
    outbox.acknowledge(second.id)
    assert outbox.to_send() == []
    outbox.sync([reminder("a"), reminder("b", due=START)])
    assert outbox.give_out(ALL) == []
    with pytest.raises(NotFoundError):
        outbox.acknowledge(99)


def test_snoozed_is_told_again_and_not_withdrawn(outbox: Outbox, clock: HandClock) -> None:
    outbox.sync([reminder("a")])
    outbox.give_out(ALL)
    first = outbox.to_send()[0][1].message_id
    send_all(outbox)
    outbox.snooze(outbox.notices()[0].id, START + 7 * HOUR)  # beyond its own expiry
    outbox.sync([])
    clock.on(hours=6)
    assert outbox.give_out(ALL) == []
    clock.on(hours=1)
    outbox.give_out(ALL)
    # another message: a mailbox must not take it for a second copy
    assert outbox.to_send()[0][1].message_id != first
    assert send_all(outbox) == ["a"]
    with pytest.raises(ValueError, match="ahead"):
        outbox.snooze(1, clock.now)


def test_what_a_stop_cut_off_is_resolved(outbox: Outbox) -> None:
    outbox.sync([reminder("a"), reminder("b"), reminder("c")])
    outbox.give_out([("mail", "low")])
    one, two, three = (sending for _, sending in outbox.to_send())
    outbox.begin(one.id)
    outbox.begin(two.id)
    outbox.hand_over(two.id)
    outbox.begin(three.id)
    outbox.hand_over(three.id)
    outbox.sent(three.id)
    assert outbox.to_send() == []
    assert outbox.recover() == 1
    again = {notice.key: sending for notice, sending in outbox.to_send()}
    assert set(again) == {"a", "b"}
    assert not again["a"].doubt
    assert again["b"].doubt
    assert again["b"].message_id == two.message_id


ACTIONS = st.lists(
    st.one_of(
        st.tuples(st.just("wait"), st.integers(-90, 600)),
        st.tuples(st.just("sync"), st.sets(st.integers(0, 5))),
        st.tuples(st.just("give"), st.none()),
        st.tuples(st.just("attempt"), st.sampled_from(["sent", "later", "cut", "failed"])),
        st.tuples(st.just("snooze"), st.integers(0, 5)),
        st.tuples(st.just("ack"), st.integers(0, 5)),
    ),
    max_size=40,
)


@cases(25, suppress_health_check=list(HealthCheck))
@given(actions=ACTIONS)
def test_whatever_happens_a_round_is_sent_once(
    actions: list[tuple[str, object]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A sending that is through never goes out again, and one with the same number is one."""
    clock = HandClock()
    through: list[str] = []
    path = tmp_path_factory.mktemp("outbox") / "record.db"
    with Outbox(path, clock=clock) as outbox:
        for what, given_ in actions:
            if what == "wait":
                assert isinstance(given_, int)
                clock.on(minutes=given_)
            elif what == "sync":
                assert isinstance(given_, set)
                outbox.sync([reminder(f"k{n}", due=START + n * HOUR) for n in given_])
            elif what == "give":
                outbox.give_out(ALL)
            elif what == "attempt":
                for _, sending in outbox.to_send()[:1]:
                    assert sending.message_id not in through
                    assert outbox.begin(sending.id)
                    if given_ == "sent":
                        outbox.hand_over(sending.id)
                        outbox.sent(sending.id)
                        through.append(sending.message_id)
                    elif given_ == "failed":
                        outbox.failed(sending.id, "550 no")
                        through.append(sending.message_id)
                    elif given_ == "later":
                        outbox.later(sending.id, "451", timedelta(minutes=5))
                    else:
                        outbox.recover()
            else:
                for notice in outbox.notices():
                    if notice.key == f"k{given_}":
                        if what == "ack":
                            outbox.acknowledge(notice.id)
                        else:
                            outbox.snooze(notice.id, clock.now + HOUR)
        counted = outbox.counts()
    assert counted.get("sent", 0) + counted.get("failed", 0) == len(through)
    assert len(set(through)) == len(through)


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE sendings SET next_try = x'ff'",
        "UPDATE notices SET expires = 'soon'",
        "UPDATE notices SET due = 4611686018427387904",
        "UPDATE notices SET level = 'loud'",
        "UPDATE notices SET title = x'ff'",
    ],
)
def test_a_cell_that_cannot_be_is_told_as_a_damaged_record(tmp_path: Path, damage: str) -> None:
    path = tmp_path / "record.db"
    with Outbox(path, clock=lambda: START) as outbox:
        outbox.sync([reminder()])
        outbox.give_out([("mail", "normal")])
        with closing(sqlite3.connect(path)) as database, database:
            database.execute(damage)
        with pytest.raises(RecordError, match="is damaged"):
            outbox.to_send()
