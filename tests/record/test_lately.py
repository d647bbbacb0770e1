"""Of a record of any length an answer reads what matters to it, and no more."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.record import Reading, Record
from curewindow.record.lately import LATELY, MANY
from tests.cases import cases

NOW = datetime(2026, 12, 1, tzinfo=UTC)
SPACES = ["saloon", "forepeak"]

_reading = st.builds(
    Reading,
    space=st.sampled_from([*SPACES, "elsewhere"]),
    at=st.integers(0, 60 * 48).map(lambda half_hours: NOW - timedelta(minutes=30 * half_hours)),
    air_c=st.just(10.0) | st.none(),
    surface_c=st.just(8.0),
    panel=st.sampled_from([None, "hull"]),
    wood_moisture_pct=st.none() | st.just(14.0),
)


@cases(20)
@given(readings=st.lists(_reading, max_size=40), days=st.none() | st.integers(1, 50))
def test_a_short_record_is_read_as_far_back_as_it_counts(
    tmp_path_factory: pytest.TempPathFactory, readings: list[Reading], days: int | None
) -> None:
    first = None if days is None else NOW - timedelta(days=days)
    begin = NOW - LATELY if first is None else min(first, NOW - LATELY)
    with Record(tmp_path_factory.mktemp("a") / "record.db", now=lambda: NOW) as record:
        record.add_readings(readings)
        every = record.readings()
        found = record.readings_lately(SPACES, NOW, first)
    wanted = {r.id for r in every if r.space in SPACES and r.at >= begin}
    for space in SPACES:
        before = [r for r in every if r.space == space and r.at < begin]
        wanted |= {r.id for r in [r for r in before if r.air_c is not None][-1:]}
        wanted |= {r.id for r in [r for r in before if r.wood_moisture_pct is not None][-20:]}
    assert found == [r for r in every if r.id in wanted]


def test_a_long_record_gives_a_bounded_number(tmp_path: Path) -> None:
    """A reading a minute for three weeks, and for one week: the same of the days in common."""
    weeks = {}
    for count in (1, 3):
        with Record(tmp_path / f"{count}.db", now=lambda: NOW) as record:
            minutes = range(count * 7 * 1440)
            record.add_readings(
                Reading("saloon", NOW - timedelta(minutes=n), air_c=n % 40) for n in minutes
            )
            weeks[count] = record.readings_lately(SPACES, NOW)
    week = NOW - timedelta(days=6)
    shared = [[(r.at, r.air_c) for r in weeks[n] if r.at > week] for n in (1, 3)]
    assert shared[0] == shared[1]
    assert weeks[1][-1].at == NOW
    assert len(weeks[3]) <= LATELY / timedelta(minutes=5) + 2
    assert len(weeks[1]) < len(weeks[3]) < MANY


def test_no_question_walks_through_all_of_it(tmp_path: Path) -> None:
    with Record(tmp_path / "record.db", now=lambda: NOW) as record:
        asked: list[str] = []
        record._connection.set_trace_callback(asked.append)
        record.readings_lately(SPACES, NOW, NOW - timedelta(days=40))
        record.readings(since=NOW - timedelta(days=2))
        record.readings("saloon", last=20)
        record._connection.set_trace_callback(None)
        assert len(asked) > 8
        for question in asked:
            plan = record._connection.execute(f"EXPLAIN QUERY PLAN {question}").fetchall()
            steps = [row["detail"] for row in plan]
            # 'withdrawn' and 'entries' are as long as the log of what people did
            assert not [each for each in steps if each.startswith(("SCAN r", "SCAN readings"))]
