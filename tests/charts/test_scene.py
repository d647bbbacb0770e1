"""What a picture shows of the demo boat, and its spans of time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest

from curewindow.boat.named import job_or_space
from curewindow.charts import Picture, Scene, picture_of, scene_of, usual_target
from curewindow.charts.alttext import stretches_text
from curewindow.charts.limits import limits_text
from curewindow.charts.page import moved_apart
from curewindow.charts.stretches import day_marks, stretches, time_marks
from curewindow.daysheet import windows_ahead
from curewindow.errors import NotFoundError
from curewindow.rules.tins import with_tin
from curewindow.situation import Situation
from curewindow.wording import keep_together


def of(facts: Situation, name: str, days: float = 3.0) -> Scene:
    return scene_of(facts, job_or_space(facts.boat, facts.work, name), days)


@pytest.mark.parametrize("name", ["chart table", "wheelhouse windows", "mooring bitts"])
def test_windows_are_those_of_the_list(demo_facts: Situation, name: str) -> None:
    listed = windows_ahead(demo_facts.folder, demo_facts.now, job=name).jobs[0]
    assert listed.next is not None
    takes = timedelta(hours=listed.next.hands_on_h)
    spans = [(window.opens, window.closes + takes) for window in listed.windows]
    (bar,) = of(demo_facts, name).windows
    assert list(bar.spans) == spans
    assert spans or name != "chart table"


def test_a_space_shows_its_coldest_surface_and_all_its_jobs(demo_facts: Situation) -> None:
    scene = of(demo_facts, "saloon")
    surfaces = demo_facts.conditions["saloon"].surface_c
    known = {int(t): i for i, t in enumerate(demo_facts.forecast.times.astype(np.int64))}
    for at in (0, 100, 300):
        index = known[int(scene.times[at].astype(np.int64))]
        coldest = min(float(np.median(course[:, index])) for course in surfaces.values())
        assert scene.surface_c[at] == coldest
    assert {bar.job for bar in scene.windows} == {
        job.name
        for job in demo_facts.work.job
        if job.space == "saloon" and job.name != "wet locker primer"  # done
    }
    assert scene.limits == ()
    assert set(scene.coldest) <= set(surfaces)


def test_a_frost_night_on_bare_steel_shows_its_frost(demo_facts: Situation) -> None:
    """In the demo's clear night the deck of the unheated forepeak freezes over."""
    scene = of(demo_facts, "forepeak", 6.0)
    assert scene.frost.any()
    deck = next(each for each in scene.lying if each.panel == "deck")
    assert np.nanmax(deck.frost_g_m2) > 5.0
    # It begins to lie while it is freezing, and thaws to water that dries.
    first = int(np.flatnonzero(deck.frost_g_m2 >= 1.0)[0])
    assert scene.surface_c[first] < 0.0
    assert deck.water_g_m2[first:].max() > 1.0
    assert (scene.surface_c[scene.frost] < 0.0).all()
    assert (scene.surface_c[scene.dew] >= 0.0).all()


def test_limits_are_the_sheets(demo_facts: Situation) -> None:
    scene = of(demo_facts, "wheelhouse windows")
    sheet = demo_facts.sheet("hybrid-sealant").sheet
    said = {(limit.kind.name, limit.bound): limit.value for limit in scene.limits}
    assert said["tin temperature", "min"] == sheet.applying.product.min
    assert said["surface above dew point", "min"] == sheet.applying.above_dew_point
    assert "tin 10 °C to 30 °C" in limits_text(scene.limits, scene.words)
    cold = next(x for x in scene.limits if (x.kind.name, x.bound) == ("tin temperature", "min"))
    job = next(job for job in demo_facts.work.job if job.name == "wheelhouse windows")
    tin = with_tin(demo_facts.series(job), sheet, 1.0)
    assert tin.tin_c is not None
    cut = np.isin(tin.times, scene.times)
    assert (cold.broken == (np.median(tin.tin_c[:, cut], axis=0) < cold.value)).all()


def test_outdoors_and_unknown_names(demo_facts: Situation) -> None:
    scene = of(demo_facts, "outdoors")
    assert {bar.job for bar in scene.windows} == {"mooring bitts", "hatch coaming"}
    assert scene.heat_w is None
    with pytest.raises(NotFoundError, match="did you mean 'saloon'"):
        of(demo_facts, "salooon")


