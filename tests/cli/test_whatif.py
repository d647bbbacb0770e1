"""A change that is only thought of: what it does, what it leaves alone, how soon it answers."""

from __future__ import annotations

import json
import shutil
import time
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import Result

from curewindow.boat.folder import load_boat
from curewindow.boat.schema import VENTS_WORD
from curewindow.conditions import Learned, keep_learned
from curewindow.conditions.learned import fingerprint
from curewindow.conditions.routine import VENTILATION
from curewindow.daysheet import windows_ahead
from curewindow.explain.change import Intervention
from curewindow.explain.ifmodels import WhatIf
from curewindow.explain.whatif import what_if
from curewindow.voice.cautions import topic
from curewindow.weather.choose import get_forecast
from tests.voiced import said

Run = Callable[..., Result]
AT = "2026-11-25 08:30"
MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


def asked(run: Run, demo: Path, *arguments: str) -> WhatIf:
    result = run("whatif", *arguments, "--boat", demo, "--at", AT, "--json")
    assert result.exit_code == 0, result.stderr
    return WhatIf.model_validate_json(result.stdout)


def test_files_are_left_as_they_are(demo: Path, tmp_path: Path) -> None:
    boat = tmp_path / "boat"
    shutil.copytree(demo, boat)

    def written() -> dict[Path, bytes]:
        # -shm is SQLite's index in shared memory, made anew by whoever reads (SQLite, WAL-mode
        # file format); the -wal beside it holds data and must not grow
        files = [f for f in boat.rglob("*") if f.is_file() and not f.name.endswith("-shm")]
        found = {path: path.read_bytes() for path in files}
        return {path: held for path, held in found.items() if held}

    before = written()
    change = Intervention(start=MORNING + timedelta(hours=3), setpoint_c=12.0)
    what_if(boat, MORNING, "saloon", change)
    assert written() == before


@pytest.mark.slow
def test_it_is_quick(demo: Path) -> None:
    change = Intervention(start=MORNING + timedelta(hours=3), setpoint_c=12.0)
    what_if(demo, MORNING, "saloon", change)
    took = []
    for _ in range(3):
        begun = time.perf_counter()
        what_if(demo, MORNING, "saloon", change)
        took.append(time.perf_counter() - begun)
    # under a second on a machine of its own (bench_questions.py); others may be at work here
    assert min(took) < 3.0


def test_warmer_is_warmer_drier_and_costs_heat(run: Run, demo: Path) -> None:
    """Heating the same air lowers its humidity and warms the skin: psychrometrics, any handbook."""
    answer = asked(
        run, demo, "wheelhouse", "--setpoint", "14 °C", "--power", "3 kW", "--until", "20:00"
    )
    before, after = answer.before, answer.after
    assert before.heat_kwh == 0.0
    assert after.heat_kwh is not None
    assert 2.0 < after.heat_kwh <= 3.0 * 11.5
    assert before.rh_mean_pct is not None
    assert after.rh_mean_pct is not None
    assert after.rh_mean_pct < before.rh_mean_pct - 10.0
    assert after.air_highest_c == pytest.approx(14.0, abs=0.2)
    assert any("electric without a glowing element" in note for note in said(answer.notes))


@pytest.mark.slow
def test_off_is_colder(run: Run, demo: Path) -> None:
    answer = asked(run, demo, "saloon", "--setpoint", "off", "--from", "12:00")
    assert answer.after.heat_kwh == 0.0
    assert answer.after.air_lowest_c < answer.before.air_lowest_c  # type: ignore[operator]
    assert answer.start == datetime(2026, 11, 25, 11, 0, tzinfo=UTC)
    table = next(job for job in answer.jobs if job.job == "chart table")
    assert len(table.after.windows) < len(table.before.windows)


@pytest.mark.slow
def test_open_hatches_cost_heat_and_dry_a_warm_cabin(run: Run, demo: Path) -> None:
    """Outside air of 5 °C warmed to 18 °C is drier than the cabin's: more water leaves."""
    answer = asked(run, demo, "saloon", "--vent", "ajar", "--from", "10:00", "--until", "14:00")
    assert answer.after.heat_kwh > answer.before.heat_kwh  # type: ignore[operator]
    assert answer.after.rh_mean_pct < answer.before.rh_mean_pct  # type: ignore[operator]
    assert said(answer.change) == "vents ajar"


