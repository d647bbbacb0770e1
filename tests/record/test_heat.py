"""Heaters lit and put out in the record: written, taken back, and a record from before them."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curewindow.boat.schema import Boat
from curewindow.errors import QuantityError, RecordError
from curewindow.record import Coat, Reading, Record, migrations
from curewindow.record.entries import Heat
from curewindow.record.heat import with_heat

NOW = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)
HOUR = timedelta(hours=1)
LIT = Heat("forepeak", NOW - HOUR, NOW + 20 * HOUR, 21.0, "open", "as planned")
READING = Reading("forepeak", NOW - 2 * HOUR, air_c=4.0, rh_pct=90.0)


def opened(folder: Path) -> Record:
    return Record(folder / "record.db", now=lambda: NOW)


def test_written_corrected_and_taken_back(tmp_path: Path) -> None:
    with opened(tmp_path) as record:
        lit = record.add_heat(LIT)
        assert replace(lit, id=0) == LIT
        assert record.heat("saloon") == []
        sooner = record.correct(lit.id, replace(lit, at=NOW - 2 * HOUR))
        assert record.heat() == [sooner]
        assert record.undo_last().item == sooner
        assert record.heat("forepeak") == [lit]
        assert record.undo_last().item == lit
        assert record.heat() == []
        assert [entry.kind for entry in record.history()] == ["heat", "heat", "undo", "undo"]
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            record._connection.execute("DELETE FROM heat")


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"space": " "}, "name of its space"),
        ({"at": NOW + HOUR}, "still to come"),
        ({"until": NOW - 2 * HOUR}, "ends before it begins"),
        ({"until": NOW + timedelta(days=20)}, "at most 14 days"),
        ({"setpoint_c": 210.0}, "3 to 40 °C"),
        ({"setpoint_c": float("nan")}, "3 to 40 °C"),
    ],
)
def test_what_cannot_be(tmp_path: Path, other: dict[str, object], said: str) -> None:
    with opened(tmp_path) as record:
        with pytest.raises(QuantityError, match=said):
            record.add_heat(replace(LIT, **other))  # type: ignore[arg-type]
        assert record.history() == []


def test_a_record_from_before_heaters_keeps_all_it_holds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The table of entries is made anew for them: numbers, undone ones and triggers stay."""
    coat = Coat("steel", 1, 1, NOW - 3 * HOUR, NOW - 2 * HOUR, "two-part-epoxy-primer")
    with monkeypatch.context() as before:
        before.setattr(migrations, "STEPS", migrations.STEPS[:3])
        with opened(tmp_path) as record:
            first = record.add_reading(READING)
            second = record.correct(first.id, replace(first, air_c=5.0))
            record.add_coat(coat)
            record.undo_last()
            told = record.history()
    with Record(tmp_path / "record.db", read_only=True) as record:
        assert (record.readings(), record.heat()) == ([second], [])
    with opened(tmp_path) as record:
        assert record.history() == told
        assert (record.readings(), record.coats()) == ([second], [])
        lit = record.add_heat(LIT)
        assert record.heat() == [lit]
        assert record.history()[-1].id == told[-1].id + 1
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            record._connection.execute("UPDATE entries SET size = 0")
    assert (tmp_path / "record.db.version-3").exists()


def test_an_older_program_refuses_the_newer_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with opened(tmp_path) as record:
        record.add_heat(LIT)
    monkeypatch.setattr(migrations, "STEPS", migrations.STEPS[:3])
    with pytest.raises(RecordError, match="newer curewindow"):
        opened(tmp_path)


def _boat() -> Boat:
    heating = {"kind": "diesel", "power": "2 kW", "vented": True, "open_flame": False}
    return Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": "Europe/Amsterdam"},
            "space": [
                {"name": "forepeak", "logged_only": True, "heating": heating},
                {"name": "saloon", "logged_only": True},
            ],
        }
    )


def _stretches(
    *heats: Heat, now: datetime = NOW, readings: Sequence[Reading] = ()
) -> list[tuple[float, float, float | None, bool]]:
    space = with_heat(_boat(), heats, readings, now).find_space("forepeak")
    assert space is not None
    assert space.heating is not None
    return [
        ((h.begin - NOW) / HOUR, (h.end - NOW) / HOUR, h.setpoint_c, h.over)
        for h in space.heating.held
    ]


def test_of_one_space_the_later_ends_the_earlier() -> None:
    warmer = Heat("forepeak", NOW, NOW + 2 * HOUR, 24.0)
    off = Heat("forepeak", NOW, NOW)
    assert _stretches(LIT) == [(-1.0, 20.0, 21.0, False)]
    # the earlier does not come back behind the later: it was set otherwise
    assert _stretches(LIT, warmer) == [(-1.0, 0.0, 21.0, True), (0.0, 2.0, 24.0, False)]
    assert _stretches(warmer, LIT) == _stretches(LIT, warmer)
    assert _stretches(LIT, off) == [(-1.0, 0.0, 21.0, True)]
    assert _stretches(Heat("saloon", NOW, NOW + HOUR, 18.0)) == []
    assert _stretches(LIT, now=NOW - 2 * HOUR) == []  # not lit yet
    assert _boat().space[0].heating.held == ()  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("hours_on", "air_c", "out"),
    [
        (2.0, 4.0, False),  # still warming up
        (4.0, 15.5, False),  # a weak heater
        (4.0, 14.9, True),
        (30.0, 4.0, False),  # after it was to end
    ],
)
def test_a_heater_that_is_read_to_be_out_is_out(hours_on: float, air_c: float, out: bool) -> None:
    read = Reading("forepeak", LIT.at + timedelta(hours=hours_on), air_c=air_c, rh_pct=80.0)
    elsewhere = replace(read, space="saloon", air_c=2.0)
    now = NOW + timedelta(hours=hours_on)
    end = hours_on - 1.0 if out else 20.0
    got = _stretches(LIT, now=now, readings=[read, elsewhere])
    assert got == [(-1.0, end, 21.0, NOW + timedelta(hours=end) <= now)]
    warm = replace(read, at=read.at + timedelta(minutes=30), air_c=20.0)
    assert _stretches(LIT, now=now, readings=[read, warm])[0][1] == 20.0  # lit again
