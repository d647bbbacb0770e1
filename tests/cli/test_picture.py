"""`curewindow picture`: what comes out of the command itself."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from curewindow.charts import Picture
from curewindow.cli.main import command

Run = Callable[..., Result]
AT = "2026-11-25 08:30"


@pytest.mark.parametrize("width", [40, 80])
@pytest.mark.parametrize("name", ["saloon", "forepeak frames", "outdoors"])
def test_in_the_terminal(
    run: Run, demo: Path, monkeypatch: pytest.MonkeyPatch, name: str, width: int
) -> None:
    monkeypatch.setenv("TERM", "xterm")
    result = run("picture", name, "--boat", demo, "--at", AT, width=width)
    assert result.exit_code == 0, result.stderr
    lines = result.stdout.splitlines()
    assert max(map(len, lines)) <= width
    assert any("⠀" < mark <= "⣿" for mark in result.stdout)
    assert "Thu 26" in result.stdout
    assert "aboard" in result.stdout


def test_plain_letters_where_the_terminal_has_no_others(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    arguments = ["picture", "saloon", "--boat", str(demo), "--at", AT]
    result = CliRunner(charset="ascii").invoke(command, arguments)
    assert result.exit_code == 0, result.stderr
    assert result.stdout.isascii()
    assert result.stdout == CliRunner().invoke(command, [*arguments, "--plain"]).stdout


def test_without_a_name_the_space_with_most_to_do(run: Run, demo: Path) -> None:
    assert run("picture", "--boat", demo, "--at", AT).stdout.splitlines()[0] == "saloon"


def test_into_files(run: Run, demo: Path, tmp_path: Path) -> None:
    target = tmp_path / "saloon.svg"
    result = run("picture", "saloon", "--boat", demo, "--at", AT, "--to", target, "--phone")
    assert result.exit_code == 0, result.stderr
    assert str(target) in result.stdout
    assert ET.parse(target).getroot().tag.endswith("svg")
    png = tmp_path / "saloon.png"
    run("picture", "saloon", "--boat", demo, "--at", AT, "--to", png)
    assert png.read_bytes().startswith(b"\x89PNG")


def test_numbers(run: Run, demo: Path) -> None:
    result = run("picture", "chart table", "--days", "1", "--boat", demo, "--at", AT, "--json")
    picture = Picture.model_validate_json(result.stdout)
    assert picture.job == "chart table"
    assert len(picture.times) == 30 * 6 + 1  # six hours before, a day after, every ten minutes
    assert picture.windows[0].status == "go"


def test_a_frosty_night_is_shown_on_the_steel_it_forms_on(run: Run, demo: Path) -> None:
    """The demo's clear night: frost gathers on the bare deck while it is below 0 °C, thaws after.

    In a space that is shut no more can freeze out than its air and joinery hold: some
    hundred grams in 7 m³ (saturated air of 5 °C holds 6.8 g/m³, joinery a little more).
    """
    arguments = ["picture", "forepeak", "--boat", demo, "--at", "2026-11-29 18:00", "--days", "2"]
    picture = Picture.model_validate_json(run(*arguments, "--json").stdout)
    deck = next(each for each in picture.lying if each.panel == "deck")
    frost = [0.0 if value is None else value for value in deck.frost_g_m2]
    assert 5.0 < max(frost) < 60.0
    first = next(i for i, value in enumerate(frost) if value >= 1.0)
    assert picture.surface_c[first] < 0.0  # type: ignore[operator]
    assert any(picture.frost[first - 6 : first + 6])
    text = " ".join(run(*arguments).stdout.split())
    assert "frost lies on the deck:" in text
    assert "frost forms on the" in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["salon"], "did you mean 'saloon'"),
        (["saloon", "--to", "picture.pdf"], "ends in .svg or .png"),
        (["saloon", "--days", "0"], "0.25<=x<=60"),
    ],
)
def test_one_clear_line(run: Run, demo: Path, arguments: list[str], said: str) -> None:
    result = run("picture", *arguments, "--boat", demo, "--at", AT)
    assert result.exit_code == 2
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_without_matplotlib(run: Run, demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "matplotlib", None)
    result = run("picture", "saloon", "--to", "a.svg", "--boat", demo, "--at", AT)
    assert result.exit_code == 2
    assert "pip install 'curewindow[pictures]'" in result.stderr
    assert run("picture", "saloon", "--boat", demo, "--at", AT).exit_code == 0