@pytest.mark.slow
@pytest.mark.parametrize(("vent", "share"), [("shut", 0.5), ("ajar", 4.0)])
def test_vents_stand_for_the_same_air_as_in_a_heater_run(
    run: Run, demo: Path, vent: str, share: float
) -> None:
    """The saloon's own air change is 0.8 /h; a run of the heater counts vents as a share of it."""
    word = next(state for state, said_ in VENTS_WORD.items() if said_ == vent)
    assert VENTILATION[word] == share
    answer = asked(run, demo, "saloon", "--vent", vent)
    counted = asked(run, demo, "saloon", "--air-change", f"{0.8 * share} /h")
    assert answer.after == counted.after


def test_nothing_changed_changes_nothing(run: Run, demo: Path) -> None:
    """The saloon's own power and air change, said again."""
    answer = asked(run, demo, "saloon", "--power", "5 kW", "--air-change", "0.8 /h")
    assert answer.after == answer.before
    for job in answer.jobs:
        assert job.after == job.before


def test_as_it_is_is_what_the_list_of_windows_says(run: Run, demo: Path) -> None:
    answer = asked(run, demo, "wheelhouse windows", "--vent", "shut", "--days", "20")
    (job,) = answer.jobs
    told = get_forecast(load_boat(demo), demo, MORNING)  # without its doubt, as whatif has it
    listed = windows_ahead(demo, MORNING, job="wheelhouse windows", forecast=told).jobs[0]
    assert [w.model_dump() for w in job.before.windows] == [w.model_dump() for w in listed.windows]
    assert answer.surface == "windows"


def test_too_weak_a_heater_is_told(run: Run, demo: Path) -> None:
    answer = asked(run, demo, "wheelhouse", "--setpoint", "25 °C", "--power", "300 W")
    assert any("too weak" in note for note in said(answer.notes))
    assert answer.after.air_highest_c < 25.0  # type: ignore[operator]


@pytest.mark.slow
def test_cautions_go_with_it(run: Run, demo: Path) -> None:
    night = asked(run, demo, "saloon", "--setpoint", "16 °C")
    assert "unattended heating" in {topic(each) for each in night.cautions}
    day = asked(run, demo, "saloon", "--setpoint", "16 °C", "--until", "17:00")
    assert "unattended heating" not in {topic(each) for each in day.cautions}
    shut = asked(run, demo, "saloon doors", "--vent", "shut")
    assert "too little air for vapour" in {each.kind for each in shut.cautions}


@pytest.mark.parametrize("width", [32, 40, 80])
def test_fits_the_screen(run: Run, demo: Path, width: int) -> None:
    arguments = ["--setpoint", "12 °C", "--from", "06:00", "--boat", demo, "--at", AT]
    result = run("whatif", "saloon", *arguments, width=width)
    assert result.exit_code == 0, result.stderr
    assert max(map(len, result.stdout.splitlines())) <= width
    assert "tomorrow" in result.stdout.splitlines()[0] + result.stdout.splitlines()[1]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["saloon"], "say what would be otherwise"),
        (["wheelhouse", "--setpoint", "12 °C"], "has no heater in boat.toml"),
        (["wheelhouse", "--power", "1 kW"], "write --setpoint '18 °C'"),
        (["outdoors", "--vent", "ajar"], "outdoors nothing can be heated"),
        (["mooring bitts", "--vent", "ajar"], "outdoors nothing can be heated"),
        (["salon", "--vent", "ajar"], "did you mean 'saloon'"),
        (["saloon", "--setpoint", "12"], "unit"),
        (["saloon", "--vent", "ajar", "--from", "yesterday 6:00"], "is over"),
        (
            ["saloon", "--vent", "ajar", "--from", "tomorrow 6:00", "--until", "today 23:00"],
            "before it begins",
        ),
    ],
)
def test_one_clear_line(run: Run, demo: Path, arguments: list[str], said: str) -> None:
    result = run("whatif", *arguments, "--boat", demo, "--at", AT)
    assert result.exit_code == 2, result.stdout
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1


# --- dehumidifiers, doors, and what lies on the panels -----------------------


@pytest.mark.slow
def test_a_desiccant_dehumidifier_dries_a_cold_space(run: Run, demo: Path) -> None:
    """7 L a day against a few hundred grams that the forepeak takes in: well below 70 %."""
    answer = asked(run, demo, "forepeak", "--dehumidifier", "desiccant 7 L/d", "--from", "09:00")
    assert said(answer.change) == "desiccant dehumidifier of 7 L a day"
    assert answer.after.rh_mean_pct < answer.before.rh_mean_pct - 20.0  # type: ignore[operator]
    assert answer.after.air_lowest_c >= answer.before.air_lowest_c - 0.1  # type: ignore[operator]
    assert "drier over vapour" in {each.kind for each in answer.cautions}


