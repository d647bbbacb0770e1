"""What a listener writes is held against its whole course, as an import is."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from curewindow_service.sensors.heard import Expected
from curewindow_service.sensors.inrecord import save

from curewindow.record import Reading, Record

BEGAN = datetime(2026, 11, 24, tzinfo=UTC)


def heard(path: Path, rh: float | None, air: float = 0.0) -> None:
    """Half a day and more of readings, written one after the other as they come."""
    for n in range(40):
        at = BEGAN + timedelta(minutes=30 * n)
        humidity = rh if rh is not None else 60.0 + n % 5
        reading = Reading("saloon", at, air_c=8.0 + air * n, rh_pct=humidity, source="meter")
        save(path, [reading], lambda at=at: at, lambda *_: Expected(8.0, 70.0))  # type: ignore[misc]


def test_a_hygrometer_that_stands_still_is_not_used(tmp_path: Path) -> None:
    heard(tmp_path / "record.db", 63.0, air=0.15)
    with Record(tmp_path / "record.db", read_only=True) as record:
        assert {each.rh_pct for each in record.readings()} == {None}
        assert len(record.readings(doubted=True)) == 40
        assert {(each.value, each.why) for each in record.marked()} == {("humidity", "stuck")}


def test_one_that_moves_is(tmp_path: Path) -> None:
    heard(tmp_path / "record.db", None, air=0.15)
    with Record(tmp_path / "record.db", read_only=True) as record:
        assert record.marked() == []
        assert all(each.rh_pct for each in record.readings())
