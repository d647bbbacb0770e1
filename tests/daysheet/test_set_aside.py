"""A sensor that is not believed is named on the day sheet."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.boat.schema import Boat
from curewindow.daysheet.setaside import set_aside
from curewindow.record.doubted import Doubted, add_doubted
from curewindow.record.entries import Reading
from curewindow.situation import Situation
from curewindow.wording import Wording
from tests.voiced import said

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def _facts(folder: Path, readings: list[Reading], now: datetime = NOW) -> Situation:
    boat = Boat.model_validate(
        {
            "name": "b",
            "place": {"latitude": 52, "longitude": 5, "time_zone": "Europe/Amsterdam"},
            "sensor": [{"name": "meter", "space": "saloon", "topic": "a"}],
        }
    )
    words = Wording(ZoneInfo("Europe/Amsterdam"), now)
    return Situation(folder, boat, None, None, [], [], readings, {}, now, words)  # type: ignore[arg-type]


def _read(at: datetime, air_c: float | None = 19.0, rh_pct: float | None = 50.0) -> Reading:
    return Reading("saloon", at, air_c=air_c, rh_pct=rh_pct, source="meter")


def test_said_until_it_is_believed_again(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    at = NOW - timedelta(minutes=20)
    add_doubted(path, [Doubted(_read(at), "sun", 11.0)], NOW)
    assert said(set_aside(_facts(tmp_path, []))) == [
        "sensor 'meter' (saloon) is not believed: sun, today 12:40"
    ]
    assert set_aside(_facts(tmp_path, [_read(at - timedelta(hours=1))])) != []
    assert set_aside(_facts(tmp_path, [_read(at + timedelta(minutes=10))])) == []
    assert said(set_aside(_facts(tmp_path, [], NOW - timedelta(hours=1)))) == []  # not yet
    assert said(set_aside(_facts(tmp_path, [], NOW + timedelta(hours=9)))) == []


def test_a_humidity_alone(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    add_doubted(path, [Doubted(_read(NOW, air_c=None), "drift", 60.0)], NOW)
    (note,) = said(set_aside(_facts(tmp_path, [_read(NOW, rh_pct=None)])))
    assert note.startswith("the humidity of sensor 'meter' (saloon) is not believed")