@pytest.mark.slow
def test_a_condensing_one_is_told_to_be_of_little_use_in_the_cold(run: Run, demo: Path) -> None:
    answer = asked(run, demo, "forepeak", "--dehumidifier", "1")
    assert said(answer.change) == "condensing dehumidifier of 12 L a day"
    assert any("takes out little in the cold" in note for note in said(answer.notes))


@pytest.mark.slow
def test_an_open_door_lets_warmth_and_damp_through(run: Run, demo: Path) -> None:
    answer = asked(run, demo, "forepeak", "--door", "saloon=open")
    assert answer.after.air_highest_c > answer.before.air_highest_c + 3.0  # type: ignore[operator]
    assert answer.after.above_dew_k < answer.before.above_dew_k  # type: ignore[operator]
    assert any("taken as 0.6 m by 1.7 m" in note for note in said(answer.notes))
    other = asked(run, demo, "saloon", "--door", "Forepeak=open")
    assert other.after.heat_kwh > other.before.heat_kwh + 2.0  # type: ignore[operator]


@pytest.mark.slow
def test_frost_on_the_steel_is_told_by_panel(run: Run, demo: Path) -> None:
    """The demo's clear frosty night: the uninsulated deck of the forepeak."""
    result = run(
        *("whatif", "forepeak", "--dehumidifier", "desiccant", "--from", "2026-11-29 18:00"),
        *("--boat", demo, "--at", AT, "--json"),
    )
    answer = WhatIf.model_validate_json(result.stdout)
    deck = next(each for each in answer.lying if each.panel == "deck")
    assert deck.frost_before_g_m2 > 5.0  # type: ignore[operator]
    assert deck.frost_after_g_m2 < deck.frost_before_g_m2  # type: ignore[operator]
    text = run(
        *("whatif", "forepeak", "--vent", "ajar", "--from", "2026-11-29 18:00"),
        *("--boat", demo, "--at", AT),
    ).stdout
    assert "deck: frost up to" in text


@pytest.mark.slow
def test_what_was_learned_counts(run: Run, demo: Path, tmp_path: Path) -> None:
    """Twice the air change and heat loss fitted: the same night costs more heat."""
    boat = tmp_path / "boat"
    shutil.copytree(demo, boat)
    plain = asked(run, boat, "saloon", "--setpoint", "16 °C")
    space = load_boat(boat).find_space("saloon")
    assert space is not None
    keep_learned(
        boat,
        Learned("saloon", MORNING, 40, 0.5, 0.5, fingerprint(space), 1.6, 2.0, 4e5, 7.0, 0.04, 4e3),
        {},
    )
    taught = asked(run, boat, "saloon", "--setpoint", "16 °C")
    assert taught.after.heat_kwh > 1.4 * plain.after.heat_kwh  # type: ignore[operator]
    assert any("fitted to 40 readings" in note for note in said(taught.notes))
    schema = json.loads(run("schema", "learned").stdout)
    validator = pytest.importorskip("jsonschema").Draft7Validator(schema)
    kept = json.loads(json.dumps(tomllib.loads((boat / "learned.toml").read_text()), default=str))
    assert not list(validator.iter_errors(kept))
    kept["space"][0]["air_chnage"] = "1 /h"
    assert list(validator.iter_errors(kept))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["saloon", "--dehumidifier", "big"], "says no dehumidifier"),
        (["saloon", "--dehumidifier", "off"], "no dehumidifier in boat.toml"),
        (["saloon", "--dehumidifier", "900 L/d"], "up to 200 L a day"),
        (["saloon", "--door", "forepeak"], "write SPACE=open or SPACE=shut"),
        (["saloon", "--door", "forepaek=open"], "did you mean 'forepeak'"),
        (["forepeak", "--door", "wheelhouse=open"], "no door between"),
    ],
)
def test_one_clear_line_for_doors_and_driers(
    run: Run, demo: Path, arguments: list[str], said: str
) -> None:
    result = run("whatif", *arguments, "--boat", demo, "--at", AT)
    assert result.exit_code == 2, result.stdout
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1
