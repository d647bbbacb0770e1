"""Slots over a grid of weather, and members: from beginning to end, on the safe side."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from curewindow.order.slots import Slots, lay_slots
from curewindow.order.tables import _ordered, dry_and_light

NOW = datetime(2026, 3, 2, 6, 10, tzinfo=UTC)
GRIDS = [(600, 30), (1800, 30), (600, 60), (60, 60)]


def hour_of(times: np.ndarray) -> np.ndarray:
    return (times - times.astype("datetime64[D]")) / np.timedelta64(1, "h")


def laid(step_s: int, minutes: int) -> tuple[np.ndarray, Slots]:
    """A day from midnight on, someone aboard from eight to five."""
    times = np.datetime64("2026-03-02T00:00:00", "s") + np.arange(
        86400 // step_s + 1
    ) * np.timedelta64(step_s, "s")
    aboard = (hour_of(times) >= 8.0) & (hour_of(times) <= 17.0)
    return times, lay_slots(NOW, NOW + timedelta(days=2), times, aboard, "UTC", minutes)


@pytest.mark.parametrize(("step_s", "minutes"), GRIDS)
def test_someone_is_aboard_in_slots_that_lie_in_the_hours(step_s: int, minutes: int) -> None:
    _, slots = laid(step_s, minutes)
    assert slots.first >= NOW
    assert slots.first - NOW < timedelta(minutes=minutes)
    assert slots.at(slots.count) <= datetime(2026, 3, 3, tzinfo=UTC)
    for slot in range(slots.count):
        begins, ends = slots.at(slot).time(), slots.at(slot + 1)
        inside = begins.hour >= 8 and ends <= datetime(2026, 3, 2, 17, tzinfo=UTC)
        assert bool(slots.aboard[slot]) is inside


@pytest.mark.parametrize(("step_s", "minutes"), GRIDS)
def test_work_outdoors_has_slots_without_rain_and_with_light(step_s: int, minutes: int) -> None:
    """Light from seven on; a shower at noon, one instant of the grid."""
    times, slots = laid(step_s, minutes)
    rain = np.where(hour_of(times) == 12.0, 1.0, 0.0)[None]
    series = SimpleNamespace(times=times, rain_mm_h=rain)
    good = dry_and_light(slots, series, hour_of(times) >= 7.0)  # type: ignore[arg-type]
    noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    for slot in range(slots.count - 1):
        wet = slots.at(slot) <= noon <= slots.at(slot + 1)
        assert bool(good[slot]) is (slots.at(slot).hour >= 7 and not wet)


def test_each_start_is_read_off_its_own_members_on_the_safe_side() -> None:
    """Of sixteen there after 0 to 15 slots nine of ten are by 14, one of ten at most before 1."""
    rows = np.random.default_rng(5).permuted(np.tile(np.arange(16)[:, None], 3), axis=0)
    rows = rows + np.array([0, 100, 200])
    assert _ordered(rows, 0.9, "slow").tolist() == [14, 114, 214]
    assert _ordered(rows, 1.0 - 0.9, "quick").tolist() == [1, 101, 201]
    assert _ordered(rows[:1], 0.9, "slow").tolist() == rows[0].tolist()


@pytest.mark.parametrize(("minutes", "slot"), [(0, 3), (1, 4), (-1, 3), (-30, 2)])
def test_the_first_slot_at_or_after_a_moment(minutes: int, slot: int) -> None:
    _, slots = laid(600, 30)
    assert slots.at_or_after(slots.at(3) + timedelta(minutes=minutes)) == slot


@pytest.mark.parametrize("late", [timedelta(minutes=30), timedelta(minutes=80)])
def test_slots_begin_with_the_weather_where_that_begins_later(late: timedelta) -> None:
    begins = np.datetime64((NOW + late).replace(tzinfo=None), "s")
    times = begins + np.arange(200) * np.timedelta64(600, "s")
    slots = lay_slots(NOW, NOW + timedelta(days=1), times, np.ones(200, bool), "UTC", 30)
    assert NOW + late <= slots.first < NOW + late + timedelta(minutes=30)
    assert slots.aboard.all()
