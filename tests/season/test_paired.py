"""One thing otherwise on the same seasons: what changes nothing saves nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from curewindow.daysheet import helps
from curewindow.daysheet.helps import Helping, _Against, _Helps, ranking, season_given, what_helps
from curewindow.daysheet.planning import Made, make_plan
from curewindow.daysheet.seasonfacts import SeasonFacts, season_facts
from curewindow.daysheet.variations import Variation, accepted, stands_in, variations
from curewindow.demo import files as demofiles
from curewindow.findings import finding
from curewindow.order.plan import Suggestion
from curewindow.season.figures import day_for
from curewindow.season.paired import Paired
from curewindow.season.planned import not_before
from curewindow.sheets.shelf import get_sheet
from tests.fewer_jobs import only_jobs, weather_until

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
MORE = """
[[job]]
name = "mast step"
space = "wheelhouse"
substrate = "bare steel"
area = "1 m²"

[[job.step]]
do = "coat"
sheet = "two-part-epoxy-primer"
coats = 3
hands_on = "1 h"

[[job]]
name = "tiller"
space = "saloon"
area = "0.5 m²"
substrate = "ash"

[[job.step]]
do = "coat"
sheet = "epoxy-resin-slow"
hands_on = "30 min"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A primer in the cold wheelhouse, resin on what can be carried; ten winters."""
    where = tmp_path_factory.mktemp("paired") / "boat"
    demofiles.write(where, NOW)
    only_jobs(where, "wet locker slats")
    weather_until(where, "2026-12-01")
    work = where / "work.toml"
    work.write_text(work.read_text("utf-8") + MORE, "utf-8")
    boat = where / "boat.toml"
    boat.write_text(boat.read_text("utf-8").replace(', "winters-2.csv"', ""), "utf-8")
    return where


@pytest.fixture(scope="module")
def made(folder: Path) -> Made:
    return make_plan(folder, NOW, seconds=4, keep=False)


@pytest.fixture(scope="module")
def known(folder: Path) -> SeasonFacts:
    return season_facts(folder, NOW)


@pytest.fixture(scope="module")
def paired(known: SeasonFacts, made: Made) -> Paired:
    return Paired(known.given, len(known.years), known.pace, not_before(made.plan))


@pytest.fixture(scope="module")
def all_ways(folder: Path, known: SeasonFacts) -> dict[tuple[str, str], Variation]:
    urgent = [job.name for job in known.given.work.job]
    found = {}
    for way in variations(folder, known.given, urgent):
        found[way.kind, way.what.text("job") or way.what.text("space")] = way
    return found


def test_the_base_is_the_seasons_of_the_plans_date(made: Made, paired: Paired) -> None:
    """Half of the seasons on the very day that heads the plan, and as many by the date."""
    told, base = made.plan.all_done, paired.base()
    assert told is not None
    assert told.middle is not None
    assert told.seasons == base.done_d(base.jobs).size
    ends = base.slots.first + timedelta(days=day_for(base.done_d(base.jobs), 0.5), seconds=-1)
    assert ends.date() == told.middle


@pytest.mark.parametrize("job", ["", "tiller", None])
def test_what_changes_nothing_saves_nothing(
    known: SeasonFacts, paired: Paired, job: str | None
) -> None:
    """Neither with all worked out anew nor with what is known of the jobs that are as they are."""
    base = paired.base()
    same = paired.changed(replace(known.given), job)
    assert same.jobs == base.jobs
    assert np.array_equal(same.job_d, base.job_d)
    way = Variation(finding("variation", kind_of="day", names=("Wed",)))
    assert _Against(known, base, {}, {}).of(way, same) is None


@pytest.mark.parametrize("kind", [("delivery", ""), ("product", "mast step"), ("home", "tiller")])
def test_what_is_taken_over_is_what_would_be_found_anew(
    folder: Path,
    known: SeasonFacts,
    paired: Paired,
    all_ways: dict[tuple[str, str], Variation],
    kind: tuple[str, str],
) -> None:
    way = all_ways[kind]
    then = season_given(folder, known, way)
    sooner, anew = paired.changed(then, way.job), paired.changed(then, None)
    assert sooner.jobs == anew.jobs
    assert np.array_equal(sooner.job_d, anew.job_d)


def test_the_cold_wheelhouse(made: Made, folder: Path) -> None:
    """Its primer sets the end: a heater or its winter hardener help, and the heater is told as
    what must be decided now, with its dangers."""
    found = what_helps(folder, made)
    kinds = {each.variation.text("kind_of") for each in found.best}
    assert "product" in kinds
    assert found.best[0].saves_days >= 1
    assert all(each.cautions for each in found.best if each.variation.text("kind_of") != "delivery")
    heaters = [each for each in made.plan.decide_now if each.kind == "bring heater"]
    assert [each.text("space") for each in heaters] == ["wheelhouse"]
    # the primer gives off what burns, and an electric heater sparks
    assert {"heat unattended", "flammable vapour"} <= {each.kind for each in heaters[0].because}


def test_only_what_the_trade_would_take_for_another(
    known: SeasonFacts, all_ways: dict[tuple[str, str], Variation], folder: Path
) -> None:
    def sheet(name: str):
        return get_sheet(name).sheet

    primer, winter = sheet("two-part-epoxy-primer"), sheet("two-part-epoxy-primer-winter")
    assert stands_in(winter, primer, outdoors=True)
    assert stands_in(sheet("epoxy-resin-fast"), sheet("epoxy-resin-slow"), outdoors=False)
    assert not stands_in(sheet("alkyd-metal-primer"), primer, outdoors=False)
    bilge, enamel = sheet("bilge-and-locker-paint"), sheet("alkyd-enamel")
    assert stands_in(bilge, enamel, outdoors=False)
    assert not stands_in(bilge, enamel, outdoors=True)
    way = all_ways["product", "mast step"]
    then = season_given(folder, known, way)
    assert accepted(way, known.given, then)
    stem = next(j for j in way.work.job if j.name == "mast step").step[0].sheet
    never = replace(then, refused={("mast step", stem): "lifts what is below"})
    assert not accepted(way, known.given, never)
    patch = finding("test patch first", product="it", hours=1.0)
    assert not accepted(way, known.given, replace(then, first={("mast step", 1): (patch,)}))


def test_nobody_takes_home_what_nobody_sleeps_over(
    all_ways: dict[tuple[str, str], Variation],
) -> None:
    """The resin gives off no solvent and goes home; the primer's solvent stays aboard."""
    assert "flammable solvent" in get_sheet("two-part-epoxy-primer").sheet.hazards
    assert ("home", "tiller") in all_ways
    assert ("home", "mast step") not in all_ways
    kinds = {each.kind for each in all_ways["home", "tiller"].cautions}
    assert "epoxy sensitiser" in kinds


