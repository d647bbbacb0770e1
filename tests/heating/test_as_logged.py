"""A run that only does what the log says is done already changes nothing, and opens nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from curewindow.boat.schema import Ventilation
from curewindow.conditions.routine import VENTILATION
from curewindow.demo import files as demofiles
from curewindow.heating.coat import series_of
from curewindow.heating.room import heated
from curewindow.judgement.airing import room_of
from curewindow.judgement.coatahead import coat_ahead, from_now
from curewindow.judgement.progress import next_of
from curewindow.record.entries import Done, Heat
from curewindow.record.store import Record
from curewindow.situation import read_situation

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
JOB, SPACE, WARM_C = "forepeak frames", "forepeak", 18.0


@pytest.mark.parametrize("vents", ["normal", "open"])
def test_the_heat_that_is_on_is_no_gain(vents: Ventilation, tmp_path: Path) -> None:
    folder = tmp_path / "boat"
    demofiles.write(folder, NOW)
    later = NOW + timedelta(minutes=10)
    with Record(folder / "record.db", now=lambda: NOW) as record:
        record.add(Done(JOB, 1, NOW))
        record.add(Heat(SPACE, NOW, NOW + timedelta(days=4), WARM_C, vents))
    facts = read_situation(folder, later)
    job = next(each for each in facts.work.job if each.name == JOB)
    space = facts.boat.find_space(SPACE)
    assert space is not None
    room = room_of(facts, space, from_now(facts, job))
    progress = next_of(job, facts.coats, facts.dones)
    assert room is not None
    assert progress is not None
    task = coat_ahead(facts, job, progress, bare_wood=False)
    again = heated(
        room,
        np.fmax(WARM_C, room.routine_c),
        air_changes_h=room.model.air_changes_h * VENTILATION[vents],
    )
    found = series_of(task, room, again, room.first)
    ends = int(np.searchsorted(room.times, np.datetime64("2026-11-29T00:00:00")))
    assert ends > 100
    for name in ("air_c", "dew_point_c", "surface_c"):
        told = getattr(found, name)[:, :ends]
        stands = getattr(task.base, name)[:, room.first : room.first + ends]
        np.testing.assert_allclose(told, stands, atol=1e-6, err_msg=name)