@pytest.mark.slow
def test_the_picture_is_cut_to_what_is_known(demo_facts: Situation) -> None:
    scene = of(demo_facts, "saloon", 60.0)
    assert scene.right == scene.until_known
    short = of(demo_facts, "saloon", 0.5)
    assert short.left == demo_facts.now - timedelta(hours=6)
    assert short.right == demo_facts.now + timedelta(hours=12)


def test_without_a_name_the_space_with_most_to_do(demo_facts: Situation) -> None:
    target = usual_target(demo_facts.boat, demo_facts.work, set())
    assert target is not None
    assert target.name == "saloon"


def test_numbers_survive_json(demo_facts: Situation) -> None:
    picture = picture_of(of(demo_facts, "wheelhouse windows"))
    read = Picture.model_validate_json(picture.model_dump_json())
    assert read == picture
    lengths = {len(read.times), len(read.air_c), len(read.frost), len(read.limits[0].broken)}
    assert len(lengths) == 1
    assert read.times[1] - read.times[0] == timedelta(minutes=10)


def test_unknown_is_null(scene: Callable[..., Scene]) -> None:
    air = np.full(49, 12.0)
    air[10:] = np.nan
    assert picture_of(scene(air_c=air)).air_c == [12.0] * 10 + [None] * 39


def test_stretches_and_their_words(scene: Callable[..., Scene]) -> None:
    drawn = scene()  # Wed 25 Nov 2026 00:00, now is 06:00
    mask = np.zeros(49, np.bool_)
    mask[[2, 3, 4, 20, 21, 22, 23, 24, 25, 40]] = True
    spans = stretches(drawn, mask)
    assert [(a.hour, b.hour) for a, b in spans] == [(2, 4), (20, 1), (16, 17)]
    # what is over is not told
    assert stretches_text(drawn, mask) == (
        "today 20:00 until tomorrow 01:00, tomorrow 16:00 until 17:00"
    )
    mask[:] = True
    assert stretches_text(drawn, mask) == "all the time shown"
    mask[:8] = False
    assert stretches_text(drawn, mask) == "from today 08:00"


@pytest.mark.parametrize(
    ("left", "hours"),
    [
        # Directive 2000/84/EC: the clocks go back on 25 October 2026, forward on 29 March
        (datetime(2026, 10, 24, 22, tzinfo=UTC), [24, 25, 24]),
        (datetime(2026, 3, 27, 23, tzinfo=UTC), [24, 23, 24]),
    ],
)
def test_days_on_which_the_clocks_change(
    scene: Callable[..., Scene], left: datetime, hours: list[int]
) -> None:
    if left.month == 10:
        left -= timedelta(days=1)
    drawn = scene(sum(hours), left=left, zone="Europe/Amsterdam")
    assert [round(end - begin) for begin, end, *_ in day_marks(drawn)] == hours
    assert all(name in ("00", "06", "12", "18") for _, name in time_marks(drawn, 6))
    noons = [hour for hour, name in time_marks(drawn, 12) if name == "12"]
    # the change is at night: noon to noon is as long as the day it ends in
    assert [b - a for a, b in pairwise(noons)] == [hours[1], hours[2]]


def test_labels_do_not_touch() -> None:
    placed = moved_apart([1.0, 1.1, 1.2, 9.0], [1.0, 1.0, 2.0, 1.0], 0.0, 10.0)
    for (a, tall_a), (b, tall_b) in zip(
        zip(placed, [1.0, 1.0, 2.0], strict=False),
        zip(placed[1:], [1.0, 2.0, 1.0], strict=False),
        strict=False,
    ):
        assert b - a >= (tall_a + tall_b) / 2.0 - 1e-12
    assert placed[-1] == 9.0
    assert moved_apart([9.9, 9.9], [1.0, 1.0], 0.0, 10.0) == pytest.approx([8.5, 9.5])


def test_units_stay_with_their_figures() -> None:
    assert keep_together("tin 10 °C to 30 °C, 3 K").count("\u00a0") == 3