def _way(days: int, price_h: float, chance: float = 0.0, frees: tuple[str, ...] = ()) -> _Helps:
    way = finding("variation", kind_of="day", names=("Wed",))
    told = Suggestion(
        text=f"{days} {price_h:g}",
        variation=way,
        saves_days=days,
        chance_before_pct=10.0,
        chance_pct=10.0 + chance,
        makes_possible=list(frees),
    )
    return _Helps(told, price_h)


def test_most_gained_for_its_price_comes_first(
    made: Made, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Days an hour: 20/40, 6/2, 4/1, 10/5; then chances; what makes a job possible before all."""
    found = [
        _way(20, 40.0),
        _way(6, 2.0),
        _way(4, 1.0),
        _way(10, 5.0),
        _way(0, 1.0, 10.0),
        _way(-3, 9.0, frees=("hatch rim",)),
    ]
    in_order = [each.told.text for each in ranking(found)]
    assert in_order == ["-3 9", "4 1", "6 2", "10 5", "20 40", "0 1"]
    monkeypatch.setattr(helps, "_by_seasons", lambda *given: iter(found))
    told = what_helps(folder, made)
    assert [each.text for each in told.best] == in_order[:3]
    assert told.more == 3


def test_enough_keeps_what_was_found(
    made: Made, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken_off(*given: object) -> Iterator[_Helps]:
        yield _way(4, 1.0)
        raise KeyboardInterrupt

    monkeypatch.setattr(helps, "_by_seasons", broken_off)
    told = what_helps(folder, made)
    assert isinstance(told, Helping)
    assert [each.text for each in told.best] == ["4 1"]
    assert told.stopped
