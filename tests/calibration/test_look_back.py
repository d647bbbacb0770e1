"""Windows that are past, judged on what was seen; what is learned, and what of it is used."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from curewindow.calibration.answer import answer_of
from curewindow.calibration.look_back import LookedBack, look_back
from curewindow.weather.local import learned
from tests.voiced import said

Made = Callable[..., Any]

SOURCE = "made-up feed"


def look(history: Any) -> LookedBack:
    return look_back(history.folder, history.boat, history.work, history.now, offline=True)


def test_nothing_kept_yet(history: Made) -> None:
    found = look(history())
    assert found.feeds == []
    assert found.kept_forecasts == found.kept_bytes == 0


def test_outcomes_follow_the_weather_that_came(history: Made) -> None:
    """A surface limit of 8 °C while it goes on: which days held can be read off the weather."""
    boat = history()
    boat.keep()
    boat.tell(13, 0.9)
    (feed,) = look(boat).feeds
    warm = 0
    for told in feed.told:
        assert told.held is not None
        at = told.start.timestamp() + 600.0 * np.arange(0, 7)
        air = np.interp(at, boat.hours, boat.temp_c)
        # light wind and cloud: a grey deck lies within 2 K of the air
        if air.min() > 10.0:
            assert told.held
            warm += 1
        if air.min() < 7.5:
            assert not told.held
    assert warm > 10
    assert {told.basis for told in feed.told} == {"analysis"}


def test_hours_that_nobody_saw_are_not_judged(history: Made) -> None:
    boat = history()
    boat.keep(every_h=96)  # seen are the first six hours of each fourth day
    boat.tell(13, 0.9)
    (feed,) = look(boat).feeds
    waiting = [told for told in feed.told if told.held is None]
    assert len(waiting) > 0.6 * len(feed.told)
    assert answer_of(look(boat), boat.boat).feeds[0].windows_waiting == len(waiting)


def test_confidence_that_was_too_high_is_lowered_and_it_is_said(history: Made) -> None:
    boat = history()
    boat.keep()
    boat.tell(7, 0.95)  # told nearly for certain, on mornings that are mostly too cold
    found = look(boat)
    (feed,) = found.feeds
    assert feed.cases.held.mean() < 0.6
    assert feed.trust is not None
    assert feed.trust.corrected(0.95, 24.0) < 0.75
    kept = learned(boat.folder, boat.boat.place, SOURCE)[1]
    assert kept == feed.trust
    text = " ".join(said(answer_of(found, boat.boat).feeds[0].said))
    assert "less often than stated" in text
    assert "9 in 10 a day ahead becomes" in text


def test_too_few_days_change_nothing(history: Made) -> None:
    boat = history()
    boat.keep()
    boat.tell(7, 0.95)
    from curewindow.weather import kept_file

    with kept_file.to_write(boat.folder) as connection:
        connection.execute(
            "DELETE FROM told WHERE start < ?", (int((boat.now - timedelta(days=15)).timestamp()),)
        )
    (feed,) = look(boat).feeds
    assert feed.trust is None
    assert "too few" in " ".join(said(answer_of(look(boat), boat.boat).feeds[0].said))


def test_a_pretended_moment_teaches_nothing(history: Made, monkeypatch: pytest.MonkeyPatch) -> None:
    from curewindow.weather import kept_forecasts

    boat = history()
    boat.keep()
    boat.tell(7, 0.95)
    later = boat.now + timedelta(days=200)
    monkeypatch.setattr(kept_forecasts, "_clock", lambda: later)
    found = look(boat)
    assert not found.written_down
    assert learned(boat.folder, boat.boat.place, SOURCE) == (None, None)


@pytest.mark.slow
def test_a_cabin_is_judged_by_its_readings(history: Made) -> None:
    """The model would have the cabin near the outside air; readings say that it was heated."""
    from curewindow.record.entries import Reading
    from curewindow.record.store import Record

    boat = history()
    boat.keep()
    boat.tell(7, 0.9, job="lockers")
    (cold,) = look(boat).feeds
    first = boat.now - timedelta(days=12)
    readings = [
        Reading("cabin", first + timedelta(hours=h), air_c=19.0, rh_pct=45.0)
        for h in range(0, 11 * 24, 2)
    ]
    surfaces = [
        Reading("cabin", r.at + timedelta(minutes=1), surface_c=18.0, panel="side")
        for r in readings
    ]
    with Record(boat.folder / "record.db", now=lambda: boat.now) as record:
        record.add_readings([*readings, *surfaces])
    from curewindow.weather import kept_file

    with kept_file.to_write(boat.folder) as connection:
        connection.execute("UPDATE told SET held = NULL")
    (warm,) = look(boat).feeds
    # joinery follows the air in a day or so
    recent = [t for t in warm.told if t.start > first + timedelta(days=3)]
    assert recent
    assert all(t.basis == "readings" for t in recent if t.held is not None)
    before = {t.id: t.held for t in cold.told}
    assert sum(bool(t.held) for t in recent) > sum(bool(before[t.id]) for t in recent)


def test_forecast_errors_are_told_by_lead_day(history: Made) -> None:
    """A feed that is 1.5 K too warm against readings, by construction of the weather."""
    boat = history()
    boat.keep(off_k=1.5)
    boat.read_outdoors(0.0)
    (feed,) = look(boat).feeds
    own = [e for e in feed.errors if e.against == "readings"]
    assert {e.day for e in own} >= {0, 1, 2, 3}
    for error in own:
        assert error.temp_bias_k == pytest.approx(1.5, abs=0.15)
        assert error.temp_spread_k < 0.6
        assert np.isnan(error.dew_bias_k)  # no humidity was read
    analysis = [e for e in feed.errors if e.against == "analysis"]
    # held against its own later word, a feed that is always off looks right
    assert all(abs(e.temp_bias_k) < 0.1 for e in analysis)


def test_told_again_and_again_is_one_promise(history: Made) -> None:
    boat = history()
    boat.keep()
    boat.tell(13, 0.9)
    (once,) = look(boat).feeds
    boat.tell(14, 0.9)  # the same days, an hour later: the best start has moved
    (twice,) = look(boat).feeds
    assert len(twice.told) == 2 * len(once.told)
    assert twice.cases.stated.size == once.cases.stated.size


def test_the_archive_fills_hours_nobody_saw(
    history: Made, replay: Any, replay_module: Any, own_cache: Any
) -> None:
    """Through real sockets; without a network the hours stay unknown, and it is said."""
    from curewindow.calibration.seen import add_analyses, seen_hours
    from curewindow.weather import kept_file
    from curewindow.weather.cache import Cache

    boat = history()
    choice = boat.boat.weather.model_copy(
        update={"feed": "open-meteo", "base_address": replay.base_address}
    )
    described = boat.boat.model_copy(update={"weather": choice})
    since = boat.now - timedelta(days=12)
    with kept_file.to_write(boat.folder):
        pass
    body = replay_module.open_meteo_body(since.replace(hour=0), days=8)
    replay.script(replay_module.ARCHIVE, replay_module.Scripted(body))
    assert add_analyses(boat.folder, described, Cache(own_cache), boat.now, since) == ""
    with kept_file.to_read(boat.folder) as connection:
        assert connection is not None
        hours, seen = seen_hours(connection, described, since, boat.now)
    assert hours.size > 100
    assert np.isfinite(seen["temp_c"]).all()
    offline = Cache(own_cache, offline=True)
    earlier = since - timedelta(days=30)
    missing = add_analyses(boat.folder, described, offline, boat.now, earlier)
    assert "working offline" in missing
    # a feed without an archive of its own is not asked about
    assert add_analyses(boat.folder, boat.boat, offline, boat.now, earlier) == ""
