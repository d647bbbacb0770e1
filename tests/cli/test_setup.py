"""Setting a boat folder up: by questions, by options, and never over anything."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from curewindow.boat.folder import load_boat, load_work
from curewindow.cli.firstfiles import read_space
from curewindow.errors import QuantityError

Run = Callable[..., Result]
GIVEN = ["--yes", "--lat", "52.1", "--lon", "-4.9", "--zone", "Europe/London"]


def test_by_options(run: Run, tmp_path: Path) -> None:
    spaces = ["--space", "saloon 5x3x2 insulated", "--space", "fore cabin"]
    folder = tmp_path / "new" / "boat"
    more = ["--name", 'The "Old" Tub', "--unit", "f", "--hull", "wood", "--heater", "diesel"]
    result = run("setup", folder, *GIVEN, *spaces, *more)
    assert result.exit_code == 0, result.stderr
    boat = load_boat(folder)
    assert boat.name == 'The "Old" Tub'
    assert (boat.place.latitude, boat.place.longitude) == (52.1, -4.9)
    assert boat.units.temperature == "°F"
    saloon, fore = boat.space
    assert saloon.volume == pytest.approx(30.0)
    assert [panel.area for panel in saloon.panel] == pytest.approx([20.0, 15.0, 15.0])
    assert saloon.heating is not None
    assert saloon.heating.kind == "diesel"
    assert fore.logged_only
    # on the safe side vapour gets everywhere until the owner says otherwise
    assert saloon.connected_to == ["fore cabin"]
    assert load_work(folder).job == []


def test_files_carry_comments_and_schemas(run: Run, tmp_path: Path) -> None:
    run("setup", tmp_path, *GIVEN)
    for name in ("boat", "work"):
        first = (tmp_path / f"{name}.toml").read_text(encoding="utf-8").splitlines()[0]
        assert first == f"#:schema schema/{name}.json"
        schema = json.loads((tmp_path / "schema" / f"{name}.json").read_text(encoding="utf-8"))
        assert schema["$schema"].startswith("http://json-schema.org/")


def test_the_example_job_works_once_uncommented(run: Run, tmp_path: Path) -> None:
    run("setup", tmp_path, *GIVEN)
    path = tmp_path / "work.toml"
    lines = path.read_text(encoding="utf-8").splitlines()
    begin = lines.index("# [[job]]")
    bare = [line.removeprefix("#").removeprefix(" ") for line in lines[begin:]]
    path.write_text("\n".join([*lines[:begin], *bare]), encoding="utf-8")
    (job,) = load_work(tmp_path).job
    assert [step.do for step in job.step] == ["sand", "coat"]


def test_by_questions_asking_again_where_it_must(run: Run, tmp_path: Path) -> None:
    typed = [
        "Tub",
        "151.5",
        "51.5",
        "0",
        "Europe/Londn",
        "Europe/London",
        "C",
        "steel",
        "cabin 4x2x1.8",
        "cab 3x4",
        "",
        "none",
        "kabin",
        "cabin",
        "coker",
        "cooker",
        "bilge pump cabin",
        "",
        "shed",
        "home",
    ]
    result = run("setup", tmp_path, typed="\n".join(typed) + "\n")
    assert result.exit_code == 0, result.stderr
    assert "did you mean 'Europe/London'?" in result.output
    assert "is not a space" in result.output
    assert "'kabin' is not a space; there are: cabin" in result.output
    assert "'coker' is none of cooker" in result.output
    boat = load_boat(tmp_path)
    assert boat.space[0].slept_in is True
    assert [(each.kind, each.space) for each in boat.ignition] == [
        ("cooker", "cabin"),
        ("bilge pump", "cabin"),
    ]
    assert [space.name for space in boat.space] == ["cabin"]
    assert boat.place.time_zone == "Europe/London"
    assert boat.tins_kept == "home"


def test_tins_nobody_told_of_count_as_standing_where_the_work_is(run: Run, tmp_path: Path) -> None:
    run("setup", tmp_path, *GIVEN)
    assert load_boat(tmp_path).tins_kept is None
    run("setup", tmp_path / "other", *GIVEN, "--tins", "deck")
    assert load_boat(tmp_path / "other").tins_kept == "deck"


def test_never_overwrites(run: Run, tmp_path: Path) -> None:
    (tmp_path / "work.toml").write_text("# mine\n", encoding="utf-8")
    result = run("setup", tmp_path, *GIVEN)
    assert result.exit_code == 3
    assert "is already there and is not overwritten" in result.stderr
    assert (tmp_path / "work.toml").read_text(encoding="utf-8") == "# mine\n"
    assert not (tmp_path / "boat.toml").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--yes"], "--yes needs --lat"),
        (["--yes", "--lat", "1", "--lon", "1", "--zone", "Nowhere/X"], "is not a time zone"),
        (["--yes", "--lat", "91", "--lon", "1"], "--lat"),
        ([*GIVEN, "--space", "saloon 5x3"], "is not a space"),
        ([*GIVEN, "--sleeps", "attic"], "'attic' is not a space; there are: saloon"),
        ([*GIVEN, "--ignition", "candle saloon"], "'candle saloon' is none of cooker"),
    ],
)
def test_asked_wrongly_writes_nothing(
    run: Run, tmp_path: Path, arguments: list[str], said: str
) -> None:
    result = run("setup", tmp_path / "boat", *arguments)
    assert result.exit_code == 2
    assert said in result.stderr
    assert not (tmp_path / "boat").exists()


def test_two_spaces_of_one_name(run: Run, tmp_path: Path) -> None:
    result = run("setup", tmp_path / "boat", *GIVEN, "--space", "a", "--space", "a")
    assert result.exit_code == 3
    assert "'a' is there twice" in result.stderr
    assert not (tmp_path / "boat").exists()


def test_no_answer(run: Run, tmp_path: Path) -> None:
    result = run("setup", tmp_path / "boat", typed="Tub\n")
    assert result.exit_code == 130
    assert not (tmp_path / "boat").exists()


def test_spaces_as_typed() -> None:
    space = read_space("aft cabin 3,2 x 2.8 x 1.8 m")
    assert (space.name, space.length_m, space.width_m, space.height_m) == (
        "aft cabin",
        3.2,
        2.8,
        1.8,
    )
    assert not space.insulated
    assert read_space("saloon 5x3x2 insulated").insulated
    assert not read_space("saloon 5x3x2 uninsulated").insulated
    assert read_space("hold").length_m is None
    for wrong in ("", "  ", "5x3x2", "hold 5x3"):
        with pytest.raises(QuantityError, match="is not a space"):
            read_space(wrong)


def test_a_place_that_cannot_be_a_folder(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "file"
    place.write_text("", encoding="utf-8")
    result = run("setup", place, "--lat", "52", "--lon", "5", "--yes")
    assert result.exit_code == 3
    assert "cannot be written as a boat folder" in result.stderr


def test_what_to_type_next_is_quoted(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "my boat"
    result = run("setup", place, "--lat", "52", "--lon", "5", "--yes")
    assert f"curewindow today --boat '{place}'" in result.stdout


@pytest.mark.parametrize(
    ("sleeps", "slept_in"), [(None, [None, None]), ("nobody", [False, False]), ("a", [True, False])]
)
def test_who_sleeps_where_is_written_only_where_it_is_said(
    run: Run, tmp_path: Path, sleeps: str | None, slept_in: list[bool | None]
) -> None:
    more = [] if sleeps is None else ["--sleeps", sleeps]
    spaces = ["--space", "a", "--space", "b", "--ignition", "gas fridge b"]
    result = run("setup", tmp_path / "boat", *GIVEN, *spaces, *more)
    assert result.exit_code == 0, result.stderr
    boat = load_boat(tmp_path / "boat")
    assert [each.slept_in for each in boat.space] == slept_in
    assert [(each.kind, each.space) for each in boat.ignition] == [("gas fridge", "b")]
